/* A tail to its model: procedures one after the other, each with its copies of drills and its ends, then what engines do. */
#include "sema/lower.h"
#include <stdlib.h>

/* ---- setting up ---- */
static void facts_open(Lower *l) {
    const Tail *tail = l->tail;
    for (uint32_t i = 0; i < tail->n_facts; i++) vec_push(l->keep, &l->facts, tail->facts[i]);
    l->n_reads = tail->n_facts;
    l->reads = ARENA_ARRAY(l->arena, uint8_t, (size_t)tail->n_facts + 1);
    l->fact_events = ARENA_ARRAY(l->arena, EventLink *, (size_t)tail->n_facts + 1);
    l->enter_events = ARENA_NEW(l->arena, EventLink *);
    l->thing_events = ARENA_ARRAY(l->arena, EventLink *, (size_t)tail->n_things + 1);
    l->duty_of = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_facts + 1);
    l->crank_clocks = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_facts + 1);
    for (uint32_t i = 0; i < tail->n_facts; i++) l->duty_of[i] = l->crank_clocks[i] = NO_INDEX;
}

static uint32_t count_fact(Lower *l, const Duty *duty, const char *suffix, uint32_t n_values) {
    const Fact *of = &l->facts.at[duty->fact];
    Fact fact = {.kind = FACT_COUNT,
                 .engine = of->engine,
                 .n_values = n_values < LIMIT_FACT_VALUES ? n_values : LIMIT_FACT_VALUES};
    fact.name = name_intern(l->job->names, format_text(l->arena, l->job->names, "%N-%s", of->name, suffix));
    vec_push(l->keep, &l->facts, fact);
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
        DutyHistory history = {
            .duty = i, .count = count_fact(l, duty, "starts", most + 2), .exempt = count_fact(l, duty, "exempt", 2)};
        history.on_clock = clock_new(l, "");
        history.rest_clock = clock_new(l, "");
        Name name = l->facts.at[duty->fact].name;
        l->clocks.at[history.on_clock].what = format_text(l->arena, l->job->names, "since %N went in", name);
        l->clocks.at[history.rest_clock].what = format_text(l->arena, l->job->names, "since %N was let go", name);
        l->duty_of[duty->fact] = (uint32_t)l->histories.n;
        l->reads[duty->fact] |= READ_DUTY;
        vec_push(l->keep, &l->histories, history);
    }
}

/* What is followed through a procedure: engines, and the controls that turn, power or stop them or have a duty. */
static void slots_open(Lower *l) {
    l->slot_of = ARENA_ARRAY(l->arena, uint32_t, (size_t)l->n_reads + 1);
    l->slot_facts = ARENA_ARRAY(l->arena, uint32_t, (size_t)l->n_reads + 1);
    for (uint32_t i = 0; i < l->n_reads; i++) {
        bool followed = l->facts.at[i].kind == FACT_ENGINE || (l->reads[i] & (READ_TURNS | READ_STOPS | READ_DUTY));
        l->slot_of[i] = followed ? l->n_slots : NO_INDEX;
        if (followed) l->slot_facts[l->n_slots++] = i;
    }
}

static void items_note(Lower *l, const Item *item, uint32_t depth) {
    for (; item && depth < 4 * LIMIT_NESTING; item = item->next) {
        if (item->kind == STMT_WATCH && item->thing < l->tail->n_things &&
            l->tail->things[item->thing].watched != NO_INDEX) {
            map_put(&l->ever_watched, l->tail->things[item->thing].watched + 1, l);
        }
        if (item->kind == STMT_HOLD && item->mask && item->thing < l->tail->n_things)
            map_put(&l->held_there, item->thing + 1, l);
        if (item->kind == STMT_TRY && item->passes > l->most_passes) l->most_passes = item->passes;
        items_note(l, item->body, depth + 1);
        items_note(l, item->between, depth + 1);
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) items_note(l, o->action.block, depth + 1);
    }
}

static void lower_open(Lower *l) {
    const Tail *tail = l->tail;
    l->model = ARENA_NEW(l->arena, Model);
    l->told.arena = l->again_phases.arena = l->phase_targets.arena = l->ever_watched.arena = l->held_there.arena =
        l->arena;
    l->crank = l->drill = l->procedure = NO_INDEX;
    facts_open(l);
    l->model->pace_clock = clock_new(l, "since coming to this line");
    l->only_pace = ARENA_NEW(l->arena, uint32_t);
    *l->only_pace = l->model->pace_clock;
    duties_open(l);
    engines_open(l);
    slots_open(l);
    drills_open(l);
    l->most_passes = 1;
    for (uint32_t i = 0; i < tail->n_procedures; i++) items_note(l, tail->procedures[i].items, 0);
    for (uint32_t i = 0; i < tail->n_drills; i++) items_note(l, tail->drills[i].items, 0);
}

