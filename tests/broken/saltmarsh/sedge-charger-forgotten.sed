# Nobody asks for the charger on the day without frost.
# of: sedge
# finds: charger-off handbook-line-left
/^group volts-up/,/^}/{/charger UNPLUGGED/d}
