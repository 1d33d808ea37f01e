# A control's name is misspelt.
# finds: unknown-name
s/set     carb-heat COLD/set     carb-heet COLD/
