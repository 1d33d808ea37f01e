/* A model made by hand, to measure the search by: K engines, each OFF, CRANK for up to 10 s, REST for 20 s, COOL for 600 s after the third
   failed try, RUN; a procedure of 8 steps beside them, in which any of it may happen. Times are in seconds.
   usage: engines K ROUNDS      gives: median nanoseconds of the search alone, its zones, and whether "an engine is cranked for at most
   10 s" is kept. K 1 to 9. */
#include "check/firstpass.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { OFF = 1, CRANK = 2, REST = 4, COOL = 8, RUN = 16, N_STATES = 5 };
enum { STEPS = 8, TRIES = 3, EDGES_EACH = 7, DUES_EACH = 3, FACTS_EACH = 2, ENGINES_MOST = 9 };

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    Tail tail;
    Procedure procedure;
    GateInstance gate;
    DurationCase ten;
    Test cranks;
    Item steps[STEPS];
    Model model;
} World;

static uint32_t state_fact(uint32_t engine) {
    return FACTS_EACH * engine;
}
static uint32_t tries_fact(uint32_t engine) {
    return FACTS_EACH * engine + 1;
}

/* ---- one engine ---- */
static Guard *guard_of(World *w, uint32_t engine, uint64_t state, uint64_t tries) {
    Guard *guard = ARENA_NEW(&w->arena, Guard);
    guard->terms = ARENA_NEW(&w->arena, Term);
    guard->n = 1;
    Term *term = guard->terms;
    term->literals = ARENA_ARRAY(&w->arena, Literal, 2);
    term->literals[term->n++] = (Literal){state_fact(engine), state};
    if (tries) term->literals[term->n++] = (Literal){tries_fact(engine), tries};
    return guard;
}

typedef struct {
    uint64_t from, to, tries, tries_after; /* tries: 0: any; tries_after: 0: as before */
    int64_t least;                         /* of the engine's clock; < 0: none */
} EngineMove;

static const EngineMove moves[EDGES_EACH] = {
    {OFF, CRANK, 0, 0, -1},  {CRANK, RUN, 0, 1, -1}, {CRANK, REST, 1, 2, -1}, {CRANK, REST, 2, 4, -1},
    {CRANK, COOL, 4, 1, -1}, {REST, OFF, 0, 0, 20},  {COOL, OFF, 0, 0, 600},
};

static void put_move(World *w, uint32_t engine, const EngineMove *move) {
    Edge *edge = &w->model.edges[w->model.n_edges++];
    *edge = (Edge){.kind = EDGE_STOP, .actor = ACTOR_ENGINE, .from = NO_INDEX, .to = NO_INDEX, .drill = NO_INDEX};
    edge->guard = guard_of(w, engine, move->from, move->tries);
    edge->changes = ARENA_ARRAY(&w->arena, Change, 2);
    edge->changes[edge->n_changes++] = (Change){CHANGE_TO, state_fact(engine), move->to};
    if (move->tries_after)
        edge->changes[edge->n_changes++] = (Change){CHANGE_TO, tries_fact(engine), move->tries_after};
    edge->resets = ARENA_NEW(&w->arena, uint32_t);
    edge->resets[edge->n_resets++] = engine;
    if (move->least < 0) return;
    edge->bounds = ARENA_NEW(&w->arena, Bound);
    edge->bounds[edge->n_bounds++] = (Bound){engine, move->least, -1};
}

static void put_engine(World *w, uint32_t engine) {
    static const struct {
        uint64_t state;
        int64_t most;
    } dues[DUES_EACH] = {{CRANK, 10}, {REST, 20}, {COOL, 600}};
    Model *m = &w->model;
    m->facts[state_fact(engine)] = (Fact){.kind = FACT_SCENE, .engine = NO_INDEX, .n_values = N_STATES};
    m->facts[tries_fact(engine)] = (Fact){.kind = FACT_SCENE, .engine = NO_INDEX, .n_values = TRIES};
    m->initial[state_fact(engine)] = m->initial[tries_fact(engine)] = 1;
    for (uint32_t k = 0; k < EDGES_EACH; k++) put_move(w, engine, &moves[k]);
    for (uint32_t k = 0; k < DUES_EACH; k++)
        m->ambient_deadlines[m->n_ambient_deadlines++] =
            (Deadline){guard_of(w, engine, dues[k].state, 0), engine, dues[k].most, NO_INDEX};
}

