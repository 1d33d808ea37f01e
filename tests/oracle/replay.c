#include "replay.h"
#include <stdlib.h>
#include <string.h>

Run *run_new(const Model *model, uint32_t most) {
    Run *run = calloc(1, sizeof *run);
    run->model = model;
    run->most = most;
    run->moments = calloc(most + 1u, sizeof *run->moments);
    run->values = calloc((size_t)(most + 1u) * model->n_facts + 1u, 1);
    run->zero_ms = calloc(model->n_clocks + 1u, sizeof *run->zero_ms);
    return run;
}

void run_free(Run *run) {
    free(run->moments);
    free(run->values);
    free(run->zero_ms);
    free(run);
}

static uint8_t *values_of(Run *run, uint32_t moment) {
    return run->values + (size_t)moment * run->model->n_facts;
}

static const uint8_t *facts_now(const Run *run) {
    return run->moments[run->n - 1].after;
}

bool guard_holds(const Guard *guard, const uint8_t *facts) {
    if (!guard) return true;
    for (uint32_t t = 0; t < guard->n; t++) {
        const Term *term = &guard->terms[t];
        uint32_t l = 0;
        while (l < term->n && term->literals[l].mask >> facts[term->literals[l].fact] & 1) l++;
        if (l == term->n) return true;
    }
    return false;
}

const char *replay_begin(Run *run, const uint8_t *chosen) {
    const Model *m = run->model;
    for (uint32_t f = 0; f < m->n_facts; f++)
        if (!(m->initial[f] >> chosen[f] & 1)) return "a fact does not begin with this value";
    memcpy(values_of(run, 0), chosen, m->n_facts);
    memset(run->zero_ms, 0, m->n_clocks * sizeof *run->zero_ms);
    run->moments[0] = (Moment){NO_INDEX, m->joint, m->joint, 0, values_of(run, 0), values_of(run, 0)};
    run->n = 1;
    run->place = m->joint;
    run->now_ms = run->entered_ms = 0;
    return NULL;
}

/* ---- time ---- */
static int64_t due_ms(const Run *run, const Deadline *due) {
    if (!guard_holds(due->when, facts_now(run))) return RUN_NO_END;
    return run->zero_ms[due->clock] + due->ms;
}

/* When the first of the pilot's acts here becomes possible by its least times. */
static int64_t possible_ms(const Run *run) {
    const Place *place = &run->model->places[run->place];
    int64_t first = RUN_NO_END;
    for (uint32_t k = 0; k < place->n_edges; k++) {
        const Edge *edge = &run->model->edges[place->first_edge + k];
        if (edge->actor != ACTOR_PILOT || !guard_holds(edge->guard, facts_now(run))) continue;
        int64_t from = run->entered_ms;
        for (uint32_t b = 0; b < edge->n_bounds; b++) {
            int64_t least =
                edge->bounds[b].least_ms < 0 ? 0 : run->zero_ms[edge->bounds[b].clock] + edge->bounds[b].least_ms;
            if (least > from) from = least;
        }
        if (from < first) first = from;
    }
    return first == RUN_NO_END ? run->entered_ms : first;
}

int64_t run_latest(const Run *run) {
    const Model *m = run->model;
    const Place *place = &m->places[run->place];
    int64_t latest = RUN_NO_END;
    for (uint32_t k = 0; k < place->n_deadlines; k++) {
        int64_t due = due_ms(run, &m->deadlines[place->first_deadline + k]);
        if (due < latest) latest = due;
    }
    for (uint32_t k = 0; k < m->n_ambient_deadlines; k++) {
        int64_t due = due_ms(run, &m->ambient_deadlines[k]);
        if (due < latest) latest = due;
    }
    if (run->paced && place->pilots_act && guard_holds(place->pace_when, facts_now(run))) {
        int64_t due = possible_ms(run) + m->tail->pace_ms;
        if (due < latest) latest = due;
    }
    return latest < run->now_ms ? run->now_ms : latest;
}

const char *run_wait(Run *run, int64_t until_ms) {
    if (until_ms < run->now_ms) return "time goes back";
    if (until_ms > run_latest(run)) return "time passes beyond a deadline of the place";
    run->now_ms = until_ms;
    return NULL;
}

/* ---- edges ---- */
bool edge_leaves(const Model *model, const Edge *edge, uint32_t place) {
    if (edge->from != NO_INDEX) return edge->from == place;
    const Scope *scope = &model->scopes[edge->scope];
    if (place < scope->lo || place >= scope->hi) return false;
    if (place >= scope->but_lo && place < scope->but_hi) return false;
    return !scope->skip_own || !model->places[place].own_engine_edges;
}

const char *run_refuses(const Run *run, uint32_t edge_id) {
    const Edge *edge = &run->model->edges[edge_id];
    if (!edge_leaves(run->model, edge, run->place)) return "the edge does not leave this place";
    if (!guard_holds(edge->guard, facts_now(run))) return "its guard does not hold";
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        int64_t clock = run->now_ms - run->zero_ms[edge->bounds[b].clock];
        if (edge->bounds[b].least_ms >= 0 && clock < edge->bounds[b].least_ms) return "too early";
        if (edge->bounds[b].most_ms >= 0 && clock > edge->bounds[b].most_ms) return "too late";
    }
    return NULL;
}

static const char *change_facts(const Run *run, const Edge *edge, uint8_t *facts, const uint8_t *chosen) {
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        uint32_t n = run->model->facts[change->fact].n_values;
        uint8_t *value = &facts[change->fact];
        if (change->kind == CHANGE_COUNT) {
            if (*value + 1u < n) ++*value;
            continue;
        }
        if (!(change->mask >> chosen[change->fact] & 1)) return "the edge does not give the fact this value";
        *value = chosen[change->fact];
    }
    return NULL;
}

const char *replay_take(Run *run, uint32_t edge_id, const uint8_t *chosen) {
    const Model *m = run->model;
    const Edge *edge = &m->edges[edge_id];
    const char *refused = run_refuses(run, edge_id);
    if (refused) return refused;
    if (run->n > run->most) return "the run is longer than its room";
    uint8_t *after = values_of(run, run->n);
    memcpy(after, facts_now(run), m->n_facts);
    refused = change_facts(run, edge, after, chosen);
    if (refused) return refused;
    uint32_t to = edge->to == NO_INDEX ? run->place : edge->to;
    run->moments[run->n] = (Moment){edge_id, run->place, to, run->now_ms, run->moments[run->n - 1].after, after};
    run->n++;
    for (uint32_t r = 0; r < edge->n_resets; r++) run->zero_ms[edge->resets[r]] = run->now_ms;
    if (edge->to != NO_INDEX) {
        run->entered_ms = run->now_ms;
        if (m->pace_clock != NO_INDEX) run->zero_ms[m->pace_clock] = run->now_ms;
    }
    run->place = to;
    return NULL;
}
