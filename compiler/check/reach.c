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

/* ---- the flow ---- */
/* All facts of a place side by side in a few words, so that an edge takes them along together. */
typedef struct {
    uint32_t word;
    uint64_t field; /* its bits there */
    uint8_t shift;
} Packed;

typedef struct {
    uint32_t word;
    uint64_t field, bits;
} PackedLiteral;

typedef struct {
    const PackedLiteral *literals;
    uint32_t n;
} PackedTerm;

typedef struct {
    const PackedTerm *terms;
    uint32_t n;
} PackedGuard;

typedef struct {
    Reach *reach;
    Arena *arena;
    Packed *facts;
    uint32_t words;
    PackedGuard **guards;  /* by edge, made when it is first come to; NULL: it has none, or was not come to */
    uint64_t *masks;       /* [place * words] */
    uint64_t *due;         /* set of places to be followed */
    uint64_t *after;       /* of one step */
    uint32_t n_due, first; /* words of `due`; no place of a word before `first` is due */
} Flow;

static void pack_facts(Flow *flow) {
    const Model *m = flow->reach->frame->model;
    uint32_t word = 0, used = 0;
    flow->facts = ARENA_ARRAY(flow->arena, Packed, m->n_facts + 1u);
    for (uint32_t f = 0; f < m->n_facts; f++) {
        uint32_t width = m->facts[f].n_values < 64 ? m->facts[f].n_values : 64;
        if (used + width > 64) word++, used = 0;
        uint32_t shift = width ? used : 0;
        flow->facts[f] = (Packed){word, fact_full(&m->facts[f]) << shift, (uint8_t)shift};
        used += width;
    }
    flow->words = word + 1;
}

static void put_fact(const Flow *flow, uint64_t *to, uint32_t fact, uint64_t values) {
    const Packed *at = &flow->facts[fact];
    to[at->word] |= values << at->shift & at->field;
}

static uint64_t fact_of(const Flow *flow, const uint64_t *from, uint32_t fact) {
    const Packed *at = &flow->facts[fact];
    return (from[at->word] & at->field) >> at->shift;
}

static void pack_all(const Flow *flow, const uint64_t *masks, uint64_t *to) {
    memset(to, 0, flow->words * sizeof *to);
    for (uint32_t f = 0; f < flow->reach->frame->model->n_facts; f++) put_fact(flow, to, f, masks[f]);
}

static PackedGuard *pack_guard(const Flow *flow, const Guard *guard) {
    PackedGuard *packed = ARENA_NEW(flow->arena, PackedGuard);
    PackedTerm *terms = ARENA_ARRAY(flow->arena, PackedTerm, guard->n + 1u);
    for (uint32_t t = 0; t < guard->n; t++) {
        PackedLiteral *literals = ARENA_ARRAY(flow->arena, PackedLiteral, guard->terms[t].n + 1u);
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            const Literal *literal = &guard->terms[t].literals[l];
            const Packed *at = &flow->facts[literal->fact];
            literals[l] = (PackedLiteral){at->word, at->field, literal->mask << at->shift & at->field};
        }
        terms[t] = (PackedTerm){literals, guard->terms[t].n};
    }
    *packed = (PackedGuard){terms, guard->n};
    return packed;
}

static void queue_put(Flow *flow, uint32_t place) {
    flow->due[place / 64] |= UINT64_C(1) << (place % 64);
    if (place / 64 < flow->first) flow->first = place / 64;
}

/* The first place in the order of the text; NO_INDEX: none. */
static uint32_t queue_take(Flow *flow) {
    while (flow->first < flow->n_due && !flow->due[flow->first]) flow->first++;
    if (flow->first == flow->n_due) return NO_INDEX;
    uint64_t *bits = &flow->due[flow->first];
    uint32_t place = flow->first * 64 + (uint32_t)__builtin_ctzll(*bits);
    *bits &= *bits - 1;
    return place;
}

static void join(Flow *flow, uint32_t place, const uint64_t *masks) {
    uint64_t *here = flow->masks + (size_t)place * flow->words, more = flow->reach->seen[place] ? 0 : 1;
    for (uint32_t w = 0; w < flow->words; w++) {
        more |= masks[w] & ~here[w];
        here[w] |= masks[w];
    }
    flow->reach->seen[place] = true;
    if (more) queue_put(flow, place);
}

