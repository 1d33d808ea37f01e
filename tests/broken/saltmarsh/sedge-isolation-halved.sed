# The isolation is compared with a number from another aircraft.
# of: sedge
# finds: isolation-ok
s/check  *isolation limit/check   isolation at least 250 kOhm/
