# The beacon goes on only when the engine runs.
# finds: beacon-at-call beacon-turning
# tail: qm-1
/^group lights/,/^}/{/set  *beacon ON/d}
s/^    set  *avionics ON$/&\n    set     beacon ON/
