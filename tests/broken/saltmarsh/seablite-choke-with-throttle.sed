# The cold start opens the throttle a little, as the warm one.
# of: seablite
# finds: choke-closed
s/^\( *\)set  *choke ON.*/&\n\1cracked: set throttle START/
