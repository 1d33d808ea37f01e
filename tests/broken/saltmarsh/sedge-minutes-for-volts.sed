# The bus counts as dead when its minute is over, whatever it shows.
# of: sedge
# finds: discharged-ends
s/expect  *bus-volts discharged within discharge-time, otherwise turn to still-charged/wait    at least discharge-time "the bus discharges"/
