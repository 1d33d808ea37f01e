#include "base/limits.h"
#include "check/entry.h"
#include <string.h>

/* ---- one step ---- */
void step_tested(const Step *step) {
    set_bit(step->search->edge_tested, step->edge);
}

/* False: nothing that could break the rule can come after this. A state that the next beginning forgets is forgotten at once. */
static bool still_open(const Observer *o, uint32_t place, Move *move) {
    uint8_t ahead = o->ahead[place];
    if (ahead & AHEAD_SOON || o->states[move->state].limit >= 0) return true;
    if (ahead && o->begins_anew) move->state = 0;
    return ahead;
}

/* Every shorter window with too many is within this one, so all that was found before counts. */
static bool narrow(Search *s, uint32_t row) {
    const Observer *o = s->observer;
    if (!s->narrows || !row) return false;
    int32_t keeps = zone_lowest(&s->zones->arrived, row) - 1;
    if (keeps < 0) return false;
    *o->window = keeps;
    for (uint32_t k = 1; k < o->n_states; k++) o->states[k].cap = keeps;
    return s->narrowed = true;
}

void step_go(const Step *step, const uint64_t *after, Move move) {
    Search *s = step->search;
    if (s->end != SEARCH_HOLDS) return;
    const Zone *zone = s->guarded;
    bool kept = s->observer && s->observer->states[s->state].clocked;
    if (!kept && move.least > 0) return;
    if (kept && (move.least >= 0 || move.most >= 0)) {
        zone = &s->zones->told;
        zone_copy(&s->zones->told, s->guarded);
        if (move.least >= 0 && !zone_at_least(&s->zones->told, s->here_dims - 1, move.least)) return;
        if (move.most >= 0 && !zone_at_most(&s->zones->told, s->here_dims - 1, move.most)) return;
    }
    if (!move.bad && s->observer && s->observer->ahead && !still_open(s->observer, step->to, &move)) return;
    s->move = move;
    s->edge = step->edge;
    s->store->nodes[s->node].moved = 1;
    set_bit(s->edge_taken, step->edge);
    set_bit(s->out_taken, s->out_index);
    set_bit(s->place_seen, step->to);
    Entry entry;
    entry_begin(&entry, step->to, move.state, after);
    uint8_t pick[ZONE_MAX];
    uint32_t n = entry_clocks(s, &entry, &s->frame->model->edges[step->edge], pick);
    zone_pick(&s->zones->arrived, zone, pick, n);
    if (move.bad && (s->sought || narrow(s, entry.observer_row))) return;
    if (move.bad) search_found_bad(s, entry.place, entry.state, after, &s->zones->arrived, BAD_BY_EDGE);
    else if (!s->sweeps && store_covers(s, entry.place, entry.state, after)) return;
    else if (s->sought && s->sought->is(s->sought, step, &move))
        search_found_bad(s, entry.place, entry.state, after, &s->zones->arrived, NOT_BAD_BUT_SOUGHT);
    else entry_wait(s, &entry);
}

/* ---- one edge from one node ---- */
uint64_t *scratch_take(Search *s, uint32_t n, size_t *mark) {
    *mark = s->scratch_used;
    size_t wanted = (size_t)n * s->slice->words;
    if (s->scratch_used + wanted > s->store->cap_scratch) {
        s->end = SEARCH_BUDGET;
        return NULL;
    }
    s->scratch_used += wanted;
    return s->store->scratch + *mark;
}

void scratch_give(Search *s, size_t mark) {
    s->scratch_used = mark;
}

enum { PARTS_MOST = 128 };

uint32_t step_parts(const Step *step, const Formula *formula, const uint64_t *masks, bool holds, uint64_t **parts,
                    size_t *mark) {
    Search *s = step->search;
    *parts = scratch_take(s, PARTS_MOST, mark);
    if (!*parts) return 0;
    uint32_t n = formula_parts(formula, masks, s->slice->words, holds, *parts, PARTS_MOST);
    if (n <= PARTS_MOST) {
        scratch_give(s, *mark + (size_t)n * s->slice->words);
        return n;
    }
    s->end = SEARCH_BUDGET;
    return 0;
}

static uint64_t count_up(const Assign *assign, uint64_t word) {
    uint64_t values = word & assign->field, top = assign->field & ~(assign->field >> 1);
    return ((values << 1) & assign->field) | (values & top);
}

