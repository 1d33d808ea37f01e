# The flat battery stays on for the radio: it has enough left to bring the starter in.
# of: bogbean
# finds: no-power-at-swing
/set     master OFF.*because/s/OFF/ON/
/^        set     master ON$/{
}
