# The clutch is put out before it goes in, not before the engine is started.
# of: reedmace
# finds: clutch-out handbook-line-left
/^group cockpit/,/^}/{/set  *clutch DISENGAGED/d}
/^group rotor-up/,/^}/s/^    hold  *collective DOWN/    set     clutch DISENGAGED\n&/
