# Nobody pushes the choke in.
# of: seablite
# finds: choke-off
/^ *choke-in: /d
