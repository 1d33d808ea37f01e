# The drill for fuel that did not light does not look at the drain.
# of: bulrush
# finds: relight-drained
/check  *fuel-drain DRY/d
