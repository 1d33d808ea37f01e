# The fuel is cut before the fire is drawn in.
# finds: fire-drawn-in
# tail: qm-1
/wait  *at least fire-run-time/d
