#include "random.h"
#include <string.h>

void random_desk_open(RandomDesk *desk, uint64_t seed) {
    memset(desk, 0, sizeof *desk);
    names_open(&desk->names, &desk->arena);
    desk->sources.arena = desk->findings.arena = &desk->arena;
    desk->findings.names = &desk->names;
    desk->job = (Job){&desk->arena, &desk->names, &desk->sources, &desk->findings};
    desk->dice = (Dice){&desk->arena, &desk->names, seed};
}

uint32_t dice(Dice *d, uint32_t n) {
    d->seed = d->seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(d->seed >> 33) % n;
}

static bool chance(Dice *d, uint32_t percent) {
    return dice(d, 100) < percent;
}

enum { TIME_MOST = 6 };

static int64_t some_time(Dice *d) {
    return dice(d, TIME_MOST);
}

static uint64_t some_mask(Dice *d, const Fact *fact) {
    return 1 + dice(d, (uint32_t)((UINT64_C(1) << fact->n_values) - 1));
}

/* Neither nothing nor everything. */
static uint64_t proper_mask(Dice *d, const Fact *fact) {
    return 1 + dice(d, (uint32_t)((UINT64_C(1) << fact->n_values) - 2));
}

static Guard *some_guard(Dice *d, const Model *m) {
    Guard *guard = ARENA_NEW(d->arena, Guard);
    guard->n = 1 + dice(d, 2);
    guard->terms = ARENA_ARRAY(d->arena, Term, guard->n);
    for (uint32_t t = 0; t < guard->n; t++) {
        Term *term = &guard->terms[t];
        term->literals = ARENA_ARRAY(d->arena, Literal, m->n_facts);
        for (uint32_t f = 0; f < m->n_facts; f++)
            if (chance(d, 35)) term->literals[term->n++] = (Literal){f, proper_mask(d, &m->facts[f])};
    }
    return guard;
}

static Test *some_test(Dice *d, const Model *m, uint32_t depth) {
    Test *test = ARENA_NEW(d->arena, Test);
    uint32_t kind = depth ? dice(d, 5) : 0;
    test->kind = kind < 2 ? TEST_FACT : kind == 2 ? TEST_AND : kind == 3 ? TEST_OR : TEST_NOT;
    if (test->kind == TEST_FACT) {
        test->fact = dice(d, m->n_facts);
        test->mask = proper_mask(d, &m->facts[test->fact]);
        return test;
    }
    test->parts = some_test(d, m, depth - 1);
    if (test->kind != TEST_NOT) test->parts->next = some_test(d, m, depth - 1);
    return test;
}

static Mark some_mark(Dice *d, const Edge *edge, const Model *m) {
    Mark mark = {.fact = NO_INDEX, .thing = NO_INDEX, .engine = NO_INDEX, .count = 1};
    uint32_t kind = dice(d, 4);
    if (kind == 0 && edge->n_changes && edge->changes[0].kind == CHANGE_TO) {
        mark.kind = chance(d, 50) ? ON_SEEN : ON_LOOK;
        mark.fact = edge->changes[0].fact;
        mark.mask = edge->changes[0].mask;
    } else if (kind == 1) {
        mark.kind = ON_SET;
        mark.fact = dice(d, m->n_facts);
        mark.mask = 1u << dice(d, m->facts[mark.fact].n_values);
        mark.count = 1 + dice(d, 2);
    } else {
        mark.kind = chance(d, 50) ? ON_CALL : ON_BRIEF;
        mark.thing = dice(d, 2);
    }
    return mark;
}

