#include "check/deadlines.h"
#include "check/words.h"

/* ---- which there are ---- */
static bool counts_from_event(const Item *item) {
    return item && item->after && (item->kind == STMT_EXPECT || item->kind == STMT_SET);
}

/* What the text says once may stand in the model several times. */
static bool same_line(const Item *a, const Item *b) {
    return a && b && a->kind == b->kind && a->span.lo == b->span.lo && a->span.hi == b->span.hi;
}

static bool has_bound(const Edge *edge, uint32_t clock, int64_t ms) {
    for (uint32_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].clock == clock && edge->bounds[b].least_ms == ms) return true;
    return false;
}

/* An expectation lapses along an edge of its own; a promise only stops the time. NULL: neither here. */
static const Edge *lapse_at(const Model *m, const Place *place, const TextDeadline *d) {
    for (uint32_t k = 0; k < place->n_edges; k++) {
        const Edge *edge = &m->edges[place->first_edge + k];
        if (edge->kind == EDGE_LAPSE && same_line(edge->item, d->item) && has_bound(edge, d->clock, d->limit->ms))
            return edge;
    }
    return NULL;
}

static const Deadline *deadline_at(const Model *m, const Place *place, const TextDeadline *d) {
    for (uint32_t k = 0; k < place->n_deadlines; k++) {
        const Deadline *deadline = &m->deadlines[place->first_deadline + k];
        if (deadline->clock == d->clock && deadline->ms == d->limit->ms) return deadline;
    }
    return NULL;
}

/* Can the line be done here? Lines that part by what is so share a place. */
static bool stands_at(const Model *m, const Place *place, const Item *item) {
    for (uint32_t k = 0; k < place->n_edges; k++) {
        const Edge *edge = &m->edges[place->first_edge + k];
        if (edge->kind != EDGE_LAPSE && same_line(edge->item, item)) return true;
    }
    return false;
}

/* Is the time running here, the line not yet come to? `when`: under which condition, NULL: always. */
static bool runs_at(const Model *m, uint32_t p, const TextDeadline *d, const Guard **when) {
    const Place *place = &m->places[p];
    *when = NULL;
    if (stands_at(m, place, d->item)) return false;
    if (d->item->kind == STMT_EXPECT) {
        const Edge *lapse = lapse_at(m, place, d);
        if (lapse) *when = lapse->guard;
        return lapse;
    }
    const Deadline *deadline = deadline_at(m, place, d);
    if (deadline) *when = deadline->when;
    return deadline;
}

static bool known(const TextDeadlines *list, const TextDeadline *d) {
    for (size_t k = 0; k < list->n; k++)
        if (same_line(list->at[k].item, d->item) && list->at[k].limit->ms == d->limit->ms &&
            list->at[k].clock == d->clock)
            return true;
    return false;
}

static bool zeroes(const Edge *edge, uint32_t clock) {
    for (uint32_t k = 0; k < edge->n_resets; k++)
        if (edge->resets[k] == clock) return true;
    return false;
}

/* Does a line here lead on to the timed one, without the event? */
static bool leads_on(const Model *m, uint32_t p, const TextDeadline *d, const bool *way) {
    for (uint32_t k = 0; k < m->places[p].n_edges; k++) {
        const Edge *edge = &m->edges[m->places[p].first_edge + k];
        if (edge->to == NO_INDEX || zeroes(edge, d->clock)) continue;
        if (way[edge->to] || stands_at(m, &m->places[edge->to], d->item)) return true;
    }
    return false;
}

/* By place: the time runs there, and the line is still to come. Other lines may count the same time from the same event. False: nowhere,
   nothing comes between the event and the line. */
static bool mark_way(const Model *m, const TextDeadline *d, bool *way) {
    const Guard *when;
    bool any = false;
    for (bool more = true; more;) {
        more = false;
        for (uint32_t p = m->n_places; p-- > 0;) {
            if (way[p] || !runs_at(m, p, d, &when) || !leads_on(m, p, d, way)) continue;
            way[p] = more = any = true;
        }
    }
    return any;
}

static void add_line(const Model *m, const Place *place, const Item *item, Arena *arena, TextDeadlines *list) {
    const Duration *limit = &item->limit;
    for (uint32_t k = 0; k < limit->n; k++)
        for (uint32_t n = 0; n < place->n_deadlines; n++) {
            const Deadline *deadline = &m->deadlines[place->first_deadline + n];
            TextDeadline d = {item, &limit->cases[k], deadline->clock, NULL};
            bool *way = ARENA_ARRAY(arena, bool, m->n_places + 1u);
            if (deadline->ms != d.limit->ms || known(list, &d) || !mark_way(m, &d, way)) continue;
            d.way = way;
            vec_push(arena, list, d);
        }
}

