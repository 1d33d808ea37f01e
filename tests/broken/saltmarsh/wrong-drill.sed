# Oil pressure that does not come leads to the drill for an engine that did not start: from there it is started again.
# finds: oil-before-again
# with: starter-light-out-again oil-no-retry
# tail: qm-1
s/otherwise turn to no-oil-pressure\(  .*line 12\)/otherwise turn to no-start\1/
