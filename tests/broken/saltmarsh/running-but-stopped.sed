# The start is called done where the engine may stand still.
# finds: running-ends
# tail: qm-1
/^group hands-off/,/^}/s/^    set  *avionics ON$/&\n    set     mixture CUTOFF/
