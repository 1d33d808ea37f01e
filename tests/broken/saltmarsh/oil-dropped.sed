# Nobody waits for oil pressure at all.
# finds: oil-timeout oil-at-end handbook-line-left
# with: oil-before-again
# tail: qm-1
/oil-up: expect/d
/otherwise turn to no-oil-pressure  .*line 12/d
/oil-good: check/d
s/engine RUNNING and oil-up/engine RUNNING/
