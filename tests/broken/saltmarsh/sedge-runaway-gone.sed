# Nobody wrote down what is done when the motor turns by itself.
# of: sedge
# finds: drill-missing
/^drill runaway/,/^}/d
s/if motor-speed racing turn to runaway/if motor-speed racing turn to hv-off/
s/ runaway,//
