/* How starts follow one another: ends lead to a joint, where all but engines, duties and clocks is forgotten, and the joint to the
   first line of every procedure whose `begins with` and `applies when` do not contradict what went over. */
#include "sema/lower.h"

enum { JOINT_AFTER_ENDS = 0, CHANGES_MOST = 60000 };

/* What a fact is at a beginning, before anything is assumed; 0: it goes over. */
static uint64_t at_beginning(const Fact *fact) {
    switch (fact->kind) {
    case FACT_CONTROL:
    case FACT_SCENE:
    case FACT_GAUGE:
    case FACT_TREND: return fact_all(fact);
    case FACT_ANSWER:
    case FACT_LABEL:
    case FACT_HELD:
    case FACT_WATCHED: return 1;
    case FACT_ENGINE:
    case FACT_COUNT: break;
    }
    return 0;
}

static uint32_t joint_place(Lower *l) {
    uint32_t place = place_new(l);
    l->places.at[place].kind = PLACE_JOINT;
    l->places.at[place].procedure = NO_INDEX;
    (void)deadline_put(l, place, NULL, l->model->pace_clock, 0); /* time goes on at the end, not here */
    return place;
}

/* Forgetting, in as many steps as one edge can hold changes. */
void join_open(Lower *l) {
    uint32_t from = joint_place(l), fact = 0;
    do {
        Raw raw = {.kind = EDGE_JOIN,
                   .actor = ACTOR_TIME,
                   .from = from,
                   .to = joint_place(l),
                   .scope = NO_INDEX,
                   .drill = NO_INDEX,
                   .deadline = NO_INDEX,
                   .plain = true};
        uint32_t room = l->tail->n_facts - fact < CHANGES_MOST ? l->tail->n_facts - fact : CHANGES_MOST;
        raw.load.changes = ARENA_ARRAY(l->arena, Change, (size_t)room + 1);
        for (uint32_t end = fact + room; fact < end; fact++) {
            uint64_t mask = at_beginning(&l->tail->facts[fact]);
            if (mask) raw.load.changes[raw.load.n_changes++] = (Change){CHANGE_TO, fact, mask};
        }
        from = raw.to;
        vec_push(&l->temp, &l->raws, raw);
    } while (fact < l->tail->n_facts);
    l->model->joint = from;
}

/* ---- beginnings ---- */
static void assume(Lower *l, Raw *raw, Literal literal) {
    const Fact *fact = &l->facts.at[literal.fact];
    if (at_beginning(fact) == fact_all(fact)) {
        load_change(l, &raw->load, literal.fact, literal.mask);
    } else {
        raw->when = test_both(l->arena, raw->when, test_fact(l->arena, literal.fact, literal.mask));
    }
}

static uint64_t assumed(const Lower *l, const Raw *raw, uint32_t fact) {
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        if (raw->load.changes[i].fact == fact) return raw->load.changes[i].mask;
    }
    return fact_all(&l->facts.at[fact]);
}

/* An engine that stands still has no control in a position that turns it. */
static bool assume_still(Lower *l, Raw *raw, uint32_t engine) {
    for (uint32_t i = 0; i < l->tail->n_things; i++) {
        const Thing *thing = &l->tail->things[i];
        if (thing->kind != THING_CONTROL || thing->fact == NO_INDEX ||
            (thing->engine != NO_INDEX && thing->engine != engine))
            continue;
        uint64_t turns = 0;
        for (uint32_t p = 0; p < thing->n_positions && p < 64; p++)
            turns |= thing->positions[p].turns ? UINT64_C(1) << p : 0;
        uint64_t left = assumed(l, raw, thing->fact) & ~turns;
        if (!turns || left == assumed(l, raw, thing->fact)) continue;
        if (!left) return false;
        load_change(l, &raw->load, thing->fact, left);
    }
    return true;
}

static void begin_engines(Lower *l, const Raw *raw, uint32_t engine) {
    if (engine == l->tail->n_engines) {
        vec_push(&l->temp, &l->raws, *raw);
        return;
    }
    Raw still = *raw, moving = *raw;
    uint32_t fact = l->engines[engine].fact;
    uint64_t stopped = UINT64_C(1) << ENGINE_STOPPED;
    still.when = test_both(l->arena, raw->when, test_fact(l->arena, fact, stopped));
    moving.when = test_both(l->arena, raw->when, test_fact(l->arena, fact, fact_all(&l->facts.at[fact]) & ~stopped));
    bool over = false;
    if (guard_make(l->arena, l->facts.at, still.when, false, &over)->n && assume_still(l, &still, engine)) {
        begin_engines(l, &still, engine + 1);
    }
    if (guard_make(l->arena, l->facts.at, moving.when, false, &over)->n) begin_engines(l, &moving, engine + 1);
}

