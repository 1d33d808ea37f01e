/* The proof, form by form: each rule on a short text that keeps it and on one that differs by the least and breaks it; zones against
   brute force. Random models against an oracle stand in oracle.c. */
#include "check/check.h"
#include "check/zones.h"
#include "unit.h"

/* ---- zones against sets of points ---- */
enum { GRID = 40, POINTS = GRID * GRID, SURE = 12 }; /* what lies beyond the grid cannot be asked */

static bool zone_has(const Zone *zone, int32_t x, int32_t y) {
    int32_t at[3] = {0, x, y};
    for (uint32_t i = 0; i < 3; i++)
        for (uint32_t j = 0; j < 3; j++)
            if (at[i] - at[j] > zone->d[i * 3 + j]) return false;
    return true;
}

static uint32_t dice(uint64_t *seed, uint32_t n) {
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(*seed >> 33) % n;
}

static void points_up(bool *set) {
    for (int32_t x = 1; x < GRID; x++)
        for (int32_t y = 1; y < GRID; y++) set[x * GRID + y] |= set[(x - 1) * GRID + y - 1];
}

static void points_reset(bool *set, uint32_t clock) {
    bool now[POINTS] = {false};
    for (int32_t p = 0; p < POINTS; p++)
        if (set[p]) now[clock == 1 ? p % GRID : p / GRID * GRID] = true;
    memcpy(set, now, sizeof now);
}

static void points_limit(bool *set, uint32_t i, uint32_t j, int32_t most) {
    for (int32_t p = 0; p < POINTS; p++) {
        int32_t at[3] = {0, p / GRID, p % GRID};
        if (at[i] - at[j] > most) set[p] = false;
    }
}

static bool any_point(const bool *set) {
    for (int32_t p = 0; p < POINTS; p++)
        if (set[p]) return true;
    return false;
}

static void zone_sequence(uint64_t seed) {
    Zone zone, other;
    bool set[POINTS] = {true};
    zone_zero(&zone, 3);
    for (uint32_t step = 0; step < 6; step++) {
        uint32_t what = dice(&seed, 3);
        if (what == 0) {
            zone_up(&zone);
            points_up(set);
        } else if (what == 1) {
            uint32_t clock = 1 + dice(&seed, 2);
            uint8_t pick[3] = {0, clock == 1 ? 0 : 1, clock == 2 ? 0 : 2};
            zone_pick(&other, &zone, pick, 3);
            zone = other;
            points_reset(set, clock);
        } else {
            uint32_t i = dice(&seed, 3), j = (i + 1 + dice(&seed, 2)) % 3;
            int32_t most = (int32_t)dice(&seed, 5) - (i ? 0 : 4);
            points_limit(set, i, j, most);
            bool left = zone_limit(&zone, i, j, most);
            assert_int_equal(left, any_point(set));
            if (!left) return;
        }
        for (int32_t p = 0; p < POINTS; p++)
            if (p / GRID <= SURE && p % GRID <= SURE) assert_int_equal(zone_has(&zone, p / GRID, p % GRID), set[p]);
    }
}

static void zones_are_sets_of_points(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < 3000; seed++) zone_sequence(seed);
}

/* Forgetting only widens, and keeps every number up to the largest that is tested. */
static void extrapolation_widens(void **state) {
    (void)state;
    for (uint64_t seed = 0; seed < 2000; seed++) {
        uint64_t s = seed;
        int32_t x = (int32_t)dice(&s, 10), largest = (int32_t)dice(&s, 5);
        Zone zone;
        zone_zero(&zone, 3);
        zone_up(&zone);
        if (!zone_at_least(&zone, 1, x) || !zone_limit(&zone, 1, 2, (int32_t)dice(&s, 4))) continue;
        Zone wide = zone;
        int32_t tests[3] = {0, largest, largest};
        zone_extrapolate(&wide, tests, tests);
        assert_true(zone_within(zone.d, wide.d, 3));
        if (x <= largest) assert_int_equal(zone_lowest(&wide, 1), zone_lowest(&zone, 1));
        else assert_true(zone_lowest(&wide, 1) > largest);
    }
}

