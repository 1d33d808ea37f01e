# Nobody looks again between the call and the starter.
# finds: last-look
/look-again: look/d
