# Nobody gave the stroke limit of the primer that was fitted.
# finds: value-missing
/value  *prime-limit/d
