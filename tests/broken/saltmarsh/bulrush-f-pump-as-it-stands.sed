# The unfeathering pump is left as it stands.
# of: bulrush-f
# finds: pump-off-at-start
/^group cockpit/,/^}/{/set  *unfeather-pump OFF/d}
