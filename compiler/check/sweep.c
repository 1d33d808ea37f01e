#include "check/sweep.h"
#include <string.h>

/* A situation is what a place does not tell: the observer's state, the facts of the rule, the observer's clock. There are few, so
   a set of them is one word. Most edges do the same to every situation as many others do; what one of a kind does is found out
   once, by a step of the search. */
enum { SITUATIONS = 64, KINDS_PLAIN = 2 * (EDGE_BEGIN + 1) };

typedef struct {
    uint64_t known, same,
        tested;   /* of which situations it is known; which it leaves alone; in which it puts the rule to the test */
    uint64_t *to; /* by situation; NULL: not needed so far */
} StepKind;

typedef struct {
    Search *search;
    const Frame *frame;
    uint8_t *scope_at; /* by place: which of the distinct values of the observer's scope */
    uint32_t n_scopes;
    uint32_t *own_kind; /* by edge: 0: like all of its EdgeKind; else its own */
    StepKind **kinds;
    uint64_t *have, *more; /* by place: situations that come there; of these, those not yet followed */
    uint64_t *due;         /* set of places that have more */
    uint32_t first;        /* no place of a word of `due` before this one has */
} Sweep;

bool sweep_fits(const Search *search) {
    return search->observer && search->frame->untimed && search->frame->unread;
}

static void number_scopes(Sweep *sweep, Arena *arena) {
    const uint8_t *scope = sweep->search->observer->scope;
    uint32_t n_places = sweep->frame->model->n_places;
    uint8_t number[256] = {0};
    sweep->scope_at = ARENA_ARRAY(arena, uint8_t, n_places + 1u);
    for (uint32_t p = 0; p < n_places; p++) {
        if (!number[scope[p]]) number[scope[p]] = (uint8_t)++sweep->n_scopes;
        sweep->scope_at[p] = number[scope[p]] - 1;
    }
}

/* Edges that make events of the rule, or read or change its facts, are each of their own kind. */
static uint32_t number_kinds(Sweep *sweep, Arena *arena) {
    const Search *s = sweep->search;
    uint32_t n = KINDS_PLAIN, n_edges = sweep->frame->model->n_edges;
    sweep->own_kind = ARENA_ARRAY(arena, uint32_t, n_edges + 1u);
    for (uint32_t e = 0; e < n_edges; e++)
        if (s->observer->event_of[e] || s->slice->edges[e].guard || s->slice->edges[e].n_assigns)
            sweep->own_kind[e] = n++;
    return n;
}

static StepKind **kind_at(const Sweep *sweep, uint32_t e, uint32_t from, uint32_t to) {
    const Edge *edge = &sweep->frame->model->edges[e];
    uint32_t kind = sweep->own_kind[e];
    if (!kind) kind = 2 * (uint32_t)edge->kind + edge->over_duty;
    return &sweep->kinds[((2 * kind + (from == to)) * sweep->n_scopes + sweep->scope_at[from]) * sweep->n_scopes +
                         sweep->scope_at[to]];
}

static void note(const Search *s, StepKind *kind, uint32_t situation) {
    if (!kind->to) kind->to = ARENA_ARRAY(s->slice->arena, uint64_t, SITUATIONS);
    kind->to[situation] = s->found;
}

static void learn(Sweep *sweep, StepKind *kind, uint64_t unknown, uint32_t out, uint32_t place) {
    Search *s = sweep->search;
    uint32_t e = sweep->frame->out[out];
    for (; unknown && s->end == SEARCH_HOLDS; unknown &= unknown - 1) {
        uint32_t situation = (uint32_t)__builtin_ctzll(unknown);
        bool before = s->edge_tested[e / 64] >> (e % 64) & 1;
        s->edge_tested[e / 64] &= ~(UINT64_C(1) << (e % 64));
        search_step(s, situation, place, out);
        uint64_t bit = UINT64_C(1) << situation;
        if (s->edge_tested[e / 64] >> (e % 64) & 1) kind->tested |= bit;
        if (before) s->edge_tested[e / 64] |= UINT64_C(1) << (e % 64);
        if (s->found == bit) kind->same |= bit;
        else if (s->found) note(s, kind, situation);
        kind->known |= bit;
    }
}

static void follow(Sweep *sweep, uint32_t out, uint32_t from, uint64_t situations) {
    Search *s = sweep->search;
    uint32_t e = sweep->frame->out[out], to = edge_target(&sweep->frame->model->edges[e], from);
    StepKind **at = kind_at(sweep, e, from, to), *kind = *at;
    if (!kind) kind = *at = ARENA_NEW(s->slice->arena, StepKind);
    if (situations & ~kind->known) learn(sweep, kind, situations & ~kind->known, out, from);
    uint64_t arriving = situations & kind->same;
    for (uint64_t rest = kind->to ? situations & ~kind->same : 0; rest; rest &= rest - 1)
        arriving |= kind->to[__builtin_ctzll(rest)];
    if (situations & kind->tested) s->edge_tested[e / 64] |= UINT64_C(1) << (e % 64);
    arriving &= ~sweep->have[to];
    if (!arriving) return;
    sweep->have[to] |= arriving;
    sweep->more[to] |= arriving;
    sweep->due[to / 64] |= UINT64_C(1) << (to % 64);
    if (to / 64 < sweep->first) sweep->first = to / 64;
}

static void sweep_places(Sweep *sweep) {
    const Frame *f = sweep->frame;
    uint32_t n_words = f->model->n_places / 64 + 1;
    while (sweep->first < n_words && sweep->search->end == SEARCH_HOLDS) {
        uint64_t *due = &sweep->due[sweep->first];
        if (!*due) {
            sweep->first++;
            continue;
        }
        uint32_t place = sweep->first * 64 + (uint32_t)__builtin_ctzll(*due);
        uint64_t situations = sweep->more[place];
        *due &= *due - 1;
        sweep->more[place] = 0;
        for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1] && sweep->search->end == SEARCH_HOLDS; k++)
            follow(sweep, k, place, situations);
    }
}

SearchEnd sweep_run(Search *search) {
    Arena *arena = search->slice->arena;
    const Model *m = search->frame->model;
    Sweep sweep = {.search = search, .frame = search->frame};
    number_scopes(&sweep, arena);
    uint32_t n = 2 * number_kinds(&sweep, arena) * sweep.n_scopes * sweep.n_scopes;
    sweep.kinds = ARENA_ARRAY(arena, StepKind *, n + 1u);
    sweep.have = ARENA_ARRAY(arena, uint64_t, m->n_places + 1u);
    sweep.more = ARENA_ARRAY(arena, uint64_t, m->n_places + 1u);
    sweep.due = ARENA_ARRAY(arena, uint64_t, m->n_places / 64 + 1u);
    search->sweeps = true;
    search_begin(search);
    sweep.have[m->joint] = sweep.more[m->joint] = search->found;
    sweep.due[m->joint / 64] |= UINT64_C(1) << (m->joint % 64);
    sweep_places(&sweep);
    return search->end;
}
