# After no oil pressure the aircraft may be started again.
# finds: oil-no-retry
# with: starter-light-out-again fire-no-retry fire-running-no-retry kickback-no-retry stuck-no-retry crept-chocks-first oil-before-again raced-once
# tail: qm-1
/^drill no-oil-pressure/,/^}/s/end SECURED, no more starts/end SECURED, next start after long-rest/
