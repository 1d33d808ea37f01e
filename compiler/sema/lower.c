/* A tail to its model: procedures one after the other, each with its copies of drills and its ends, then what engines do. */
#include "sema/lower.h"

/* ---- setting up ---- */
static void facts_open(Lower *l) {
    const Tail *tail = l->tail;
    for (uint32_t i = 0; i < tail->n_facts; i++) vec_push(l->arena, &l->facts, tail->facts[i]);
    l->n_reads = tail->n_facts;
    l->reads = ARENA_ARRAY(l->arena, uint8_t, (size_t)tail->n_facts + 1);
    l->fact_events = ARENA_ARRAY(l->arena, EventLink *, (size_t)tail->n_facts + 1);
    l->thing_events = ARENA_ARRAY(l->arena, EventLink *, (size_t)tail->n_things + 1);
    l->duty_of = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_facts + 1);
    l->crank_clocks = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_facts + 1);
    for (uint32_t i = 0; i < tail->n_facts; i++) l->duty_of[i] = l->crank_clocks[i] = NO_INDEX;
}

static uint32_t count_fact(Lower *l, const Duty *duty, const char *suffix, uint32_t n_values) {
    const Fact *of = &l->facts.at[duty->fact];
    Fact fact = {.kind = FACT_COUNT, .engine = of->engine, .n_values = n_values < LIMIT_FACT_VALUES ? n_values : LIMIT_FACT_VALUES};
    fact.name = name_intern(l->job->names, format_text(l->arena, l->job->names, "%N-%s", of->name, suffix));
    vec_push(l->arena, &l->facts, fact);
    return (uint32_t)l->facts.n - 1;
}

static void duties_open(Lower *l) {
    for (uint32_t i = 0; i < l->tail->n_duties; i++) {
        const Duty *duty = &l->tail->duties[i];
        uint32_t most = 1;
        for (uint32_t k = 0; k < duty->n_lines; k++) {
            if (duty->lines[k].tries > most) most = duty->lines[k].tries;
            if (duty->lines[k].n_series > most) most = duty->lines[k].n_series;
        }
        DutyHistory history = {.duty = i, .count = count_fact(l, duty, "starts", most + 2), .exempt = count_fact(l, duty, "exempt", 2)};
        history.on_clock = clock_new(l, "");
        history.rest_clock = clock_new(l, "");
        Name name = l->facts.at[duty->fact].name;
        l->clocks.at[history.on_clock].what = format_text(l->arena, l->job->names, "since %N went in", name);
        l->clocks.at[history.rest_clock].what = format_text(l->arena, l->job->names, "since %N was let go", name);
        l->duty_of[duty->fact] = (uint32_t)l->histories.n;
        l->reads[duty->fact] |= READ_DUTY;
        vec_push(l->arena, &l->histories, history);
    }
}

/* What is followed through a procedure: engines, and the controls that turn, power or stop them or have a duty. */
static void slots_open(Lower *l) {
    l->slot_of = ARENA_ARRAY(l->arena, uint32_t, (size_t)l->n_reads + 1);
    for (uint32_t i = 0; i < l->n_reads; i++) {
        bool followed = l->facts.at[i].kind == FACT_ENGINE || (l->reads[i] & (READ_TURNS | READ_STOPS | READ_DUTY));
        l->slot_of[i] = followed ? l->n_slots++ : NO_INDEX;
    }
}

static void watched_note(Lower *l, const Item *item, uint32_t depth) {
    for (; item && depth < 4 * LIMIT_NESTING; item = item->next) {
        if (item->kind == STMT_WATCH && item->thing < l->tail->n_things && l->tail->things[item->thing].watched != NO_INDEX) {
            map_put(&l->ever_watched, l->tail->things[item->thing].watched + 1, l);
        }
        watched_note(l, item->body, depth + 1);
        watched_note(l, item->between, depth + 1);
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) watched_note(l, o->action.block, depth + 1);
    }
}

