# The control units are tested before the coolant is warm.
# of: glasswort
# finds: warm-before-test
/^group tested/,/^}/{/expect  *coolant warm/d}
