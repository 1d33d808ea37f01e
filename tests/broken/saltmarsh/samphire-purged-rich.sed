# The vapour is driven out with the mixture as the last pilot left it.
# of: samphire
# finds: purged-lean cut-off-at-starter mixture-set-injected
/purge-lean/d
