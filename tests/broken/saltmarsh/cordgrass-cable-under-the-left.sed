# On the cable the left engine goes first, as on every other day: the socket is behind its propeller.
# of: cordgrass
# finds: cable-before-left
/^procedure external-start/,/^}/{
s/for right {/for LEFT {/
s/for left {/for right {/
s/for LEFT {/for left {/
}
