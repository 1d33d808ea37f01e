# The left hand is on the collective, not on the grip.
# of: reedmace-t
# finds: lever-held
/^group hands/,/^}/s/hold  *twist-grip .*/hold    collective DOWN/
