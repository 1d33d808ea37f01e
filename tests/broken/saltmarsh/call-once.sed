# The look, the call and the listening stand before the tries: a retry has none of them.
# finds: clear-call clear-pause fresh-call ignition-after-call
# tail: qm-1
/^        look    prop-area CLEAR, otherwise again after 10 s/d
/^        call    clear,/d
/listen: wait/d
/look-again: look/d
/wait    up to clear-age/d
s/^    try {/    look    prop-area CLEAR, otherwise turn to no-start\n    call    clear, if clear NOT-CLEAR turn to no-start\n    listen: wait at least clear-pause after clear "listen"\n    look-again: look prop-area CLEAR, otherwise turn to no-start\n    try {/
