#include "check/witness.h"
#include <string.h>

/* ---- the earliest times: longest path over the difference constraints along the path ---- */
typedef struct {
    uint32_t from, to; /* moments */
    int64_t least;     /* at[to] - at[from] >= least */
} Apart;

typedef struct {
    const Search *search;
    const Path *path;
    VEC(Apart) apart;
    Arena *arena;
    uint32_t *since; /* by clock: the moment it was last zeroed */
    uint32_t since_observer;
} Times;

static void at_least(Times *t, uint32_t from, uint32_t to, int64_t ms) {
    Apart one = {from, to, ms};
    vec_push(t->arena, &t->apart, one);
}

static void at_most(Times *t, uint32_t from, uint32_t to, int64_t ms) {
    at_least(t, to, from, -ms);
}

static void node_deadlines(Times *t, uint32_t k, uint32_t leave) {
    const Search *s = t->search;
    const Node *node = &s->store->nodes[t->path->nodes[k]];
    uint32_t place = node_bucket(s, t->path->nodes[k])->place;
    if (node->still) {
        at_most(t, k, leave, 0);
        return;
    }
    for (uint32_t d = s->frame->due_first[place]; d < s->frame->due_first[place + 1]; d++) {
        const SliceDue *due = &s->slice->dues[d];
        if (due->when && !formula_possible(due->when, node_masks(s, t->path->nodes[k]))) continue;
        at_most(t, t->since[due->clock], leave, due->ms);
    }
    const PaceRule *pace = s->frame->paces ? &s->frame->paces[place] : NULL;
    if (pace && pace->holds && !pace->n && !s->slice->pace_when[place]) at_most(t, k, leave, pace->ms);
}

/* Where the rule has a time running, no step of the path comes after it: that would break the rule before. */
static void rule_deadline(Times *t, uint32_t k, uint32_t leave) {
    const Search *s = t->search;
    const ObserverState *state = s->observer ? &s->observer->states[node_bucket(s, t->path->nodes[k])->state] : NULL;
    if (state && state->clocked && state->limit >= 0) at_most(t, t->since_observer, leave, state->limit);
}

static void edge_times(Times *t, uint32_t k) {
    const Search *s = t->search;
    const Node *node = &s->store->nodes[t->path->nodes[k]];
    const Edge *edge = &s->frame->model->edges[node->edge];
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        if (bound->least_ms >= 0) at_least(t, t->since[bound->clock], k, bound->least_ms);
        if (bound->most_ms >= 0) at_most(t, t->since[bound->clock], k, bound->most_ms);
    }
    bool kept = s->observer && s->observer->states[node_bucket(s, t->path->nodes[k - 1])->state].clocked;
    if (kept && node->least >= 0) at_least(t, t->since_observer, k, node->least);
    if (kept && node->most >= 0) at_most(t, t->since_observer, k, node->most);
    for (uint32_t c = 0; c < s->frame->model->n_clocks; c++)
        if (frame_clears(s->frame, edge, c)) t->since[c] = k;
    bool keeps = s->observer && s->observer->states[node_bucket(s, t->path->nodes[k])->state].clocked;
    if (node->reset || !kept || !keeps) t->since_observer = k;
}

static bool solve(const Times *t, int64_t *at, uint32_t n) {
    for (uint32_t round = 0; round <= n + 1; round++) {
        bool changed = false;
        for (size_t k = 0; k < t->apart.n; k++) {
            const Apart *one = &t->apart.at[k];
            if (at[one->from] + one->least <= at[one->to]) continue;
            at[one->to] = at[one->from] + one->least;
            changed = true;
        }
        if (!changed) return at[0] == 0;
    }
    return false;
}

static void find_times(Arena *arena, const Search *s, Path *path) {
    Times t = {.search = s, .path = path, .arena = arena};
    t.since = ARENA_ARRAY(arena, uint32_t, s->frame->model->n_clocks + 1u);
    uint32_t n = path->n;
    for (uint32_t k = 1; k < n; k++) {
        at_least(&t, k - 1, k, 0);
        node_deadlines(&t, k - 1, k);
        rule_deadline(&t, k - 1, k);
        edge_times(&t, k);
    }
    at_least(&t, n - 1, n, 0);
    uint32_t state = node_bucket(s, path->nodes[n - 1])->state;
    if (path->by_time) {
        node_deadlines(&t, n - 1, n);
        at_least(&t, t.since_observer, n, s->observer->states[state].limit + 1);
    }
    path->at_ms = ARENA_ARRAY(arena, int64_t, n + 1u);
    path->timed = solve(&t, path->at_ms, n + 1);
    if (!path->timed) memset(path->at_ms, 0, (n + 1u) * sizeof *path->at_ms);
}

Path witness_path(Arena *arena, const Search *search) {
    Path path = {0};
    for (uint32_t node = search->bad; node != NO_INDEX; node = search->store->nodes[node].parent) path.n++;
    path.nodes = ARENA_ARRAY(arena, uint32_t, path.n + 1u);
    uint32_t k = path.n;
    for (uint32_t node = search->bad; node != NO_INDEX; node = search->store->nodes[node].parent)
        path.nodes[--k] = node;
    const Node *last = &search->store->nodes[search->bad];
    path.by_time = last->bad == BAD_BY_TIME;
    find_times(arena, search, &path);
    return path;
}

static const Item *edge_item(const Model *m, const Edge *edge, uint32_t from) {
    if (edge->item) return edge->item;
    return from != NO_INDEX ? m->places[from].item : NULL;
}

const Edge *witness_edge(const Search *search, const Path *path, uint32_t move) {
    return &search->frame->model->edges[search->store->nodes[path->nodes[move]].edge];
}

uint32_t witness_place(const Search *search, const Path *path, uint32_t move) {
    return node_bucket(search, path->nodes[move])->place;
}

const Item *witness_line(const Search *search, const Path *path, uint32_t move) {
    return edge_item(search->frame->model, witness_edge(search, path, move), witness_place(search, path, move - 1));
}

const Item *witness_item(const Search *search, const Path *path) {
    const Model *m = search->frame->model;
    for (uint32_t k = path->n; k-- > 0;) {
        const Node *node = &search->store->nodes[path->nodes[k]];
        uint32_t place = node_bucket(search, path->nodes[k])->place;
        if (k + 1 == path->n && path->by_time && m->places[place].item) return m->places[place].item;
        if (node->edge == NO_INDEX) break;
        const Item *item =
            edge_item(m, &m->edges[node->edge], k ? node_bucket(search, path->nodes[k - 1])->place : NO_INDEX);
        if (item) return item;
    }
    return NULL;
}

uint32_t witness_reset(const Search *search, const Path *path) {
    uint32_t since = 0;
    for (uint32_t k = 1; k < path->n; k++) {
        const Node *node = &search->store->nodes[path->nodes[k]];
        if (node->bad == BAD_BY_EDGE) continue;
        bool was = search->observer->states[node_bucket(search, path->nodes[k - 1])->state].clocked;
        bool is = search->observer->states[node_bucket(search, path->nodes[k])->state].clocked;
        if (is && (node->reset || !was)) since = k;
    }
    return since;
}
