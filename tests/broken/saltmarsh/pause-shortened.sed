# Two seconds to listen instead of the school's five.
# finds: clear-pause fresh-call
# tail: qm-1
s/wait at least clear-pause after clear/wait at least 2 s after clear/
