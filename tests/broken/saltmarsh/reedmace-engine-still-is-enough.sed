# The drills end as soon as the engine stands; the rotor goes on turning.
# of: reedmace
# finds: rotor-still-ends
/^group power-off/,/^}/{/expect  *rotor-disc STILL/,/^    }/d}
