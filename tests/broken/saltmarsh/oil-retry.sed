# After no oil pressure the aircraft may be started again.
# finds: oil-no-retry
/^drill no-oil-pressure/,/^}/s/end SECURED, no more starts/end SECURED, next start after long-rest/
