/* The rules that no run breaks by itself: "each STATE can reach STATE or drill", a game on the situations of the text; "every case has
   exactly one procedure".
   takes   what the first pass found, a gate of one of the two forms
   gives   the verdict with its finding
   owns    findings in the job's arena, all else in `scratch` and `board`
   never   says proved where the times may decide it */
#ifndef CHECK_WAYS_H
#define CHECK_WAYS_H
#include "check/firstpass.h"

typedef struct {
    VerdictKind kind;
    uint32_t tested;
    uint32_t zones;
    Str why;
    Finding *finding;
} WaysAnswer;
/* What all rules of a model can be played on; made when first needed. */
typedef struct WaysBoard WaysBoard;
typedef struct {
    Job *job;
    const FirstPass *first;
    const GateInstance *gate;
    Arena *scratch;
    Arena *board; /* for one game at a time */
    Store *store;
    CheckBudget budget;
    bool coarse_only; /* either proved quickly, or not decided */
    Arena *own;       /* of what is shared */
    WaysBoard **shared;
} WaysQuestion;
WaysAnswer ways_decide(const WaysQuestion *question);
WaysAnswer variants_decide(const WaysQuestion *question); /* RULE_CASES */
#endif
