# After a rotor that was slow it may be tried again after the starter's rest.
# of: reedmace
# finds: rotor-late-no-retry
# with: fire-running-no-retry oil-no-retry stuck-no-retry
/^drill rotor-late/,/^}/s/no more starts/next start after long-rest/
