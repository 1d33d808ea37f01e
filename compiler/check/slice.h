/* What a search for one gate has to know of a model, and nothing more: the facts that matter, packed into words.
   takes   a Frame, the facts that the gate reads
   gives   Slice
   owns    it in the arena it was made in
   never   changes the model */
#ifndef CHECK_SLICE_H
#define CHECK_SLICE_H
#include "check/frame.h"

#define MASK_WORDS 64 /* words that the packed facts of one slice may take */
#define NO_WORD UINT16_MAX

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
