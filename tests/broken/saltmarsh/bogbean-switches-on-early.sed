# The switches go on with the call that they are off, so that the first blade already fires.
# of: bogbean
# finds: contact-before-switches
# with: ignition-off-at-call
/hears-set/i\        early: set magnetos BOTH
/call    contact$/,/set     magnetos BOTH/{
/set     magnetos BOTH/d
}
