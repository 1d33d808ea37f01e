# Nobody looks at the rotor brake, which whoever parked it left on.
# of: reedmace-t
# finds: rotor-brake-off
/^group cockpit/,/^}/{/set  *rotor-brake OFF/d}
