# The time for the belts is written out as the type has it: the tail with new belts has less.
# of: reedmace
# finds: belts-tight-in-time
s/clutch-light OFF within belt-time/clutch-light OFF within 110 s/
