# Flooded: the mixture goes rich before the throttle comes back.
# finds: rich-not-open
# tail: qm-1
/set  *throttle IDLE within 6 s .*first, or it races/{h;d}
/set  *mixture RICH within 7 s/{s/within 7 s/within 6 s/;G;s/throttle IDLE within 6 s/throttle IDLE within 7 s/}
