# The key stays in, in every way back.
# of: sedge
# finds: dead-ends
# with: isolation-ends battery-ends
/^group kill/,/^}/{/set  *key OUT/d}
