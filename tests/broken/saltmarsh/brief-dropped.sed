# Nobody on board is briefed.
# finds: brief-first
# tail: qm-1
/brief  *passengers/d
