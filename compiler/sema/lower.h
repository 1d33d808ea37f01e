/* Inside the lowering: the state of one model being made.
   takes   the tail's item trees
   gives   raw edges (conditions as tests), which finishing splits by what they do to engines, duties and events
   owns    all in the job's arena
   never   known to the floors above

   Items are lowered in continuation style: a frontier holds the places from which the next act is done, each with what that act
   must still meet (condition, bounds of waits) and still does (marks, counts, clocks). Only acts make places. */
#ifndef SEMA_LOWER_H
#define SEMA_LOWER_H
#include "base/limits.h"
#include "sema/model.h"

/* ---- guard.c ---- */
uint64_t fact_all(const Fact *fact);
Guard *guard_make(Arena *arena, const Fact *facts, const Test *test, bool negated, bool *over);
void guard_absorb(Guard *guard); /* leaves out terms that another one covers */
const Test *test_const(bool value);
const Test *test_fact(Arena *arena, uint32_t fact, uint64_t mask);
bool test_always(const Test *test); /* NULL is true */
bool test_never(const Test *test);
const Test *test_both(Arena *arena, const Test *a, const Test *b);
const Test *test_either(Arena *arena, const Test *a, const Test *b);
const Test *test_inverse(Arena *arena, const Test *a);
/* Masks in which the values of facts lie: before an edge, then (from `before` on) what the edge changes them to. */
typedef struct {
    Literal *at;
    size_t n, before, cap;
} Known;
/* What is left of the test, to be read before the edge. */
const Test *test_fold(Arena *arena, const Test *test, const Known *known);
bool test_reads(const Test *test, uint32_t fact);
bool test_same(const Test *a, const Test *b); /* written alike */

/* What an edge does and waits for. The arrays are shared between edges: they are copied to grow, never written. */
typedef struct {
    Change *changes;
    Bound *bounds;
    uint32_t *resets;
    Mark *marks;
    uint16_t n_changes, n_bounds, n_resets, n_marks;
} Load;

typedef struct {
    uint32_t place;
    const Test *when; /* NULL: always */
    Load load;
} Entry;
typedef struct {
    Entry *at;
    size_t n, cap;
} Frontier;

/* Places that are not made yet are named by TARGET + index into `targets`. */
#define TARGET 0x80000000u

typedef struct {
    EdgeKind kind;
    Actor actor;
    uint32_t from, to, scope, drill;
    uint32_t deadline; /* placed deadline that this edge lapses, NO_INDEX */
    const Item *item;
    const Test *when;
    Load load;
    bool over_duty;
    bool
        plain; /* beginnings: nothing is moved, only known or forgotten, so no physics and no events but its own marks */
    bool keeps; /* leads to a drill that keeps cranking: the starter stays where it is */
    bool stays; /* the place is not left: its clock runs on */
} Raw;

typedef VEC(Raw) Raws;

typedef struct {
    uint32_t place;
    Deadline deadline;
} Placed;

/* Where an outcome leads. */
typedef struct {
    uint32_t to, drill, reset; /* reset: a clock, NO_INDEX */
    const Item *block;         /* lowered from `to` afterwards; NULL: none */
    bool turns, ends;          /* it leaves: watching is over */
    bool again;
} Way;

typedef struct {
    uint32_t target, drill;
    const Item *item;
    const ItemAction *action;
} EndWork;

/* Ways back to the head of a try, one for each length of `again after`. */
typedef struct {
    const Duration *after; /* NULL: at least 1 s after the head of the pass */
    uint32_t target;
} Back;
typedef struct Try Try;
struct Try {
    Try *up;
    const Item *item;
    uint32_t head_clock, again_clock, depth;
    size_t watched;
    VEC(Back) backs;
};

typedef struct {
    const Item *item;
    uint32_t thing, fact, clock;       /* clock: since the head */
    uint64_t engaged, engage, release; /* positions that turn; the one taken; the one let go to */
    uint32_t duty;                     /* index into histories, NO_INDEX */
    uint32_t lo, hi, after, up;        /* places [lo, hi); target; the crank around it */
    const Test *until;
} Crank;

/* A time that starts at a named event: solved when all edges of the procedure are known. */
typedef struct {
    const Item *item;
    const Duration *limit;
    uint32_t clock;
    bool lapses;    /* false: a commitment of the pilot (set … within) */
    bool asks_only; /* a wait: only whether every path to it passes the event */
    Frontier at;
    Way way;
    Load load;         /* of its lapse */
    const Test *still; /* at its own place it lapses only while this holds; NULL: always */
} Timed;

/* What its lapse does, from whichever place: known before the places are. */
typedef struct {
    Raw raw;
    uint32_t timed; /* index */
} Lapse;

