# A control's name is misspelt.
# finds: name-unknown
s/set  *carb-heat COLD/set     carb-heet COLD/
