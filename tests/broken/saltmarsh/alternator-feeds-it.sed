# The stuck starter's drill forgets the alternator.
# finds: stuck-power secured-ends
/set *alternator OFF .*feeds the same bus/d