typedef struct EventLink EventLink;
struct EventLink {
    const Trigger *trigger, *head; /* one alternative; the whole event */
    uint32_t clock;
    EventLink *next;
};

typedef struct {
    const Test *turned, *stops; /* a position that turns it (and is powered) stands; one that stops it stands */
    uint32_t fact, clock;       /* clock: since it was let go, fired with a stop standing, or the stop was taken */
    int64_t run_down;           /* < 0: not given */
} EngineWork;

/* How a drill may be entered in the procedure being lowered, and the places of its copy there. */
typedef struct {
    uint32_t by_cue, by_turn; /* targets, NO_INDEX: not so */
    uint32_t lo, hi;
    bool queued;
} DrillWay;

typedef VEC(Edge) Edges;

/* Where the followed controls can stand at each place of the procedure, n_slots masks a place; NULL: not known. */
typedef struct {
    uint32_t lo;
    const uint64_t *masks;
} Stand;

enum { READ_TURNS = 1, READ_STOPS = 2, READ_DUTY = 4, READ_EVENT = 8, READ_ARMED = 16 };

typedef struct {
    Job *job;
    Arena *keep;   /* the job's: what the model is made of */
    Arena *arena;  /* what is at work: &scratch within a procedure */
    Arena temp;    /* lists that live until the model is put together */
    Arena scratch; /* conditions, frontiers and loads of one procedure */
    const Tail *tail;
    Model *model;
    VEC(Place) places;
    VEC(uint32_t) place_crank; /* beside places */
    VEC(Raw) raws;
    Edges edges, ambient, give_ups;
    VEC(Placed) deadlines;
    VEC(Deadline) ambient_deadlines;
    VEC(uint32_t) deadline_edges; /* beside deadlines: how many edges lapse each */
    VEC(Fact) facts;
    VEC(Clock) clocks;
    VEC(Scope) scopes;
    VEC(uint32_t) targets;
    VEC(DutyHistory) histories;
    VEC(Crank) cranks;
    VEC(Timed) timed;
    VEC(Lapse) lapses; /* of `timed`, from timed_open on */
    VEC(EndWork) ends;
    VEC(uint32_t) drill_queue;
    VEC(uint32_t) watched;    /* facts of gauges watched by the blocks around */
    VEC(uint32_t) counters;   /* facts by depth of try */
    VEC(uint32_t) try_clocks; /* two by depth of try: head of the pass, again */
    EngineWork *engines;
    VEC(uint8_t) engine_masks;  /* of the procedure being lowered, by place and engine: states it can be in there */
    uint32_t *crank_clocks;     /* by fact of the control: since the head of a crank, NO_INDEX */
    uint8_t *reads;             /* by fact: READ_… */
    uint32_t *slot_of, n_slots; /* by fact: its number among those that are followed through a procedure, NO_INDEX */
    uint32_t n_reads;
    Stand stand;
    uint32_t *slot_facts;                    /* by slot */
    EventLink **fact_events, **thing_events; /* by fact, by thing */
    EventLink **enter_events;                /* one list */
    uint32_t *duty_of;                       /* by fact: index into histories */
    uint32_t *armed_clocks;                  /* by drill, NO_INDEX: no cue that lasts */
    VEC(uint32_t) armed_drills;              /* those that have one */
    DrillWay *drill_ways;                    /* by drill, of this procedure */
    uint32_t *only_pace;                     /* the resets of an edge that resets nothing else */
    Try *tries;
    uint32_t most_passes; /* of any `up to N times` */
    uint32_t try_depth, crank, procedure, drill, depth;
    NameMap ever_watched;  /* fact + 1 -> set: some line watches it */
    NameMap held_there;    /* thing + 1 -> set: some line holds it in a position */
    NameMap told;          /* place of a finding -> set: told once */
    NameMap again_phases;  /* names of phases at which some drill starts again */
    NameMap phase_targets; /* phase name -> target (a uint32_t *) in this procedure */
    bool over;
} Lower;

