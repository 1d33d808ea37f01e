# The stuck starter's drill cuts everything but the battery.
# finds: stuck-power secured-ends
/set master OFF  .*leaves the starter powered/d
