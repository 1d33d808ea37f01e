# The call is gone from the tries.
# finds: clear-call
/^ *call    clear,/d
