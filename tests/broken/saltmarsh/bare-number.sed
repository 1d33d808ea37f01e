# A number without its unit.
# finds: bare-number
s/oil-time 60 s when/oil-time 60 when/
