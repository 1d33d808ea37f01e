/* One tail with everything resolved: things, numbers, procedures and gates as this aircraft has them.
   takes   the files' syntax trees
   gives   a Tail: immutable once made; groups, `for`, `when fitted`, values and bands are expanded here, so that lowering,
           cards and tables all read the same tree of items
   owns    all in the job's arena
   never   explores a path */
#ifndef SEMA_TAIL_H
#define SEMA_TAIL_H
#include "base/measure.h"
#include "base/rational.h"
#include "front/ast.h"

#define NO_INDEX UINT32_MAX /* no fact, place, engine, drill … */

/* ---- facts: what the checker keeps of a thing. A set of values is a mask, bit i for value i. ---- */
typedef enum {
    FACT_CONTROL, /* the pilot moves it */
    FACT_SCENE,   /* the world moves it; scenes and lights */
    FACT_GAUGE, /* the world moves it; values are the steps (points and gaps) between all numbers it is compared with */
    FACT_TREND, /* rising, steady, falling of a gauge */
    FACT_ENGINE,  /* STOPPED, TURNING, RUNNING, and RUNNING with a `stops engine` position that stood as it fired */
    FACT_ANSWER,  /* of a call: the first value is "none yet", then its answers */
    FACT_LABEL,   /* NOT-DONE, DONE: a labelled item */
    FACT_HELD,    /* FREE, HELD: hold and release of a control */
    FACT_WATCHED, /* NO, YES: watch of a gauge */
    FACT_COUNT    /* a counter of the model (tries): value i means i, the last means "or more" */
} FactKind;
enum { ENGINE_STOPPED, ENGINE_TURNING, ENGINE_RUNNING, ENGINE_RUNNING_LATE };
#define ENGINE_IS_RUNNING ((UINT64_C(1) << ENGINE_RUNNING) | (UINT64_C(1) << ENGINE_RUNNING_LATE))

/* Between two steps of a gauge that stand side by side. */
typedef struct {
    Rational at;
    const Measure *measure; /* as written */
    bool below;             /* the number itself belongs to the lower step */
} GaugeCut;

typedef struct Thing Thing;
typedef struct {
    FactKind kind;
    uint32_t engine;      /* NO_INDEX: of the whole aircraft */
    const Thing *thing;   /* NULL for labels and counters */
    Name name;            /* as printed: "left.mixture", "oil-up" */
    uint32_t n_values;    /* at most LIMIT_FACT_VALUES */
    Str *value_names;     /* "RICH"; for a gauge's steps "25..115 psi" */
    const GaugeCut *cuts; /* n_values - 1, those between value k and k + 1; NULL: no gauge */
    bool
        frozen; /* keeps one value through one run of a procedure: named in `applies when` or in an aircraft's `when` */
} Fact;

typedef enum {
    THING_CONTROL,
    THING_SCENE,
    THING_LIGHT,
    THING_GAUGE,
    THING_CALL,
    THING_BRIEFING,
    THING_PERSON,
    THING_ENGINE
} ThingKind;
typedef enum { FITTED_YES, FITTED_NO, FITTED_UNDECIDED } Fitted; /* things not declared `if fitted` are FITTED_YES */

typedef struct {
    Name name;
    Span span; /* in the aircraft's text */
    bool has_lo, has_hi;
    Rational lo, hi;        /* base units of the gauge's dimension, inclusive */
    const Measure *measure; /* as written */
    struct Test *when;      /* NULL: always */
    const Why *why;
    uint64_t mask; /* of the gauge's fact */
} Band;

typedef struct {
    Name name;
    Str print; /* as printed for this tail: "IDLE CUT-OFF", "OPEN 6 mm"; else the position's own word */
    Span print_span;
    bool counted, stops, turns, powers;
    Name effect_of; /* stops/turns: engine; powers: the powered control */
} ThingPosition;

