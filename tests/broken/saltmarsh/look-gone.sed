# The look round before the call is gone, from the retry, too.
# finds: clear-call
# with: ignition-after-call cleared-after-person not-clear-obeyed
# tail: qm-1
/^ *look  *prop-area CLEAR/d
