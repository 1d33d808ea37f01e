#include "sample.h"
#include <stdlib.h>
#include <string.h>

static uint32_t lot(Sampler *s, uint32_t n) {
    s->seed = s->seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(s->seed >> 33) % n;
}

/* ---- which ambient edges leave which place, and the gates' times ---- */
static void list_ambient(Sampler *s) {
    const Model *m = s->model;
    size_t n = 0, cap = 256;
    s->ambient_first = calloc(m->n_places + 1u, sizeof *s->ambient_first);
    s->ambient = malloc(cap * sizeof *s->ambient);
    for (uint32_t p = 0; p < m->n_places; p++) {
        s->ambient_first[p] = (uint32_t)n;
        for (uint32_t e = m->first_ambient; e < m->n_edges; e++) {
            if (!edge_leaves(m, &m->edges[e], p)) continue;
            if (n == cap) s->ambient = realloc(s->ambient, (cap *= 2) * sizeof *s->ambient);
            s->ambient[n++] = e;
        }
    }
    s->ambient_first[m->n_places] = (uint32_t)n;
}

static void add_time(Sampler *s, int64_t ms) {
    if (ms <= 0) return;
    for (uint32_t k = 0; k < s->n_times; k++)
        if (s->times[k] == ms) return;
    s->times = realloc(s->times, (s->n_times + 1) * sizeof *s->times);
    s->times[s->n_times++] = ms;
}

static void list_times(Sampler *s) {
    const Tail *tail = s->model->tail;
    for (uint32_t g = 0; g < tail->n_gates; g++) {
        const GateInstance *gate = &tail->gates[g];
        for (uint32_t k = 0; k < gate->time.n; k++) add_time(s, gate->time.cases[k].ms);
        for (uint32_t k = 0; k < gate->n_steps; k++) {
            if (gate->steps[k].event) continue;
            add_time(s, gate->steps[k].least_ms);
            add_time(s, gate->steps[k].most_ms);
        }
    }
    for (uint32_t d = 0; d < tail->n_duties; d++)
        for (uint32_t l = 0; l < tail->duties[d].n_lines; l++) {
            const DutyLine *line = &tail->duties[d].lines[l];
            for (uint32_t k = 0; k < line->n_series && k < 8; k++)
                add_time(s, line->on_ms[k]), add_time(s, line->rest_ms[k]);
            add_time(s, line->long_rest_ms);
        }
}

Sampler *sampler_new(const Model *model, uint64_t seed) {
    Sampler *s = calloc(1, sizeof *s);
    s->model = model;
    s->seed = seed;
    list_ambient(s);
    list_times(s);
    return s;
}

void sampler_free(Sampler *s) {
    free(s->ambient_first);
    free(s->ambient);
    free(s->times);
    free(s);
}

static uint8_t value_of(Sampler *s, uint64_t mask) {
    uint32_t k = lot(s, (uint32_t)__builtin_popcountll(mask));
    while (k--) mask &= mask - 1;
    return (uint8_t)__builtin_ctzll(mask);
}

/* ---- when ---- */
/* A moment that a bound of one of the place's edges speaks of. */
static int64_t bound_ms(Sampler *s, const Run *run) {
    const Place *place = &s->model->places[run->place];
    if (!place->n_edges) return run->now_ms;
    const Edge *edge = &s->model->edges[place->first_edge + lot(s, place->n_edges)];
    if (!edge->n_bounds) return run->now_ms;
    const Bound *bound = &edge->bounds[lot(s, edge->n_bounds)];
    int64_t ms = bound->least_ms >= 0 && (bound->most_ms < 0 || lot(s, 2)) ? bound->least_ms : bound->most_ms;
    return run->zero_ms[bound->clock] + ms;
}

/* A length that a gate speaks of, after a moment of the run. */
static int64_t gate_ms(Sampler *s, const Run *run) {
    if (!s->n_times) return run->now_ms;
    uint32_t back = lot(s, run->n < 6 ? run->n : 6);
    return run->moments[run->n - 1 - back].at_ms + s->times[lot(s, s->n_times)];
}

static int64_t later(Sampler *s, const Run *run) {
    int64_t latest = run_latest(run), when;
    switch (lot(s, 10)) {
    case 0: when = latest == RUN_NO_END ? gate_ms(s, run) : latest; break;
    case 1: when = latest == RUN_NO_END ? gate_ms(s, run) : latest - 1; break;
    case 2:
    case 3: when = bound_ms(s, run) + (int64_t)lot(s, 3) - 1; break;
    case 4: when = gate_ms(s, run) + (int64_t)lot(s, 3) - 1; break;
    case 5: when = run->now_ms + (int64_t)lot(s, 12000); break;
    default: when = run->now_ms; break;
    }
    if (when < run->now_ms) when = run->now_ms;
    return when > latest ? latest : when;
}

/* ---- which ---- */
static uint32_t among_edges(Sampler *s, const Run *run, const uint32_t *list, uint32_t first, uint32_t n) {
    uint32_t from = n ? lot(s, n) : 0;
    for (uint32_t k = 0; k < n; k++) {
        uint32_t at = (from + k) % n, edge = list ? list[at] : first + at;
        if (!run_refuses(run, edge)) return edge;
    }
    return NO_INDEX;
}

/* Mostly the place's own edges: else a run is soon in a drill and at its end. */
static uint32_t some_edge(Sampler *s, const Run *run) {
    enum { AMBIENT_IN = 14 };
    const Place *place = &s->model->places[run->place];
    uint32_t lo = s->ambient_first[run->place], n = s->ambient_first[run->place + 1] - lo;
    bool ambient_first = lot(s, AMBIENT_IN) == 0;
    uint32_t edge = NO_INDEX;
    for (int round = 0; round < 2 && edge == NO_INDEX; round++) {
        if (ambient_first == (round == 0)) edge = among_edges(s, run, s->ambient + lo, 0, n);
        else edge = among_edges(s, run, NULL, place->first_edge, place->n_edges);
    }
    return edge;
}

static const char *take_some(Sampler *s, Run *run, uint32_t edge_id, uint8_t *chosen) {
    const Edge *edge = &s->model->edges[edge_id];
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].kind == CHANGE_TO) chosen[edge->changes[c].fact] = value_of(s, edge->changes[c].mask);
    return replay_take(run, edge_id, chosen);
}

const char *sample_run(Sampler *s, Run *run, uint8_t *chosen) {
    enum { IDLE_MOST = 12 };
    for (uint32_t f = 0; f < s->model->n_facts; f++) chosen[f] = value_of(s, s->model->initial[f]);
    const char *refused = replay_begin(run, chosen);
    for (uint32_t idle = 0; !refused && run->n <= run->most && idle < IDLE_MOST;) {
        refused = run_wait(run, later(s, run));
        uint32_t edge = refused ? NO_INDEX : some_edge(s, run);
        idle = edge == NO_INDEX ? idle + 1 : 0;
        if (edge != NO_INDEX) refused = take_some(s, run, edge, chosen);
    }
    if (refused) return refused;
    int64_t latest = run_latest(run);
    return run_wait(run, latest == RUN_NO_END ? run->now_ms + 3600000 : latest);
}
