# The lever goes to reverse and back, and nobody looks whether the blades came off.
# of: bulrush-f
# finds: locks-off-at-end
/look  *start-locks RELEASED/d
