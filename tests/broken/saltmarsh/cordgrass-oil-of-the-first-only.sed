# The second engine gets the time for its oil from the moment its line is read: the first one fired long before.
# of: cordgrass
# finds: oil-timeout
/oil-up: expect/s/ after engine-fires//