/* ---- one procedure ---- */
static void raws_finish(Lower *l) {
    for (size_t i = 0; i < l->raws.n; i++) raw_finish(l, &l->raws.at[i], &l->edges);
    l->raws.n = 0;
}

/* What is left out of the text's own steps may happen where one gives up. They were finished last. */
static void give_ups_set_apart(Lower *l) {
    size_t n = l->edges.n;
    while (n && l->edges.at[n - 1].kind == EDGE_GIVE_UP) n--;
    for (size_t i = n; i < l->edges.n; i++) vec_push(&l->temp, &l->give_ups, l->edges.at[i]);
    l->edges.n = n;
}

static Edges engines_here(Lower *l) {
    Edges list = {NULL, 0, 0};
    Raw *raws;
    size_t n = engine_raws(l, &raws);
    for (size_t i = 0; i < n; i++) raw_finish(l, &raws[i], &list);
    return list;
}

/* ---- from the scratch to the model ---- */
enum { SCRATCH_BYTES = 2 << 20 }; /* small procedures share it: giving memory back costs more than a few of them need */

static const Guard *guard_keep(Lower *l, const Guard *guard) {
    if (!guard) return NULL;
    size_t n = 0;
    for (uint32_t t = 0; t < guard->n; t++) n += guard->terms[t].n;
    Guard *kept = ARENA_NEW(l->keep, Guard);
    kept->terms = arena_copy(l->keep, guard->terms, guard->n * sizeof *guard->terms);
    kept->n = guard->n;
    Literal *room = n ? ARENA_ARRAY(l->keep, Literal, n) : NULL;
    for (uint32_t t = 0; t < kept->n; t++) {
        if (room && kept->terms[t].n) memcpy(room, kept->terms[t].literals, kept->terms[t].n * sizeof *room);
        kept->terms[t].literals = room;
        if (room) room += kept->terms[t].n;
    }
    return kept;
}

static void edge_keep(Lower *l, Edge *edge) {
    edge->guard = guard_keep(l, edge->guard);
    if (edge->n_changes) edge->changes = arena_copy(l->keep, edge->changes, edge->n_changes * sizeof *edge->changes);
    if (edge->n_bounds) edge->bounds = arena_copy(l->keep, edge->bounds, edge->n_bounds * sizeof *edge->bounds);
    if (edge->n_marks) edge->marks = arena_copy(l->keep, edge->marks, edge->n_marks * sizeof *edge->marks);
    if (edge->n_resets && edge->resets != l->only_pace) {
        edge->resets = arena_copy(l->keep, edge->resets, edge->n_resets * sizeof *edge->resets);
    }
}

static void procedure_keep(Lower *l, size_t edge_lo, size_t ambient_lo, size_t deadline_lo) {
    for (size_t i = edge_lo; i < l->edges.n; i++) edge_keep(l, &l->edges.at[i]);
    for (size_t i = ambient_lo; i < l->ambient.n; i++) edge_keep(l, &l->ambient.at[i]);
    for (size_t i = deadline_lo; i < l->deadlines.n; i++) {
        l->deadlines.at[i].deadline.when = guard_keep(l, l->deadlines.at[i].deadline.when);
    }
    l->stand.masks = NULL;
    if (l->scratch.total > SCRATCH_BYTES) arena_free(&l->scratch);
    l->arena = l->keep;
}

