# Those on board are not told that it is silent.
# of: sedge
# finds: silence-brief
/^ *brief  *silence/d
