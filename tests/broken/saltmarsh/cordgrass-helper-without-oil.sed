# The first engine is asked to help before its oil pressure was looked at.
# of: cordgrass
# finds: helper-has-oil
# with: oil-at-end
/oil-still:/d
/oil-good:/d
