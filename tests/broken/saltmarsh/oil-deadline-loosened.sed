# Oil pressure has five minutes instead of the handbook's time.
# finds: oil-timeout
# tail: qm-1
s/oil-pressure rise within oil-time after engine-fires/oil-pressure rise within 5 min after engine-fires/
