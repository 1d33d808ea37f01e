# Only the strength of the wind is asked for.
# of: bulrush
# finds: wind-for-start
s/check  *wind start and tailwind start/check   wind start/