/* ---- short texts: each line is done after the one before ---- */
enum {
    MIXTURE,
    STARTER,
    ENGINE,
    OIL,
    N_FACTS
}; /* RICH CUTOFF; RELEASED ENGAGED; STOPPED TURNING RUNNING LATE; LOW GOOD */
enum { CLEAR, BRIEFING, N_THINGS };
enum { NOTHING, SETS, CALLS, BRIEFS, SEES, ENTERS, ENDS };
typedef struct {
    int what, which, value; /* SETS, SEES: fact and value; CALLS, BRIEFS: thing; ENTERS: drill; ENDS: outcome */
    int64_t least, most;    /* since the line before; most 0: no end, least 0: none */
} Line;

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    Tail tail;
    Model model;
    GateInstance gate;
    Duty duty;
    CheckResult *result;
} Bench;

enum { CLOCK_LINE = 0 };

static void bench_open(Bench *b) {
    memset(b, 0, sizeof *b);
    names_open(&b->names, &b->arena);
    b->sources.arena = &b->arena;
    b->findings = (Findings){.arena = &b->arena, .names = &b->names};
    b->job = (Job){&b->arena, &b->names, &b->sources, &b->findings};
    b->gate = (GateInstance){.rule = RULE_CASES,
                             .engine = NO_INDEX,
                             .severity = SEVERITY_ERROR,
                             .name = name_intern(&b->names, STR("gate"))};
}

static void bench_facts(Bench *b) {
    static const FactKind kinds[N_FACTS] = {FACT_CONTROL, FACT_CONTROL, FACT_ENGINE, FACT_GAUGE};
    static const uint32_t values[N_FACTS] = {2, 2, 4, 2};
    Model *m = &b->model;
    m->facts = ARENA_ARRAY(&b->arena, Fact, N_FACTS);
    m->initial = ARENA_ARRAY(&b->arena, uint64_t, N_FACTS);
    for (uint32_t f = 0; f < N_FACTS; f++) {
        m->facts[f] = (Fact){.kind = kinds[f], .engine = NO_INDEX, .n_values = values[f]};
        m->initial[f] = f == STARTER || f == ENGINE ? 1 : (1u << values[f]) - 1;
    }
    m->n_facts = N_FACTS;
    m->clocks = ARENA_ARRAY(&b->arena, Clock, 1);
    m->n_clocks = 1;
    m->pace_clock = NO_INDEX;
}

static void bench_tail(Bench *b) {
    b->tail.name = name_intern(&b->names, STR("qm-1"));
    b->tail.things = ARENA_ARRAY(&b->arena, Thing, N_THINGS);
    b->tail.n_things = N_THINGS;
    b->tail.procedures = ARENA_ARRAY(&b->arena, Procedure, 1);
    b->tail.n_procedures = 1;
    b->tail.drills = ARENA_ARRAY(&b->arena, Drill, 1);
    b->tail.drills[0] = (Drill){.name = name_intern(&b->names, STR("fire")), .engine = NO_INDEX};
    b->tail.n_drills = 1;
    b->tail.gates = &b->gate;
    b->tail.n_gates = 1;
    b->model.tail = &b->tail;
}

static void line_edge(Bench *b, Edge *edge, const Line *line) {
    Arena *arena = &b->arena;
    edge->actor = ACTOR_PILOT;
    edge->scope = edge->drill = NO_INDEX;
    edge->resets = ARENA_ARRAY(arena, uint32_t, 1);
    edge->n_resets = 1;
    edge->marks = ARENA_ARRAY(arena, Mark, 1);
    Mark mark = {.fact = NO_INDEX, .thing = NO_INDEX, .engine = NO_INDEX, .count = 1};
    if (line->what == SETS || line->what == SEES) {
        mark.kind = line->what == SETS ? ON_SET : ON_SEEN;
        mark.fact = (uint32_t)line->which;
        mark.mask = UINT64_C(1) << line->value;
        edge->changes = ARENA_ARRAY(arena, Change, 1);
        edge->changes[edge->n_changes++] = (Change){CHANGE_TO, mark.fact, mark.mask};
    } else if (line->what == CALLS || line->what == BRIEFS) {
        mark.kind = line->what == CALLS ? ON_CALL : ON_BRIEF;
        mark.thing = (uint32_t)line->which;
    } else if (line->what == ENTERS) {
        mark.kind = ON_ENTER;
        mark.name = b->tail.drills[0].name;
    } else return;
    edge->marks[edge->n_marks++] = mark;
}

