#include "check/events.h"
#include <string.h>

typedef struct {
    Observer *o;
    const ObserverPlan *plan;
    const Model *model;
    uint32_t n_watches, cap_watches, cap_events;
} Finder;

static void add_watch(Finder *f, EdgeEvents *events, WatchKind kind, uint32_t role, uint32_t fact, uint64_t mask) {
    if (f->n_watches == f->cap_watches) {
        f->cap_watches = f->cap_watches ? f->cap_watches * 2 : 64;
        Watch *more = ARENA_ARRAY(f->plan->arena, Watch, f->cap_watches);
        if (f->n_watches) memcpy(more, f->o->watches, f->n_watches * sizeof *more);
        f->o->watches = more;
    }
    f->o->watches[f->n_watches++] = (Watch){kind, role, fact, slice_literal(f->plan->slice, fact, mask)};
    events->n_watches++;
}

/* A start that follows takes nothing over but what a line says; that facts become unknown there is no event. */
static bool change_counts(const Finder *f, const Edge *edge, uint32_t fact) {
    if (edge->kind == EDGE_BEGIN) return false;
    return edge->kind != EDGE_JOIN || f->model->facts[fact].kind == FACT_ENGINE;
}

static void match_change(Finder *f, EdgeEvents *events, const Edge *edge, const Trigger *t, uint32_t role) {
    if (!change_counts(f, edge, t->fact)) return;
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        if (change->fact != t->fact) continue;
        bool becomes = t->kind == ON_BECOMES;
        uint64_t after = change->kind == CHANGE_COUNT ? ~UINT64_C(0) : change->mask;
        if (after & (becomes ? t->mask : ~t->mask))
            add_watch(f, events, becomes ? WATCH_BECOMES : WATCH_LEAVES, role, t->fact, t->mask);
        return;
    }
}

static void fires(EdgeEvents *events, uint32_t role) {
    events->roles |= ROLE_BIT(role);
}

static bool same_engine(const Model *m, const Mark *mark, const Trigger *t) {
    if (mark->fact == t->fact) return true;
    const Tail *tail = m->tail;
    return mark->engine != NO_INDEX && mark->engine < tail->n_engines && tail->engine_facts &&
           tail->engine_facts[mark->engine] == t->fact;
}

bool mark_matches(const Model *m, const Mark *mark, const Trigger *t) {
    if (mark->kind != t->kind) return false;
    switch (t->kind) {
    case ON_SEEN:
    case ON_LOOK:
    case ON_ANSWERED:
    case ON_SET: return mark->fact == t->fact && mark->mask & t->mask;
    case ON_CALL:
    case ON_BRIEF: return mark->thing == t->thing;
    case ON_LABEL: return mark->fact == t->fact;
    case ON_TURN: return same_engine(m, mark, t);
    case ON_ENTER:
        return mark->name == t->name &&
               (t->engine == NO_INDEX || mark->engine == NO_INDEX || mark->engine == t->engine);
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_NOTHING: return false;
    }
    return false;
}

static void match_mark(Finder *f, EdgeEvents *events, const Mark *mark, const Trigger *t, const RoleList *list) {
    if (!mark_matches(f->model, mark, t)) return;
    bool found = t->kind == ON_SEEN || t->kind == ON_LOOK || t->kind == ON_ANSWERED;
    if (found && mark->mask & ~t->mask) { /* it depends on the value that was found */
        add_watch(f, events, WATCH_FOUND, list->role, t->fact, mark->mask & t->mask);
        return;
    }
    fires(events, list->role);
    if (t->kind == ON_SET && list->counts) events->count += mark->count ? mark->count : 1;
    if (t->kind == ON_ENTER) events->entries |= ROLE_BIT(list->role);
}

static void match_edge(Finder *f, EdgeEvents *events, const Edge *edge, const RoleList *lists, uint32_t n_lists) {
    for (uint32_t i = 0; i < n_lists; i++)
        for (const Trigger *t = lists[i].trigger; t; t = t->next) {
            if (t->kind == ON_BECOMES || t->kind == ON_LEAVES) match_change(f, events, edge, t, lists[i].role);
            else
                for (uint32_t k = 0; k < edge->n_marks; k++) match_mark(f, events, &edge->marks[k], t, &lists[i]);
        }
    if (!events->count) events->count = 1;
}

/* Watches of one fact stand together, so that its values are split once. */
static void sort_watches(Watch *watches, uint32_t n) {
    for (uint32_t i = 1; i < n; i++)
        for (uint32_t k = i; k > 0 && watches[k].fact < watches[k - 1].fact; k--) {
            Watch other = watches[k];
            watches[k] = watches[k - 1];
            watches[k - 1] = other;
        }
}

static void keep_events(Finder *f, uint32_t edge, const EdgeEvents *events) {
    Observer *o = f->o;
    if (o->n_events == f->cap_events) {
        f->cap_events *= 2;
        EdgeEvents *more = ARENA_ARRAY(f->plan->arena, EdgeEvents, f->cap_events);
        memcpy(more, o->events, o->n_events * sizeof *more);
        o->events = more;
    }
    o->event_of[edge] = o->n_events;
    o->events[o->n_events++] = *events;
}

void events_find(Observer *o, const ObserverPlan *plan, const RoleList *lists, uint32_t n_lists) {
    Finder f = {.o = o, .plan = plan, .model = plan->slice->frame->model, .cap_events = 32};
    o->event_of = ARENA_ARRAY(plan->arena, uint32_t, f.model->n_edges + 1u);
    o->events = ARENA_ARRAY(plan->arena, EdgeEvents, f.cap_events);
    o->n_events = 1; /* the first stands for "no event" */
    o->events[0].count = 1;
    for (uint32_t e = 0; e < f.model->n_edges; e++) {
        const Edge *edge = &f.model->edges[e];
        if (!edge->n_marks && !edge->n_changes) continue;
        EdgeEvents events = {.first_watch = f.n_watches};
        match_edge(&f, &events, edge, lists, n_lists);
        if (!events.roles && !events.n_watches) continue;
        sort_watches(o->watches + events.first_watch, events.n_watches);
        keep_events(&f, e, &events);
    }
}
