# Nobody reads the cranking speed.
# of: seablite
# finds: spins-fast-enough
s/^        crank {/        crank until engine RUNNING/
/expect  *tach sparks/d
/^        } until engine RUNNING from handbook 4-6/d