static void assign_facts(const SliceEdge *edge, uint64_t *masks) {
    for (uint32_t k = 0; k < edge->n_assigns; k++) {
        const Assign *a = &edge->assigns[k];
        uint64_t set = a->counts_at == 255 ? a->set : count_up(a, masks[a->word]);
        masks[a->word] = (masks[a->word] & ~a->field) | set;
    }
}

static void observe(Search *s, Step *step, const uint64_t *before, uint64_t *after, uint32_t roles) {
    const Observer *o = s->observer;
    uint32_t words = s->slice->words;
    const uint64_t *dead = s->slice->dead + (size_t)step->to * words;
    for (uint32_t w = 0; w < words; w++) after[w] |= dead[w];
    step->before = before;
    step->after = after;
    if (!o) {
        step_go(step, after, MOVE(0));
        return;
    }
    uint32_t entries = 0;
    uint8_t from = o->scope[step->from], to = o->scope[step->to];
    if (o->event_of[step->edge]) entries = o->events[o->event_of[step->edge]].entries;
    if ((from & (SCOPE_WITHIN | SCOPE_EXCEPTED)) != SCOPE_WITHIN) {
        uint32_t kept = to & SCOPE_WITHIN && !(from & SCOPE_EXCEPTED) ? entries : 0;
        roles &= ~o->scoped | kept;
        step->count = 1; /* strokes out of the rule's places do not count */
    }
    step->roles = roles;
    if (roles & ROLE_BIT(ROLE_TRIGGER)) step_tested(step);
    o->step(step);
}

/* Groups the values of one fact by which of the edge's watches accept them. */
static uint32_t group_values(const Watch *watches, uint32_t n, uint64_t values, uint64_t *groups) {
    uint32_t n_groups = 0;
    while (values) {
        uint64_t group = values, one = values & (~values + 1);
        for (uint32_t k = 0; k < n; k++)
            group &= one & watches[k].lit.bits ? watches[k].lit.bits : ~watches[k].lit.bits;
        groups[n_groups++] = group;
        values &= ~group;
    }
    return n_groups;
}

static uint32_t single_values(uint64_t values, uint64_t *groups) {
    uint32_t n = 0;
    for (; values; values &= values - 1) groups[n++] = values & (~values + 1);
    return n;
}

static uint32_t watched_roles(const Watch *watches, uint32_t n, bool changed, uint64_t from, uint64_t to) {
    uint32_t roles = 0;
    for (uint32_t k = 0; k < n; k++) {
        bool was = from & watches[k].lit.bits, is = to & watches[k].lit.bits, fires = false;
        switch (watches[k].kind) {
        case WATCH_BECOMES: fires = changed && !was && is; break;
        case WATCH_LEAVES: fires = changed && was && !is; break;
        case WATCH_FOUND: fires = is; break;
        }
        if (fires) roles |= ROLE_BIT(watches[k].role);
    }
    return roles;
}

static const Assign *assign_of(const SliceEdge *edge, const Lit *lit) {
    const Assign *found = NULL;
    for (uint32_t k = 0; k < edge->n_assigns; k++)
        if (edge->assigns[k].word == lit->word && edge->assigns[k].field == lit->field) found = &edge->assigns[k];
    return found;
}

/* Splits the facts so that each watched event surely happens or surely does not, then shows the step to the observer. */
static void watch_from(Search *s, Step *step, const EdgeEvents *events, uint32_t k, const uint64_t *before,
                       const uint64_t *after, uint32_t roles) {
    size_t mark;
    if (k == events->n_watches) {
        uint64_t *last = scratch_take(s, 1, &mark);
        if (!last) return;
        memcpy(last, after, s->slice->words * sizeof *last);
        observe(s, step, before, last, roles);
        scratch_give(s, mark);
        return;
    }
    const Watch *w = s->observer->watches + events->first_watch + k;
    uint32_t n = 1, words = s->slice->words;
    while (k + n < events->n_watches && w[n].fact == w->fact) n++;
    const Assign *assign = assign_of(&s->slice->edges[step->edge], &w->lit);
    uint64_t froms[64], tos[64];
    uint64_t values = before[w->lit.word] & w->lit.field;
    bool counts = assign && assign->counts_at != 255;
    uint32_t n_from = counts ? single_values(values, froms) : group_values(w, n, values, froms);
    uint64_t *pair = scratch_take(s, 2, &mark);
    if (!pair) return;
    for (uint32_t i = 0; i < n_from && s->end == SEARCH_HOLDS; i++) {
        uint64_t next = counts ? count_up(assign, froms[i]) : assign ? assign->set : froms[i];
        uint32_t n_to = group_values(w, n, next, tos);
        for (uint32_t j = 0; j < n_to; j++) {
            memcpy(pair, before, words * sizeof *pair);
            memcpy(pair + words, after, words * sizeof *pair);
            pair[w->lit.word] = (pair[w->lit.word] & ~w->lit.field) | froms[i];
            pair[words + w->lit.word] = (pair[words + w->lit.word] & ~w->lit.field) | tos[j];
            watch_from(s, step, events, k + n, pair, pair + words,
                       roles | watched_roles(w, n, assign != NULL, froms[i], tos[j]));
        }
    }
    scratch_give(s, mark);
}