static void fill_edge(Dice *d, const Model *m, Edge *edge) {
    edge->actor = (Actor)dice(d, 4);
    edge->drill = edge->scope = NO_INDEX;
    edge->over_duty = chance(d, 10);
    if (chance(d, 45)) edge->guard = some_guard(d, m);
    edge->changes = ARENA_ARRAY(d->arena, Change, m->n_facts);
    for (uint32_t f = 0; f < m->n_facts; f++) {
        if (!chance(d, 30)) continue;
        bool counts = m->facts[f].kind == FACT_COUNT && chance(d, 60);
        edge->changes[edge->n_changes++] = (Change){counts ? CHANGE_COUNT : CHANGE_TO, f,
                                                    counts          ? 0
                                                    : chance(d, 70) ? UINT64_C(1) << dice(d, m->facts[f].n_values)
                                                                    : some_mask(d, &m->facts[f])};
    }
    edge->bounds = ARENA_ARRAY(d->arena, Bound, m->n_clocks);
    for (uint32_t c = 0; c < m->n_clocks; c++) {
        if (!chance(d, 25)) continue;
        int64_t least = chance(d, 60) ? some_time(d) : -1;
        edge->bounds[edge->n_bounds++] =
            (Bound){c, least, chance(d, 40) ? (least < 0 ? 0 : least) + some_time(d) / 2 : -1};
    }
    edge->resets = ARENA_ARRAY(d->arena, uint32_t, m->n_clocks);
    for (uint32_t c = 0; c < m->n_clocks; c++)
        if (chance(d, 35)) edge->resets[edge->n_resets++] = c;
    edge->marks = ARENA_ARRAY(d->arena, Mark, 4);
    for (uint32_t n = dice(d, 3); n; n--) edge->marks[edge->n_marks++] = some_mark(d, edge, m);
}

static Deadline some_deadline(Dice *d, const Model *m) {
    return (Deadline){chance(d, 50) ? some_guard(d, m) : NULL, dice(d, m->n_clocks), 1 + some_time(d) / 2, NO_INDEX};
}

static void make_facts(Dice *d, Model *m) {
    static const FactKind kinds[] = {FACT_CONTROL, FACT_ENGINE, FACT_SCENE, FACT_COUNT};
    m->n_facts = 2 + dice(d, 2);
    m->facts = ARENA_ARRAY(d->arena, Fact, m->n_facts);
    m->initial = ARENA_ARRAY(d->arena, uint64_t, m->n_facts);
    for (uint32_t f = 0; f < m->n_facts; f++) {
        m->facts[f] =
            (Fact){.kind = f ? kinds[dice(d, 4)] : FACT_CONTROL, .engine = NO_INDEX, .n_values = 2 + dice(d, 2)};
        m->initial[f] = some_mask(d, &m->facts[f]);
    }
    m->n_clocks = 1 + dice(d, 2);
    m->clocks = ARENA_ARRAY(d->arena, Clock, m->n_clocks);
}

/* The joint, a procedure, and up to two drills, each with an end. */
static void make_places(Dice *d, Model *m, Tail *tail) {
    uint32_t sizes[3] = {2 + dice(d, 3), 1 + dice(d, 2), 1 + dice(d, 2)};
    uint32_t n_homes = 1 + tail->n_drills, n = 1;
    for (uint32_t h = 0; h < n_homes; h++) n += sizes[h] + 1;
    m->places = ARENA_ARRAY(d->arena, Place, n);
    m->places[0] = (Place){.kind = PLACE_JOINT, .procedure = NO_INDEX, .drill = NO_INDEX};
    m->n_places = 1;
    for (uint32_t h = 0; h < n_homes; h++)
        for (uint32_t k = 0; k <= sizes[h]; k++)
            m->places[m->n_places++] = (Place){.kind = k == sizes[h] ? PLACE_END : PLACE_ITEM,
                                               .procedure = 0,
                                               .drill = h ? h - 1 : NO_INDEX,
                                               .outcome = k == sizes[h] ? 1 + dice(d, 2) : 0,
                                               .own_engine_edges = chance(d, 20)};
    m->procedure_lo = ARENA_NEW(d->arena, uint32_t);
    m->procedure_hi = ARENA_NEW(d->arena, uint32_t);
    m->procedure_lo[0] = 1;
    m->procedure_hi[0] = m->n_places;
}

static uint32_t place_in(Dice *d, const Model *m, uint32_t drill) {
    for (;;) {
        uint32_t p = 1 + dice(d, m->n_places - 1);
        if (m->places[p].drill == drill) return p;
    }
}

