# Flooded, it is fed as after a cold start: the mixture first, with the throttle wide open.
# of: samphire
# finds: rich-not-open
/^procedure flooded-start/,/^}/{
/set     throttle IDLE within/d
s/^        set     mixture RICH within 6 s after engine-fires/        do      fed/
}
