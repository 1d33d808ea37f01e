# The supplement gives the starter another duty on the cable; its line says OUT like the one above, and nothing holds on the cable.
# of: samphire
# finds: case-missing case-twice
s/when cable IN .*/when cable OUT  from supplement-4 2/
