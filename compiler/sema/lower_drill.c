/* Drills: one copy of each that a procedure can come to, entered by its cue at any moment while armed, or turned to. */
#include "sema/lower.h"

/* ---- cues ---- */
typedef struct {
    const Test *test;
    int64_t ms; /* must last so long; 0: at once */
} CueWay;
typedef VEC(CueWay) CueWays;

static void cue_ways(Lower *l, const Test *test, int64_t ms, CueWays *out);

/* Every way of one part with every way of the others. */
static void cue_all(Lower *l, const Test *test, int64_t ms, CueWays *out) {
    CueWays so_far = {NULL, 0, 0};
    vec_push(l->arena, &so_far, ((CueWay){test_const(true), ms}));
    for (const Test *part = test->parts; part; part = part->next) {
        CueWays ways = {NULL, 0, 0}, next = {NULL, 0, 0};
        cue_ways(l, part, ms, &ways);
        for (size_t i = 0; i < so_far.n && next.n < LIMIT_GUARD_TERMS; i++) {
            for (size_t k = 0; k < ways.n; k++) {
                const Test *both = test_both(l->arena, so_far.at[i].test, ways.at[k].test);
                int64_t longer = so_far.at[i].ms > ways.at[k].ms ? so_far.at[i].ms : ways.at[k].ms;
                vec_push(l->arena, &next, ((CueWay){both, longer}));
            }
        }
        so_far = next;
    }
    for (size_t i = 0; i < so_far.n; i++) vec_push(l->arena, out, so_far.at[i]);
}

static void cue_ways(Lower *l, const Test *test, int64_t ms, CueWays *out) {
    switch (test->kind) {
    case TEST_FOR: cue_ways(l, test->parts, test->for_ms > ms ? test->for_ms : ms, out); return;
    case TEST_AND: cue_all(l, test, ms, out); return;
    case TEST_OR:
        for (const Test *part = test->parts; part; part = part->next) cue_ways(l, part, ms, out);
        return;
    case TEST_FALSE: return;
    case TEST_SAID: vec_push(l->arena, out, ((CueWay){test_const(true), ms})); return;
    case TEST_TRUE:
    case TEST_FACT:
    case TEST_NOT:
    case TEST_UNDECIDED: break;
    }
    vec_push(l->arena, out, ((CueWay){test, ms}));
}

static bool cue_lasts(const Test *test) {
    if (!test) return false;
    if (test->kind == TEST_FOR) return true;
    for (const Test *part = test->parts; part; part = part->next) {
        if (cue_lasts(part)) return true;
    }
    return false;
}

static void armed_reads(Lower *l, const Test *test) {
    if (test->kind == TEST_FACT && test->fact < l->n_reads) l->reads[test->fact] |= READ_ARMED;
    for (const Test *part = test->parts; part; part = part->next) armed_reads(l, part);
}

/* ---- where texts turn to, and where they start again ---- */
typedef void OnAction(Lower *l, const ItemAction *action);

static void actions_in(Lower *l, const Item *item, uint32_t depth, OnAction *on) {
    for (; item && depth < 4 * LIMIT_NESTING; item = item->next) {
        if (item->go) on(l, item->go);
        if (item->kind == STMT_PHASE && item->give_up) on(l, item->give_up);
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) {
            on(l, &o->action);
            actions_in(l, o->action.block, depth + 1, on);
        }
        actions_in(l, item->body, depth + 1, on);
        actions_in(l, item->between, depth + 1, on);
    }
}

static void note_again(Lower *l, const ItemAction *action) {
    if (action->kind == ACTION_END && action->again_at) map_put(&l->again_phases, action->again_at, l);
}

static void drill_queue(Lower *l, uint32_t drill) {
    if (l->drill_ways[drill].queued) return;
    l->drill_ways[drill].queued = true;
    vec_push(&l->temp, &l->drill_queue, drill);
}

