# The oil pressure is given twice its time.
# of: bulrush
# finds: turbine-oil-timeout
# tail: qm-5
s/rise within oil-time after crank-start/rise within 20 s after crank-start/
