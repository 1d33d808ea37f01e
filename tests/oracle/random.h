/* Small random models and gates for the oracle, the same for the same seed on every machine. */
#ifndef ORACLE_RANDOM_H
#define ORACLE_RANDOM_H
#include "base/diag.h"
#include "base/job.h"
#include "base/source.h"
#include "sema/model.h"

typedef struct {
    Arena *arena;
    Names *names;
    uint64_t seed;
} Dice;
/* What one random model is made and checked on; `arena_free(&desk.arena)` ends it. */
typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    Dice dice;
} RandomDesk;
void random_desk_open(RandomDesk *desk, uint64_t seed);
uint32_t dice(Dice *d, uint32_t n);          /* 0 … n - 1 */
Model *random_model(Dice *d, RuleKind rule); /* its tail has one gate, of this form */
/* One line after the other, most with a least time and many with a deadline, round and round; the gate speaks of what they do in
   order: most such rules are put to the test, and kept or broken by times alone. */
Model *random_lines(Dice *d, RuleKind rule);
#endif
