# Nobody asks for the charger on the day without frost.
# of: sedge
# finds: charger-off
/^group volts-up/,/^}/{/charger UNPLUGGED/d}
