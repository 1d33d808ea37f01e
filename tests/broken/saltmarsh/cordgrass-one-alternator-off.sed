# A starter that stays in: the battery goes off and one alternator, and the running engine on the other side feeds it on.
# of: cordgrass
# finds: smoke-power-first
/^drill electrical-smoke/,/^}/s/for each engine { set alternator OFF }/for left { set alternator OFF }/