static uint32_t first_of(const Model *m, uint32_t drill) {
    for (uint32_t p = 1; p < m->n_places; p++)
        if (m->places[p].drill == drill) return p;
    return 1;
}

static void enters(Dice *d, const Model *m, Edge *edge, uint32_t drill) {
    (void)d;
    edge->kind = EDGE_ENTER_DRILL;
    edge->drill = drill;
    edge->to = first_of(m, drill);
    edge->marks[edge->n_marks++] = (Mark){
        .kind = ON_ENTER, .fact = NO_INDEX, .thing = NO_INDEX, .engine = NO_INDEX, .name = m->tail->drills[drill].name};
}

static void own_edge(Dice *d, Model *m, uint32_t p) {
    Edge *edge = &m->edges[m->n_edges++];
    fill_edge(d, m, edge);
    edge->from = p;
    if (m->places[p].kind == PLACE_JOINT) {
        edge->kind = EDGE_BEGIN;
        edge->to = 1;
    } else if (m->places[p].kind == PLACE_END) {
        edge->kind = EDGE_JOIN;
        edge->to = 0;
    } else if (m->tail->n_drills && chance(d, 15)) {
        enters(d, m, edge, dice(d, m->tail->n_drills));
        edge->kind = EDGE_ITEM;
    } else {
        edge->kind = chance(d, 80) ? EDGE_ITEM : EDGE_LAPSE;
        edge->to = place_in(d, m, m->places[p].drill);
    }
}

static void make_edges(Dice *d, Model *m) {
    m->edges = ARENA_ARRAY(d->arena, Edge, 3u * m->n_places + 4);
    m->deadlines = ARENA_ARRAY(d->arena, Deadline, 2u * m->n_places + 1);
    for (uint32_t p = 0; p < m->n_places; p++) {
        Place *place = &m->places[p];
        place->first_edge = m->n_edges;
        uint32_t n = place->kind == PLACE_JOINT ? 1 : place->kind == PLACE_END ? dice(d, 2) : 1 + dice(d, 3);
        while (n--) own_edge(d, m, p);
        place->n_edges = m->n_edges - place->first_edge;
        place->first_deadline = m->n_deadlines;
        for (uint32_t k = dice(d, 3); k; k--)
            if (place->kind == PLACE_ITEM) m->deadlines[m->n_deadlines++] = some_deadline(d, m);
        place->n_deadlines = m->n_deadlines - place->first_deadline;
    }
    m->first_ambient = m->n_edges;
}

static void make_ambient(Dice *d, Model *m) {
    m->scopes = ARENA_ARRAY(d->arena, Scope, 4);
    m->ambient_deadlines = ARENA_ARRAY(d->arena, Deadline, 1);
    if (chance(d, 25)) m->ambient_deadlines[m->n_ambient_deadlines++] = some_deadline(d, m);
    for (uint32_t k = dice(d, 3); k; k--) {
        uint32_t lo = 1 + dice(d, m->n_places - 1), but = dice(d, m->n_places);
        m->scopes[m->n_scopes++] =
            (Scope){lo, lo + 1 + dice(d, m->n_places - lo), but, but + dice(d, 2), chance(d, 50)};
        Edge *edge = &m->edges[m->n_edges++];
        fill_edge(d, m, edge);
        edge->from = NO_INDEX;
        edge->to = NO_INDEX;
        edge->kind = EDGE_FIRE;
        if (m->tail->n_drills && chance(d, 50)) enters(d, m, edge, dice(d, m->tail->n_drills));
        edge->scope = m->n_scopes - 1;
    }
}

