# The key stays in while the propeller is turned by hand.
# of: cattail
# finds: hand-key-out
# with: racing-armed beacon-at-call beacon-turning feet-on-brakes fire-running-armed lights-at-night person-watched read-before-known selector-set waits-for-ever kickback-armed smoke-armed stuck-armed behind-clear torch-at-night
/^group outside/,/^}/{/set  *key OUT/d}
