#include "check/witness.h"
#include "check/words.h"
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
    if (pace && pace->holds && pace->least < 0 && !s->slice->pace_when[place]) at_most(t, k, leave, pace->ms);
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
    path.by_time = last->bad == 2;
    find_times(arena, search, &path);
    return path;
}

static const Item *edge_item(const Model *m, const Edge *edge, uint32_t from) {
    if (edge->item) return edge->item;
    return from != NO_INDEX ? m->places[from].item : NULL;
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
        if (node->bad == 1) continue;
        bool was = search->observer->states[node_bucket(search, path->nodes[k - 1])->state].clocked;
        bool is = search->observer->states[node_bucket(search, path->nodes[k])->state].clocked;
        if (is && (node->reset || !was)) since = k;
    }
    return since;
}

/* ---- telling it ---- */
typedef struct {
    const Job *job;
    const Search *search;
    const Path *path;
    const Model *model;
    Trace *trace;
    uint32_t folded;
} Teller;

static Str procedure_title(const Model *m, uint32_t place) {
    const Place *p = &m->places[place];
    return p->procedure == NO_INDEX ? STR("") : m->tail->procedures[p->procedure].title;
}

static Str engine_prefix(const Teller *t, const Edge *edge) {
    const Tail *tail = t->model->tail;
    if (tail->n_engines < 2) return STR("the engine");
    for (uint32_t c = 0; c < edge->n_changes; c++)
        for (uint32_t e = 0; e < tail->n_engines; e++)
            if (tail->engine_facts[e] == edge->changes[c].fact)
                return format_text(t->job->arena, t->job->names, "the %N engine", tail->engines[e]);
    return STR("the engine");
}

static Str edge_text(const Teller *t, const Edge *edge, uint32_t from, uint32_t to) {
    Arena *arena = t->job->arena;
    const Names *names = t->job->names;
    const Item *item = edge_item(t->model, edge, from);
    Str what = item ? words_item(t->job, t->model, item) : STR("");
    switch (edge->kind) {
    case EDGE_BEGIN: return format_text(arena, names, "\"%S\" begins", procedure_title(t->model, to));
    case EDGE_JOIN: return STR("a start follows the end");
    case EDGE_ENTER_DRILL:
        if (edge->drill == NO_INDEX) return STR("a drill is entered");
        return format_text(arena, names, "the cue of \"%S\" comes: the drill is entered",
                           t->model->tail->drills[edge->drill].title);
    case EDGE_FIRE: return format_text(arena, names, "%S fires", engine_prefix(t, edge));
    case EDGE_RUN_DOWN: return format_text(arena, names, "%S comes to rest", engine_prefix(t, edge));
    case EDGE_STOP: return format_text(arena, names, "%S stops", engine_prefix(t, edge));
    case EDGE_RELEASE:
        return item ? format_text(arena, names, "let go: the end of \"%S\"", what) : STR("the starter is let go");
    case EDGE_LAPSE: return format_text(arena, names, "time is up: %S", what);
    case EDGE_OTHERWISE: return format_text(arena, names, "%S: not so", what);
    case EDGE_ITEM: return what;
    }
    return what;
}

static bool changes_shown(const Teller *t, const Edge *edge, const Change *change) {
    if (change->kind == CHANGE_COUNT || edge->kind == EDGE_JOIN || edge->kind == EDGE_BEGIN) return false;
    const Fact *fact = &t->model->facts[change->fact];
    if (fact->kind == FACT_COUNT || fact->kind == FACT_LABEL || fact->kind == FACT_HELD || fact->kind == FACT_WATCHED)
        return false;
    bool own = edge->item && edge->item->kind == STMT_SET && edge->item->fact == change->fact;
    return !own && change->mask != fact_full(fact);
}

/* What became of the facts in this edge, where it is not the line's own words again. */
static Str edge_facts(const Teller *t, const Edge *edge) {
    Buf buf = {.arena = t->job->arena};
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        if (!changes_shown(t, edge, change)) continue;
        if (buf.len) buf_text(&buf, ", ");
        buf_format(&buf, t->job->names, "%S %S", words_fact(t->job, t->model, change->fact),
                   words_values(t->job, t->model, change->fact, change->mask));
    }
    return buf_view(&buf);
}

static TraceStep *add_step(Teller *t, Actor actor, Str text, int64_t at_ms) {
    TraceStep *step = &t->trace->steps[t->trace->n++];
    *step = (TraceStep){
        .actor = actor, .text = text, .facts = STR(""), .item = STR(""), .at_ms = at_ms, .folded = t->folded};
    t->folded = 0;
    return step;
}

/* Routine lines of the pilot far from the break are only counted. */
static bool routine(const Teller *t, uint32_t k, const Edge *edge, uint32_t edge_id) {
    if (k + 3 >= t->path->n) return false;
    if (edge->kind == EDGE_JOIN) return true;
    if (edge->kind != EDGE_ITEM || edge->drill != NO_INDEX) return false;
    const Observer *o = t->search->observer;
    if (o && o->event_of[edge_id]) return false;
    const Node *node = &t->search->store->nodes[t->path->nodes[k]];
    return node_bucket(t->search, node->parent)->state == node_bucket(t->search, t->path->nodes[k])->state;
}

static void tell_edge(Teller *t, uint32_t k) {
    const Node *node = &t->search->store->nodes[t->path->nodes[k]];
    const Edge *edge = &t->model->edges[node->edge];
    uint32_t from = node_bucket(t->search, t->path->nodes[k - 1])->place,
             to = node_bucket(t->search, t->path->nodes[k])->place;
    int64_t at = t->path->at_ms[k], before = t->path->at_ms[k - 1];
    if (at - before < 1000 && routine(t, k, edge, node->edge)) {
        t->folded++;
        return;
    }
    if (at - before >= 1000)
        add_step(t, ACTOR_TIME, format_text(t->job->arena, t->job->names, "%S pass", words_time(t->job, at - before)),
                 at);
    const Item *item = edge_item(t->model, edge, from);
    TraceStep *step = add_step(t, edge->actor, edge_text(t, edge, from, to), at);
    step->facts = edge_facts(t, edge);
    if (!item || edge->kind == EDGE_FIRE || edge->kind == EDGE_RUN_DOWN || edge->kind == EDGE_STOP) return;
    step->item = item->id;
    step->span = item->span;
}

static void tell_waiting(Teller *t) {
    uint32_t n = t->path->n;
    const Place *place = &t->model->places[node_bucket(t->search, t->path->nodes[n - 1])->place];
    int64_t gap = t->path->at_ms[n] - t->path->at_ms[n - 1];
    Str wait = words_time(t->job, gap > 0 ? gap - 1 : 0);
    Str text =
        format_text(t->job->arena, t->job->names,
                    place->kind == PLACE_END ? "just over %S pass after the end" : "just over %S pass here", wait);
    TraceStep *step = add_step(t, ACTOR_TIME, text, t->path->at_ms[n]);
    if (!place->item) return;
    step->item = place->item->id;
    step->span = place->item->span;
}

Trace *witness_trace(const Job *job, const Search *search, const Path *path, Str wanted) {
    Teller t = {job, search, path, search->frame->model, ARENA_NEW(job->arena, Trace), 0};
    t.trace->steps = ARENA_ARRAY(job->arena, TraceStep, 2u * path->n + 2u);
    t.trace->wanted = wanted;
    for (uint32_t k = 1; k < path->n; k++) tell_edge(&t, k);
    if (path->by_time) tell_waiting(&t);
    return t.trace;
}