/* ---- lower_frontier.c ---- */
void load_change(Lower *l, Load *load, uint32_t fact, uint64_t mask);
void load_count(Lower *l, Load *load, uint32_t fact);
void load_bound(Lower *l, Load *load, uint32_t clock, int64_t least, int64_t most);
void load_reset(Lower *l, Load *load, uint32_t clock);
void load_mark(Lower *l, Load *load, Mark mark);
Mark mark_of(TriggerKind kind, uint32_t fact, uint64_t mask);
void frontier_add(Lower *l, Frontier *f, Entry entry);
void frontier_join(Lower *l, Frontier *f, const Frontier *other);
Frontier frontier_at(Lower *l, uint32_t place);
Frontier frontier_when(Lower *l, const Frontier *f, const Test *when);
void frontier_settle(Lower *l, const Item *item, Frontier *f);
uint32_t place_new(Lower *l);
uint32_t target_new(Lower *l);
uint32_t place_of(const Lower *l, uint32_t to);
uint32_t clock_new(Lower *l, const char *what);
Raw *edge_from(Lower *l, const Entry *entry, EdgeKind kind, const Item *item, uint32_t to);
uint32_t deadline_put(Lower *l, uint32_t place, const Test *when, uint32_t clock, int64_t ms);
bool told_once(Lower *l, Span span, uint32_t salt);

/* ---- lower_ways.c: outcomes and actions ---- */
Way way_to(uint32_t place);
Way way_of(Lower *l, const ItemAction *action, const Item *item);
void way_take(Lower *l, Raw *raw, const Way *way);
void drill_entered(Lower *l, uint32_t drill, Raw *raw); /* what entering it does, by its cue or by a turn */
void way_follow(Lower *l, const Way *way, Frontier *f); /* lowers its block and adds what it ends in */
const ItemOutcome *outcome_otherwise(const Item *item);

/* ---- lower_give_up.c ---- */
Raws give_ups_lower(Lower *l, uint32_t lo); /* of the procedure's own places, before its ends are made */

/* ---- lower_items.c ---- */
void lower_items(Lower *l, const Item *first, Frontier *f);
void lower_done(Lower *l, const Item *item, Load *load);
void lower_done_later(Lower *l, const Item *item, Frontier *f);

/* ---- lower_look.c: check, look, expect, call, wait ---- */
void lower_look(Lower *l, const Item *item, Frontier *f);
void lower_expect(Lower *l, const Item *item, Frontier *f);
void lower_call(Lower *l, const Item *item, Frontier *f);
void lower_wait(Lower *l, const Item *item, Frontier *f);
void deadline_default(Lower *l, const Item *item, const Frontier *f, const Way *way, const Load *load,
                      const Test *still);
bool world_fact(const Lower *l, uint32_t fact, bool waits);

/* ---- lower_try.c, lower_crank.c ---- */
void lower_try(Lower *l, const Item *item, Frontier *f);
void lower_crank(Lower *l, const Item *item, Frontier *f);
const Item *first_crank(const Item *first);      /* in the order of the text, in blocks of outcomes too; NULL */
uint32_t crank_duty(Lower *l, const Item *item); /* index into histories, NO_INDEX */
bool crank_control(Lower *l, const Item *item, uint32_t *thing, uint64_t *engaged);
void crank_leave(Lower *l, uint32_t from, Raw *raw); /* lets the starter go where the edge leaves its crank */

/* ---- lower_engine.c ---- */
void engines_open(Lower *l);
size_t engine_raws(Lower *l, Raw **list); /* ambient, in order */
void engine_deadlines(Lower *l);

/* ---- lower_finish.c: raw edges to edges ---- */
void raw_finish(Lower *l, const Raw *raw, Edges *out);
/* The clock zeroed by every edge that carries the event. */
uint32_t event_clock(Lower *l, const Item *item); /* of the event after which the item's time counts */
Str event_words(const Lower *l, const Item *item);

/* ---- lower_follow.c: what raw edges set, before they are split ---- */
void controls_follow(Lower *l, uint32_t lo);

/* ---- lower_prune.c: variants that can never be taken ---- */
void edges_prune(Lower *l, uint32_t lo, size_t edge_lo, size_t ambient_lo, size_t deadline_lo, const Edges *engines);

/* ---- lower_time.c: deadlines that start at an event, once the procedure's edges are finished ---- */
Raw timed_lapse(Lower *l, const Timed *timed);
void timed_open(Lower *l);
typedef struct {
    size_t edge_lo, ambient_lo, give_up_lo; /* the procedure's are the model's from here on */
    const Edges *engines;                   /* what engines do by themselves, at every place without own engine edges */
} TimedEdges;
void timed_solve(Lower *l, uint32_t lo, uint32_t hi, TimedEdges edges);

/* ---- lower_drill.c ---- */
void drills_open(Lower *l);
void drills_begin(Lower *l, const Procedure *procedure); /* which drills the procedure can come to */
void drills_lower(Lower *l);
void drills_enter(Lower *l, const Procedure *procedure, uint32_t lo, uint32_t hi);

/* ---- lower_join.c ---- */
void join_open(Lower *l);
void join_begin(Lower *l, const Procedure *procedure, uint32_t place);
void join_ends(Lower *l);
#endif