/* The joint, then a place for each line; the last line is an end. After ENTERS the lines are the drill's. */
static void bench_text(Bench *b, const Line *lines, uint32_t n) {
    Model *m = &b->model;
    m->places = ARENA_ARRAY(&b->arena, Place, n + 1);
    m->edges = ARENA_ARRAY(&b->arena, Edge, n + 1);
    m->deadlines = ARENA_ARRAY(&b->arena, Deadline, n + 1);
    m->places[0] = (Place){.kind = PLACE_JOINT, .procedure = NO_INDEX, .drill = NO_INDEX, .n_edges = 1};
    m->edges[0] = (Edge){.kind = EDGE_BEGIN, .from = 0, .to = 1, .scope = NO_INDEX, .drill = NO_INDEX};
    m->n_places = m->n_edges = 1;
    uint32_t drill = NO_INDEX;
    for (uint32_t k = 0; k < n; k++) {
        const Line *line = &lines[k];
        Place *place = &m->places[m->n_places++];
        *place = (Place){.kind = line->what == ENDS ? PLACE_END : PLACE_ITEM,
                         .procedure = 0,
                         .drill = drill,
                         .first_edge = m->n_edges,
                         .first_deadline = m->n_deadlines,
                         .outcome = line->what == ENDS ? (Name)line->which : 0};
        if (line->what == ENDS) continue;
        Edge *edge = &m->edges[m->n_edges++];
        *edge = (Edge){.kind = EDGE_ITEM, .from = k + 1, .to = k + 2};
        line_edge(b, edge, line);
        place->n_edges = 1;
        edge->bounds = ARENA_ARRAY(&b->arena, Bound, 1);
        if (line->least) edge->bounds[edge->n_bounds++] = (Bound){CLOCK_LINE, line->least, -1};
        if (line->most) {
            m->deadlines[m->n_deadlines++] = (Deadline){NULL, CLOCK_LINE, line->most, NO_INDEX};
            place->n_deadlines = 1;
        }
        if (line->what == ENTERS) drill = 0;
    }
    m->first_ambient = m->n_edges;
}

static VerdictKind ask(Bench *b, const Line *lines, uint32_t n) {
    bench_facts(b);
    bench_tail(b);
    bench_text(b, lines, n);
    b->result = check_model(&b->job, &b->model, (CheckBudget){0, NULL, NULL});
    return b->result->verdicts[0].kind;
}

/* ---- rules ---- */
static Trigger *event(Bench *b, TriggerKind kind, uint32_t which, uint64_t mask) {
    Trigger *t = ARENA_NEW(&b->arena, Trigger);
    bool thing = kind == ON_CALL || kind == ON_BRIEF;
    *t = (Trigger){.kind = kind,
                   .fact = thing ? NO_INDEX : which,
                   .thing = thing ? which : NO_INDEX,
                   .engine = NO_INDEX,
                   .mask = mask};
    if (kind == ON_ENTER) t->name = name_intern(&b->names, STR("fire"));
    return t;
}

static Test *fact_is(Bench *b, uint32_t fact, uint64_t mask) {
    Test *t = ARENA_NEW(&b->arena, Test);
    *t = (Test){.kind = TEST_FACT, .fact = fact, .mask = mask};
    return t;
}

static Duration lasting(Bench *b, int64_t ms) {
    Duration time = {.n = 1, .cases = ARENA_NEW(&b->arena, DurationCase)};
    time.cases[0].ms = ms;
    return time;
}

