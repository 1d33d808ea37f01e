# The turbocharger gets no time to cool.
# of: glasswort
# finds: diesel-cool-down
/^procedure shut-down/,/^}/{/cool-down/d}
