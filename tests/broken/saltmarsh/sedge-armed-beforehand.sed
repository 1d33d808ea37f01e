# The motor is armed with the other switches, and the contactor is the last.
# of: sedge
# finds: armed-last contactor-unarmed handbook-line-left
# with: fresh-call precharge-in-time
/^group volts-up/,/^}/{/set  *contactor CLOSED/d}
/^group arm-it/,/^}/s/^\( *\)set  *arm ARMED.*/&\n\1set     contactor CLOSED/
