/* Whether two texts say the same: their trees compared, places left aside, numbers and texts by their bytes.
   takes   two files of one job
   gives   true or false
   owns    nothing
   never   recurses deeper than the parser let the text nest */
#ifndef FRONT_EQUAL_H
#define FRONT_EQUAL_H
#include "front/front.h"

bool file_equal(Job *job, const File *a, const File *b);
#endif
