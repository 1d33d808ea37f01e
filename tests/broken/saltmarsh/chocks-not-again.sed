# Nobody looks at the chocks again after the start.
# finds: chocks-again
# with: key-out ready-ends
# tail: qm-1
/chocks-again: look/d
