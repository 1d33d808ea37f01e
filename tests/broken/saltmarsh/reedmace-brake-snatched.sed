# The rotor brake goes on as soon as the engine stands; nobody reads the rotor speed.
# of: reedmace
# finds: brake-not-snatched
/^procedure shut-down/,/^}/{/expect  *rotor-speed brake/,/^    }/d}
