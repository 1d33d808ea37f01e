# A starter that was not seen to be out leads to the drill that allows a next start.
# finds: starter-light-out-again
# with: oil-before-again
# tail: qm-1
s/starter-out: check starter-light OFF, otherwise turn to starter-stuck/starter-out: check starter-light OFF, otherwise turn to no-start/