static void lower_procedure(Lower *l, uint32_t index) {
    const Procedure *procedure = &l->tail->procedures[index];
    uint32_t lo = (uint32_t)l->places.n;
    size_t edge_lo = l->edges.n, ambient_lo = l->ambient.n, deadline_lo = l->deadlines.n, give_up_lo = l->give_ups.n;
    l->procedure = index;
    l->arena = &l->scratch;
    l->targets.n = l->cranks.n = l->timed.n = l->lapses.n = 0;
    l->phase_targets = (NameMap){.arena = l->arena};
    drills_begin(l, procedure);
    Frontier f = frontier_at(l, place_new(l));
    join_begin(l, procedure, lo);
    lower_items(l, procedure->items, &f);
    Raws give_ups = give_ups_lower(l, lo);
    drills_lower(l);
    uint32_t hi = (uint32_t)l->places.n;
    join_ends(l);
    timed_open(l);
    for (size_t i = 0; i < give_ups.n; i++) vec_push(&l->temp, &l->raws, give_ups.at[i]);
    controls_follow(l, lo);
    raws_finish(l);
    drills_enter(l, procedure, lo, hi);
    Edges engines = engines_here(l);
    edges_prune(l, lo, edge_lo, ambient_lo, deadline_lo, &engines);
    give_ups_set_apart(l);
    timed_solve(l, lo, (uint32_t)l->places.n, (TimedEdges){edge_lo, ambient_lo, give_up_lo, &engines});
    l->model->procedure_lo[index] = lo;
    l->model->procedure_hi[index] = (uint32_t)l->places.n;
    for (size_t i = give_up_lo; i < l->give_ups.n; i++) edge_keep(l, &l->give_ups.at[i]);
    procedure_keep(l, edge_lo, ambient_lo, deadline_lo);
}

/* ---- putting it together ---- */
/* Edges in the order of their places, each place's in the order they were made; deadlines likewise. */
static void edges_sort(Lower *l) {
    Model *m = l->model;
    size_t n = l->edges.n, places = l->places.n;
    uint32_t *at = ARENA_ARRAY(&l->temp, uint32_t, places + 1), *moved = ARENA_ARRAY(&l->temp, uint32_t, n + 1);
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
    uint32_t *at = ARENA_ARRAY(&l->temp, uint32_t, places + 1);
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
        bool known = fact->kind == FACT_ANSWER || fact->kind == FACT_LABEL || fact->kind == FACT_HELD ||
                     fact->kind == FACT_WATCHED || fact->kind == FACT_COUNT;
        m->initial[i] = known ? 1 : fact->kind == FACT_ENGINE ? all & ~(UINT64_C(1) << ENGINE_RUNNING_LATE) : all;
    }
}

static void engines_close(Lower *l) {
    Raw *raws;
    size_t n = engine_raws(l, &raws);
    Scope everywhere = {l->model->joint + 1, (uint32_t)l->places.n, 0, 0, true}; /* in the joint nothing goes on */
    for (size_t i = 0; i < n; i++) {
        raws[i].scope = (uint32_t)l->scopes.n;
        raw_finish(l, &raws[i], &l->ambient);
    }
    vec_push(l->keep, &l->scopes, everywhere);
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
    m->give_ups = arena_copy(l->keep, l->give_ups.at, l->give_ups.n * sizeof *m->give_ups);
    m->n_give_ups = (uint32_t)l->give_ups.n;
    m->histories = l->histories.at;
    m->n_histories = (uint32_t)l->histories.n;
    if (l->over) {
        finding_add(l->job->findings, FINDING_CONDITION_MANY, l->tail->decl ? l->tail->decl->name.span : (Span){0, 0},
                    "a condition of this aircraft's texts falls apart into more than %u alternatives; write it as "
                    "several lines",
                    (uint64_t)LIMIT_GUARD_TERMS);
    }
    return m;
}

static Model *lower_all(Lower *l) {
    const Tail *tail = l->tail;
    lower_open(l);
    l->model->procedure_lo = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_procedures + 1);
    l->model->procedure_hi = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_procedures + 1);
    join_open(l);
    raws_finish(l);
    for (uint32_t i = 0; i < tail->n_procedures; i++) lower_procedure(l, i);
    return lower_close(l);
}

/* Out of memory, the lowering's own arenas are given back before the job is left. */
static Model *lower_guarded(Lower *l, Model *(*run)(Lower *)) {
    jmp_buf *job_exhausted = l->keep->exhausted, here;
    if (setjmp(here)) {
        arena_free(&l->temp);
        arena_free(&l->scratch);
        l->keep->exhausted = job_exhausted;
        if (job_exhausted) longjmp(*job_exhausted, 1);
        abort();
    }
    l->keep->exhausted = l->temp.exhausted = l->scratch.exhausted = &here;
    Model *model = run(l);
    l->keep->exhausted = job_exhausted;
    arena_free(&l->temp);
    arena_free(&l->scratch);
    return model;
}

Model *model_lower(Job *job, const Tail *tail) {
    Model *(*volatile run)(Lower *) =
        lower_all; /* not inlined: it must not share the frame that longjmp comes back to */
    Lower *l = ARENA_NEW(job->arena, Lower);
    l->job = job;
    l->tail = tail;
    l->arena = l->keep = job->arena;
    return lower_guarded(l, run);
}