static void act(Search *s, uint32_t e, const uint64_t *before) {
    const Edge *edge = &s->frame->model->edges[e];
    Step step = {.search = s,
                 .observer = s->observer,
                 .state = s->state,
                 .edge = e,
                 .from = s->place,
                 .to = edge_target(edge, s->place),
                 .kind = edge->kind,
                 .over_duty = edge->over_duty};
    uint64_t after[MASK_WORDS];
    memcpy(after, before, s->slice->words * sizeof *after);
    assign_facts(&s->slice->edges[e], after);
    const EdgeEvents *events = s->observer ? &s->observer->events[s->observer->event_of[e]] : NULL;
    step.count = events ? events->count : 0;
    if (events && events->n_watches) watch_from(s, &step, events, 0, before, after, events->roles);
    else observe(s, &step, before, after, events ? events->roles : 0);
}

static bool bounds_hold(Search *s, const Edge *edge) {
    s->guarded = &s->zones->zone;
    if (!edge->n_bounds || s->frame->untimed) return true;
    s->guarded = &s->zones->bounded;
    zone_copy(&s->zones->bounded, &s->zones->zone);
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        if (s->frame->few && !fact_in(s->frame->few, bound->clock)) continue;
        uint8_t row = s->clock_at[bound->clock];
        if (bound->least_ms >= 0 && !zone_at_least(&s->zones->bounded, row, (int32_t)bound->least_ms)) return false;
        if (bound->most_ms >= 0 && !zone_at_most(&s->zones->bounded, row, (int32_t)bound->most_ms)) return false;
    }
    return true;
}

static void try_edge(Search *s, uint32_t e) {
    const Formula *guard = s->slice->edges[e].guard;
    if (s->sought && !s->sought->passes(s->sought, &s->frame->model->edges[e])) return;
    if (guard && !formula_possible(guard, s->here)) return;
    if (!bounds_hold(s, &s->frame->model->edges[e])) return;
    if (s->repeats) {
        set_bit(s->out_taken, s->out_index);
        s->store->nodes[s->node].moved = 1;
        return;
    }
    if (!guard || guard->always) {
        act(s, e, s->here);
        return;
    }
    for (uint32_t t = 0; t < guard->n && s->end == SEARCH_HOLDS; t++)
        if (term_keep(&guard->terms[t], s->here, s->before, s->slice->words)) act(s, e, s->before);
}

static void stand_at(Search *s, uint32_t id, uint32_t place) {
    const Store *store = s->store;
    const Frame *f = s->frame;
    s->node = id;
    s->place = place;
    s->state = node_bucket(s, id)->state;
    memcpy(s->here, node_masks(s, id), s->slice->words * sizeof *s->here);
    uint32_t n = 1;
    for (uint32_t k = f->clocks_first[s->place]; k < f->clocks_first[s->place + 1]; k++)
        s->clock_at[f->clocks[k]] = (uint8_t)n++;
    if (s->observer && s->observer->states[s->state].clocked) n++;
    s->here_dims = n;
    s->zones->zone.n = n;
    memcpy(s->zones->zone.d, store->zones + store->nodes[id].zone, (size_t)n * n * sizeof s->zones->zone.d[0]);
}

/* ---- what the node before has done already ---- */
/* Rows of the clocks that matter at both places, the observer's at the end. */
static uint32_t rows_of_both(const Search *s, uint32_t p, uint32_t q, uint8_t *at_p, uint8_t *at_q, uint32_t *n_p) {
    const Frame *f = s->frame;
    uint32_t k = f->clocks_first[p], l = f->clocks_first[q], n = 1;
    at_p[0] = at_q[0] = 0;
    while (k < f->clocks_first[p + 1] && l < f->clocks_first[q + 1]) {
        if (f->clocks[k] == f->clocks[l]) {
            at_p[n] = (uint8_t)(k - f->clocks_first[p] + 1);
            at_q[n++] = (uint8_t)(l - f->clocks_first[q] + 1);
        }
        uint16_t clock = f->clocks[k];
        k += clock <= f->clocks[l];
        l += f->clocks[l] <= clock;
    }
    *n_p = (uint32_t)(f->clocks_first[p + 1] - f->clocks_first[p] + 1);
    if (s->observer && s->observer->states[s->state].clocked) {
        at_p[n] = (uint8_t)(*n_p)++;
        at_q[n++] = (uint8_t)(s->here_dims - 1);
    }
    return n;
}

