# Nobody on board is briefed.
# finds: brief
# tail: qm-1
/brief  *passengers/d
