# The call is gone from the tries, and the listening with it.
# finds: clear-call
/^ *call    clear,/d
/listen: wait/d
/wait    up to clear-age/d
