# The ignition goes on with the first blade.
# of: cattail
# finds: blades-before-ignition
/blades: expect/{N;d}
s/set  *magnetos BOTH within 3 s after blades/set     magnetos BOTH/
