# The drills end as soon as the engine stands; the rotor goes on turning.
# of: reedmace-t
# finds: rotor-still-ends
/^group dark/,/^}/{/expect  *rotor-disc STILL/,/because/d}
