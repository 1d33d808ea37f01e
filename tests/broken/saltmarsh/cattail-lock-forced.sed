# Where it is heavy it is turned back a little.
# of: cattail
# finds: hand-not-back lock-no-force
# with: brief chocks-known clear-call clear-pause cleared-after-person covers-off fresh-call hand-chocked hand-fires-no-retry hand-fuel-cut hand-grounded hand-ignition-off hand-lever-back last-look not-clear-obeyed park-brake read-before-known waits-for-ever extinguisher-ready fuelling-away
s/^\( *\)warning "No force. Not backwards."/\1set hand-turn BACKWARDS/
