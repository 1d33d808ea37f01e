# It is cranked as the carburetted one next to it: the mixture stays rich after priming.
# of: samphire
# finds: cut-off-at-starter prime-in-time
/lean-after-prime/d
