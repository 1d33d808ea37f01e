/* Inside the resolver's first half: what aircraft, conditions, events and gauges keep together while one tail is being made.
   takes   the Resolver of one tail
   gives   lists that gauges_finish() works off once every number a gauge is compared with is known
   owns    all in the job's arena
   never   known to items, gates or the floors above */
#ifndef SEMA_CRAFT_H
#define SEMA_CRAFT_H
#include "base/limits.h"
#include "sema/resolve.h"

#define OTHER_OF_ONE (NO_INDEX - 1) /* the other engine of an aircraft that has one */

/* "left.mixture": the engine's word and the rest; engine == 0 where no dot is. */
typedef struct {
    Name engine, name;
    bool dotted;
} RefParts;

/* A stretch of a gauge that something asks for; its mask is written when the gauge's steps are known. */
typedef struct {
    uint32_t fact;
    bool has_lo, has_hi, lo_open, hi_open; /* open: the number itself does not belong to it */
    Rational lo, hi;
    const Measure *measure; /* as written, for the names of the steps */
    uint64_t *mask;
    Span span;
} GaugeTest;

/* Lines for one name: exactly one of their conditions must hold in every case. */
typedef struct {
    const Test **whens;
    const Span *spans;
    uint32_t n;
    Str what; /* "the value oil-time", "the duty of starter" */
} CoverCheck;

/* A state as it reads with one engine chosen. */
typedef struct {
    const Test *test;
    uint32_t leaves;
    Name undecided, unfitted;
    bool open; /* being resolved: met again, it is a circle */
} StateEntry;

typedef struct Scratch {
    NameMap label_facts[LIMIT_ENGINES + 1]; /* Name -> fact + 1; the last: of no engine */
    NameMap states[LIMIT_ENGINES + 1][2];   /* Name -> StateEntry; [1]: in a cue */
    VEC(GaugeTest) gauge_tests;
    VEC(CoverCheck) covers;
    NameMap events;    /* Name of an event being written out -> set: met again, it is a circle */
    uint32_t triggers; /* of the event being resolved */
    uint32_t depth;    /* of conditions in conditions and states */
    uint32_t leaves;   /* of the condition being resolved, states counted as often as they are named */
} Scratch;

/* The lines that hold for this tail, in order from the aircraft to the tail. */
typedef struct {
    CraftLine *at;
    size_t n;
} CraftLines;

/* program_words.c */
RefParts ref_split(const Resolver *r, Word ref);
uint32_t engine_named(const Resolver *r, Name name);
bool thing_known(const Resolver *r, Name name);
Thing *first_instance(const Resolver *r, Name name);
uint32_t position_find(const Thing *thing, Name pos);
/* The engine a dotted word names, else the scene's; false after a finding. OTHER_OF_ONE: `other` on a single. */
bool engine_of_ref(Resolver *r, Word ref, RefParts parts, const Scene *scene, uint32_t *engine);

/* quantities.c */
const Measure *resolve_unit(Resolver *r, Word unit);
/* The stretch a range names, both ends in one dimension; false after a finding. */
typedef struct {
    bool ok, has_lo, has_hi;
    Rational lo, hi;
    const Measure *measure; /* as written; never NULL where ok */
    Span span;
} Stretch;
Stretch resolve_range(Resolver *r, const Range *range, const Thing *gauge);
/* The values of that name, adjacent; n == 0: the tail has none. */
const Value *values_named(const Resolver *r, Name name, uint32_t *n);
/* A finding where the value is none this project knows; nothing where another aircraft gives it. Marks r->undecided. */
void value_missing(Resolver *r, Word name);
bool fits_gauge(Resolver *r, const Thing *gauge, const Measure *measure, Span span);

/* craft_lines.c: what a tail inherits */
CraftLines craft_lines(Resolver *r, const Decl *tail_decl, CraftKind kind);
bool craft_levels(Resolver *r, const Decl *tail_decl, const Decl ***levels, size_t *n);

/* craft_things.c */
void things_make(Resolver *r, const Decl *tail_decl);
void prints_make(Resolver *r, const Decl *tail_decl);
uint32_t fact_make(Resolver *r, FactKind kind, const Thing *thing, const char *suffix, uint32_t n_values);

/* craft_bands.c, duty.c */
void values_make(Resolver *r, const Decl *tail_decl);
void bands_make(Resolver *r, const Decl *tail_decl);
void bands_judge(Resolver *r);
void duties_make(Resolver *r, const Decl *tail_decl);
/* Asks for a check that exactly one of the conditions holds, once the gauges have steps. Always and alone: nothing to check. */
void cover_later(Resolver *r, const Test **whens, const Span *spans, uint32_t n, Str what);

/* craft_texts.c: after items_resolve(), before gates_resolve() lists what is missing */
void texts_check(Resolver *r);
/* house.c: likewise */
void house_check(Resolver *r);

/* tests.c */
void words_check(Resolver *r); /* after gauges_finish(): findings only */
Test *test_new(Resolver *r, TestKind kind, const Cond *written);
Test *test_undecided(Resolver *r, Name missing, const Cond *written);
/* Any or all of the parts, which nobody else holds. */
const Test *test_join(Resolver *r, TestKind kind, Test *const *parts, size_t n, const Cond *written);
Test *test_held(Resolver *r, const Test *shared); /* a node of one's own for a test that others hold too */
/* NULL: go on; else what the condition is because of the thing alone. */
Test *test_settled(Resolver *r, const Thing *thing, const Cond *written);
int trend_index(const Resolver *r, Name word); /* rising 0, steady 1, falling 2; -1: none */
bool starts_upper(const Resolver *r, Name word);
bool in_library(const Resolver *r, Span span);

/* gauge_tests.c */
/* A test that the gauge is within a stretch; its mask comes later. */
Test *test_stretch(Resolver *r, const Thing *gauge, GaugeTest stretch, const Cond *written);
const Test *test_band(Resolver *r, const Thing *gauge, Word band, const Scene *scene, const Cond *written);
const Test *test_compare(Resolver *r, const Cond *cond, const Scene *scene);
const Test *test_range(Resolver *r, const Cond *cond, const Scene *scene);
/* After a finding: `word` asks of the thing what only a gauge has. */
const Test *test_no_gauge(Resolver *r, const Thing *thing, Word word, const Cond *cond);
/* The bands of a gauge by name; NULL where it has none of that name. */
const Band *band_find(const Thing *gauge, Name name, uint32_t *n);
Str band_list(Resolver *r, const Thing *gauge);                /* their names, for a message */
Name band_missing(Resolver *r, const Thing *gauge, Name band); /* "oil-pressure limit", for messages and maps */
void report_band(Resolver *r, const Thing *gauge, Word band, const Scene *scene);
#endif
