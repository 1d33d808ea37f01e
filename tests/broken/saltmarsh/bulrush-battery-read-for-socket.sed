# The start from the cable reads the voltage of the battery, as the text that it was copied from.
# of: bulrush
# finds: volts-for-start
/^procedure external-start/,/^}/s/check   volts external/check   volts battery/
