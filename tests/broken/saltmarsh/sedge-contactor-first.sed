# Every way back opens the contactor before the motor is safe.
# of: sedge
# finds: unload-first
# with: read-before-known
/^group kill/,/^}/{/set  *contactor OPEN/d; s/^ *set  *motor-lever ZERO/    set     contactor OPEN\n&/}
