# The passengers are briefed between the glow and the starter: the plugs cool.
# of: glasswort
# finds: glow-in-time
/^    glow: /b
s/^\( *\)hold  *load-lever/\1brief   passengers\n&/
