# The ignition stays on while the starter rests.
# of: seablite
# finds: ignition-off-at-call
# with: waits-for-ever
/between tries {/{n;d}
