# The chocks are looked for before the brake is on.
# finds: brake-before-chocks handbook-line-left
# tail: qm-1
/^    set  *parking-brake ON/d
s/^    brief  *passengers .*/&\n    set     parking-brake ON/
