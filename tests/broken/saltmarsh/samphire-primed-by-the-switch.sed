# The seconds count from the switch: with the flow late there is hardly any prime, and with the mixture left to the next line too much.
# of: samphire
# finds: prime-in-time
/^group prime /,/^}/{
/lean-after-prime/s/ within prime-most after prime-flows//
}
