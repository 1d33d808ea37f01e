# The key is in while the propeller is turned by hand.
# of: seablite
# finds: hand-key-out
# with: racing-armed beacon-at-call beacon-turning drill-never-entered feet-on-brakes fire-running-armed hand-fires-ends hand-fires-no-retry kickback-armed lights-at-night person-watched selector-set smoke-armed stuck-armed waits-for-ever behind-clear torch-at-night
s/^\( *\)brief   passengers$/&/
/^group outside/,/^}/s/set  *key OUT/set     key IN/
