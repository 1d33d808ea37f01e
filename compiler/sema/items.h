/* Inside sema: the state of one walk over a procedure or drill, and what items.c, outcomes.c, ids.c, drills.c and rules.c offer one
   another. Lives in the job's arena, for one tail. */
#ifndef SEMA_ITEMS_H
#define SEMA_ITEMS_H
#include "base/limits.h"
#include "front/front.h"
#include "sema/program_parts.h"

/* A place in alternatives: arm number `arm` of the choice `choice` (a cases item, an item's outcomes), within `up`. */
typedef struct Branch Branch;
struct Branch {
    const Branch *up;
    const void *choice;
    uint32_t arm;
};

typedef struct LabelUse LabelUse;
struct LabelUse {
    uint32_t engine;
    const Stmt *stmt;
    const Branch *branch;
    LabelUse *next;
};

/* What adaptations and waivers may name: the words of an id as first made, and how many items of the procedure have them. */
typedef struct {
    Name id, phase; /* phase 0: outside phases */
    uint32_t times, times_in_phase;
} ItemId;

/* An id list for each procedure and drill of the tail. */
typedef struct {
    Name name;
    ItemId *ids;
    uint32_t n;
} IdList;

/* Alternatives to be checked once the gauges have steps. */
typedef struct {
    Item *cases;
    const Test *assume; /* `applies when` of the procedure, where nothing can change it; NULL */
    bool has_otherwise;
} CasesWork;

/* A name that somebody must state before the text can be decided. */
typedef struct {
    MissingKind kind;
    Name name;
    Span at;     /* where it is first needed */
    Buf waiting; /* gates that wait for it, by name */
    Name last;   /* gate that waits: one for each engine is named once */
    uint32_t n_waiting, n_items;
} Missing;

typedef struct {
    const Decl *decl;
    uint32_t engine;
    bool engaged; /* turned to from where the starter is in */
    Span engaged_at;
} DrillWork;

typedef struct ItemWork {
    NameMap labels;   /* Name of a label -> set */
    NameMap drill_at; /* key of a drill and an engine -> index + 1 */
    NameMap needs;    /* place of a drill + 1 -> DrillNeeds: is it one per engine */
    NameMap walked;   /* place of a group + 1 -> set: its labels are collected */
    NameMap trees;    /* place of a procedure or drill that is adapted + 1 -> LineTree, while it is being adapted */
    NameMap adapted;  /* the same -> Stmt: its lines as this tail has them */
    VEC(Drill) drills;
    VEC(DrillWork) drill_work; /* beside drills */
    VEC(Procedure) procedures;
    VEC(CasesWork) cases;
    VEC(Missing) missing;
    VEC(IdList) ids;
    VEC(TailEdit) edits;
    uint32_t depth;
} ItemWork;

typedef VEC(Item *) ItemPointers;

/* One procedure or drill being made. */
typedef struct {
    Resolver *r;
    ItemWork *work;
    Scene scene;
    const Decl *decl;
    bool in_drill, in_for, in_between, dropping;
    Name phase;
    const Why *phase_why;
    const Outcome *heading; /* the phase's `otherwise`, for lines written in the phase itself; NULL */
    const Decl *groups[LIMIT_GROUP_DEPTH];
    Span group_at[LIMIT_GROUP_DEPTH];
    uint32_t n_groups, nesting;
    uint32_t tries, cranks; /* around this line */
    uint32_t cranks_written;
    const Branch *branch;
    NameMap id_at;    /* Name of an id's words -> index + 1 in id_list */
    NameMap id_taken; /* Name of a final id -> set */
    VEC(ItemId) id_list;
    Buf words;      /* an id being made */
    NameMap labels; /* Name -> LabelUse */
    uint32_t n_items;
    ItemPointers dropped;
    const Test *assume;
} Walk;

typedef struct {
    Item *first, *last;
} ItemList;

/* ---- items.c ---- */
void walk_block(Walk *w, const Block *block, ItemList *out);
void give_ups_resolve(Item *first, const ItemAction *around, uint32_t depth);
void walk_statements(Walk *w, const Stmt *first, ItemList *out);
Item *item_new(Walk *w, const Stmt *stmt, StmtKind kind);
void item_add(ItemList *list, Item *item);
Duration item_duration(Walk *w, const Measured *measured);
int test_constant(const Test *test); /* 1 true, 0 false, -1 depends */
const Test *test_not(Resolver *r, const Test *test);
bool measured_written(const Measured *measured);

/* ---- fill.c: one item's own words ---- */
typedef enum { FILL_KEEP, FILL_DROP, FILL_BROKEN } Fill;
Fill item_fill(Walk *w, Item *item);

/* ---- outcomes.c ---- */
void outcomes_resolve(Walk *w, Item *item);
void action_resolve(Walk *w, const Action *action, ItemAction *out);

/* ---- ids.c ---- */
void id_give(Walk *w, Item *item);
Name id_words(Walk *w, const Stmt *stmt);
void label_give(Walk *w, Item *item);
void ids_keep(Walk *w);
void labels_collect(Resolver *r);

/* ---- drills.c ---- */
const Decl *drill_find(Resolver *r, Word word);
/* Index into the drills, added where it is new; NO_INDEX after a finding. engine: of the place that names it. */
uint32_t drill_index(Resolver *r, Word word, const Decl *decl, uint32_t engine, const Decl *home);
bool drill_per_engine(Resolver *r, const Decl *drill);
void drills_finish(Resolver *r);
void drills_release(Resolver *r);

/* drills_taken.c: which drills can break into a procedure: those of its own line, then those that the aircraft takes over for all. */
void drills_taken(Walk *w, Procedure *procedure);

/* Does some control power this one? */
bool thing_powered(const Resolver *r, const Thing *thing);

/* ---- cases.c ---- */
void cases_check(Resolver *r, const CasesWork *work);

/* ---- missing.c ---- */
MissingKind missing_kind(const Resolver *r, Name name);
void missing_report(Resolver *r);

/* ---- adapt.c ---- */
/* Before anything is made of the procedures and drills. */
void adaptations_apply(Resolver *r);
/* The line of an adaptation of `of` in whose braces the place stands; NULL: none. */
const TailEdit *edit_around(const Resolver *r, const Decl *of, Span span);
/* The lines of a procedure or drill as this tail has them. In an adapted one a `do` has the group's lines as its block. */
const Stmt *parts_of(const Resolver *r, const Decl *decl);
/* After: are there adaptations of what the tail has not? */
void adaptations_check(Resolver *r);

/* ---- waivers.c ---- */
void waivers_check(Resolver *r);
#endif
