# After a rotor that was held it may be tried again.
# of: reedmace-t
# finds: rotor-late-no-retry
/^drill rotor-late/,/^}/s/no more starts/next start after long-rest/
