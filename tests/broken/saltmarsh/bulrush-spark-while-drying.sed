# The ignition goes off after the motoring, not before.
# of: bulrush
# finds: no-light-off-motored
# with: abandoned-ends dry-motoring-dry
/^drill no-light-off/,/^}/s/unlit-off: set igniters OFF/unlit-off: set boost-pump OFF/
