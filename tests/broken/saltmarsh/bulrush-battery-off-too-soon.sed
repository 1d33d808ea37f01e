# In a tailpipe fire the battery goes off before the motoring.
# of: bulrush
# finds: power-for-crank
# with: read-before-known
/^drill tailpipe-fire/,/^}/s/^\( *\)set  *boost-pump OFF/&\n\1set master OFF/
