# The fuel valve is opened by nobody.
# of: seablite
# finds: selector-set
/set  *fuel-selector BOTH/d