struct Thing {
    ThingKind kind;
    const Decl *decl; /* NULL for engine */
    Name name;        /* without the engine */
    uint32_t engine;  /* NO_INDEX: of the whole aircraft */
    Str title;        /* as printed: "Mixture"; "Left mixture" is made by the outputs */
    Text text;        /* the same as written, for the holes of a call */
    Fitted fitted;
    bool inoperative;
    ThingPosition *positions;
    uint32_t n_positions;
    const Measure *measure; /* gauges */
    Band *bands;
    uint32_t n_bands;
    uint32_t fact, trend, held, watched, answer; /* facts; NO_INDEX where it has none */
};

/* ---- conditions ---- */
typedef enum {
    TEST_TRUE,
    TEST_FALSE,
    TEST_FACT, /* fact's value is in mask */
    TEST_AND,
    TEST_OR,
    TEST_NOT,      /* parts */
    TEST_FOR,      /* parts: one, without a break for `for_ms`: cues only */
    TEST_SAID,     /* a text in a cue: may come at any time */
    TEST_UNDECIDED /* leans on undecided or inoperative equipment or a missing value, named by `missing` */
} TestKind;
typedef struct Test Test;
struct Test {
    TestKind kind;
    uint32_t fact;
    uint64_t mask;
    int64_t for_ms;
    Name missing;
    const Cond *written; /* NULL where the compiler made it */
    Test *parts, *next;
};

/* A length of time that may depend on facts (a value with `when`). Exactly one case holds at a time. */
typedef struct {
    const Test *when; /* NULL: always */
    int64_t ms;
} DurationCase;
typedef struct {
    DurationCase *cases;
    uint32_t n;   /* 0: not written, or missing */
    Name value;   /* the value's name where one stood, else 0 */
    Name missing; /* the name that nobody gave */
    Span span;
} Duration;

/* ---- events: matched against the marks of the model's edges and against changes of facts ---- */
typedef enum {
    ON_BECOMES, /* fact changes into mask */
    ON_LEAVES,  /* fact changes out of mask */
    ON_TURN,    /* engine `fact` begins to be turned (each time, still or not) */
    ON_SEEN,    /* a check, expect or look found fact within mask */
    ON_LOOK,    /* a look at fact found mask */
    ON_SET,     /* the act of setting fact to mask, also where nothing changes; of a counted position each stroke */
    ON_CALL,
    ON_BRIEF,    /* thing (index into things) */
    ON_ANSWERED, /* fact: the call's answer; mask */
    ON_LABEL,    /* fact: the label's; the item is done */
    ON_ENTER,    /* a drill or a procedure, by name */
    ON_NOTHING   /* can never happen on this tail (unfitted): keeps the list's place */
} TriggerKind;
typedef struct Trigger Trigger;
struct Trigger {
    TriggerKind kind;
    uint32_t fact, thing;
    uint32_t engine; /* ON_ENTER: NO_INDEX any engine's */
    uint64_t mask;
    Name name; /* ON_ENTER, and for messages the event's name as written */
    const Event *written;
    Trigger *next; /* or */
};

/* ---- items ---- */
typedef struct Item Item;
typedef struct {
    ActionKind kind;
    const Action *written;
    uint32_t drill; /* TURN_TO: index into the tail's drills (its engine chosen) */
    Name outcome;   /* END */
    bool no_more_starts;
    Duration next_start; /* n == 0: at once */
    Name again_at;       /* a phase of the procedure, 0: none */
    Duration after;      /* AGAIN */
    Item *block;         /* BLOCK */
} ItemAction;
typedef struct ItemOutcome ItemOutcome;
struct ItemOutcome {
    const Test *cond; /* NULL: otherwise */
    bool inherited;   /* from the phase's heading */
    ItemAction action;
    ItemOutcome *next;
};

/* One line of an adaptation, and the line that it was about as it stood before. */
typedef struct {
    const Edit *edit;
    const Decl *adapt, *of; /* of: the procedure or drill as written */
    const Stmt *stmt;       /* NULL: a line of the handbook that no line takes over */
    Name id, phase;         /* phase 0: outside phases */
} TailEdit;

