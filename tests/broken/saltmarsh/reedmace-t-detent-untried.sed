# The grip is closed, and nobody tries its detent.
# of: reedmace-t
# finds: detent-tried
/check  *detent HOLDS/,/because/d
