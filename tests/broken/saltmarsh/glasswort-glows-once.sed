# Between tries the engine master stays on: the second try does not glow.
# of: glasswort
# finds: glow-out-first
# with: waits-for-ever
/^group tries/,/^}/{/between tries/,/otherwise/{/set  *engine-master OFF/d}}