/* kind is the StmtKind of the statement it comes from. Expanded away: STMT_DO, STMT_FOR, STMT_BAD; `when fitted` is decided.
   STMT_WHEN and STMT_CASES become STMT_CASES with STMT_CASE parts whose conditions cover everything (a part without body: skip).
   STMT_PHASE and STMT_MEMORY keep their body. STMT_GO is a `go` action. */
struct Item {
    StmtKind kind;
    const Stmt *stmt;
    Span span;
    Str id;          /* unique in its procedure or drill: the label or the words; "left." before it in `for left` */
    Name phase;      /* it stands in; 0: outside phases */
    Name named;      /* the same without what makes it unique: how adaptations and waivers name it; 0: they cannot */
    Name unlabelled; /* the same of a line that has a label, as if it had none; 0: it has none */
    const Why
        *around; /* of the group, phase, adaptation or procedure around it, the nearest that names a source; NULL */
    const TailEdit *brought; /* the line of an adaptation that put it there; NULL */
    uint32_t engine;         /* the engine it is about, NO_INDEX: none */
    uint32_t label;          /* its label's fact, NO_INDEX: none */
    bool implied;            /* the RELEASE that the compiler puts first in a drill */
    bool inoperative;        /* printed as INOP */
    uint32_t thing;          /* index into things: set, look, call, brief, hold, release, watch */
    uint32_t fact;
    uint64_t mask;        /* set: one position; look, hold: the position; 0: none */
    uint32_t position;    /* index into the thing's positions, NO_INDEX: none */
    uint32_t count;       /* set THING N POS; 0: not counted */
    uint32_t person;      /* by: index into things, NO_INDEX: the pilot */
    const Test *cond;     /* check, expect, until of try and crank (NULL: bare crank), case */
    Duration limit;       /* within, up to (crank), answered within */
    Duration least, most; /* wait */
    uint64_t answer;      /* call: the demanded answer's mask in the call's answer fact, 0: none */
    const Trigger *after; /* NULL: not written */
    uint32_t passes;      /* try: up to N times; 0: as the duty says */
    bool over_duty;
    Item *body, *between;
    ItemOutcome *outcomes;
    ItemAction *go;
    const ItemAction *
        give_up; /* where one goes who gives up here: of the innermost `otherwise` that turns away or ends; NULL: none */
    const ItemAction *give_up_before; /* crank: likewise before it is begun, of what stands around it */
    Item *next;
};

typedef struct {
    const Decl *decl;
    Name name;
    Str title;
    uint32_t index;
    const Test *begins, *applies; /* NULL: nothing stated */
    Item *items;                  /* STMT_PHASE … and items outside phases */
    uint32_t *drills;             /* indices into the tail's drills: those of its `drills` line, one per engine */
    uint32_t n_drills;
    const Stmt *drills_line;
    Item **dropped; /* items on things not fitted, in order */
    uint32_t n_dropped;
} Procedure;

typedef struct {
    const Decl *decl;
    Name name;
    Str title;
    uint32_t engine;         /* NO_INDEX: it names no bare `each engine` thing */
    const Test *cue, *armed; /* cue NULL: only turned to; armed NULL: never by a cue */
    bool keeps_cranking;
    Item *items; /* STMT_MEMORY and items */
    Item **dropped;
    uint32_t n_dropped;
} Drill;

