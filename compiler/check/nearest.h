/* The nearest path that keeps a rule which another path breaks: the one that has the most of its beginning.
   takes   the broken path, its search still as it ended
   gives   where the two part and how the other goes on, in words
   owns    texts in the job's arena
   never   says that there is none unless it looked everywhere */
#ifndef CHECK_NEAREST_H
#define CHECK_NEAREST_H
#include "check/witness.h"

/* Fills the trace's `nearest`, `instead` and `parting`. The search is used up. `path`, where given, gets that path; its n stays 0
   where none was found. */
void nearest_tell(const Broken *broken, Arena *scratch, Trace *trace, Path *path);
#endif
