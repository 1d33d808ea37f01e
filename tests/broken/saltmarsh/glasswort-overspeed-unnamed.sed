# The drill for an engine that runs away is named for the starts only: at the shut-down nobody has it.
# of: glasswort
# finds: racing-armed
/^procedure shut-down/,/^}/s/ overspeed,//
