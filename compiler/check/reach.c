#include "check/reach.h"
#include <string.h>

static bool literals_possible(const Term *term, const uint64_t *masks) {
    for (uint32_t l = 0; l < term->n; l++)
        if (!(masks[term->literals[l].fact] & term->literals[l].mask)) return false;
    return true;
}

bool guard_possible(const Guard *guard, const uint64_t *masks) {
    if (!guard) return true;
    for (uint32_t t = 0; t < guard->n; t++)
        if (literals_possible(&guard->terms[t], masks)) return true;
    return false;
}

/* False: the condition cannot hold. `only`: the one way in which it can; NULL: there are several, so that nothing is narrowed, or there is no
   condition. */
static bool guard_ways(const Guard *guard, const uint64_t *here, const Term **only) {
    bool possible = !guard;
    *only = NULL;
    for (uint32_t t = 0; guard && t < guard->n; t++) {
        if (!literals_possible(&guard->terms[t], here)) continue;
        *only = possible ? NULL : &guard->terms[t];
        if (possible) return true;
        possible = true;
    }
    return possible;
}

const uint64_t *reach_open(const Reach *reach, uint32_t place, const Edge *edge, const Term **only) {
    const uint64_t *here = reach->masks + (size_t)place * reach->frame->model->n_facts;
    return reach->seen[place] && guard_ways(edge->guard, here, only) ? here : NULL;
}

uint64_t term_values(const Term *only, uint32_t fact, uint64_t values) {
    for (uint32_t l = 0; only && l < only->n; l++)
        if (only->literals[l].fact == fact) values &= only->literals[l].mask;
    return values;
}

const uint64_t *reach_before(const Reach *reach, uint32_t place, const Edge *edge, uint64_t *room) {
    uint32_t n = reach->frame->model->n_facts;
    const Term *only;
    const uint64_t *here = reach_open(reach, place, edge, &only);
    if (!here || !only || !only->n) return here;
    memcpy(room, here, n * sizeof *room);
    for (uint32_t l = 0; l < only->n; l++) room[only->literals[l].fact] &= only->literals[l].mask;
    return room;
}

static uint64_t counted(const Fact *fact, uint64_t values) {
    uint64_t full = fact_full(fact), top = full & ~(full >> 1);
    return ((values << 1) & full) | (values & top);
}

static uint64_t change_values(const Reach *reach, const Change *change, uint64_t values) {
    return change->kind == CHANGE_TO ? change->mask : counted(&reach->frame->model->facts[change->fact], values);
}

uint64_t reach_after(const Reach *reach, const Edge *edge, uint32_t fact, uint64_t values) {
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].fact == fact) values = change_values(reach, &edge->changes[c], values);
    return values;
}

typedef struct {
    uint64_t *due;           /* set of places to be followed */
    uint32_t n_words, first; /* no place of a word before `first` is due */
    uint64_t *grown;         /* [place * fact_words]: facts that grew since the place was followed */
    uint64_t *grew;          /* those of the place that is followed */
    uint64_t *open; /* edges that were followed before, by index into frame->out: only what grew goes on along them */
    uint32_t fact_words;
} Queue;

static void queue_put(Queue *queue, uint32_t place) {
    queue->due[place / 64] |= UINT64_C(1) << (place % 64);
    if (place / 64 < queue->first) queue->first = place / 64;
}

/* The first place in the order of the text; NO_INDEX: none. */
static uint32_t queue_take(Queue *queue) {
    while (queue->first < queue->n_words && !queue->due[queue->first]) queue->first++;
    if (queue->first == queue->n_words) return NO_INDEX;
    uint64_t *bits = &queue->due[queue->first];
    uint32_t place = queue->first * 64 + (uint32_t)__builtin_ctzll(*bits);
    *bits &= *bits - 1;
    return place;
}

static void join_fact(Reach *reach, Queue *queue, uint32_t place, uint32_t fact, uint64_t values) {
    uint64_t *here = &reach->masks[(size_t)place * reach->frame->model->n_facts + fact];
    if (!(values & ~*here)) return;
    *here |= values;
    fact_put(queue->grown + (size_t)place * queue->fact_words, fact);
    queue_put(queue, place);
}

static void join(Reach *reach, Queue *queue, uint32_t place, const uint64_t *masks) {
    uint32_t n = reach->frame->model->n_facts;
    const uint64_t *here = reach->masks + (size_t)place * n;
    for (uint32_t fact = 0; fact < n; fact++)
        if (masks[fact] & ~here[fact]) join_fact(reach, queue, place, fact, masks[fact]);
    if (!reach->seen[place]) queue_put(queue, place);
    reach->seen[place] = true;
}

