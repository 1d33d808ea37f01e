# Before the clutch the second look goes round the disc, not above it and to the tail.
# of: reedmace
# finds: overhead-clear rotor-called
s/above-rotor: look overhead CLEAR/above-rotor: look prop-area CLEAR/
