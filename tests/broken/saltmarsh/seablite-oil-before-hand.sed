# The oil is measured before the propeller is turned.
# of: seablite
# finds: oil-after-hand
/^ *check  *oil-level BETWEEN/{d}
/^group gurgle/,/^}/{s/^\( *\)brief   passengers/&\n\1check   oil-level BETWEEN, otherwise turn to no-start/}
