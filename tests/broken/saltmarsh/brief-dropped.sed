# Nobody on board is briefed.
# finds: brief-first
/brief   passengers/d
