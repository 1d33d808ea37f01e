# The fire drill no longer keeps cranking.
# finds: fire-order fire-no-retry
# with: clear-call clear-pause fresh-call last-look starter-on-still
# tail: qm-1
/^ *keeps cranking/d
