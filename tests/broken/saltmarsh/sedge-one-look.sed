# Nobody looks again after the call: it makes no sound that could drown an answer.
# of: sedge
# finds: last-look
/look-again: look/d
