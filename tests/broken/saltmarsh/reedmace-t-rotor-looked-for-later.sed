# The rotor is looked for when the engine runs and there is time for it.
# of: reedmace-t
# finds: rotor-before-starter-out handbook-line-left
/^group light-up/,/^}/{/rotor-up:/,/line 15/d}
/^group caught/,/^}/s/^    starter-gone:/    rotor-up: expect rotor-disc TURNING within rotor-time after fuel-in, otherwise turn to rotor-late\n&/
