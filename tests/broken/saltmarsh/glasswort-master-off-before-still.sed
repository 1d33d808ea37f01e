# In the shut-down alternator and battery go off before the engine master.
# of: glasswort
# finds: unit-fed
/^procedure shut-down/,/^}/{
/^ *set  *alternator OFF/d
/^ *set  *master OFF/d
s/^\( *\)set  *avionics OFF/&\n\1set     alternator OFF\n\1set     master OFF/
}
