# CONTACT is called for the first swing; for the next one everybody knows.
# of: bogbean
# finds: contact-order contact-before-switches
/hears-contact/d
/^        call    contact$/d
