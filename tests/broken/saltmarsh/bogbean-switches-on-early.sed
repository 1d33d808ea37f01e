# The switches go on with the call that they are off, so that the first blade already fires.
# of: bogbean
# finds: contact-before-switches
# with: ignition-off-at-call
/call    set-for-swing by/i\        early: set magnetos BOTH
/call    contact by/,/set     magnetos BOTH/{
/set     magnetos BOTH/d
}
