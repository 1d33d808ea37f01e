# Nobody gave the stroke limit of the primer that was fitted.
# finds: missing-value
/value      prime-limit/d