static Trigger *cranks(Bench *b) {
    return event(b, ON_BECOMES, STARTER, 2);
}

static void rule_chain(Bench *b) { /* before each crank: brief, then call, then a pause of 3..15 s */
    b->gate.rule = RULE_BEFORE_EACH;
    b->gate.trigger = b->gate.since = cranks(b);
    b->gate.steps = ARENA_ARRAY(&b->arena, GateStep, 3);
    b->gate.steps[0] = (GateStep){.event = event(b, ON_BRIEF, BRIEFING, 0)};
    b->gate.steps[1] = (GateStep){.event = event(b, ON_CALL, CLEAR, 0)};
    b->gate.steps[2] = (GateStep){.least_ms = 3000, .most_ms = 15000};
    b->gate.n_steps = 3;
}

static void rule_first(Bench *b) {
    rule_chain(b);
    b->gate.rule = RULE_BEFORE_FIRST;
    b->gate.since = NULL;
    b->gate.n_steps = 1;
}

static void rule_response(Bench *b) { /* after each crank within 30 s: oil seen GOOD */
    b->gate.rule = RULE_RESPONSE;
    b->gate.trigger = cranks(b);
    b->gate.events = event(b, ON_SEEN, OIL, 2);
    b->gate.time = lasting(b, 30000);
}

static void rule_response_but_in_drill(Bench *b) {
    rule_response(b);
    b->gate.except_any_drill = true;
}

static void rule_never(Bench *b) { /* after each release: no crank for at least 20 s */
    b->gate.rule = RULE_NEVER_AFTER;
    b->gate.trigger = event(b, ON_LEAVES, STARTER, 2);
    b->gate.events = cranks(b);
    b->gate.time = lasting(b, 20000);
}

static void rule_never_at_all(Bench *b) { /* after fire: no crank */
    b->gate.rule = RULE_NEVER_AFTER;
    b->gate.trigger = event(b, ON_ENTER, NO_INDEX, 0);
    b->gate.events = cranks(b);
}

static void rule_order(Bench *b) { /* after each call: brief before crank */
    b->gate.rule = RULE_ORDER;
    b->gate.trigger = event(b, ON_CALL, CLEAR, 0);
    b->gate.events = event(b, ON_BRIEF, BRIEFING, 0);
    b->gate.before = cranks(b);
}

static void rule_at_each(Bench *b) { /* at each crank: mixture CUTOFF */
    b->gate.rule = RULE_AT_EACH;
    b->gate.trigger = cranks(b);
    b->gate.cond = fact_is(b, MIXTURE, 2);
}

static void rule_until(Bench *b) { /* from each call until crank: mixture CUTOFF */
    b->gate.rule = RULE_FROM_UNTIL;
    b->gate.trigger = event(b, ON_CALL, CLEAR, 0);
    b->gate.since = cranks(b);
    b->gate.cond = fact_is(b, MIXTURE, 2);
}

static void rule_while(Bench *b) { /* while starter ENGAGED: mixture CUTOFF */
    b->gate.rule = RULE_WHILE;
    b->gate.state = fact_is(b, STARTER, 2);
    b->gate.cond = fact_is(b, MIXTURE, 2);
}

static void rule_lasts(Bench *b) { /* each cranking lasts at most 10 s */
    b->gate.rule = RULE_LASTS;
    b->gate.state = fact_is(b, STARTER, 2);
    b->gate.time = lasting(b, 10000);
}

static void rule_since(Bench *b) { /* at most 1 crank since the last call */
    b->gate.rule = RULE_AT_MOST_SINCE;
    b->gate.events = cranks(b);
    b->gate.since = event(b, ON_CALL, CLEAR, 0);
    b->gate.count = 1;
}

static void rule_rest(Bench *b) { /* at most 1 crank since the last rest of at least 60 s */
    b->gate.rule = RULE_AT_MOST_REST;
    b->gate.events = cranks(b);
    b->gate.time = lasting(b, 60000);
    b->gate.count = 1;
}

