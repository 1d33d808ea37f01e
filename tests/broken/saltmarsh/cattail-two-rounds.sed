# It is turned twice round instead of three times.
# of: cattail
# finds: three-rounds
/round-two:/d
