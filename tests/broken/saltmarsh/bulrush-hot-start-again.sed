# A hot start may be followed by another one after the rest.
# of: bulrush
# finds: hot-start-no-retry
# with: engine-fire-not-motored relight-drained relight-motored tailpipe-no-retry
/^drill hot-start/,/^}/s/no more starts/next start after long-rest/
