# Between tries it is primed once more, as one does with a carburettor.
# of: samphire
# finds: prime-counted
/^    } until engine RUNNING, between tries {/,/^    }/s/^        check   engine STOPPED/        check   engine STOPPED\n        when engine-heat COLD and cable OUT {\n            set     mixture RICH\n            set     boost-pump ON\n            flow-again: expect fuel-flow prime within 5 s, otherwise turn to fuel-leak\n            cut-again: set mixture CUTOFF within prime-most after prime-flows\n            off-again: set boost-pump OFF\n        }/
