/* A path told for a person.
   takes   a run that breaks a gate, or one that keeps it
   gives   steps in the author's words at their earliest times; what has nothing to do with the gate is left out, and counted later
   owns    in the job's arena
   never   searches */
#ifndef CHECK_STEPS_H
#define CHECK_STEPS_H
#include "check/observers.h"
#include "check/witness.h"

/* Those after the first `from` moves. */
TraceSteps steps_tell(const Broken *broken, const Path *path, uint32_t from);
Str steps_move(const Broken *broken, const Path *path, uint32_t move); /* one move in words */
const Item *steps_item(const Broken *broken, const Path *path,
                       uint32_t move);            /* the line to be named with it; NULL: none */
Str steps_line(const Job *job, const Item *item); /* "line 97", "" for none */
bool edge_carries(const Observer *observer, uint32_t edge, uint32_t roles);
#endif