/* ---- the gate ---- */
static Trigger *some_trigger(Dice *d, const Model *m) {
    Trigger *t = ARENA_NEW(d->arena, Trigger);
    static const TriggerKind kinds[] = {ON_BECOMES, ON_BECOMES, ON_LEAVES, ON_SET,  ON_CALL,
                                        ON_BRIEF,   ON_SEEN,    ON_LOOK,   ON_ENTER};
    t->kind = kinds[dice(d, 9)];
    t->fact = dice(d, m->n_facts);
    t->mask = proper_mask(d, &m->facts[t->fact]);
    t->thing = dice(d, 2);
    t->engine = NO_INDEX;
    if (t->kind == ON_ENTER && m->tail->n_drills) t->name = m->tail->drills[dice(d, m->tail->n_drills)].name;
    if (chance(d, 25)) t->next = some_trigger(d, m);
    return t;
}

static Duration some_duration(Dice *d, const Model *m, bool split) {
    Duration time = {.n = split ? 2 : 1};
    time.cases = ARENA_ARRAY(d->arena, DurationCase, 2);
    time.cases[0].ms = 1 + some_time(d);
    time.cases[1].ms = 1 + some_time(d);
    if (!split) return time;
    Test *one = some_test(d, m, 0), *other = ARENA_NEW(d->arena, Test);
    *other = *one;
    other->mask = ((UINT64_C(1) << m->facts[one->fact].n_values) - 1) & ~one->mask;
    time.cases[0].when = one;
    time.cases[1].when = other;
    return time;
}

static void some_steps(Dice *d, const Model *m, GateInstance *gate) {
    gate->steps = ARENA_ARRAY(d->arena, GateStep, 8);
    for (uint32_t k = 1 + dice(d, 3); k; k--) {
        gate->steps[gate->n_steps++] = (GateStep){.event = some_trigger(d, m), .least_ms = -1, .most_ms = -1};
        if (!chance(d, k == 1 ? 60 : 20)) continue;
        int64_t least = some_time(d);
        gate->steps[gate->n_steps++] =
            (GateStep){.least_ms = least, .most_ms = chance(d, 50) ? least + some_time(d) / 2 : -1};
    }
}

static void make_duty(Dice *d, Model *m, Tail *tail, GateInstance *gate) {
    Duty *duty = ARENA_NEW(d->arena, Duty);
    *duty = (Duty){.fact = 0, .engaged = proper_mask(d, &m->facts[0]), .n_lines = 1 + dice(d, 2)};
    duty->lines = ARENA_ARRAY(d->arena, DutyLine, 2);
    Duration cases = some_duration(d, m, duty->n_lines == 2);
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        DutyLine *line = &duty->lines[k];
        line->when = duty->n_lines == 2 ? cases.cases[k].when : NULL;
        line->n_series = 1 + dice(d, 2);
        for (uint32_t i = 0; i < line->n_series; i++) {
            line->on_ms[i] = some_time(d);
            line->rest_ms[i] = dice(d, 4);
        }
        line->tries = chance(d, 50) ? 1 + dice(d, 2) : 0;
        line->long_rest_ms = chance(d, 70) ? 2 + dice(d, 5) : 0;
    }
    tail->duties = duty;
    tail->n_duties = 1;
    gate->duty = 0;
}

