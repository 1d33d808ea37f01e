# The key goes to LEFT, not to OFF, while the starter rests.
# finds: ignition-off-at-call
# with: ignition-after-call
# tail: qm-1
s/set  *magnetos OFF  \(.*live while the starter rests\)/set     magnetos LEFT \1/
