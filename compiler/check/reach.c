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

bool reach_before(const Reach *reach, uint32_t place, const Edge *edge, uint64_t *masks) {
    uint32_t n = reach->frame->model->n_facts;
    const uint64_t *here = reach->masks + (size_t)place * n;
    if (!reach->seen[place] || !guard_possible(edge->guard, here)) return false;
    memcpy(masks, here, n * sizeof *masks);
    if (!edge->guard) return true;
    const Term *only = NULL;
    for (uint32_t t = 0; t < edge->guard->n; t++) {
        if (!literals_possible(&edge->guard->terms[t], here)) continue;
        if (only) return true; /* several ways: nothing is narrowed */
        only = &edge->guard->terms[t];
    }
    for (uint32_t l = 0; only && l < only->n; l++) masks[only->literals[l].fact] &= only->literals[l].mask;
    return true;
}

static uint64_t counted(const Fact *fact, uint64_t values) {
    uint64_t full = fact_full(fact), top = full & ~(full >> 1);
    return ((values << 1) & full) | (values & top);
}

void reach_after(const Reach *reach, const Edge *edge, uint64_t *masks) {
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        uint64_t *mask = &masks[change->fact];
        *mask = change->kind == CHANGE_TO ? change->mask : counted(&reach->frame->model->facts[change->fact], *mask);
    }
}

static bool join(Reach *reach, uint32_t place, const uint64_t *masks) {
    uint32_t n = reach->frame->model->n_facts;
    uint64_t *here = reach->masks + (size_t)place * n, more = 0;
    for (uint32_t f = 0; f < n; f++) {
        more |= masks[f] & ~here[f];
        here[f] |= masks[f];
    }
    bool changed = more || !reach->seen[place];
    reach->seen[place] = true;
    return changed;
}

typedef struct {
    uint64_t *due; /* set of places to be followed */
    uint32_t n_words;
} Queue;

static void queue_put(Queue *queue, uint32_t place) {
    queue->due[place / 64] |= UINT64_C(1) << (place % 64);
}

/* The next place in the order of the text, from `from` on and round again; NO_INDEX: none. */
static uint32_t queue_take(Queue *queue, uint32_t from) {
    for (uint32_t k = 0; k <= queue->n_words; k++) {
        uint32_t w = (from / 64 + k) % queue->n_words;
        uint64_t bits = queue->due[w];
        if (!k) bits &= ~UINT64_C(0) << (from % 64);
        if (!bits) continue;
        uint32_t place = w * 64 + (uint32_t)__builtin_ctzll(bits);
        queue->due[w] &= ~(UINT64_C(1) << (place % 64));
        return place;
    }
    return NO_INDEX;
}

static void follow(Reach *reach, Queue *queue, uint32_t place, uint64_t *masks) {
    const Frame *f = reach->frame;
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++) {
        const Edge *edge = &f->model->edges[f->out[k]];
        if (!reach_before(reach, place, edge, masks)) continue;
        reach_after(reach, edge, masks);
        uint32_t to = edge_target(edge, place);
        if (join(reach, to, masks)) queue_put(queue, to);
    }
}

Reach *reach_make(Arena *arena, const Frame *frame) {
    const Model *m = frame->model;
    Reach *reach = ARENA_NEW(arena, Reach);
    reach->frame = frame;
    reach->masks = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * m->n_facts + 1);
    reach->seen = ARENA_ARRAY(arena, bool, m->n_places + 1u);
    uint64_t *masks = ARENA_ARRAY(arena, uint64_t, m->n_facts + 1u);
    Queue queue = {ARENA_ARRAY(arena, uint64_t, m->n_places / 64 + 1u), m->n_places / 64 + 1};
    join(reach, m->joint, m->initial);
    queue_put(&queue, m->joint);
    for (uint32_t place = m->joint; (place = queue_take(&queue, place)) != NO_INDEX;) follow(reach, &queue, place, masks);
    return reach;
}

uint64_t *reach_steps(Arena *arena, const Reach *reach) {
    const Frame *f = reach->frame;
    const Model *m = f->model;
    uint64_t *steps = ARENA_ARRAY(arena, uint64_t, f->out_first[m->n_places] / 64 + 1u);
    for (uint32_t p = 0; p < m->n_places; p++)
        for (uint32_t k = f->out_first[p]; reach->seen[p] && k < f->out_first[p + 1]; k++)
            if (guard_possible(m->edges[f->out[k]].guard, reach->masks + (size_t)p * m->n_facts)) steps[k / 64] |= UINT64_C(1) << (k % 64);
    return steps;
}
