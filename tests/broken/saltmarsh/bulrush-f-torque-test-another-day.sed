# The negative torque test is left for the next inspection.
# of: bulrush-f
# finds: torque-tested handbook-line-left
/expect  *torque-test PASSED/d