static void lower_open(Lower *l, Job *job, const Tail *tail) {
    l->job = job;
    l->arena = job->arena;
    l->tail = tail;
    l->model = ARENA_NEW(l->arena, Model);
    l->told.arena = l->again_phases.arena = l->phase_targets.arena = l->ever_watched.arena = l->arena;
    l->crank = l->drill = l->procedure = NO_INDEX;
    facts_open(l);
    l->model->pace_clock = clock_new(l, "since coming to this line");
    l->only_pace = ARENA_NEW(l->arena, uint32_t);
    *l->only_pace = l->model->pace_clock;
    duties_open(l);
    engines_open(l);
    slots_open(l);
    drills_open(l);
    for (uint32_t i = 0; i < tail->n_procedures; i++) watched_note(l, tail->procedures[i].items, 0);
    for (uint32_t i = 0; i < tail->n_drills; i++) watched_note(l, tail->drills[i].items, 0);
}

/* ---- one procedure ---- */
static void raws_finish(Lower *l) {
    for (size_t i = 0; i < l->raws.n; i++) raw_finish(l, &l->raws.at[i], &l->edges);
    l->raws.n = 0;
}

static Edges engines_here(Lower *l) {
    Edges list = {NULL, 0, 0};
    Raw *raws;
    size_t n = engine_raws(l, &raws);
    for (size_t i = 0; i < n; i++) raw_finish(l, &raws[i], &list);
    return list;
}

static void lower_procedure(Lower *l, uint32_t index) {
    const Procedure *procedure = &l->tail->procedures[index];
    uint32_t lo = (uint32_t)l->places.n;
    size_t edge_lo = l->edges.n, ambient_lo = l->ambient.n, deadline_lo = l->deadlines.n;
    l->procedure = index;
    l->targets.n = l->cranks.n = l->timed.n = 0;
    l->phase_targets = (NameMap){.arena = l->arena};
    drills_begin(l, procedure);
    Frontier f = frontier_at(l, place_new(l));
    join_begin(l, procedure, lo);
    lower_items(l, procedure->items, &f);
    drills_lower(l);
    uint32_t hi = (uint32_t)l->places.n;
    join_ends(l);
    raws_finish(l);
    drills_enter(l, procedure, lo, hi);
    Edges engines = engines_here(l);
    edges_prune(l, lo, edge_lo, ambient_lo, deadline_lo, &engines);
    timed_solve(l, lo, (uint32_t)l->places.n, edge_lo, ambient_lo, &engines);
    l->model->procedure_lo[index] = lo;
    l->model->procedure_hi[index] = (uint32_t)l->places.n;
}

/* ---- putting it together ---- */
/* Edges in the order of their places, each place's in the order they were made; deadlines likewise. */
static void edges_sort(Lower *l) {
    Model *m = l->model;
    size_t n = l->edges.n, places = l->places.n;
    uint32_t *at = ARENA_ARRAY(l->arena, uint32_t, places + 1), *moved = ARENA_ARRAY(l->arena, uint32_t, n + 1);
    m->edges = ARENA_ARRAY(l->arena, Edge, n + l->ambient.n + 1);
    for (size_t i = 0; i < n; i++) at[l->edges.at[i].from + 1]++;
    for (size_t p = 0; p < places; p++) {
        at[p + 1] += at[p];
        l->places.at[p].first_edge = at[p];
        l->places.at[p].n_edges = at[p + 1] - at[p];
    }
    for (size_t i = 0; i < n; i++) {
        moved[i] = at[l->edges.at[i].from]++;
        m->edges[moved[i]] = l->edges.at[i];
    }
    if (l->ambient.n) memcpy(m->edges + n, l->ambient.at, l->ambient.n * sizeof *m->edges);
    m->first_ambient = (uint32_t)n;
    m->n_edges = (uint32_t)(n + l->ambient.n);
    for (size_t i = 0; i < l->deadlines.n; i++) {
        uint32_t *lapse = &l->deadlines.at[i].deadline.lapse;
        if (*lapse != NO_INDEX) *lapse = moved[*lapse];
    }
}

