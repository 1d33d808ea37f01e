# Nobody looks where the blades lie; whoever parked it has left them to the locks, surely.
# of: bulrush-f
# finds: locks-set handbook-line-left
/^group cockpit/,/^}/s/look  *start-locks SET, .*/when start-locks FEATHERED { turn to blades-off }/