static void rule_window(Bench *b) { /* in any 60 s: at most 1 crank */
    b->gate.rule = RULE_WINDOW;
    b->gate.events = cranks(b);
    b->gate.time = lasting(b, 60000);
    b->gate.count = 1;
}

static void rule_end(Bench *b) { /* every end 7: mixture CUTOFF */
    b->gate.rule = RULE_EVERY_END;
    b->gate.ends = ARENA_NEW(&b->arena, Name);
    b->gate.ends[0] = 7;
    b->gate.n_ends = 1;
    b->gate.cond = fact_is(b, MIXTURE, 2);
}

static void rule_end_of(Bench *b) { /* every end of any drill: mixture CUTOFF */
    b->gate.rule = RULE_END_OF;
    b->gate.end_any_drill = true;
    b->gate.cond = fact_is(b, MIXTURE, 2);
}

static void rule_duty(Bench *b) { /* up to 10 s on, 20 s rest, 2 tries, then 60 s rest */
    b->gate.rule = RULE_DUTY;
    b->duty = (Duty){.fact = STARTER, .engaged = 2, .n_lines = 1, .lines = ARENA_NEW(&b->arena, DutyLine)};
    b->duty.lines[0] =
        (DutyLine){.on_ms = {10000}, .rest_ms = {20000}, .n_series = 1, .tries = 2, .long_rest_ms = 60000};
    b->tail.duties = &b->duty;
    b->tail.n_duties = 1;
}

#define END_AT(outcome) \
    { ENDS, (outcome), 0, 0, 0 }
#define ON \
    { SETS, STARTER, 1, 0, 0 }
#define ON_AFTER(least) \
    { SETS, STARTER, 1, (least), 0 }
#define ON_BY(least, most) \
    { SETS, STARTER, 1, (least), (most) }
#define OFF_BY(most) \
    { SETS, STARTER, 0, 0, (most) }
#define CUT \
    { SETS, MIXTURE, 1, 0, 0 }
#define RICH \
    { SETS, MIXTURE, 0, 0, 0 }
#define CALL \
    { CALLS, CLEAR, 0, 0, 0 }
#define BRIEF \
    { BRIEFS, BRIEFING, 0, 0, 0 }
#define OIL_BY(most) \
    { SEES, OIL, 1, 0, (most) }
#define FIRE \
    { ENTERS, 0, 0, 0, 0 }

typedef struct {
    const char *name;
    void (*rule)(Bench *b);
    Line good[9], bad[9];
} Twin;

