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

/* ---- what is taken for granted ---- */
typedef enum {
    ASSUMED_AS_WRITTEN,
    ASSUMED_BEGINNINGS,
    ASSUMED_ENGINE,
    ASSUMED_FROZEN,
    ASSUMED_OVER_DUTY,
    ASSUMED_PACE,
    ASSUMED_RUN_DOWN,
    ASSUMED_KINDS
} AssumptionKind;
extern const char *const assumption_ids[]; /* "as-written" … */
typedef struct {
    AssumptionKind kind;
    bool every_rule; /* false: of those verdicts only that say so */
    Str text;
    int64_t ms; /* its number, 0: none */
} Assumption;

/* ---- what is told of a verdict on request (check_details) ---- */
/* A time of the rule, and by how much it alone could be tightened with the rule still proved, under the same assumptions. */
typedef enum { TIME_AT_MOST, TIME_AT_LEAST } TimeLimitKind;
typedef enum {
    SPARE_MEASURED, /* spare_ms, and not a thousandth of a second more */
    SPARE_ANY,      /* however long, or short, it were */
    SPARE_UNKNOWN   /* at least spare_ms: beyond that it is not decided */
} SpareKind;
typedef struct {
    TimeLimitKind kind;
    Str what; /* "a pause of at least 5 s" */
    int64_t ms;
    SpareKind spare;
    int64_t spare_ms;
} TimeLimit;

/* A time of the text that counts from a named event, and what is left of it for its line when that is come to at the latest, at the
   stated pace; none where no pace is stated. With nothing to spare it may run out before. */
typedef struct {
    Str line;    /* "set Throttle IDLE" */
    uint32_t at; /* its place in the text */
    TimeLimit limit;
} TextTime;

/* What puts the rule to the test, and on which lines of one file it does or may. */
typedef struct {
    Str what; /* "crank", "the engine fires", "while it holds" */
    Str file;
    uint32_t *lines; /* rising */
    uint32_t n_lines;
    /* Of the model: a line that several procedures come to is several; places of drills that were made one are one. */
    uint32_t points;
} TestedBy;

typedef struct {
    const GateInstance *gate;
    VerdictKind kind;
    Str why;                 /* for not applicable and not decided: what is missing */
    Finding *finding;        /* broken, never tested, not decided: where it is told; else NULL */
    const Trace *witness;    /* broken */
    bool with_pace;          /* the verdict needed the stated pace */
    uint32_t triggered;      /* edges that trigger it */
    uint32_t zones;          /* stored in its search */
    const TimeLimit *limits; /* this and what follows by check_details; of a proved rule */
    uint32_t n_limits;
    const TestedBy *tests;
    uint32_t n_tests;
    uint32_t assumes; /* bit k: the verdict needed the assumption of kind k, of those that not every rule leans on */
} Verdict;
static inline bool verdict_assumes(const Verdict *verdict, AssumptionKind kind) {
    return verdict->assumes >> kind & 1;
}

typedef struct {
    Verdict *verdicts; /* in the order of the tail's gates */
    uint32_t n_verdicts;
    uint32_t places, edges; /* of the model */
    uint32_t zones;         /* of the first pass */
    const Assumption *assumptions;
    uint32_t n_assumptions;
    bool detailed;              /* check_details has filled in the rest of the verdicts */
    const TextTime *text_times; /* by check_text_times */
    uint32_t n_text_times;
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
/* A copy that outlives the model, without what only the tail has: gates, findings. */
CheckResult *check_result_keep(Arena *arena, const CheckResult *result);
/* A kept result fit for a tail with the same gates. */
CheckResult *check_result_for(Arena *arena, const CheckResult *kept, const Tail *tail);
Trace *trace_keep(Arena *arena, const Trace *trace);
CheckResult *check_model_in(CheckRoom *room, Job *job, const Model *model, CheckBudget budget);
/* Of the model that was proved in this room last: the rest of its verdicts. Takes several times as long as the proof, with a budget of
   its own, and changes no verdict. */
void check_details(CheckRoom *room);
/* After check_details, with what that left of its budget: the times of the text. */
void check_text_times(CheckRoom *room);
#endif
