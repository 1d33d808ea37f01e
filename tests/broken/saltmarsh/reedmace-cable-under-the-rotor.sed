# The cable is taken off after the rotor has been started, as on the school's aeroplanes.
# of: reedmace
# finds: cable-before-rotor
/^procedure external-start/,/^}/{
/phase rotor/d
s/^    phase cable-off/    phase rotor "Rotor", otherwise turn to no-start { do rotor-up }\n&/
}
