# The beacon is switched on by night only.
# finds: beacon-at-call beacon-turning
# tail: qm-1
/^    set     beacon ON/d
s/^    when daylight NIGHT {/&\n        set beacon ON/
