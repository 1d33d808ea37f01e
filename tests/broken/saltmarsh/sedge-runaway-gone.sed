# Nobody wrote down what is done when the motor turns by itself.
# of: sedge
# finds: drill-missing
/^drill runaway/,/^}/d
s/ runaway,//
/if motor-speed racing turn to runaway,/d
s/engine RUNNING within 10 s,$/engine RUNNING within 10 s/