static void note_turn(Lower *l, const ItemAction *action) {
    if (action->kind != ACTION_TURN_TO || action->drill >= l->tail->n_drills) return;
    DrillWay *way = &l->drill_ways[action->drill];
    if (way->by_turn == NO_INDEX) way->by_turn = target_new(l);
    drill_queue(l, action->drill);
}

void drills_open(Lower *l) {
    const Tail *tail = l->tail;
    l->drill_ways = ARENA_ARRAY(l->arena, DrillWay, (size_t)tail->n_drills + 1);
    l->armed_clocks = ARENA_ARRAY(l->arena, uint32_t, (size_t)tail->n_drills + 1);
    for (uint32_t i = 0; i < tail->n_drills; i++) {
        const Drill *drill = &tail->drills[i];
        actions_in(l, drill->items, 0, note_again);
        l->armed_clocks[i] = NO_INDEX;
        if (!drill->armed || !cue_lasts(drill->cue)) continue;
        l->armed_clocks[i] = clock_new(l, "");
        l->clocks.at[l->armed_clocks[i]].what = format_text(l->keep, l->job->names, "since %N was armed", drill->name);
        vec_push(&l->temp, &l->armed_drills, i);
        armed_reads(l, drill->armed);
    }
    for (uint32_t i = 0; i < tail->n_procedures; i++) actions_in(l, tail->procedures[i].items, 0, note_again);
}

static bool has_cue(const Drill *drill) {
    return drill->cue && drill->armed;
}

void drills_begin(Lower *l, const Procedure *procedure) {
    for (size_t i = 0; i < l->drill_queue.n; i++) { /* of the procedure before */
        l->drill_ways[l->drill_queue.at[i]] = (DrillWay){NO_INDEX, NO_INDEX, 0, 0, false};
    }
    if (!l->drill_queue.at) {
        for (uint32_t i = 0; i < l->tail->n_drills; i++) l->drill_ways[i] = (DrillWay){NO_INDEX, NO_INDEX, 0, 0, false};
    }
    l->drill_queue.n = 0;
    actions_in(l, procedure->items, 0, note_turn);
    for (uint32_t i = 0; i < procedure->n_drills; i++) {
        uint32_t drill = procedure->drills[i];
        if (drill >= l->tail->n_drills || !has_cue(&l->tail->drills[drill])) continue;
        if (l->drill_ways[drill].by_cue == NO_INDEX) l->drill_ways[drill].by_cue = target_new(l);
        drill_queue(l, drill);
    }
    for (size_t i = 0; i < l->drill_queue.n; i++)
        actions_in(l, l->tail->drills[l->drill_queue.at[i]].items, 0, note_turn);
}

/* ---- the copy ---- */
static const Test *watched_in(Lower *l, const Test *cue) {
    if (!cue) return test_const(false);
    if (cue->kind == TEST_FACT && cue->fact < l->n_reads) {
        const Thing *thing = l->facts.at[cue->fact].thing;
        if (thing && thing->watched != NO_INDEX) return test_fact(l->arena, thing->watched, 2);
    }
    const Test *some = test_const(false);
    for (const Test *part = cue->parts; part; part = part->next)
        some = test_either(l->arena, some, watched_in(l, part));
    return some;
}

static void drill_head(Lower *l, uint32_t target, const Test *paced, Frontier *f) {
    if (target == NO_INDEX) return;
    uint32_t place = place_new(l);
    l->targets.at[target - TARGET] = place;
    if (paced) l->places.at[place].pace_when = guard_make(l->keep, l->facts.at, paced, false, &l->over);
    frontier_add(l, f, (Entry){.place = place});
}

/* Whatever was watched is not any more once the drill's first act is done. */
static void stop_watching(Lower *l, Frontier *f) {
    for (uint32_t i = 0; i < l->tail->n_things; i++) {
        uint32_t watched = l->tail->things[i].watched;
        if (watched == NO_INDEX || !map_get(&l->ever_watched, watched + 1)) continue;
        for (size_t k = 0; k < f->n; k++) load_change(l, &f->at[k].load, watched, 1);
    }
}

