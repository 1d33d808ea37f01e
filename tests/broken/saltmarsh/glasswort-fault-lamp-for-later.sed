# A fault lamp ends the start, but the next one may follow.
# of: glasswort
# finds: fault-no-retry
# with: fire-no-retry fire-running-no-retry oil-no-retry stuck-no-retry starter-light-out-again
/^drill ecu-fault/,/^}/s/no more starts/next start after long-rest/