void join_begin(Lower *l, const Procedure *procedure, uint32_t place) {
    const Test *test = test_both(l->arena, procedure->begins, procedure->applies);
    const Guard *guard = guard_make(l->arena, l->facts.at, test, false, &l->over);
    for (uint32_t t = 0; t < guard->n; t++) {
        Raw raw = {.kind = EDGE_BEGIN,
                   .actor = ACTOR_TIME,
                   .from = l->model->joint,
                   .to = place,
                   .scope = NO_INDEX,
                   .drill = NO_INDEX,
                   .deadline = NO_INDEX,
                   .plain = true};
        for (uint32_t i = 0; i < guard->terms[t].n; i++) assume(l, &raw, guard->terms[t].literals[i]);
        for (size_t i = 0; i < l->armed_drills.n; i++) load_reset(l, &raw.load, l->armed_clocks[l->armed_drills.at[i]]);
        Mark mark = mark_of(ON_ENTER, NO_INDEX, 0);
        mark.name = procedure->name;
        load_mark(l, &raw.load, mark);
        begin_engines(l, &raw, 0);
    }
}

/* ---- ends ---- */
/* The shut-down that is not written here: engines stop, and nothing is left that turns them. */
static void shut_down(Lower *l, Raw *raw) {
    for (uint32_t i = 0; i < l->tail->n_engines; i++) {
        load_change(l, &raw->load, l->engines[i].fact, UINT64_C(1) << ENGINE_STOPPED);
        assume_still(l, raw, i);
    }
    for (uint32_t i = 0; i < l->tail->n_things; i++) { /* let go of by name: no position, but none that turns */
        const Thing *thing = &l->tail->things[i];
        if (thing->fact == NO_INDEX || thing->kind != THING_CONTROL || l->duty_of[thing->fact] == NO_INDEX) continue;
        uint64_t engaged = l->tail->duties[l->histories.at[l->duty_of[thing->fact]].duty].engaged;
        uint64_t left = fact_all(&l->facts.at[thing->fact]) & ~engaged;
        if (left) load_change(l, &raw->load, thing->fact, left);
    }
}

static void join_edge(Lower *l, uint32_t from, const EndWork *end, const DurationCase *after) {
    const ItemAction *action = end->action;
    const uint32_t *phase = action->again_at ? map_get(&l->phase_targets, action->again_at) : NULL;
    if (action->again_at && !phase) return; /* reported at the procedure's drills line */
    Raw raw = {.kind = EDGE_JOIN,
               .actor = ACTOR_TIME,
               .from = from,
               .to = phase ? *phase : JOINT_AFTER_ENDS,
               .scope = NO_INDEX,
               .drill = NO_INDEX,
               .deadline = NO_INDEX,
               .item = end->item};
    if (after) raw.when = after->when;
    if (after && after->ms > 0) load_bound(l, &raw.load, l->model->pace_clock, after->ms, -1);
    if (!phase && str_eq(name_text(l->job->names, action->outcome), STR("RUNNING"))) shut_down(l, &raw);
    vec_push(&l->temp, &l->raws, raw);
}

void join_ends(Lower *l) {
    for (size_t i = 0; i < l->ends.n; i++) {
        const EndWork *end = &l->ends.at[i];
        uint32_t index = place_new(l);
        Place *place = &l->places.at[index];
        place->kind = PLACE_END;
        place->item = end->item;
        place->drill = end->drill;
        place->outcome = end->action->outcome;
        place->no_more_starts = end->action->no_more_starts;
        l->targets.at[end->target - TARGET] = index;
        if (end->action->no_more_starts) continue;
        for (uint32_t k = 0; k < end->action->next_start.n; k++)
            join_edge(l, index, end, &end->action->next_start.cases[k]);
        if (!end->action->next_start.n) join_edge(l, index, end, NULL);
    }
    l->ends.n = 0;
}
