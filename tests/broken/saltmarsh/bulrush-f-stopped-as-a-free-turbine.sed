# It is stopped as the other Bulrush is: the lever stays at idle.
# of: bulrush-f
# finds: locked-for-next
/to-locks: set power-lever REVERSE/d
/back-again: set power-lever IDLE/d
