# The engine is stopped without its minutes at idle.
# of: bulrush
# finds: cool-down
/^procedure shut-down/,/^}/{/cool-down/d}
