# The locks come off while the engine is still coming up.
# of: bulrush-f
# finds: locks-not-early power-lever-idle
# with: list-long
/^group caught/,/^}/s/^    settle:/    set     power-lever REVERSE\n    set     power-lever IDLE\n&/