/* Is all that can be here possible at the place before as well? Then an ambient edge leads from here where it led from there. */
static bool like_before(const Search *s, uint32_t parent) {
    const Store *store = s->store;
    if (parent == NO_INDEX || node_bucket(s, parent)->state != s->state) return false;
    uint32_t p = node_bucket(s, parent)->place, words = s->slice->words, n_p;
    if (p == s->place || (s->observer && s->observer->scope[p] != s->observer->scope[s->place])) return false;
    const uint64_t *before = node_masks(s, parent), *dead = s->slice->dead + (size_t)s->place * words;
    for (uint32_t w = 0; w < words; w++)
        if (s->here[w] & ~before[w] & ~dead[w]) return false;
    uint8_t at_p[ZONE_MAX], at_q[ZONE_MAX];
    uint32_t n = rows_of_both(s, p, s->place, at_p, at_q, &n_p);
    const int32_t *zone = store->zones + store->nodes[parent].zone;
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t j = 0; j < n; j++)
            if (s->zones->zone.d[at_q[i] * s->here_dims + at_q[j]] > zone[at_p[i] * n_p + at_p[j]]) return false;
    return true;
}

/* Goes on from where the search stands. `parent`: the node before, which has been gone on from; ambient edges that left there as well lead
   nowhere new and only count as taken. */
static void go_on(Search *s, uint32_t parent) {
    const Frame *f = s->frame;
    const Model *m = f->model;
    uint32_t k_p = 0, end_p = 0;
    if (like_before(s, parent)) {
        k_p = f->out_first[node_bucket(s, parent)->place];
        end_p = f->out_first[node_bucket(s, parent)->place + 1];
    }
    for (uint32_t k = f->out_first[s->place]; k < f->out_first[s->place + 1] && s->end == SEARCH_HOLDS; k++) {
        uint32_t e = f->out[k];
        while (k_p < end_p && (f->out[k_p] < m->first_ambient || f->out[k_p] < e)) k_p++;
        s->out_index = k;
        s->repeats = k_p < end_p && f->out[k_p] == e && m->edges[e].to != NO_INDEX;
        try_edge(s, e);
    }
    s->repeats = false;
}

static void expand(Search *s, uint32_t id) {
    stand_at(s, id, node_bucket(s, id)->place);
    go_on(s, s->store->nodes[id].parent);
}

void search_step(Search *s, uint32_t situation, uint32_t place, uint32_t out) {
    s->found = 0;
    stand_at(s, situation, place);
    s->out_index = out;
    try_edge(s, s->frame->out[out]);
}

/* ---- the whole search ---- */
Search *search_new(Arena *arena, const Slice *slice, const Observer *observer, Store *store, CheckBudget budget) {
    Search *s = ARENA_NEW(arena, Search);
    const Model *m = slice->frame->model;
    s->slice = slice;
    s->frame = slice->frame;
    s->observer = observer;
    s->store = store;
    s->budget = budget;
    s->bad = NO_INDEX;
    if (!store->work) store->work = ARENA_NEW(store->arena, WorkZones);
    s->zones = store->work;
    s->clock_at = ARENA_ARRAY(arena, uint8_t, m->n_clocks + 1u);
    s->edge_taken = ARENA_ARRAY(arena, uint64_t, m->n_edges / 64 + 1u);
    s->out_taken = ARENA_ARRAY(arena, uint64_t, slice->frame->out_first[m->n_places] / 64 + 1u);
    s->edge_tested = ARENA_ARRAY(arena, uint64_t, m->n_edges / 64 + 1u);
    s->place_seen = ARENA_ARRAY(arena, uint64_t, m->n_places / 64 + 1u);
    s->place_todo = ARENA_ARRAY(arena, uint64_t, m->n_places / 64 + 1u);
    s->queued = ARENA_ARRAY(arena, uint32_t, m->n_places + 1u);
    memset(s->queued, 0xff, (m->n_places + 1u) * sizeof *s->queued);
    return s;
}

