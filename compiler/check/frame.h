/* What holds of a model whatever the gate: which edges leave which place, and which clocks and facts still matter there.
   takes   const Model *
   gives   Frame: the whole of it, without steps that no run takes, or a wider view
   owns    all in the arena it was made in
   never   changes the model */
#ifndef CHECK_FRAME_H
#define CHECK_FRAME_H
#include "base/job.h"
#include "check/zones.h"
#include "sema/model.h"

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
Frame *frame_wider(Arena *arena, const Frame *exact, bool timed, bool read);
/* Wider once more: of the clocks only these. */
Frame *frame_few(Arena *arena, const Frame *exact, const uint64_t *clocks);
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
#endif
