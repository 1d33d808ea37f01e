/* The timed model of one tail: all its procedures, joined by their ends, as places, edges and clocks.
   takes   a Tail
   gives   const Model: a pure transition system; the engine's physics, retries, releases and deadlines are all edges here
   owns    all in the job's arena
   never   knows a gate

   State = (place, facts, clocks). A move is an edge (guard and bounds hold; then effects, resets, marks, at one moment) or the
   passing of time, which goes on while no deadline of the place has been reached. A deadline already passed on entry stops time
   at once; its lapse edge (the edge whose bound is clock >= ms) is then open. Bounds are inclusive whole milliseconds. */
#ifndef SEMA_MODEL_H
#define SEMA_MODEL_H
#include "sema/tail.h"

/* Disjunction of terms, a term being a conjunction of literals "fact's value is in mask". */
typedef struct {
    uint32_t fact;
    uint64_t mask;
} Literal;
typedef struct {
    Literal *literals;
    uint32_t n;
} Term;
typedef struct {
    Term *terms;
    uint32_t n; /* 0: false; one term with n == 0: true */
} Guard;

typedef enum { CHANGE_TO, CHANGE_COUNT } ChangeKind;
typedef struct {
    ChangeKind kind; /* TO: the fact becomes one of mask (the world's choice where it has several bits).
                        COUNT: its value grows by one, stopping at the last */
    uint32_t fact;
    uint64_t mask;
} Change;

typedef struct {
    uint32_t clock;
    int64_t least_ms; /* < 0: none; clock >= least */
    int64_t most_ms;  /* < 0: none; clock <= most */
} Bound;

typedef struct {
    const Guard *when; /* NULL: always */
    uint32_t clock;
    int64_t ms;     /* time may pass while clock <= ms */
    uint32_t lapse; /* edge taken when it lapses, NO_INDEX: several or an ambient edge leave then */
} Deadline;

/* What an edge does that a gate can ask for; matched with a Trigger of the same kind. */
typedef struct {
    TriggerKind kind; /* SEEN, LOOK, SET, CALL, BRIEF, ANSWERED, LABEL, ENTER, TURN */
    uint32_t fact, thing, engine;
    uint64_t mask;
    Name name;
    uint32_t count; /* SET of a counted position: strokes, else 1 */
} Mark;

typedef enum {
    EDGE_ITEM,        /* an item done, or one outcome of it */
    EDGE_OTHERWISE,   /* the item's `otherwise` or `if`, by looking */
    EDGE_LAPSE,       /* a deadline passed */
    EDGE_ENTER_DRILL, /* by its cue */
    EDGE_RELEASE,     /* the starter let go at the end of a crank */
    EDGE_FIRE,
    EDGE_RUN_DOWN,
    EDGE_STOP,   /* the engine's */
    EDGE_JOIN,   /* from an end to the next beginning */
    EDGE_BEGIN,  /* from the joint to the first line of a procedure */
    EDGE_GIVE_UP /* the pilot gives the start up at this line: in no run of the text as written */
} EdgeKind;

typedef struct {
    EdgeKind kind;
    Actor actor;
    uint32_t from;      /* a place; NO_INDEX: ambient, from every place of `scope` */
    uint32_t to;        /* a place; NO_INDEX (ambient only): the place stays */
    uint32_t scope;     /* ambient: index into scopes */
    const Item *item;   /* the item it belongs to; NULL: none */
    const Guard *guard; /* NULL: true */
    Change *changes;
    Bound *bounds;
    uint32_t *resets; /* clocks */
    Mark *marks;
    uint16_t n_changes, n_bounds, n_resets, n_marks;
    uint32_t drill; /* ENTER_DRILL, or `turn to`: index into the tail's drills; NO_INDEX */
    bool over_duty; /* engages or continues the starter under a stated exemption */
} Edge;

/* Places of an ambient edge: [lo, hi) without [but_lo, but_hi), and without places that have their own edges for the engine
   where `skip_own` says so. */
typedef struct {
    uint32_t lo, hi, but_lo, but_hi;
    bool skip_own;
} Scope;

typedef enum { PLACE_ITEM, PLACE_END, PLACE_JOINT } PlaceKind;
typedef struct {
    PlaceKind kind;
    bool own_engine_edges; /* in a crank: the engine's edges are its own edges, composed with the crank's `until` */
    const Item *item;      /* the item that is next (ITEM) or that ended (END) */
    uint32_t procedure;    /* NO_INDEX for the joint */
    uint32_t drill;        /* NO_INDEX: in the procedure itself */
    uint32_t first_edge, n_edges; /* its own edges, contiguous */
    uint32_t first_deadline, n_deadlines;
    Name outcome; /* END */
    bool no_more_starts;
    bool pilots_act; /* an act of the pilot is possible here, neither a briefing, a plain line nor a wait for the world:
                              where the pace counts, time may pass here while pace_clock <= tail->pace_ms … */
    const Guard
        *pace_when; /* … and this holds (a drill entered by its cue: only while the gauge was watched); NULL: always */
} Place;

typedef struct {
    Str what; /* for dumps: "since clear", "since letting go of the starter" */
} Clock;

/* The history of a duty that retries wait by and the duty gate reads. */
typedef struct {
    uint32_t duty;       /* index into the tail's duties */
    uint32_t count;      /* FACT_COUNT: engagements since the last long rest */
    uint32_t on_clock;   /* since the engagement */
    uint32_t rest_clock; /* since the release */
    uint32_t exempt;     /* FACT_COUNT of 2 values: 1 while an engagement is exempt (over duty) */
} DutyHistory;

typedef struct Model {
    const Tail *tail;
    Fact *facts; /* the tail's facts, then the model's counters */
    uint32_t n_facts;
    Clock *clocks;
    uint32_t n_clocks;
    Place *places;
    uint32_t n_places;
    Edge *edges; /* own edges in the order of their places, then the ambient ones */
    uint32_t n_edges, first_ambient;
    Edge *give_ups; /* by the order of their places; no run of this model takes one, see model_giving_up */
    uint32_t n_give_ups;
    Scope *scopes;
    uint32_t n_scopes;
    Deadline *deadlines; /* of places */
    uint32_t n_deadlines;
    Deadline *ambient_deadlines; /* hold at every place (the engine's run-down) */
    uint32_t n_ambient_deadlines;
    DutyHistory *histories;
    uint32_t n_histories;
    uint32_t
        pace_clock; /* zeroed on every entry of a place (also the clock of deadlines that start at the line before) */
    uint32_t
        joint; /* the place from which every procedure begins; also the initial place. Ends lead to the place before it,
                            whose one edge forgets what does not go over to the next start */
    uint64_t *initial;                     /* by fact: the mask at the very beginning */
    uint32_t *procedure_lo, *procedure_hi; /* places of each procedure, its drills' copies included */
} Model;

/* The frame of a duty counter, a clock and so on for a procedure's own text is documented in grammar/LANGUAGE.md. */
Guard *guard_of_test(Job *job, const Test *test,
                     bool negated); /* NULL with a finding where it grows beyond LIMIT_GUARD_TERMS */
Model *model_lower(Job *job, const Tail *tail);
/* The same with giving up as edges like all others: a model of its own in `arena`, which leans on the first. */
Model *model_giving_up(Arena *arena, const Model *model);
/* A text dump for tests: one line a place, edge, deadline; stable order. */
void model_dump(Buf *buf, const Job *job, const Model *model);
#endif
