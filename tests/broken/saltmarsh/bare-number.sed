# A number without its unit.
# finds: dimension
s/oil-time 60 s when/oil-time 60 when/
