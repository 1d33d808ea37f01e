# External power goes off before the battery is on.
# finds: never-without-power
/set  *master ON .*never a moment/d
/^procedure external-start/,/^}/s/^        set  *ground-power OFF/&\n        set master ON/