static bool packed_possible(const PackedTerm *term, const uint64_t *masks) {
    for (uint32_t l = 0; l < term->n; l++)
        if (!(masks[term->literals[l].word] & term->literals[l].bits)) return false;
    return true;
}

/* As guard_ways. */
static bool packed_ways(const PackedGuard *guard, const uint64_t *here, const PackedTerm **only) {
    bool possible = false;
    *only = NULL;
    for (uint32_t t = 0; t < guard->n; t++) {
        if (!packed_possible(&guard->terms[t], here)) continue;
        *only = possible ? NULL : &guard->terms[t];
        if (possible) return true;
        possible = true;
    }
    return possible;
}

static void change_facts(const Flow *flow, const Edge *edge, uint64_t *masks) {
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        uint64_t values = change_values(flow->reach, change, fact_of(flow, masks, change->fact));
        masks[flow->facts[change->fact].word] &= ~flow->facts[change->fact].field;
        put_fact(flow, masks, change->fact, values);
    }
}

static void follow_edge(Flow *flow, uint32_t place, uint32_t e) {
    const Edge *edge = &flow->reach->frame->model->edges[e];
    const uint64_t *here = flow->masks + (size_t)place * flow->words;
    const PackedTerm *only = NULL;
    if (edge->guard) {
        if (!flow->guards[e]) flow->guards[e] = pack_guard(flow, edge->guard);
        if (!packed_ways(flow->guards[e], here, &only)) return;
    }
    if (!edge->n_changes && (!only || !only->n)) {
        if (edge->to != NO_INDEX && edge->to != place) join(flow, edge->to, here);
        return;
    }
    memcpy(flow->after, here, flow->words * sizeof *here);
    for (uint32_t l = 0; only && l < only->n; l++)
        flow->after[only->literals[l].word] &= ~only->literals[l].field | only->literals[l].bits;
    change_facts(flow, edge, flow->after);
    join(flow, edge_target(edge, place), flow->after);
}

static void follow(Flow *flow, uint32_t place) {
    const Frame *f = flow->reach->frame;
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++)
        if (!flow->reach->one_start || f->model->edges[f->out[k]].kind != EDGE_JOIN)
            follow_edge(flow, place, f->out[k]);
}

static void flow_begin(Flow *flow, const Reach *entries) {
    const Model *m = flow->reach->frame->model;
    if (!flow->reach->one_start) {
        pack_all(flow, m->initial, flow->after);
        join(flow, m->joint, flow->after);
    }
    for (uint32_t p = 0; entries && p < m->n_places; p++) {
        if (!entries->seen[p]) continue;
        pack_all(flow, entries->masks + (size_t)p * m->n_facts, flow->after);
        join(flow, p, flow->after);
    }
}

static void unpack(const Flow *flow) {
    const Model *m = flow->reach->frame->model;
    for (uint32_t p = 0; p < m->n_places; p++) {
        if (!flow->reach->seen[p]) continue;
        for (uint32_t f = 0; f < m->n_facts; f++)
            flow->reach->masks[(size_t)p * m->n_facts + f] = fact_of(flow, flow->masks + (size_t)p * flow->words, f);
    }
}

static Reach *flow(Arena *arena, const Frame *frame, const Reach *entries, bool one_start) {
    const Model *m = frame->model;
    Reach *reach = ARENA_NEW(arena, Reach);
    reach->one_start = one_start;
    reach->frame = frame;
    reach->masks = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * m->n_facts + 1);
    reach->seen = ARENA_ARRAY(arena, bool, m->n_places + 1u);
    Flow flow = {.reach = reach, .arena = arena, .n_due = m->n_places / 64 + 1};
    pack_facts(&flow);
    flow.guards = ARENA_ARRAY(arena, PackedGuard *, m->n_edges + 1u);
    flow.masks = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * flow.words + 1);
    flow.due = ARENA_ARRAY(arena, uint64_t, flow.n_due);
    flow.after = ARENA_ARRAY(arena, uint64_t, flow.words);
    flow_begin(&flow, entries);
    for (uint32_t place; (place = queue_take(&flow)) != NO_INDEX;) follow(&flow, place);
    unpack(&flow);
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
