# The pump is no start: nobody calls before the blades swing.
# of: bulrush-f
# finds: blades-called
/^drill blades-off/,/^}/{/call  *clear/d;s/wait at least clear-pause after clear/wait at least clear-pause/}