/* ---- the procedure ---- */
static void put_steps(World *w) {
    Model *m = &w->model;
    for (uint32_t p = 0; p < STEPS; p++) {
        w->steps[p] =
            (Item){.kind = STMT_PLAIN, .engine = NO_INDEX, .thing = NO_INDEX, .person = NO_INDEX, .id = STR("step")};
        m->places[p] = (Place){.kind = PLACE_ITEM, .item = &w->steps[p], .drill = NO_INDEX, .first_edge = m->n_edges};
        if (p + 1 == STEPS) break;
        m->edges[m->n_edges++] =
            (Edge){.kind = EDGE_ITEM, .actor = ACTOR_PILOT, .from = p, .to = p + 1, .drill = NO_INDEX};
        m->places[p].n_edges = 1;
    }
    m->n_places = STEPS;
    m->first_ambient = m->n_edges;
    m->scopes[0] = (Scope){0, STEPS, 0, 0, false};
    m->n_scopes = 1;
}

static void make_model(World *w, uint32_t engines) {
    Model *m = &w->model;
    m->tail = &w->tail;
    m->n_facts = FACTS_EACH * engines;
    m->facts = ARENA_ARRAY(&w->arena, Fact, m->n_facts);
    m->initial = ARENA_ARRAY(&w->arena, uint64_t, m->n_facts);
    m->n_clocks = engines;
    m->clocks = ARENA_ARRAY(&w->arena, Clock, engines);
    m->pace_clock = NO_INDEX;
    m->places = ARENA_ARRAY(&w->arena, Place, STEPS);
    m->edges = ARENA_ARRAY(&w->arena, Edge, STEPS + EDGES_EACH * engines);
    m->scopes = ARENA_NEW(&w->arena, Scope);
    m->ambient_deadlines = ARENA_ARRAY(&w->arena, Deadline, DUES_EACH * engines);
    put_steps(w);
    for (uint32_t k = 0; k < engines; k++) put_engine(w, k);
}

/* "Each time that the first engine is cranked lasts at most 10 s." */
static void make_tail(World *w) {
    w->procedure = (Procedure){.name = name_intern(&w->names, STR("steps")), .title = STR("Steps")};
    w->tail = (Tail){.name = name_intern(&w->names, STR("qm-1")), .procedures = &w->procedure, .n_procedures = 1};
    w->tail.gates = &w->gate;
    w->tail.n_gates = 1;
    w->cranks = (Test){.kind = TEST_FACT, .fact = 0, .mask = CRANK};
    w->ten = (DurationCase){NULL, 10};
    w->gate =
        (GateInstance){.rule = RULE_LASTS, .engine = NO_INDEX, .severity = SEVERITY_ERROR, .target_drill = NO_INDEX};
    w->gate.name = name_intern(&w->names, STR("short-crank"));
    w->gate.state = &w->cranks;
    w->gate.time = (Duration){.cases = &w->ten, .n = 1};
}

/* ---- measuring ---- */
static long long now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return time.tv_sec * 1000000000LL + time.tv_nsec;
}

static int by_time(const void *a, const void *b) {
    long long left = *(const long long *)a, right = *(const long long *)b;
    return left < right ? -1 : left > right;
}

/* Without a rule: everything that can be is gone through. */
static void time_search(World *w, long long *times, int rounds, uint32_t *zones) {
    Arena kept = {0}, pools = {0};
    const Frame *frame = frame_make(&kept, frame_edges(&kept, &w->model, false), NULL, false);
    const Slice *slice = slice_make(&kept, frame, NULL);
    Store store = {.arena = &pools};
    for (int i = 0; i < rounds; i++) {
        long long before = now();
        Search *search = search_new(&kept, slice, NULL, &store, (CheckBudget){.zones = 10000000});
        if (search_run(search) != SEARCH_HOLDS) abort();
        times[i] = now() - before;
    }
    *zones = 0;
    for (uint32_t n = 0; n < store.n_nodes; n++) *zones += !store.nodes[n].gone;
    arena_free(&pools);
    arena_free(&kept);
}

int main(int argc, char **argv) {
    World *w = calloc(1, sizeof *w);
    int engines = argc == 3 ? atoi(argv[1]) : 0, rounds = argc == 3 ? atoi(argv[2]) : 0;
    long long *times = calloc(rounds > 0 ? (size_t)rounds : 1, sizeof *times);
    if (!w || !times || engines < 1 || engines > ENGINES_MOST || rounds < 1) return 2;
    w->sources.arena = w->findings.arena = &w->arena;
    names_open(&w->names, &w->arena);
    w->findings.names = &w->names;
    w->job = (Job){&w->arena, &w->names, &w->sources, &w->findings};
    make_tail(w);
    make_model(w, (uint32_t)engines);
    const CheckResult *result = check_model(&w->job, &w->model, (CheckBudget){.zones = 10000000});
    uint32_t zones;
    time_search(w, times, rounds, &zones);
    qsort(times, (size_t)rounds, sizeof *times, by_time);
    printf("%lld %u %s\n", times[rounds / 2], zones, verdict_words[result->verdicts[0].kind]);
    arena_free(&w->arena);
    free(times);
    free(w);
    return 0;
}
