# Before the hand turns it, nobody calls.
# of: cattail
# finds: clear-call
# with: clear-pause cleared-after-person fresh-call last-look not-clear-obeyed
/by-hand-call: call/d
s/by-hand-listen: wait at least clear-pause after clear/by-hand-listen: wait at least clear-pause/
/^group through/,/^}/{/wait  *up to clear-age/d}
