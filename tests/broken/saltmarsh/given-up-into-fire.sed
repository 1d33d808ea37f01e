# Whoever gives the cold start up is sent to the drill that cranks.
# finds: given-up
/^procedure cold-start/,/^}/s/phase start "Start", otherwise turn to no-start/phase start "Start", otherwise turn to fire-cranking/
