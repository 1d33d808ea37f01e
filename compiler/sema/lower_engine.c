/* What engines do by themselves, as edges: fire, come to rest, stop where a stop stands. */
#include "sema/lower.h"

static uint64_t positions_mask(const Thing *thing, Name powered, int effect) {
    uint64_t mask = 0;
    for (uint32_t i = 0; i < thing->n_positions && i < 64; i++) {
        const ThingPosition *p = &thing->positions[i];
        bool has = effect == EFFECT_TURNS   ? p->turns
                   : effect == EFFECT_STOPS ? p->stops
                                            : p->powers && p->effect_of == powered;
        if (has) mask |= UINT64_C(1) << i;
    }
    return mask;
}

static bool is_control(const Thing *thing) {
    return thing->kind == THING_CONTROL && thing->fitted != FITTED_NO && thing->fact != NO_INDEX;
}

/* A source is on, wherever one powers the control; true where nothing is said to power it. */
static const Test *powered(Lower *l, const Thing *control) {
    const Test *some = test_const(false);
    for (uint32_t i = 0; i < l->tail->n_things; i++) {
        const Thing *source = &l->tail->things[i];
        uint64_t mask = is_control(source) ? positions_mask(source, control->name, EFFECT_POWERS) : 0;
        if (!mask) continue;
        l->reads[source->fact] |= READ_TURNS;
        some = test_either(l->arena, some, test_fact(l->arena, source->fact, mask));
    }
    return test_never(some) ? test_const(true) : some;
}

static void engine_controls(Lower *l, uint32_t engine) {
    EngineWork *work = &l->engines[engine];
    work->turned = work->stops = test_const(false);
    for (uint32_t i = 0; i < l->tail->n_things; i++) {
        const Thing *thing = &l->tail->things[i];
        if (!is_control(thing) || (thing->engine != NO_INDEX && thing->engine != engine)) continue;
        uint64_t turns = positions_mask(thing, 0, EFFECT_TURNS), stops = positions_mask(thing, 0, EFFECT_STOPS);
        if (turns) {
            const Test *stands = test_fact(l->arena, thing->fact, turns);
            l->reads[thing->fact] |= READ_TURNS;
            work->turned = test_either(l->arena, work->turned, test_both(l->arena, stands, powered(l, thing)));
        }
        if (!stops) continue;
        l->reads[thing->fact] |= READ_STOPS;
        work->stops = test_either(l->arena, work->stops, test_fact(l->arena, thing->fact, stops));
    }
}

void engines_open(Lower *l) {
    const Tail *tail = l->tail;
    l->engines = ARENA_ARRAY(l->arena, EngineWork, tail->n_engines);
    for (uint32_t i = 0; i < tail->n_engines; i++) {
        EngineWork *work = &l->engines[i];
        work->fact = tail->engine_facts[i];
        work->run_down = tail->run_down_ms ? tail->run_down_ms[i] : -1;
        work->clock = clock_new(l, "since the engine was let go or cut off");
        engine_controls(l, i);
        if (work->run_down >= 0 || !tail->n_procedures || (test_never(work->turned) && test_never(work->stops)))
            continue;
        Span span = tail->decl ? tail->decl->name.span : (Span){0, 0};
        if (told_once(l, span, 2)) {
            Finding *finding =
                finding_add(l->job->findings, FINDING_RUN_DOWN_MISSING, span,
                            "it is not said how long the engine takes to stand still once nothing turns it");
            finding_note(
                l->job->findings, finding, (Span){0, 0},
                "it is taken to turn on for any length of time; write `value run-down`, with the handbook's seconds");
        }
    }
}

static const Test *engine_in(Lower *l, const EngineWork *work, uint32_t state) {
    return test_fact(l->arena, work->fact, UINT64_C(1) << state);
}

static Raw engine_raw(const EngineWork *work, EdgeKind kind, const Test *when, uint32_t to, Lower *l) {
    Raw raw = {.kind = kind,
               .actor = ACTOR_ENGINE,
               .from = NO_INDEX,
               .to = NO_INDEX,
               .scope = 0,
               .drill = NO_INDEX,
               .deadline = NO_INDEX,
               .when = when,
               .stays = true};
    load_change(l, &raw.load, work->fact, UINT64_C(1) << to);
    return raw;
}

/* A stop that stood as it fired acts at run-down after the firing; one taken while it runs acts from 0 to run-down after. */
static void engine_stops(Lower *l, const EngineWork *work, Raws *list) {
    const Test *still = test_inverse(l->arena, work->turned);
    for (int late = 0; late < 2; late++) {
        const Test *runs = engine_in(l, work, late ? ENGINE_RUNNING_LATE : ENGINE_RUNNING);
        const Test *stands = late ? runs : test_both(l->arena, runs, work->stops);
        for (int turned = 0; turned < 2; turned++) {
            const Test *when = test_both(l->arena, stands, turned ? work->turned : still);
            if (test_never(when)) continue;
            Raw raw = engine_raw(work, EDGE_STOP, when, turned ? ENGINE_TURNING : ENGINE_STOPPED, l);
            if (late && work->run_down > 0) load_bound(l, &raw.load, work->clock, work->run_down, -1);
            vec_push(l->arena, list, raw);
        }
    }
}

static void engine_list(Lower *l, const EngineWork *work, Raws *list) {
    const Test *turning = engine_in(l, work, ENGINE_TURNING);
    const Test *turned = test_both(l->arena, turning, work->turned);
    const Test *free = test_both(l->arena, turned, test_inverse(l->arena, work->stops));
    if (!test_never(turned)) {
        vec_push(l->arena, list, engine_raw(work, EDGE_FIRE, free, ENGINE_RUNNING, l));
        if (!test_never(work->stops)) {
            Raw late = engine_raw(work, EDGE_FIRE, test_both(l->arena, turned, work->stops), ENGINE_RUNNING_LATE, l);
            load_reset(l, &late.load, work->clock);
            vec_push(l->arena, list, late);
        }
    }
    const Test *let_go = test_both(l->arena, turning, test_inverse(l->arena, work->turned));
    if (!test_never(let_go)) vec_push(l->arena, list, engine_raw(work, EDGE_RUN_DOWN, let_go, ENGINE_STOPPED, l));
    if (!test_never(work->stops)) engine_stops(l, work, list);
}

size_t engine_raws(Lower *l, Raw **list) {
    Raws raws = {NULL, 0, 0};
    for (uint32_t i = 0; i < l->tail->n_engines; i++) engine_list(l, &l->engines[i], &raws);
    *list = raws.at;
    return raws.n;
}

static void engine_deadline(Lower *l, const Test *when, const EngineWork *work) {
    const Guard *guard = guard_make(l->arena, l->facts.at, when, false, &l->over);
    if (!guard->n) return;
    Deadline deadline = {guard, work->clock, work->run_down, NO_INDEX};
    vec_push(l->keep, &l->ambient_deadlines, deadline);
}

void engine_deadlines(Lower *l) {
    for (uint32_t i = 0; i < l->tail->n_engines; i++) {
        const EngineWork *work = &l->engines[i];
        if (work->run_down < 0) continue;
        const Test *still = test_inverse(l->arena, work->turned);
        engine_deadline(l, test_both(l->arena, engine_in(l, work, ENGINE_TURNING), still), work);
        if (test_never(work->stops)) continue;
        engine_deadline(l, test_both(l->arena, engine_in(l, work, ENGINE_RUNNING), work->stops), work);
        engine_deadline(l, engine_in(l, work, ENGINE_RUNNING_LATE), work);
    }
}
