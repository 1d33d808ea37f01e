# Nobody reads the turbine temperature before the fuel goes in.
# of: bulrush
# finds: residual-temp
/^ *cool: *check itt residual/d
