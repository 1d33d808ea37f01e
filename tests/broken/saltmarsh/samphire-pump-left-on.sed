# After priming the pump stays on, for there is nothing in the lines to lose.
# of: samphire
# finds: pump-off-at-starter
/pump-after-prime/d
