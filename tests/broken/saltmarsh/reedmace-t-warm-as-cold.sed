# After a short stop the fuel goes in at its speed, as always.
# of: reedmace-t
# finds: residual-temp
/^procedure warm-start/,/^}/{
s/cool: expect tot residual within cool-wait-time, .*/cool: check ng fuel-ready, otherwise turn to no-rotation/
/its air cools; no fuel before/d
}
