# The first engine is left at its idle while the second is turned: the line for its speed stands there, but nobody waits for it.
# of: cordgrass
# finds: helper-at-speed
/cross-speed:/,/otherwise turn to no-start/d
