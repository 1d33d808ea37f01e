# The first engine goes back to idle once it has shown its speed, as at the end of every other start.
# of: cordgrass
# finds: helper-left-alone
/oil-still:/a\    set     throttle IDLE
