# The sister type's handbook says 172 kPa; the number was copied and psi typed behind it.
# finds: band-outside-limit
# tail: qm-1
s/rise at least 25 psi/rise at least 172 psi/