/* One fact along an edge that was followed before. */
static void pass_fact(Reach *reach, Queue *queue, uint32_t place, const Edge *edge, const Term *only, uint32_t fact) {
    const Model *m = reach->frame->model;
    uint64_t values = term_values(only, fact, reach->masks[(size_t)place * m->n_facts + fact]);
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        if (edge->changes[c].fact != fact) continue;
        if (edge->changes[c].kind == CHANGE_TO) return;
        values = counted(&m->facts[fact], values);
    }
    join_fact(reach, queue, edge_target(edge, place), fact, values);
}

/* Where there are several ways, what its condition reads may have been narrowed before and be so no longer. */
static void pass_grown(Reach *reach, Queue *queue, uint32_t place, const Edge *edge) {
    const Term *only;
    guard_ways(edge->guard, reach->masks + (size_t)place * reach->frame->model->n_facts, &only);
    for (uint32_t w = 0; w < queue->fact_words; w++)
        for (uint64_t rest = queue->grew[w]; rest; rest &= rest - 1)
            pass_fact(reach, queue, place, edge, only, w * 64 + (uint32_t)__builtin_ctzll(rest));
    for (uint32_t t = 0; edge->guard && edge->guard->n > 1 && t < edge->guard->n; t++)
        for (uint32_t l = 0; l < edge->guard->terms[t].n; l++)
            pass_fact(reach, queue, place, edge, only, edge->guard->terms[t].literals[l].fact);
}

static void follow(Reach *reach, Queue *queue, uint32_t place, uint64_t *masks) {
    const Frame *f = reach->frame;
    uint64_t *grown = queue->grown + (size_t)place * queue->fact_words;
    memcpy(queue->grew, grown, queue->fact_words * sizeof *grown);
    memset(grown, 0, queue->fact_words * sizeof *grown);
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++) {
        const Edge *edge = &f->model->edges[f->out[k]];
        if (reach->one_start && edge->kind == EDGE_JOIN) continue;
        if (queue->open[k / 64] >> (k % 64) & 1) {
            pass_grown(reach, queue, place, edge);
            continue;
        }
        const uint64_t *before = reach_before(reach, place, edge, masks);
        if (!before) continue;
        queue->open[k / 64] |= UINT64_C(1) << (k % 64);
        if (before != masks) memcpy(masks, before, f->model->n_facts * sizeof *masks);
        for (uint32_t c = 0; c < edge->n_changes; c++) {
            uint64_t *values = &masks[edge->changes[c].fact];
            *values = change_values(reach, &edge->changes[c], *values);
        }
        join(reach, queue, edge_target(edge, place), masks);
    }
}

static Reach *flow(Arena *arena, const Frame *frame, const Reach *entries, bool one_start) {
    const Model *m = frame->model;
    Reach *reach = ARENA_NEW(arena, Reach);
    reach->one_start = one_start;
    reach->frame = frame;
    reach->masks = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * m->n_facts + 1);
    reach->seen = ARENA_ARRAY(arena, bool, m->n_places + 1u);
    uint64_t *masks = ARENA_ARRAY(arena, uint64_t, m->n_facts + 1u);
    Queue queue = {.n_words = m->n_places / 64 + 1, .fact_words = m->n_facts / 64 + 1};
    queue.due = ARENA_ARRAY(arena, uint64_t, queue.n_words);
    queue.grown = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * queue.fact_words + 1);
    queue.grew = ARENA_ARRAY(arena, uint64_t, queue.fact_words);
    queue.open = ARENA_ARRAY(arena, uint64_t, frame->out_first[m->n_places] / 64 + 1u);
    if (!one_start) join(reach, &queue, m->joint, m->initial);
    for (uint32_t p = 0; entries && p < m->n_places; p++)
        if (entries->seen[p]) join(reach, &queue, p, entries->masks + (size_t)p * m->n_facts);
    for (uint32_t place; (place = queue_take(&queue)) != NO_INDEX;) follow(reach, &queue, place, masks);
    return reach;
}

Reach *reach_make(Arena *arena, const Frame *frame) {
    return flow(arena, frame, NULL, false);
}

Reach *reach_grown(Arena *arena, const Frame *frame, const Reach *some) {
    return flow(arena, frame, some, false);
}

Reach *reach_from(Arena *arena, const Frame *frame, const Reach *entries) {
    return flow(arena, frame, entries, true);
}

uint64_t *reach_steps(Arena *arena, const Reach *reach) {
    const Frame *f = reach->frame;
    const Model *m = f->model;
    uint64_t *steps = ARENA_ARRAY(arena, uint64_t, f->out_first[m->n_places] / 64 + 1u);
    for (uint32_t p = 0; p < m->n_places; p++)
        for (uint32_t k = f->out_first[p]; reach->seen[p] && k < f->out_first[p + 1]; k++)
            if (guard_possible(m->edges[f->out[k]].guard, reach->masks + (size_t)p * m->n_facts))
                steps[k / 64] |= UINT64_C(1) << (k % 64);
    return steps;
}
