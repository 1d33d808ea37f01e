# The battery is read with the cable on: it shows the voltage of the cable.
# of: glasswort
# finds: battery-not-flat
/^procedure external-start/,/^}/{/check  *volts battery/d}
