# One change of each kind, as a revision brings them.
s/starter up to 10 s on, 20 s rest/starter up to 12 s on, 25 s rest/
/^        set     magnetos BOTH$/d
s/^        hold    throttle$/&\n        set     magnetos BOTH/
/^    look    motion NONE, otherwise turn to creeping$/d
s/expect  ammeter charging within 10 s/expect  ammeter charging within 12 s/
s/^    set     fuel-selector FULLEST /    set     fuel-selector FULLEST as "Tank" /
s/^    check   covers OFF, otherwise turn to no-start$/    check   chocks IN, otherwise turn to no-start\n&/
/^    warning "Nobody touches the propeller[.]"$/d
