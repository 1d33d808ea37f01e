/* Giving up at a line: where it leads, and what that does to the ends. No run of the text as written gives up, and no verdict leans on
   this; the ends that giving up leads to, and what happens on the way to them, are judged by themselves.
   takes   what the first pass found
   gives   findings; whether a rule is surely kept
   owns    all in the arena given
   never   searches */
#ifndef CHECK_GIVEN_UP_H
#define CHECK_GIVEN_UP_H
#include "check/firstpass.h"

/* Lines at which an engine may turn, and nothing says what is done if the start is given up there: one note. */
void given_up_nowhere(const FirstPass *first, Arena *scratch);
bool given_up_judges(const GateInstance *gate); /* is it about ends, or about what comes before events? */

typedef struct {
    const FirstPass *first;
    uint64_t *entries; /* [place * n_facts + fact]: the values that it leads there with */
    bool *enters;      /* by place */
    uint64_t *added;   /* facts of which no other run has some of these values there */
    bool beyond;       /* a condition of the model may read one of them */
    Arena *arena;
    Reach *flow; /* and on from there, in that case; made when first needed */
    Reach *ways; /* and on from there to the ends, in the other; likewise */
} GivenUp;
GivenUp given_up_open(Arena *arena, const FirstPass *first);
/* Is the rule kept at every end that giving up leads to, or at every event on the way? False: a search must tell. */
bool given_up_keeps(GivenUp *given, const GateInstance *gate, Arena *scratch);
#endif