void search_begin(Search *s) {
    store_clear(s->store);
    const Frame *f = s->frame;
    const Model *m = f->model;
    uint64_t masks[MASK_WORDS] = {0};
    Entry entry;
    entry_begin(&entry, m->joint, 0, masks);
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        if (s->slice->fields[fact].word == NO_WORD) continue;
        Lit lit = slice_literal(s->slice, fact, m->initial[fact]);
        masks[lit.word] |= lit.bits;
    }
    for (uint32_t w = 0; w < s->slice->words; w++) masks[w] |= s->slice->dead[(size_t)m->joint * s->slice->words + w];
    const Edge none = {.kind = EDGE_BEGIN, .to = m->joint};
    uint8_t pick[ZONE_MAX];
    uint32_t n = entry_clocks(s, &entry, &none, pick);
    zone_zero(&s->zones->arrived, n);
    s->node = s->edge = NO_INDEX;
    s->move = MOVE(0);
    set_bit(s->place_seen, m->joint);
    entry_wait(s, &entry);
}

static bool within_budget(Search *s, uint32_t next) {
    uint32_t most = s->budget.zones ? s->budget.zones : LIMIT_ZONES;
    if (s->store->n_nodes > most) s->end = SEARCH_BUDGET;
    else if (next % 512 == 511 && s->budget.stop && s->budget.stop(s->budget.context)) s->end = SEARCH_STOPPED;
    return s->end == SEARCH_HOLDS;
}

/* Fewest steps first. */
static void run_in_order(Search *s) {
    for (; s->next < s->store->n_nodes && s->end == SEARCH_HOLDS; s->next++) {
        if (!within_budget(s, s->next)) break;
        if (!s->store->nodes[s->next].gone) expand(s, s->next);
    }
}

void search_again(Search *s, const Sought *sought, uint32_t more_zones) {
    Store *store = s->store;
    for (uint32_t b = 0; b < store->n_buckets; b++) store->buckets[b].page = NO_INDEX;
    store_unlist(store);
    memset(s->queued, 0xff, (s->frame->model->n_places + 1u) * sizeof *s->queued);
    s->sought = sought;
    s->next = store->n_nodes;
    s->budget.zones = store->n_nodes + more_zones;
    s->end = SEARCH_HOLDS;
}

SearchEnd search_from(Search *s, uint32_t node) {
    Node *from = &s->store->nodes[node];
    Bucket *bucket = &s->store->buckets[from->bucket];
    store_list(s, bucket, node, node_masks(s, node));
    stand_at(s, node, bucket->place);
    bool open = from->bad != BAD_BY_TIME ||
                zone_at_most(&s->zones->zone, s->here_dims - 1, s->observer->states[s->state].limit);
    if (open) go_on(s, NO_INDEX);
    run_in_order(s);
    return s->end;
}

static uint32_t next_place(Search *s) {
    uint32_t n_words = s->frame->model->n_places / 64 + 1;
    while (s->first_todo < n_words && !s->place_todo[s->first_todo]) s->first_todo++;
    if (s->first_todo == n_words) return NO_INDEX;
    return s->first_todo * 64 + (uint32_t)__builtin_ctzll(s->place_todo[s->first_todo]);
}

/* Always the first place in the order of the text: what comes together at a place is joined before it goes on. */
static void run_by_place(Search *s) {
    uint32_t count = 0;
    for (uint32_t place; s->end == SEARCH_HOLDS && (place = next_place(s)) != NO_INDEX;) {
        s->place_todo[place / 64] &= ~(UINT64_C(1) << (place % 64));
        while (s->queued[place] != NO_INDEX && s->end == SEARCH_HOLDS) {
            uint32_t node = s->queued[place];
            s->queued[place] = s->store->nodes[node].queued;
            if (s->store->nodes[node].gone) continue;
            if (!within_budget(s, count++)) return;
            expand(s, node);
        }
    }
}

SearchEnd search_run(Search *s) {
    s->end = SEARCH_HOLDS;
    s->sweeps = false;
    if (s->slice->too_large) return s->end = SEARCH_BUDGET;
    search_begin(s);
    if (s->apart) run_in_order(s);
    else run_by_place(s);
    return s->end;
}

bool search_guard_fails(const Search *search, uint32_t node, uint32_t edge) {
    const Formula *guard = search->slice->edges[edge].guard;
    return guard && !formula_possible(guard, node_masks(search, node));
}
