# Where the rotor is held the starter is let go first, and the fuel is cut after.
# of: reedmace-t
# finds: rotor-before-starter-out starter-not-early
/^drill rotor-late/,/^}/{/keeps cranking/d;/when starter ENGAGED/,/^        }/d}
