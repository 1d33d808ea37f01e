# The time for the oil pressure counts from when its line is read, not from firing.
# of: samphire
# finds: oil-timeout
/oil-up: expect/s/ after engine-fires//