void drills_lower(Lower *l) {
    for (size_t i = 0; i < l->drill_queue.n; i++) {
        uint32_t index = l->drill_queue.at[i];
        const Drill *drill = &l->tail->drills[index];
        DrillWay *way = &l->drill_ways[index];
        l->drill = index;
        way->lo = (uint32_t)l->places.n;
        Frontier f = {NULL, 0, 0};
        drill_head(l, way->by_cue, watched_in(l, drill->cue), &f);
        drill_head(l, way->by_turn, NULL, &f);
        stop_watching(l, &f);
        lower_items(l, drill->items, &f);
        way->hi = (uint32_t)l->places.n;
    }
    l->drill = NO_INDEX;
}

/* ---- entering by the cue ---- */
/* Breaking into a crank ends it, so the starter goes out, unless the drill keeps cranking. */
static void break_into_cranks(Lower *l, const Drill *drill, Raw *raw) {
    for (uint32_t i = 0; i < l->tail->n_things && !drill->keeps_cranking; i++) {
        const Thing *thing = &l->tail->things[i];
        if (thing->kind != THING_CONTROL || thing->fact == NO_INDEX || l->crank_clocks[thing->fact] == NO_INDEX)
            continue;
        uint64_t still = fact_all(&l->facts.at[thing->fact]);
        for (uint32_t p = 0; p < thing->n_positions && p < 64; p++)
            still &= ~(thing->positions[p].turns ? UINT64_C(1) << p : 0);
        if (still) load_change(l, &raw->load, thing->fact, still & (~still + 1));
    }
}

static void enter_edges(Lower *l, uint32_t index, const CueWay *cue, uint32_t scope) {
    const Drill *drill = &l->tail->drills[index];
    const Guard *guard = guard_make(l->arena, l->facts.at, cue->test, false, &l->over);
    for (uint32_t t = 0; t < guard->n; t++) {
        Raw raw = {.kind = EDGE_ENTER_DRILL,
                   .actor = ACTOR_WORLD,
                   .from = NO_INDEX,
                   .to = l->drill_ways[index].by_cue,
                   .scope = scope,
                   .drill = index,
                   .deadline = NO_INDEX,
                   .when = drill->armed};
        for (uint32_t i = 0; i < guard->terms[t].n; i++) {
            Literal literal = guard->terms[t].literals[i];
            if (world_fact(l, literal.fact, true)) {
                load_change(l, &raw.load, literal.fact, literal.mask);
            } else {
                raw.when = test_both(l->arena, raw.when, test_fact(l->arena, literal.fact, literal.mask));
            }
        }
        if (cue->ms > 0 && l->armed_clocks[index] != NO_INDEX)
            load_bound(l, &raw.load, l->armed_clocks[index], cue->ms, -1);
        drill_entered(l, index, &raw);
        break_into_cranks(l, drill, &raw);
        raw_finish(l, &raw, &l->ambient);
    }
}

void drills_enter(Lower *l, const Procedure *procedure, uint32_t lo, uint32_t hi) {
    for (uint32_t i = 0; i < procedure->n_drills; i++) {
        uint32_t index = procedure->drills[i];
        if (index >= l->tail->n_drills || !has_cue(&l->tail->drills[index])) continue;
        CueWays ways = {NULL, 0, 0};
        cue_ways(l, l->tail->drills[index].cue, 0, &ways);
        uint32_t scope = (uint32_t)l->scopes.n;
        Scope place = {lo, hi, l->drill_ways[index].lo, l->drill_ways[index].hi, false};
        vec_push(l->keep, &l->scopes, place);
        for (size_t k = 0; k < ways.n; k++) enter_edges(l, index, &ways.at[k], scope);
    }
}
