# The drill for a hot start no longer keeps cranking: the starter goes out with the fuel still on, and goes in again.
# of: bulrush
# finds: abort-fuel-first hot-start-no-retry starter-not-early starter-on-still
# with: clear-call clear-pause cleared-after-person engine-fire-not-motored fresh-call hung-start-motored last-look no-light-off-motored read-before-known tailpipe-motored tailpipe-no-retry
/^drill hot-start/,/^}/{/keeps cranking/d}
