# Nobody on board is briefed.
# finds: brief handbook-line-left
# tail: qm-1
/brief  *passengers/d
