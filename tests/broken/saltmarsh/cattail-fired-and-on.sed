# An engine that fired by hand may be started after a rest.
# of: cattail
# finds: hand-fires-no-retry
# with: fire-running-no-retry
/^drill fires-by-hand/,/^}/s/no more starts/next start after long-rest/
