# The oil pressure has the half minute of a petrol engine.
# of: glasswort
# finds: oil-timeout
s/rise within oil-time after engine-fires/rise within 30 s after engine-fires/
