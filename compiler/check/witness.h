/* A path told for a person.
   takes   a search that ended in a break
   gives   Trace: steps in the author's words at their earliest times, routine lines folded
   owns    in the job's arena
   never   searches */
#ifndef CHECK_WITNESS_H
#define CHECK_WITNESS_H
#include "check/search.h"

typedef struct {
    uint32_t *nodes; /* from the first to the bad one */
    uint32_t n;
    int64_t *at_ms; /* when the edge into node k is taken; [n]: when the break is certain */
    bool timed;     /* false: the times could not be found (then they are all 0) */
    bool by_time;   /* the break is that time goes on in the last node, by no edge */
} Path;

Path witness_path(Arena *arena, const Search *search);
/* Where the finding stands: the item of the last edge; where time broke the rule, the item where the pilot waited. */
const Item *witness_item(const Search *search, const Path *path);
Trace *witness_trace(const Job *job, const Search *search, const Path *path, Str wanted);
/* Node of the path at which the observer's clock was last zeroed, and the last one whose edge made an event of the role. */
uint32_t witness_reset(const Search *search, const Path *path);
#endif
