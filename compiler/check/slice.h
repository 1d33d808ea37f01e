/* What a search has to know of a model, and nothing more: which facts and clocks matter where, and facts packed into words.
   takes   const Model *, the facts that a gate reads
   gives   Frame (once a model), Slice (once a gate)
   owns    both in the arena they were made in
   never   changes the model */
#ifndef CHECK_SLICE_H
#define CHECK_SLICE_H
#include "base/job.h"
#include "check/zones.h"
#include "sema/model.h"

#define MASK_WORDS 64 /* words that the packed facts of one slice may take */
#define NO_WORD UINT16_MAX

/* From when on an act of the pilot's is possible: `clock` has reached `least`. */
typedef struct {
    uint32_t edge, clock;
    int32_t least;
} PaceBound;

/* The stated pace at a place: the pilot's act comes at most `ms` after one became possible, which is at the entry or, where the acts
   that are open have least times, when the last of these is reached. */
typedef struct {
    bool holds;
    uint32_t first, n; /* its bounds; none where some act is always possible at once */
    int32_t ms;
} PaceRule;

/* ---- what holds of a model whatever the gate ---- */
typedef struct {
    const Model *model;
    Arena *arena;
    uint32_t *out_first,
        *out; /* edges that leave place p: out[out_first[p]] … before out_first[p + 1]; ambient ones last */
    uint32_t *due_first; /* likewise the deadlines of a place, the ambient ones last */
    const Deadline **due;
    int32_t *lower, *upper; /* [place * n_clocks + clock]: largest number it is still tested against; -1: none */
    uint32_t *
        clocks_first; /* by place; the clocks that still matter there: clocks[clocks_first[p] .. clocks_first[p + 1]) */
    uint16_t *clocks;
    uint32_t fact_words; /* words of one set of facts */
    uint64_t *live;      /* [place * fact_words]: facts that a guard may still read */
    uint64_t *read;      /* facts that any guard reads */
    uint32_t pace_clock; /* NO_INDEX: made without the stated pace */
    PaceRule *paces;     /* by place; NULL: without */
    VEC(PaceBound) pace_bounds;
    bool too_large;      /* a time beyond ZONE_LONGEST, or more clocks at once than a zone has */
    bool untimed;        /* without clocks and deadlines */
    bool unread;         /* without facts but those a gate asks for */
    const uint64_t *few; /* the only clocks that are looked at; NULL: all */
} Frame;

/* Which edges leave which place, and the deadlines there; no more. `coasting`: without those that hold everywhere, by which engines come
   to rest. */
Frame *frame_edges(Arena *arena, const Model *model, bool coasting);
/* The whole frame. `keep`: the steps that some run takes, bits by index into edges->out; NULL: all. Clocks and facts matter
   only where such a step still reads them. */
Frame *frame_make(Arena *arena, const Frame *edges, const uint64_t *keep, bool with_pace);
/* A wider view that forgets time, or facts, or both. Every run is a run of it, so a rule that it keeps is kept; what it breaks proves
   nothing. */
/* Wider once more: of the clocks only these. */
Frame *frame_few(Arena *arena, const Frame *exact, const uint64_t *clocks);
Frame *frame_wider(Arena *arena, const Frame *exact, bool timed, bool read);
static inline bool fact_in(const uint64_t *set, uint32_t fact) {
    return set[fact / 64] >> (fact % 64) & 1;
}
static inline void fact_put(uint64_t *set, uint32_t fact) {
    set[fact / 64] |= UINT64_C(1) << (fact % 64);
}
uint64_t fact_full(const Fact *fact); /* the mask of all its values */
static inline uint32_t edge_target(const Edge *edge, uint32_t from) {
    return edge->to == NO_INDEX ? from : edge->to;
}
static inline bool frame_clears(const Frame *frame, const Edge *edge, uint32_t clock) {
    if (clock == frame->pace_clock && edge->to != NO_INDEX) return true;
    for (uint32_t k = 0; k < edge->n_resets; k++)
        if (edge->resets[k] == clock) return true;
    return false;
}

/* ---- conditions on packed facts ---- */
typedef struct {
    uint32_t word;
    uint64_t field; /* all bits of the fact */
    uint64_t bits;  /* those that are accepted */
} Lit;
typedef struct {
    Lit *lits;
    uint32_t n;
} LitTerm;
typedef struct {
    LitTerm *terms;
    uint32_t n; /* 0: false */
    bool always;
} Formula;

typedef struct {
    uint16_t word;
    uint8_t shift, width;
} Field;

typedef struct {
    uint32_t word;
    uint64_t field, set;
    uint8_t counts_at; /* 255: becomes `set`; else a counter whose field begins at this bit */
} Assign;

typedef struct {
    const Formula *guard; /* NULL: always */
    Assign *assigns;
    uint32_t n_assigns;
} SliceEdge;

typedef struct {
    const Formula *when; /* NULL: always */
    uint32_t clock;
    int32_t ms;
    bool unsure; /* its condition reads what was forgotten, or its clock was: it stops no time */
} SliceDue;

typedef struct {
    const Frame *frame;
    Arena *arena;
    Field *fields; /* by fact; word == NO_WORD: not in the slice */
    uint32_t words;
    uint64_t *field_of;        /* [word * 64 + bit]: all bits of the fact it belongs to */
    SliceEdge *edges;          /* by edge */
    SliceDue *dues;            /* as frame->due */
    const Formula **pace_when; /* by place, where the frame has the pace; NULL: always */
    uint64_t *dead;            /* [place * words]: bits of the facts that no longer matter there, kept full */
    bool too_large;
} Slice;

/* `wanted`: facts the gate reads, which then matter everywhere; NULL: none. */
Slice *slice_make(Arena *arena, const Frame *frame, const uint64_t *wanted);
Lit slice_literal(const Slice *slice, uint32_t fact, uint64_t mask);
/* Alternatives of a resolved condition; NULL where it leans on something undecided or grows beyond LIMIT_GUARD_TERMS. */
Guard *guard_from_test(Arena *arena, const Fact *facts, const Test *test, bool negated);
Guard *guard_and(Arena *arena, const Guard *a, const Guard *b); /* NULL: too many alternatives */
Formula *formula_of_guard(Arena *arena, const Slice *slice, const Guard *guard);
void test_facts(const Test *test, uint64_t *set); /* adds the facts that it reads */

/* Can it hold for some values within the masks? */
bool formula_possible(const Formula *formula, const uint64_t *masks);
/* Does one of its alternatives hold for all of them? */
bool formula_certain(const Formula *formula, const uint64_t *masks);
/* Keeps of the masks what satisfies the term; false: nothing does. */
bool term_keep(const LitTerm *term, const uint64_t *masks, uint64_t *kept, uint32_t words);
/* Parts of the masks in which the formula holds (or does not), `words` each, at most `cap`; returns how many, cap + 1: too many. */
uint32_t formula_parts(const Formula *formula, const uint64_t *masks, uint32_t words, bool holds, uint64_t *parts,
                       uint32_t cap);
#endif
