# Nobody looks again between the call and the starter.
# finds: last-look
# tail: qm-1
/look-again: look/d
