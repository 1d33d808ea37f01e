# After fuel that did not light the crew may go straight to the next start.
# of: bulrush
# finds: relight-drained relight-motored
/^drill no-light-off/,/^}/s/turn to dry-motoring/do      dark\n    end ABANDONED, next start after long-rest/
