# Stopping the engine leaves the mixture where it is.
# finds: secured-ends
# with: fire-armed fire-running-armed person-watched abandoned-ends key-out never-holds never-reached waits-for-ever ready-ends smoke-power-first stuck-fuel moving-armed no-pressure-armed kickback-armed racing-armed smoke-armed stuck-armed
# tail: qm-1
/^group stop-engine/,/^}/{/set  *mixture CUTOFF/d}
