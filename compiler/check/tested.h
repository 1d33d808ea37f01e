/* In words, what puts a rule to the test and on which lines.
   takes   the first pass, a gate
   gives   the verdict's tests
   owns    them in the job's arena
   never   searches */
#ifndef CHECK_TESTED_H
#define CHECK_TESTED_H
#include "check/firstpass.h"

void tested_tell(const FirstPass *first, Verdict *verdict, Arena *scratch);
#endif
