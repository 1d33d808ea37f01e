# A blade that did not fire: the next swing is made at once, with the switches as they are.
# of: bogbean
# finds: ignition-off-at-call
/off-again: set magnetos OFF/d
