# Nobody reads the turbine temperature before the fuel goes in.
# of: bulrush
# finds: residual-temp
s/cool: check itt residual, .*/cool: check volts battery, otherwise turn to weak-source/
