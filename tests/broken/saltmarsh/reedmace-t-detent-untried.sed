# The grip is closed, and nobody tries its detent.
# of: reedmace-t
# finds: detent-tried handbook-line-left
/check  *detent HOLDS/,/because/d
