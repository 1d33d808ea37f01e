# The call is gone from the tries, and the listening with it.
# finds: clear-call clear-pause fresh-call last-look not-clear-obeyed
# with: beacon-at-call ignition-after-call ignition-off-at-call cleared-after-person
# tail: qm-1
/^ *call  *clear,/d
/listen: wait/d
/wait  *up to clear-age/d
