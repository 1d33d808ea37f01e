# To save time the oil pressure is looked at while the belts are drawn tight.
# of: reedmace
# finds: clutch-oil-first handbook-line-left
# with: oil-before-again
/^group caught/,/^}/{
/oil-up:/,/oil-good:/d
}
/^group settled/,/^}/s/^    set  *alternator ON.*/    oil-up: expect oil-pressure rise within oil-time after engine-fires, otherwise turn to no-oil-pressure\n    oil-good: check oil-pressure limit, otherwise turn to no-oil-pressure\n&/
