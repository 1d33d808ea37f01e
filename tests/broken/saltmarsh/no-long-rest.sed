# The next start may follow at once, with the starter's tries used up.
# finds: starter-duty
# tail: qm-1
s/end RUNNING, next start after long-rest/end RUNNING/
