/* What bars the way: the shortest way on through lost situations to where nothing goes on, or to where it goes round.
   takes   a game that is lost at a situation, even at best
   gives   notes on a finding, in the words of the text
   owns    the words in the job's arena, all else in `scratch`
   never   decides a gate */
#ifndef CHECK_BARRIER_H
#define CHECK_BARRIER_H
#include "check/game.h"

typedef struct {
    Job *job;
    const Model *m;
    const GateInstance *gate; /* "each STATE can reach STATE or drill" */
    const Game *game;
    const bool *hope; /* by situation: won at best */
    Arena *scratch;
} Barrier;
void barrier_note(const Barrier *barrier, Finding *finding, uint32_t node);
#endif
