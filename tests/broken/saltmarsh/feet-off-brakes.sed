# The feet leave the brakes before the engine turns.
# finds: feet-on-brakes
/^ *look  *prop-area CLEAR, otherwise again/a\        release brakes