static void make_gate(Dice *d, Model *m, Tail *tail, RuleKind rule) {
    GateInstance *gate = ARENA_NEW(d->arena, GateInstance);
    gate->rule = rule;
    gate->engine = NO_INDEX;
    gate->name = tail->name;
    gate->severity = SEVERITY_ERROR;
    bool counted = rule == RULE_AT_MOST_SINCE || rule == RULE_AT_MOST_REST || rule == RULE_WINDOW;
    if (!counted) gate->trigger = some_trigger(d, m);
    if (rule != RULE_BEFORE_EACH && rule != RULE_BEFORE_FIRST) gate->events = some_trigger(d, m);
    gate->before = some_trigger(d, m);
    gate->since = rule == RULE_BEFORE_EACH && chance(d, 50) ? NULL : some_trigger(d, m);
    if (rule == RULE_FROM_UNTIL) gate->events = NULL;
    some_steps(d, m, gate);
    bool timed = rule != RULE_NEVER_AFTER || chance(d, 70);
    if (timed) gate->time = some_duration(d, m, !counted && chance(d, 30));
    gate->count = 1 + dice(d, 2);
    gate->state = some_test(d, m, 1);
    gate->cond = some_test(d, m, 2);
    bool states = rule == RULE_WHILE || rule == RULE_LASTS;
    bool conds = rule == RULE_WHILE || rule == RULE_AT_EACH || rule == RULE_FROM_UNTIL || rule == RULE_EVERY_END ||
                 rule == RULE_END_OF;
    if (!states) gate->state = NULL;
    if (!conds) gate->cond = NULL;
    gate->ends = ARENA_ARRAY(d->arena, Name, 1);
    if (chance(d, 50)) gate->ends[gate->n_ends++] = 1 + dice(d, 2);
    gate->end_any_drill = chance(d, 50);
    if (tail->n_drills) gate->end_drill = tail->drills[0].name;
    if (tail->n_drills && chance(d, 20)) {
        gate->within = &tail->drills[dice(d, tail->n_drills)].name;
        gate->n_within = 1;
    }
    if (tail->n_drills && chance(d, 25)) {
        gate->except = &tail->drills[dice(d, tail->n_drills)].name;
        gate->n_except = 1;
    } else if (chance(d, 15)) gate->except_any_drill = true;
    if (rule == RULE_DUTY) {
        make_duty(d, m, tail, gate);
        gate->trigger = gate->events = gate->since = gate->before = NULL;
        gate->state = gate->cond = NULL;
        gate->time = (Duration){0};
        gate->n_within = gate->n_except = gate->n_steps = 0;
        gate->except_any_drill = false;
    }
    tail->gates = gate;
    tail->n_gates = 1;
}

Model *random_model(Dice *d, RuleKind rule) {
    Model *m = ARENA_NEW(d->arena, Model);
    Tail *tail = ARENA_NEW(d->arena, Tail);
    m->tail = tail;
    tail->name = name_intern(d->names, STR("tail"));
    tail->procedures = ARENA_NEW(d->arena, Procedure);
    tail->n_procedures = 1;
    tail->procedures[0].name = name_intern(d->names, STR("procedure"));
    tail->n_drills = dice(d, 3);
    tail->drills = ARENA_ARRAY(d->arena, Drill, 2);
    tail->drills[0].name = name_intern(d->names, STR("drill-one"));
    tail->drills[1].name = name_intern(d->names, STR("drill-two"));
    tail->drills[0].engine = tail->drills[1].engine = NO_INDEX;
    tail->things = ARENA_ARRAY(d->arena, Thing, 2);
    tail->n_things = 2;
    make_facts(d, m);
    m->pace_clock = NO_INDEX;
    make_places(d, m, tail);
    make_edges(d, m);
    make_ambient(d, m);
    make_gate(d, m, tail, rule);
    return m;
}

/* ---- lines in order ---- */
enum { LINES_MOST = 6 };

/* Its n-th of four events: two calls, two briefings. */
static Mark event_mark(uint32_t n) {
    return (Mark){.kind = n & 1 ? ON_BRIEF : ON_CALL, .fact = NO_INDEX, .thing = n / 2, .engine = NO_INDEX, .count = 1};
}

static Trigger *event_trigger(Dice *d, uint32_t n) {
    Trigger *t = ARENA_NEW(d->arena, Trigger);
    Mark mark = event_mark(n);
    *t = (Trigger){.kind = mark.kind, .fact = NO_INDEX, .thing = mark.thing, .engine = NO_INDEX};
    return t;
}

/* The k-th line: fact 0 becomes this or that, and one of the events happens, mostly in their order. */
static void fill_line(Dice *d, Model *m, Edge *edge, uint32_t k) {
    edge->actor = ACTOR_PILOT;
    edge->kind = EDGE_ITEM;
    edge->drill = edge->scope = NO_INDEX;
    edge->changes = ARENA_ARRAY(d->arena, Change, 1);
    if (chance(d, 60)) edge->changes[edge->n_changes++] = (Change){CHANGE_TO, 0, UINT64_C(1) << (k & 1)};
    edge->marks = ARENA_ARRAY(d->arena, Mark, 1);
    edge->marks[edge->n_marks++] = event_mark(chance(d, 70) ? k % 4 : dice(d, 4));
    edge->bounds = ARENA_ARRAY(d->arena, Bound, m->n_clocks);
    if (chance(d, 70)) edge->bounds[edge->n_bounds++] = (Bound){dice(d, m->n_clocks), 1 + dice(d, 3), -1};
    edge->resets = ARENA_ARRAY(d->arena, uint32_t, m->n_clocks);
    for (uint32_t c = 0; c < m->n_clocks; c++)
        if (chance(d, 60)) edge->resets[edge->n_resets++] = c;
}

