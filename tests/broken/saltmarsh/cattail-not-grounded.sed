# Nobody asks whether the engine died with the ignition off at its last stop.
# of: cattail
# finds: hand-grounded
/check  *grounding PROVED/d