static const Twin twins[] = {
    {"chain: the call",
     rule_chain,
     {BRIEF, CALL, ON_BY(3000, 15000), END_AT(1)},
     {BRIEF, ON_BY(3000, 15000), END_AT(1)}},
    {"chain: the order",
     rule_chain,
     {BRIEF, CALL, ON_BY(3000, 15000), END_AT(1)},
     {CALL, BRIEF, ON_BY(3000, 15000), END_AT(1)}},
    {"chain: too early",
     rule_chain,
     {BRIEF, CALL, ON_BY(3000, 15000), END_AT(1)},
     {BRIEF, CALL, ON_BY(2999, 15000), END_AT(1)}},
    {"chain: too late",
     rule_chain,
     {BRIEF, CALL, ON_BY(3000, 15000), END_AT(1)},
     {BRIEF, CALL, ON_BY(3000, 15001), END_AT(1)}},
    {"chain: called again",
     rule_chain,
     {BRIEF, CALL, CALL, ON_BY(3000, 15000), END_AT(1)},
     {BRIEF, CALL, ON_BY(3000, 15000), OFF_BY(0), ON, END_AT(1)}},
    {"first", rule_first, {BRIEF, ON, OFF_BY(0), ON, END_AT(1)}, {ON, OFF_BY(0), BRIEF, ON, END_AT(1)}},
    {"response", rule_response, {ON, OIL_BY(30000), END_AT(1)}, {ON, OIL_BY(30001), END_AT(1)}},
    {"response: at an end", rule_response, {ON, OIL_BY(30000), END_AT(1)}, {ON, END_AT(1)}},
    {"response: but in a drill",
     rule_response_but_in_drill,
     {ON, {ENTERS, 0, 0, 0, 30000}, END_AT(1)},
     {ON, {ENTERS, 0, 0, 0, 30001}, END_AT(1)}},
    {"separation",
     rule_never,
     {ON, OFF_BY(0), ON_AFTER(20000), END_AT(1)},
     {ON, OFF_BY(0), ON_AFTER(19999), END_AT(1)}},
    {"never", rule_never_at_all, {ON, FIRE, CUT, END_AT(1)}, {CUT, FIRE, ON, END_AT(1)}},
    {"order", rule_order, {CALL, BRIEF, ON, END_AT(1)}, {CALL, BRIEF, CALL, ON, END_AT(1)}},
    {"at each", rule_at_each, {CUT, ON, END_AT(1)}, {RICH, ON, END_AT(1)}},
    {"at each: unknown", rule_at_each, {CUT, ON, END_AT(1)}, {ON, CUT, END_AT(1)}},
    {"from until", rule_until, {CUT, CALL, ON, RICH, END_AT(1)}, {CUT, CALL, RICH, ON, END_AT(1)}},
    {"while", rule_while, {CUT, ON, OFF_BY(0), RICH, END_AT(1)}, {CUT, ON, RICH, OFF_BY(0), END_AT(1)}},
    {"lasts", rule_lasts, {ON, OFF_BY(10000), END_AT(1)}, {ON, OFF_BY(10001), END_AT(1)}},
    {"at most since", rule_since, {ON, OFF_BY(0), CALL, ON, END_AT(1)}, {CALL, ON, OFF_BY(0), ON, END_AT(1)}},
    {"at most, rest",
     rule_rest,
     {ON, OFF_BY(0), ON_AFTER(60000), END_AT(1)},
     {ON, OFF_BY(0), ON_AFTER(59999), END_AT(1)}},
    {"window", rule_window, {ON, OFF_BY(0), ON_AFTER(60001), END_AT(1)}, {ON, OFF_BY(0), ON_AFTER(59999), END_AT(1)}},
    {"every end", rule_end, {CUT, END_AT(7)}, {RICH, END_AT(7)}},
    {"every end of", rule_end_of, {RICH, FIRE, CUT, END_AT(7)}, {CUT, FIRE, RICH, END_AT(7)}},
    {"duty: on", rule_duty, {ON, OFF_BY(10000), END_AT(1)}, {ON, OFF_BY(10001), END_AT(1)}},
    {"duty: rest",
     rule_duty,
     {ON, OFF_BY(10000), ON_AFTER(20000), OFF_BY(10000), END_AT(1)},
     {ON, OFF_BY(10000), ON_AFTER(19999), OFF_BY(10000), END_AT(1)}},
    {"duty: tries",
     rule_duty,
     {ON, OFF_BY(1), ON_AFTER(20000), OFF_BY(1), ON_AFTER(60000), OFF_BY(1), END_AT(1)},
     {ON, OFF_BY(1), ON_AFTER(20000), OFF_BY(1), ON_AFTER(59999), OFF_BY(1), END_AT(1)}},
};

static uint32_t lines_of(const Line *lines) {
    uint32_t n = 0;
    while (lines[n].what != ENDS) n++;
    return n + 1;
}

static void each_form_keeps_and_breaks(void **state) {
    (void)state;
    for (size_t k = 0; k < sizeof twins / sizeof *twins; k++) {
        for (int bad = 0; bad < 2; bad++) {
            Bench b;
            bench_open(&b);
            twins[k].rule(&b);
            const Line *lines = bad ? twins[k].bad : twins[k].good;
            VerdictKind verdict = ask(&b, lines, lines_of(lines));
            if (verdict != (bad ? VERDICT_BROKEN : VERDICT_PROVED))
                fail_msg("%s, %s: %s", twins[k].name, bad ? "bad" : "good", verdict_words[verdict]);
            if (bad) {
                assert_non_null(b.result->verdicts[0].finding);
                assert_true(b.result->verdicts[0].witness->steps.n > 0);
                assert_true(b.result->verdicts[0].witness->wanted.len > 0);
            }
            arena_free(&b.arena);
        }
    }
}

