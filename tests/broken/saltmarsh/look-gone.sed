# The look round before the call is gone, from the retry, too.
# finds: clear-call
/^ *look    prop-area CLEAR/d
