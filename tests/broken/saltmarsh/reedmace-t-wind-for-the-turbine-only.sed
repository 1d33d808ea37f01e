# The wind is read for the turbine; nobody asks what the rotor stands.
# of: reedmace-t
# finds: rotor-wind
s/check  *wind start and wind engage and tailwind start/check   wind start and tailwind start/
