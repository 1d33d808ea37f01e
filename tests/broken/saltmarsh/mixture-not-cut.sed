# Stopping the engine leaves the mixture where it is.
# finds: secured-ends
/^group stop-engine/,/^}/{/set     mixture CUTOFF/d}
