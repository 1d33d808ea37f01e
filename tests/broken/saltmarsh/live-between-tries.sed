# The ignition stays on while the starter rests.
# finds: ignition-off-at-call
/set     magnetos OFF  .*live while the starter rests/d