static void make_lines(Dice *d, Model *m) {
    uint32_t n = 3 + dice(d, LINES_MOST - 2);
    m->places = ARENA_ARRAY(d->arena, Place, n + 1);
    m->edges = ARENA_ARRAY(d->arena, Edge, 2 * n + 2);
    m->deadlines = ARENA_ARRAY(d->arena, Deadline, n + 1);
    m->places[0] = (Place){.kind = PLACE_JOINT, .procedure = NO_INDEX, .drill = NO_INDEX, .n_edges = 1};
    m->edges[m->n_edges++] = (Edge){.kind = EDGE_BEGIN, .to = 1, .drill = NO_INDEX, .scope = NO_INDEX};
    m->n_places = n + 1;
    for (uint32_t p = 1; p <= n; p++) {
        Place *place = &m->places[p];
        *place = (Place){.procedure = 0, .drill = NO_INDEX, .first_edge = m->n_edges, .first_deadline = m->n_deadlines};
        for (uint32_t k = chance(d, 15) ? 2 : 1; k; k--) {
            Edge *edge = &m->edges[m->n_edges++];
            fill_line(d, m, edge, p);
            edge->from = p;
            edge->to = k == 2 ? 1 + dice(d, n) : p % n + 1;
            place->n_edges++;
        }
        if (chance(d, 60))
            m->deadlines[m->n_deadlines++] = (Deadline){NULL, dice(d, m->n_clocks), 3 + dice(d, 3), NO_INDEX};
        place->n_deadlines = m->n_deadlines - place->first_deadline;
    }
    m->first_ambient = m->n_edges;
    m->procedure_lo = ARENA_NEW(d->arena, uint32_t);
    m->procedure_hi = ARENA_NEW(d->arena, uint32_t);
    m->procedure_lo[0] = 1;
    m->procedure_hi[0] = m->n_places;
}

static void steps_in_order(Dice *d, GateInstance *gate) {
    gate->n_steps = 0;
    uint32_t from = dice(d, 4), n = 1 + dice(d, 2);
    for (uint32_t k = 0; k < n; k++) {
        gate->steps[gate->n_steps++] =
            (GateStep){.event = event_trigger(d, (from + k) % 4), .least_ms = -1, .most_ms = -1};
        if (chance(d, 30)) continue;
        int64_t least = dice(d, 3);
        gate->steps[gate->n_steps++] =
            (GateStep){.least_ms = least, .most_ms = chance(d, 50) ? least + 2 + some_time(d) / 2 : -1};
    }
    gate->trigger = event_trigger(d, (from + n) % 4);
    gate->since = chance(d, 50) ? gate->trigger : NULL;
}

Model *random_lines(Dice *d, RuleKind rule) {
    Model *m = random_model(d, rule);
    GateInstance *gate = &m->tail->gates[0];
    uint32_t first = dice(d, 4);
    m->n_edges = m->n_deadlines = m->n_ambient_deadlines = m->n_scopes = 0;
    make_lines(d, m);
    gate->n_within = gate->n_except = 0;
    gate->except_any_drill = false;
    if (rule == RULE_BEFORE_EACH || rule == RULE_BEFORE_FIRST) steps_in_order(d, gate);
    if (rule == RULE_RESPONSE || rule == RULE_NEVER_AFTER) gate->trigger = event_trigger(d, first);
    if (gate->events) gate->events = event_trigger(d, (first + 1 + dice(d, 3)) % 4);
    return m;
}
