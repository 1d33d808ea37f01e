# The fire drill no longer keeps cranking.
# finds: fire-order
/^ *keeps cranking/d