static void nothing_tests_the_rule(void **state) {
    (void)state;
    Bench b;
    bench_open(&b);
    rule_at_each(&b);
    const Line lines[] = {CUT, END_AT(1)};
    assert_int_equal(ask(&b, lines, 2), VERDICT_NEVER_TESTED);
    assert_int_equal(b.result->verdicts[0].finding->kind, FINDING_NEVER_TESTED);
    arena_free(&b.arena);
}

static void standing_is_passed_on(void **state) {
    (void)state;
    Bench b;
    bench_open(&b);
    rule_at_each(&b);
    b.gate.standing = GATE_NOT_APPLICABLE;
    b.gate.why_not = STR("no starter light");
    const Line lines[] = {CUT, END_AT(1)};
    assert_int_equal(ask(&b, lines, 2), VERDICT_NOT_APPLICABLE);
    assert_str(b.result->verdicts[0].why, "no starter light");
    arena_free(&b.arena);
    bench_open(&b);
    rule_at_each(&b);
    b.gate.standing = GATE_NOT_DECIDED;
    b.gate.why_not = STR("the value oil-time is missing");
    assert_int_equal(ask(&b, lines, 2), VERDICT_NOT_DECIDED);
    assert_int_equal(b.result->verdicts[0].finding->severity, SEVERITY_UNDECIDED);
    arena_free(&b.arena);
}

static void a_missing_time_is_not_decided(void **state) {
    (void)state;
    Bench b;
    bench_open(&b);
    rule_response(&b);
    b.gate.time = (Duration){.missing = name_intern(&b.names, STR("oil-time"))};
    const Line lines[] = {ON, OIL_BY(30000), END_AT(1)};
    assert_int_equal(ask(&b, lines, 3), VERDICT_NOT_DECIDED);
    arena_free(&b.arena);
}

/* A budget that runs out is never good news. */
static bool stop_at_once(void *context) {
    (void)context;
    return true;
}

static void a_budget_runs_out(void **state) {
    (void)state;
    Bench b;
    bench_open(&b);
    rule_response(&b);
    const Line lines[] = {ON, OIL_BY(30000), END_AT(1)};
    bench_facts(&b);
    bench_tail(&b);
    bench_text(&b, lines, 3);
    CheckResult *result = check_model(&b.job, &b.model, (CheckBudget){1, stop_at_once, NULL});
    assert_int_equal(result->verdicts[0].kind, VERDICT_NOT_DECIDED);
    arena_free(&b.arena);
}

/* The break stands at its earliest time, just over the limit. */
static void times_are_the_earliest(void **state) {
    (void)state;
    Bench b;
    bench_open(&b);
    rule_response(&b);
    const Line lines[] = {CUT, ON_AFTER(5000), END_AT(1)};
    assert_int_equal(ask(&b, lines, 3), VERDICT_BROKEN);
    const Trace *trace = b.result->verdicts[0].witness;
    assert_int_equal(trace->steps.at[trace->steps.n - 1].at_ms, 35001);
    assert_int_equal(trace->steps.at[trace->steps.n - 1].actor, ACTOR_TIME);
    arena_free(&b.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(zones_are_sets_of_points),   cmocka_unit_test(extrapolation_widens),
        cmocka_unit_test(each_form_keeps_and_breaks), cmocka_unit_test(nothing_tests_the_rule),
        cmocka_unit_test(standing_is_passed_on),      cmocka_unit_test(a_missing_time_is_not_decided),
        cmocka_unit_test(a_budget_runs_out),          cmocka_unit_test(times_are_the_earliest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
