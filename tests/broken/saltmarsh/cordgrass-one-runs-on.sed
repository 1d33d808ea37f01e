# When one engine goes wrong it is stopped, and the other is left to run.
# of: cordgrass
# finds: one-stops-both safe-ends secured-ends abandoned-ends
/^group power-off/,/^}/{
/set     other.mixture CUTOFF/d
s/check   left.engine STOPPED and right.engine STOPPED/check engine STOPPED/
}
