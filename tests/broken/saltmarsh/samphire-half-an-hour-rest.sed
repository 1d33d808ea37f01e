# The ten minutes of the other singles: the bulletin asks for its limit over an hour, and a third series comes within it.
# of: samphire
# finds: starter-duty
s/then 30 min rest/then 10 min rest/
s/long-rest 30 min/long-rest 10 min/