TextDeadlines deadlines_of(const Model *model, Arena *arena) {
    TextDeadlines list = {NULL, 0, 0};
    for (uint32_t e = 0; e < model->first_ambient; e++) {
        const Edge *edge = &model->edges[e];
        if (edge->kind == EDGE_ITEM && counts_from_event(edge->item))
            add_line(model, &model->places[edge->from], edge->item, arena, &list);
    }
    return list;
}

/* ---- the observer ---- */
enum { IDLE, RUNNING, OTHER_CASE, N_STATES }; /* OTHER_CASE: the line has another time there, or none */

static void go(const Step *step, const uint64_t *after, uint32_t state, bool reset) {
    step_go(step, after, (Move){.state = state, .least = -1, .most = -1, .reset = reset});
}

static void deadline_step(Step *step) {
    const Formula *runs = step->observer->at_place[step->to];
    bool begins = step->roles & ROLE_BIT(ROLE_TRIGGER);
    if (!runs || (!begins && step->state == IDLE)) {
        go(step, step->after, IDLE, true);
        return;
    }
    for (int holds = 1; holds >= 0; holds--) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, runs, step->after, holds, &parts, &mark);
        for (uint32_t k = 0; k < n; k++)
            go(step, parts + (size_t)k * step->search->slice->words, holds ? RUNNING : OTHER_CASE, begins);
        scratch_give(step->search, mark);
    }
}

static void find_event(Observer *o, Arena *arena, const Model *m, uint32_t clock) {
    o->event_of = ARENA_ARRAY(arena, uint32_t, m->n_edges + 1u);
    o->events = ARENA_ARRAY(arena, EdgeEvents, 2);
    o->n_events = 2;
    o->events[0].count = o->events[1].count = 1;
    o->events[1].roles = ROLE_BIT(ROLE_TRIGGER);
    for (uint32_t e = 0; e < m->n_edges; e++)
        if (zeroes(&m->edges[e], clock)) o->event_of[e] = 1;
}

Observer *deadline_observer(Arena *arena, const Slice *slice, const TextDeadline *d, int64_t ms) {
    const Model *m = slice->frame->model;
    Observer *o = ARENA_NEW(arena, Observer);
    uint8_t *scope = ARENA_ARRAY(arena, uint8_t, m->n_places + 1u);
    const Formula **at = ARENA_ARRAY(arena, const Formula *, m->n_places + 1u);
    Formula *always = ARENA_NEW(arena, Formula);
    always->always = true;
    always->n = 1;
    always->terms = ARENA_NEW(arena, LitTerm);
    for (uint32_t p = 0; p < m->n_places; p++) {
        const Guard *when;
        scope[p] = SCOPE_WITHIN;
        if (d->way[p] && runs_at(m, p, d, &when)) at[p] = when ? formula_of_guard(arena, slice, when) : always;
    }
    o->scope = scope;
    o->at_place = at;
    o->step = deadline_step;
    o->lower = o->upper = (int32_t)ms + 1;
    observer_states(o, arena, N_STATES);
    o->states[RUNNING] = (ObserverState){true, (int32_t)ms, -1};
    o->states[OTHER_CASE].clocked = true;
    find_event(o, arena, m, d->clock);
    return o;
}

int64_t deadline_latest(const Search *search) {
    const Store *store = search->store;
    int32_t latest = 0;
    for (uint32_t n = 0; n < store->n_nodes; n++) {
        const Bucket *bucket = node_bucket(search, n);
        if (bucket->state != RUNNING) continue;
        uint32_t rows =
            (uint32_t)(search->frame->clocks_first[bucket->place + 1] - search->frame->clocks_first[bucket->place]) + 2;
        int32_t highest = store->zones[store->nodes[n].zone + (size_t)(rows - 1) * rows];
        if (highest > latest) latest = highest;
    }
    return latest;
}

/* ---- in words ---- */
/* By the name that the text gives the event: clocks are called "since NAME". */
static Str event_words(const Job *job, const Model *model, const TextDeadline *d) {
    Str since = STR("since "), what = model->clocks[d->clock].what;
    return str_starts(what, since) ? str_slice(what, since.len, what.len) : words_trigger(job, model, d->item->after);
}

TextTime deadline_told(const Job *job, const Model *model, const TextDeadline *d) {
    Str time = words_time(job, d->limit->ms), when = STR("");
    if (d->item->limit.n > 1 && d->limit->when)
        when = format_text(job->arena, job->names, " when %S", words_test(job, model, d->limit->when));
    Str what = format_text(job->arena, job->names, "within %S after %S%S", time, event_words(job, model, d), when);
    return (TextTime){
        words_item(job, model, d->item), d->item->span.lo, {TIME_AT_MOST, what, d->limit->ms, SPARE_UNKNOWN, 0}};
}
