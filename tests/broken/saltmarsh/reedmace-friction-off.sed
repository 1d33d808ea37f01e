# The collective is down, but nobody puts its friction on.
# of: reedmace
# finds: rotor-controls-set
/^group cockpit/,/^}/{/set  *friction ON/d}
