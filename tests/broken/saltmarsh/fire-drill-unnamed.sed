# The hot start no longer names the drill for a fire while cranking.
# finds: fire-armed
# tail: qm-1
/^procedure hot-start/,/^}/s/drills  fire-cranking, /drills  /
