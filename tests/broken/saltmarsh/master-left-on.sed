# The stuck starter's drill cuts everything but the battery.
# finds: stuck-power secured-ends
# tail: qm-1
/set *master OFF .*leaves the starter powered/d