/* ---- duty: one history for each control and engine ---- */
typedef struct {
    const Test *when;     /* NULL: always */
    int64_t on_ms[8];     /* on-time of the k-th engagement since the long rest; 0: not limited */
    int64_t rest_ms[8];   /* rest after it */
    uint32_t n_series;    /* 1: the same each time */
    uint32_t tries;       /* 0: not stated */
    int64_t long_rest_ms; /* then … rest; 0: none */
    const Craft *craft;
} DutyLine;
typedef struct {
    const Test *when;
    uint32_t most;
    int64_t in_ms;
    const Craft *craft;
} DutyWindow;
typedef struct {
    uint32_t thing, fact;
    uint64_t engaged; /* positions that count as an engagement: those that turn the engine, else all but the first */
    DutyLine *lines;
    uint32_t n_lines;
    DutyWindow *windows;
    uint32_t n_windows;
} Duty;

/* ---- gates as this tail has them, one per engine where they name an `each engine` thing ---- */
typedef enum { GATE_APPLIES, GATE_NOT_APPLICABLE, GATE_NOT_DECIDED } GateStanding;
typedef struct {
    const Trigger *event;      /* NULL: a pause */
    int64_t least_ms, most_ms; /* most_ms < 0: none */
    Span span;
} GateStep;
typedef struct {
    const Decl *decl;
    const Gate *gate;
    Name name;
    Str title;
    uint32_t engine;
    Severity severity; /* of a break: must = error, should = warning, note = note; after the standard's ranks */
    GateStanding standing;
    bool told;   /* why nothing can put it to the test is a finding of the aircraft's already */
    Str why_not; /* "no starter light", "the value prime-limit is missing"; of one that applies: why nothing can put it to the test, or empty */
    Span why_span;
    RuleKind rule;
    const Trigger *trigger, *since, *events, *before; /* as in Rule */
    GateStep *steps;
    uint32_t n_steps;
    Duration time;
    uint32_t count;
    const Test *state, *cond, *target;
    Name *ends; /* every end X or Y: outcomes; n_ends 0: every end */
    uint32_t n_ends;
    uint32_t target_drill; /* can reach DRILL; every end of DRILL (by name in end_drill) */
    Name end_drill;        /* every end of NAME; 0: not this form, or any drill */
    bool end_any_drill;
    Name *within; /* in NAME, : drills or procedures; n 0: everywhere */
    uint32_t n_within;
    bool within_any_drill;
    Name *except;
    uint32_t n_except;
    bool except_any_drill;
    uint32_t duty; /* RULE_DUTY: index into duties */
    Str in_words;  /* the rule in words that the compiler made from the rule itself */
} GateInstance;

typedef struct {
    Name name;
    Rational amount; /* base units; a count where measure is NULL */
    const Measure *measure;
    const Test *when;
    const Craft *craft;
} Value;

/* A line of the aircraft, or of what is derived from it, that holds for this tail. */
typedef struct {
    const Craft *craft;
    const Decl *decl; /* whose line it is */
} CraftLine;

typedef struct Tail {
    const Decl *decl;     /* the tail, or the aircraft type where it has no tails */
    const Decl *aircraft; /* the type at the root of it */
    Name name;
    Str title;
    bool adapted;    /* some procedure or drill of it is */
    bool lines_open; /* some line of it waits for a number or a name that the aircraft does not give (reported) */
    CraftLine *held; /* in the order of their kinds, each from the type down */
    uint32_t n_held;
    const struct Tail *handbook; /* the aircraft by its own text; NULL: it is that, or there is none */
    TailEdit *edits;             /* what adaptations did, in the order in which they were made */
    uint32_t n_edits;
    Name *engines; /* one name "engine" on a single */
    uint32_t n_engines;
    Thing *things;
    uint32_t n_things;
    Fact *facts;
    uint32_t n_facts;
    uint32_t *engine_facts; /* by engine */
    int64_t *run_down_ms;   /* by engine; < 0: no `run-down` given */
    Value *values;
    uint32_t n_values;
    Duty *duties;
    uint32_t n_duties;
    int64_t pace_ms; /* 0: none stated */
    Procedure *procedures;
    uint32_t n_procedures;
    Drill *drills;
    uint32_t n_drills;
    GateInstance *gates;
    uint32_t n_gates;
} Tail;
#endif
