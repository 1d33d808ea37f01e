# The start goes on after the chocks where the starter turns, not where the power comes.
# finds: power-for-crank mixture-set-carburetted
# with: read-before-known smoke-armed stuck-armed
# tail: qm-1
s/start again at power-on/start again at start/
