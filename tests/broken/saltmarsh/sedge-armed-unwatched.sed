# Somebody near is looked for only once the propeller turns.
# of: sedge
# finds: person-watched
/^drill person-near/,/^}/s/armed   while propeller-live/armed   while engine RUNNING/
