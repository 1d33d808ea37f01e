# The chocks are looked at before the start only.
# of: cattail
# finds: chocks-again
# with: drill-never-entered key-out ready-ends
/chocks-again: look chocks/d
