/* Inside sema: what the parts of the resolver offer one another while one tail is being made.
   Words (program.c), numbers (quantities.c), the aircraft (craft.c), conditions (tests.c), events (triggers.c),
   items (items.c), gates (rules.c). */
#ifndef SEMA_RESOLVE_H
#define SEMA_RESOLVE_H
#include "sema/program.h"

typedef struct {
    Job *job;
    Program *program;
    Tail *tail;
    NameMap things; /* Name of a thing without engine -> uint32_t: index + 1 of its first instance in tail->things */
    NameMap values; /* Name of a value -> non-NULL where the tail has it */
    NameMap kinds;  /* Name of a kind -> non-NULL where the tail is of it */
    /* "oil-pressure limit" -> non-NULL where that band is written with a mistake, which was told there */
    NameMap spoilt;
    bool as_written; /* adaptations are left out */
    bool adapted;    /* lines are looked at that an adaptation may have changed: what is found counts for this tail */
    uint32_t depth;  /* of states in states, groups in groups */
    VEC(Fact) facts; /* grows: labels get facts as they are met */
    /* What conditions and events met since the caller last set these to 0: the first undecided name (equipment, inoperative, a band
       or value nobody gave) and the first thing that is not fitted. So a gate learns why it is not decided or not applicable. */
    Name undecided, unfitted;
    struct ItemWork *items;  /* private to items.c, outcomes.c, ids.c, drills.c, rules.c */
    struct Scratch *scratch; /* private to craft.c, tests.c, triggers.c, gauges.c */
} Resolver;

/* Where words stand: which engine a bare name of an `each engine` thing means, and what is allowed. */
typedef struct {
    uint32_t engine;  /* NO_INDEX: none chosen (an error where one is needed and the aircraft has several) */
    bool in_cue;      /* texts and `for T` are allowed */
    const Decl *home; /* procedure, drill, gate … for messages */
} Scene;

/* ---- craft.c: makes things, facts, bands, values, duties, pace from the aircraft and its tails ---- */
bool craft_resolve(Resolver *r, const Decl *tail_decl);
/* After all conditions of the tail are resolved: cuts each gauge at every number it is compared with and turns the tests on it
   (kept in a list by tests.c) into masks; names the steps. */
void gauges_finish(Resolver *r);

/* ---- program.c ---- */
/* False where this kind of finding already stands at this place (another tail has reported it). Lines of an adapted tail are told
   each time, since other tails may not have them so; what is told of several tails is joined in the end. */
bool first_report(Resolver *r, FindingKind kind, Span span);
/* A number of tries as far as it is counted; a finding where there are more. */
uint32_t tries_followed(Resolver *r, uint32_t tries, Span span);
/* The procedure or drill (DECL_PROCEDURE, DECL_DRILL) of that name that this tail has, else NULL; no finding. */
const Decl *find_for_tail(const Resolver *r, DeclKind kind, Name name);
/* The group of this name that this tail's text can see: its own before the library's; NULL: there is none. */
const Decl *find_group(const Resolver *r, Name name);
/* The declaration a word means, or NULL after one finding with "did you mean" (poisoned words stay silent afterwards). */
const Decl *resolve_decl(Resolver *r, Word word, const DeclKind *kinds, size_t n_kinds, const char *what);
/* "left.mixture", "other.starter", bare "mixture" by the scene's engine -> thing, or NULL after one finding.
   A thing that this tail has not (not fitted) is returned all the same: ask thing->fitted. */
Thing *resolve_thing(Resolver *r, Word ref, const Scene *scene);
/* Index into thing->positions, NO_INDEX after one finding (did you mean). */
uint32_t resolve_position(Resolver *r, const Thing *thing, Word pos);
Str thing_label(const Resolver *r, const Thing *thing); /* "Left mixture", "Mixture" */
uint32_t thing_index(const Resolver *r, const Thing *thing);

/* ---- quantities.c ---- */
typedef struct {
    bool ok;
    Rational value;         /* base units */
    const Measure *measure; /* NULL: a bare number */
} Quantity;
Quantity resolve_amount(Resolver *r, Amount amount);
/* A length of time in whole ms; names a value of the tail where a name stands. n == 0 with `missing` where nobody gave it (no finding). */
Duration resolve_duration(Resolver *r, const Measured *measured, const Scene *scene);
Duration duration_fixed(Resolver *r, int64_t ms, Span span);
bool resolve_count(Resolver *r, const Measured *measured, uint32_t *count, Name *missing);

/* A text as printed for this tail: escapes undone, holes replaced by what they name ("{oil-time}" -> "30 s"). Reports holes that
   name nothing. */
Str resolve_text(Resolver *r, Text text, const Scene *scene);

/* ---- tests.c, triggers.c ---- */
/* Do the words name, by themselves or through states and events, an `each engine` thing (or `engine`) without saying which engine?
   Then what holds them exists once per engine. NULL: no. */
bool cond_needs_engine(Resolver *r, const Cond *cond);
bool event_needs_engine(Resolver *r, const Event *event);
bool ref_needs_engine(Resolver *r, Word ref); /* a thing, a state or an event */
/* Marks the facts of scenes, lights and gauges that the test reads as frozen (for `applies when`). */
void test_freeze(Resolver *r, const Test *test);
const Test *resolve_test(Resolver *r, const Cond *cond,
                         const Scene *scene); /* never NULL; poisoned parts read TEST_TRUE after their finding */
/* What the aircraft's kinds and its equipment alone make of a condition: 0 false, 1 true, -1 neither. */
int cond_by_kind(Resolver *r, const Cond *cond);
const Test *test_and(Resolver *r, const Test *a, const Test *b);
const Trigger *resolve_trigger(Resolver *r, const Event *event, const Scene *scene); /* the whole "A or B" list */
uint32_t label_fact(Resolver *r, Name label,
                    uint32_t engine); /* makes it at first use; on a single the engine does not matter */

/* ---- items.c: procedures and drills for this tail, groups and `for` expanded, ids given ---- */
void items_resolve(Resolver *r);
/* Is `name` a label of some item of this tail (any engine)? For conditions and events that name labels. */
bool label_known(Resolver *r, Name name);
/* Are alternatives complete and apart, which drills need the starter let go first: after gauges_finish(). */
void items_check(Resolver *r);

/* ---- rules.c: gates (those of the standard, else all of the library and the files), with their rule in words ---- */
void gates_resolve(Resolver *r, const Decl *standard);
Str rule_in_words(Resolver *r, const GateInstance *gate);

/* ---- missing.c: what the aircraft's text does not say and something depends on ---- */
typedef enum { MISSING_VALUE, MISSING_FITTED, MISSING_DUTY, MISSING_LABEL, MISSING_DRILL } MissingKind;
/* gate 0: an item needs it. */
void missing_add(Resolver *r, MissingKind kind, Name name, Span at, Name gate);
#endif