static void deadlines_sort(Lower *l) {
    Model *m = l->model;
    size_t n = l->deadlines.n, places = l->places.n;
    uint32_t *at = ARENA_ARRAY(l->arena, uint32_t, places + 1);
    m->deadlines = ARENA_ARRAY(l->arena, Deadline, n + 1);
    m->n_deadlines = (uint32_t)n;
    for (size_t i = 0; i < n; i++) at[l->deadlines.at[i].place + 1]++;
    for (size_t p = 0; p < places; p++) {
        at[p + 1] += at[p];
        l->places.at[p].first_deadline = at[p];
        l->places.at[p].n_deadlines = at[p + 1] - at[p];
    }
    for (size_t i = 0; i < n; i++) m->deadlines[at[l->deadlines.at[i].place]++] = l->deadlines.at[i].deadline;
}

static void initial_make(Lower *l) {
    Model *m = l->model;
    m->initial = ARENA_ARRAY(l->arena, uint64_t, l->facts.n + 1);
    for (size_t i = 0; i < l->facts.n; i++) {
        const Fact *fact = &l->facts.at[i];
        uint64_t all = fact_all(fact);
        bool known = fact->kind == FACT_ANSWER || fact->kind == FACT_LABEL || fact->kind == FACT_HELD || fact->kind == FACT_WATCHED ||
                     fact->kind == FACT_COUNT;
        m->initial[i] = known ? 1 : fact->kind == FACT_ENGINE ? all & ~(UINT64_C(1) << ENGINE_RUNNING_LATE) : all;
    }
}

static void engines_close(Lower *l) {
    Raw *raws;
    size_t n = engine_raws(l, &raws);
    Scope everywhere = {0, (uint32_t)l->places.n, 0, 0, true};
    for (size_t i = 0; i < n; i++) {
        raws[i].scope = (uint32_t)l->scopes.n;
        raw_finish(l, &raws[i], &l->ambient);
    }
    vec_push(l->arena, &l->scopes, everywhere);
    engine_deadlines(l);
}

static Model *lower_close(Lower *l) {
    Model *m = l->model;
    engines_close(l);
    edges_sort(l);
    deadlines_sort(l);
    initial_make(l);
    m->tail = l->tail;
    m->facts = l->facts.at;
    m->n_facts = (uint32_t)l->facts.n;
    m->clocks = l->clocks.at;
    m->n_clocks = (uint32_t)l->clocks.n;
    m->places = l->places.at;
    m->n_places = (uint32_t)l->places.n;
    m->scopes = l->scopes.at;
    m->n_scopes = (uint32_t)l->scopes.n;
    m->ambient_deadlines = l->ambient_deadlines.at;
    m->n_ambient_deadlines = (uint32_t)l->ambient_deadlines.n;
    m->histories = l->histories.at;
    m->n_histories = (uint32_t)l->histories.n;
    if (l->over) {
        finding_add(l->job->findings, FINDING_CONDITION_MANY, l->tail->decl ? l->tail->decl->name.span : (Span){0, 0},
            "a condition of this aircraft's texts falls apart into more than %u alternatives; write it as several lines",
            (uint64_t)LIMIT_GUARD_TERMS);
    }
    return m;
}

Model *model_lower(Job *job, const Tail *tail) {
    Lower *l = ARENA_NEW(job->arena, Lower);
    lower_open(l, job, tail);
    l->model->procedure_lo = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_procedures + 1);
    l->model->procedure_hi = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_procedures + 1);
    join_open(l);
    raws_finish(l);
    for (uint32_t i = 0; i < tail->n_procedures; i++) lower_procedure(l, i);
    return lower_close(l);
}
