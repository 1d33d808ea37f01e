/* The proof: searches every path of a model.
   takes   const Model *, the gates of its tail
   gives   a verdict for each gate, findings with counterexamples, what the first pass saw
   owns    results live in the job's arena; zones in an arena of its own, freed before it returns
   never   changes the model or says more than "proved as written" */
#ifndef CHECK_CHECK_H
#define CHECK_CHECK_H
#include "sema/model.h"

typedef enum {
    VERDICT_PROVED,
    VERDICT_BROKEN,
    VERDICT_NEVER_TESTED,
    VERDICT_NOT_APPLICABLE,
    VERDICT_NOT_DECIDED
} VerdictKind;
extern const char
    *const verdict_words[]; /* "proved as written", "broken", "never tested", "not applicable", "not decided" */

typedef struct {
    const GateInstance *gate;
    VerdictKind kind;
    Str why;              /* for not applicable and not decided: what is missing */
    Finding *finding;     /* broken, never tested, not decided: where it is told; else NULL */
    const Trace *witness; /* broken */
    bool with_pace;       /* the verdict needed the stated pace */
    uint32_t triggered;   /* edges that trigger it */
    uint32_t zones;       /* stored in its search */
} Verdict;

typedef struct {
    Verdict *verdicts; /* in the order of the tail's gates */
    uint32_t n_verdicts;
    uint32_t places, edges; /* of the model */
    uint32_t zones;         /* of the first pass */
} CheckResult;

typedef struct {
    uint32_t zones;              /* budget of one search; 0: LIMIT_ZONES */
    bool (*stop)(void *context); /* polled now and then; NULL: never. True: the rest is not decided */
    void *context;
} CheckBudget;

/* The first pass (unreachable items, dead ends, checks that can wait for ever, retries without rest, ends, contradictions) and
   all gates. Never NULL. */
CheckResult *check_model(Job *job, const Model *model, CheckBudget budget);

/* What one proof after the other needs and leaves: the same room serves for many models. It lies in `arena`; its blocks are its own,
   until check_room_free. */
typedef struct CheckRoom CheckRoom;
CheckRoom *check_room_new(Arena *arena);
void check_room_free(CheckRoom *room);
CheckResult *check_model_in(CheckRoom *room, Job *job, const Model *model, CheckBudget budget);
#endif
