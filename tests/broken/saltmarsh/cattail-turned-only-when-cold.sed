# It is turned by hand only when it is cold outside.
# of: cattail
# finds: lock-looked-for
s/when stopped-for LONG {/when stopped-for LONG and oat below 5 degC {/
