# The owner swings it alone, as he has for years: nobody asks who sits at the controls.
# of: bogbean
# finds: two-trained
/check   pilot-aboard/d
