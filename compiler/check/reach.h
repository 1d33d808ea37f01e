/* What can be where, without clocks: an over-approximation that decides many gates at once and explains findings.
   takes   a Frame
   gives   for each place whether it can be reached at all and which values each fact may have there
   owns    in the arena given
   never   misses a value that some run has */
#ifndef CHECK_REACH_H
#define CHECK_REACH_H
#include "check/slice.h"

typedef struct {
    const Frame *frame;
    uint64_t *masks; /* [place * n_facts + fact] */
    bool *seen;      /* by place */
    bool one_start;  /* no start follows another */
} Reach;

Reach *reach_make(Arena *arena, const Frame *frame);
/* The same where some of what can be where is known, which saves finding it again. Only `masks` and `seen` of `some` are read. */
Reach *reach_grown(Arena *arena, const Frame *frame, const Reach *some);
/* What can be where within the start that is under way, from these places on. Only `masks` and `seen` of `entries` are read. */
Reach *reach_from(Arena *arena, const Frame *frame, const Reach *entries);
uint64_t *reach_steps(Arena *arena,
                      const Reach *reach); /* bits by index into frame->out: the steps that it leaves possible */
/* Can the condition hold for some of these values (one mask a fact)? NULL: always. */
bool guard_possible(const Guard *guard, const uint64_t *masks);
/* The values at the place where the edge can be taken from there, NULL: it cannot; and the one way in which its condition holds, NULL: it
   narrows nothing. */
const uint64_t *reach_open(const Reach *reach, uint32_t place, const Edge *edge, const Term **only);
uint64_t term_values(const Term *only, uint32_t fact, uint64_t values); /* as it narrows them */
/* The values before the edge where it is taken from this place, in `room` where the edge narrows them; NULL: it cannot be taken. */
const uint64_t *reach_before(const Reach *reach, uint32_t place, const Edge *edge, uint64_t *room);
/* The values of a fact after the edge, from those before it. */
uint64_t reach_after(const Reach *reach, const Edge *edge, uint32_t fact, uint64_t values);
#endif
