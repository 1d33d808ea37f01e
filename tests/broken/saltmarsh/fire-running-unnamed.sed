# The flooded start no longer names the drill for a fire in the running engine.
# finds: fire-running-armed
# tail: qm-1
/^procedure flooded-start/,/^}/s/fire-running, //
