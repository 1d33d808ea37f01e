# The brake holds it, so nobody asks for chocks.
# of: bogbean
# finds: swing-secured chocks-known
/check   chocks IN/d
