# It may take forty seconds to the idle that spares the gears.
# of: seablite
# finds: gears-spared
s/tach idle within settle-time after engine-fires/tach idle within 40 s after engine-fires/
