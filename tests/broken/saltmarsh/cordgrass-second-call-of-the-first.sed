# The second engine is started on the call for the first: who stands on its side heard the other name.
# of: cordgrass
# finds: clear-call clear-pause fresh-call ignition-after-call cleared-after-person not-clear-obeyed
# with: last-look
/^procedure cold-start/,/^}/{
/for right {/,/}/s/            do      tries/            hold brakes PRESSED\n            hold throttle\n            set magnetos BOTH\n            crank, otherwise turn to flooded/
}
