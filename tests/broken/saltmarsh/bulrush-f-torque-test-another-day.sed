# The negative torque test is left for the next inspection.
# of: bulrush-f
# finds: torque-tested
/expect  *torque-test PASSED/d
