# A fault lamp ends the start, but the next one may follow.
# of: glasswort
# finds: fault-no-retry
# with: crept-chocks-first fire-no-retry fire-running-no-retry oil-before-again oil-no-retry starter-light-out-again stuck-no-retry
/^drill ecu-fault/,/^}/s/no more starts/next start after long-rest/
