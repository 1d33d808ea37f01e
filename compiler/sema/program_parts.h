/* Inside sema: the shape of Program, and what its files offer one another.
   takes   the files as the loader gave them
   gives   maps from names to declarations, the files in order, what has been reported
   owns    all in the job's arena
   never   known outside sema */
#ifndef SEMA_PROGRAM_PARTS_H
#define SEMA_PROGRAM_PARTS_H
#include "base/limits.h"
#include "sema/resolve.h"

enum { DECL_KINDS = DECL_WORDING + 1 };

/* One declaration of a name; homonyms (procedures and drills for different aircraft, doubles) in order. */
typedef struct Named Named;
struct Named {
    const Decl *decl;
    Named *next, *last; /* last: in the first of the list */
};

typedef struct ProgramFile ProgramFile;
typedef VEC(ProgramFile *) ProgramFiles;
struct ProgramFile {
    File *file;
    ProgramFiles uses, users;
    const Decl *next_use;  /* while it is being read: where to go on */
    const Decl *opened_by; /* the `use` through which it is being read */
    bool reading, done;
    uint32_t seen; /* stamp of the last walk along uses or users */
};

typedef struct {
    const Decl *decl;
    const Decl *aircraft; /* NULL: the chain is broken */
    bool walking;
} TailRoot;

typedef VEC(const Decl *) Decls;

/* Every thing that is declared, on an aircraft with so many engines, as it is before a tail is looked at: each tail copies them. */
typedef struct {
    Thing *at;
    uint32_t n;
    NameMap index; /* Name of a thing without engine -> uint32_t: index + 1 of its first instance */
} ThingSet;

typedef struct ForIndex ForIndex; /* program_for.c */

struct Program {
    Job *job;
    Name engine; /* the word */
    ForIndex *for_index;
    NameMap files; /* base of a source + 1 -> ProgramFile */
    ProgramFiles order;
    NameMap by_kind[DECL_KINDS]; /* Name -> Named */
    Decls all[DECL_KINDS];
    NameMap things;        /* Name -> Named: whatever items can be about */
    NameMap roots;         /* place of a tail or aircraft + 1 -> TailRoot */
    NameMap with_tails;    /* place of an aircraft + 1 -> it, where tails derive from it */
    NameMap bands;         /* Name of a band that some aircraft gives -> Craft */
    NameMap values;        /* Name of a value that some aircraft gives -> Craft */
    NameMap labels;        /* Name of a label that some procedure, drill or group has -> set */
    NameMap engines;       /* Name of an engine of some aircraft -> Craft */
    NameMap measures;      /* Name of a unit -> Measure */
    NameMap needs;         /* place of a state or event + 1 -> whether it needs an engine (tests.c) */
    NameMap words_checked; /* place of a state or event + 1 -> set (tests.c) */
    bool again; /* the tail is resolved once more: nothing is told */
    Decls tails, things_in_order;
    ThingSet thing_sets[LIMIT_ENGINES + 1]; /* by number of engines; made for the first tail that has so many */
    NameMap handbooks;                      /* place of an aircraft + 1 -> Tail by its own text */
    NameMap reported[FINDING_COUNT];        /* place + 1 -> set */
    NameMap poisoned[DECL_KINDS + 1];       /* Name -> set; the last: things */
    uint32_t stamp;
    uint64_t suggestions; /* comparisons left for "did you mean" */
    bool lost;            /* a declaration could not be read: names may be missing for that reason */
    /* whose files the stamp marks */
    const ProgramFile *visible_a, *visible_b;
};

bool decl_is_thing(uint8_t kind);
const char *decl_kind_words(uint8_t kind); /* "a control", "an event" */
const Decl *program_parent(const Program *program,
                           const Decl *tail); /* what a tail is derived from; NULL: nobody knows it */
ForIndex *program_for_new(Arena *arena);
ProgramFile *program_file_of(const Program *program, Span span);
bool program_first(Program *program, FindingKind kind, Span span);
/* Is the file of a declaration reachable from the aircraft's and the tail's file, or does it use them? program_see() first. */
void program_see(Program *program, const Decl *aircraft, const Decl *tail_decl);
bool program_sees(const Program *program, const Decl *decl);

/* The nearest of some names to what was typed; 0: none near enough. Candidates are offered one by one. */
typedef struct {
    const Names *names;
    Str typed;
    Name best;
    size_t distance;
    uint64_t *budget;
} Suggestion;
Suggestion suggestion_begin(Program *program, Str typed);
void suggestion_offer(Suggestion *suggestion, Name name);

/* program_check.c: what can be said of the declarations without any aircraft. */
void program_check(Program *program);
void program_check_papers(Program *program); /* program_papers.c: waivers, dates of documents, titles */
/* An unknown name, reported once: "did you mean" over declarations of the kinds. Returns NULL where it stays silent. */
Finding *report_unknown(Program *program, Word word, Name name, const DeclKind *kinds, size_t n_kinds,
                        const char *what);
#endif
