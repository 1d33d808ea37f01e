#include "retell.h"
#include <stdlib.h>
#include <string.h>

/* Every value that a fact has along the path is one unknown, from the edge that gives it to the next one; conditions on the way
   narrow the sets of values that are possible, by trying their alternatives one after the other. */
typedef struct {
    const Guard *guard; /* NULL: a count: `then` is one more than `first` */
    bool fails;         /* the guard must not hold (a deadline that is passed) */
    uint32_t moment;
    uint32_t first, then, n_values;
} Demand;

typedef struct {
    const Told *told;
    uint64_t seed;
    uint64_t *domain;  /* by unknown */
    uint32_t *unknown; /* [moment * n_facts + fact]: after so many edges */
    uint32_t n_unknowns;
    Demand *demands;
    uint32_t n_demands, cap_demands;
    uint32_t *undone; /* trail: unknown and its former domain */
    uint64_t *former;
    uint32_t n_undone, cap_undone;
    uint32_t tries, draws;
    const char *refused;
    Run *run;
    uint8_t *chosen;
    bool found, earlier;
} Teller;

enum { TRIES_MOST = 200000, DRAWS_MOST = 60000, DRAWS_EACH = 400 };

static uint32_t throw(Teller * t, uint32_t n) {
    t->seed = t->seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(t->seed >> 33) % n;
}

static uint32_t unknown_of(const Teller *t, uint32_t moment, uint32_t fact) {
    return t->unknown[(size_t)moment * t->told->model->n_facts + fact];
}

static void demand(Teller *t, Demand one) {
    if (t->n_demands == t->cap_demands) {
        t->cap_demands = t->cap_demands ? t->cap_demands * 2 : 64;
        t->demands = realloc(t->demands, t->cap_demands * sizeof *t->demands);
    }
    t->demands[t->n_demands++] = one;
}

static uint64_t all_values(uint32_t n) {
    return n >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << n) - 1;
}

/* ---- what the path asks for ---- */
static const char *demand_waiting(Teller *t, const Deadline *due, const int64_t *zero, uint32_t moment, int64_t from,
                                  int64_t until) {
    if (until == from || until - zero[due->clock] <= due->ms) return NULL;
    if (!due->when) return "time passes beyond a deadline";
    demand(t, (Demand){.guard = due->when, .fails = true, .moment = moment});
    return NULL;
}

static const char *demand_time(Teller *t, uint32_t place, const int64_t *zero, uint32_t moment, int64_t from,
                               int64_t until) {
    const Model *m = t->told->model;
    const Place *p = &m->places[place];
    const char *wrong = NULL;
    for (uint32_t k = 0; k < p->n_deadlines && !wrong; k++)
        wrong = demand_waiting(t, &m->deadlines[p->first_deadline + k], zero, moment, from, until);
    for (uint32_t k = 0; k < m->n_ambient_deadlines && !wrong; k++)
        wrong = demand_waiting(t, &m->ambient_deadlines[k], zero, moment, from, until);
    return wrong;
}

static void new_values(Teller *t, uint32_t moment, const Edge *edge) {
    uint32_t n = t->told->model->n_facts;
    memcpy(t->unknown + (size_t)moment * n, t->unknown + (size_t)(moment - 1) * n, n * sizeof *t->unknown);
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        uint32_t values = t->told->model->facts[change->fact].n_values, is = t->n_unknowns++;
        t->domain[is] = change->kind == CHANGE_COUNT ? all_values(values) : change->mask;
        if (change->kind == CHANGE_COUNT)
            demand(t, (Demand){.moment = moment,
                               .first = unknown_of(t, moment - 1, change->fact),
                               .then = is,
                               .n_values = values});
        t->unknown[(size_t)moment * n + change->fact] = is;
    }
}

static const char *read_path(Teller *t) {
    const Told *told = t->told;
    const Model *m = told->model;
    int64_t *zero = calloc(m->n_clocks + 1u, sizeof *zero), now = 0;
    uint32_t place = m->joint;
    const char *wrong = NULL;
    for (uint32_t f = 0; f < m->n_facts; f++) {
        t->unknown[f] = t->n_unknowns;
        t->domain[t->n_unknowns++] = m->initial[f];
    }
    for (uint32_t k = 0; k < told->n && !wrong; k++) {
        const Edge *edge = &m->edges[told->edges[k]];
        wrong = demand_time(t, place, zero, k, now, told->at_ms[k]);
        now = told->at_ms[k];
        if (edge->guard) demand(t, (Demand){.guard = edge->guard, .moment = k});
        new_values(t, k + 1, edge);
        for (uint32_t r = 0; r < edge->n_resets; r++) zero[edge->resets[r]] = now;
        if (edge->to == NO_INDEX) continue;
        place = edge->to;
        if (m->pace_clock != NO_INDEX) zero[m->pace_clock] = now;
    }
    if (!wrong && told->by_time) wrong = demand_time(t, place, zero, told->n, now, told->at_ms[told->n]);
    free(zero);
    return wrong;
}

/* ---- trying the alternatives ---- */
static bool narrow(Teller *t, uint32_t unknown, uint64_t mask) {
    uint64_t kept = t->domain[unknown] & mask;
    if (kept == t->domain[unknown]) return true;
    if (!kept) return false;
    if (t->n_undone == t->cap_undone) {
        t->cap_undone = t->cap_undone ? t->cap_undone * 2 : 256;
        t->undone = realloc(t->undone, t->cap_undone * sizeof *t->undone);
        t->former = realloc(t->former, t->cap_undone * sizeof *t->former);
    }
    t->undone[t->n_undone] = unknown;
    t->former[t->n_undone++] = t->domain[unknown];
    t->domain[unknown] = kept;
    return true;
}

static void undo_to(Teller *t, uint32_t mark) {
    while (t->n_undone > mark) {
        t->n_undone--;
        t->domain[t->undone[t->n_undone]] = t->former[t->n_undone];
    }
}

static void meet(Teller *t, uint32_t k);

static bool narrow_term(Teller *t, const Demand *d, const Term *term) {
    for (uint32_t l = 0; l < term->n; l++)
        if (!narrow(t, unknown_of(t, d->moment, term->literals[l].fact), term->literals[l].mask)) return false;
    return true;
}

/* An alternative that asks for nothing new is all there is to try. */
static void meet_guard(Teller *t, uint32_t k) {
    const Demand *d = &t->demands[k];
    for (int free_only = 1; free_only >= 0; free_only--)
        for (uint32_t i = 0; i < d->guard->n && !t->found; i++) {
            uint32_t mark = t->n_undone;
            bool possible = narrow_term(t, d, &d->guard->terms[i]), free_term = possible && t->n_undone == mark;
            if (possible && free_only == free_term) meet(t, k + 1);
            undo_to(t, mark);
            if (free_only && free_term) return;
        }
}

/* The guard must not hold: of each of its terms one literal fails. */
static void fail_term(Teller *t, uint32_t k, uint32_t term) {
    const Demand *d = &t->demands[k];
    if (term == d->guard->n) {
        meet(t, k + 1);
        return;
    }
    const Term *one = &d->guard->terms[term];
    for (uint32_t l = 0; l < one->n && !t->found; l++) {
        uint32_t mark = t->n_undone;
        if (narrow(t, unknown_of(t, d->moment, one->literals[l].fact), ~one->literals[l].mask))
            fail_term(t, k, term + 1);
        bool asked_nothing = t->n_undone == mark;
        undo_to(t, mark);
        if (asked_nothing && !(t->domain[unknown_of(t, d->moment, one->literals[l].fact)] & one->literals[l].mask))
            return;
    }
}

static void meet_count(Teller *t, uint32_t k) {
    const Demand *d = &t->demands[k];
    for (uint32_t v = 0; v < d->n_values && !t->found; v++) {
        uint32_t mark = t->n_undone, next = v + 1 < d->n_values ? v + 1 : v;
        if (narrow(t, d->first, UINT64_C(1) << v) && narrow(t, d->then, UINT64_C(1) << next)) meet(t, k + 1);
        undo_to(t, mark);
    }
}

/* ---- with values that meet everything: run it ---- */
static uint8_t one_of(Teller *t, uint64_t mask) {
    uint32_t k = throw(t, (uint32_t)__builtin_popcountll(mask));
    while (k--) mask &= mask - 1;
    return (uint8_t)__builtin_ctzll(mask);
}

static const char *run_edges(Teller *t) {
    const Told *told = t->told;
    const char *refused = NULL;
    for (uint32_t k = 0; k < told->n && !refused; k++) {
        const Edge *edge = &told->model->edges[told->edges[k]];
        for (uint32_t c = 0; c < edge->n_changes; c++)
            t->chosen[edge->changes[c].fact] = one_of(t, t->domain[unknown_of(t, k + 1, edge->changes[c].fact)]);
        refused = run_wait(t->run, told->at_ms[k]);
        if (!refused) refused = replay_take(t->run, told->edges[k], t->chosen);
    }
    if (!refused && told->by_time) refused = run_wait(t->run, told->at_ms[told->n]);
    return refused;
}

static void draw(Teller *t) {
    const Told *told = t->told;
    for (uint32_t f = 0; f < told->model->n_facts; f++) t->chosen[f] = one_of(t, t->domain[unknown_of(t, 0, f)]);
    const char *refused = replay_begin(t->run, t->chosen);
    if (!refused) refused = run_edges(t);
    t->draws++;
    if (refused) {
        t->refused = refused;
        return;
    }
    Judgement j = rule_judge(t->run, told->gate);
    if (told->kept) {
        t->found = !j.broken;
        t->refused = "the rule is broken";
        return;
    }
    t->found = j.broken && j.by_time == told->by_time && j.moment == told->n &&
               j.at_ms == told->at_ms[told->by_time ? told->n : told->n - 1];
    t->earlier |= j.broken && j.moment < told->n;
    if (!t->found) t->refused = j.broken ? "the rule is broken, but not where it is told" : "the rule is kept";
}

static void meet(Teller *t, uint32_t k) {
    if (t->found || t->tries > TRIES_MOST || t->draws > DRAWS_MOST) return;
    t->tries++;
    if (k == t->n_demands) {
        for (uint32_t n = 0; n < DRAWS_EACH && !t->found; n++) draw(t);
        return;
    }
    const Demand *d = &t->demands[k];
    if (!d->guard) meet_count(t, k);
    else if (d->fails) fail_term(t, k, 0);
    else meet_guard(t, k);
}

const char *retell(const Told *told, uint64_t seed, bool *earlier) {
    uint32_t n_facts = told->model->n_facts;
    Teller t = {.told = told, .seed = seed};
    size_t n_unknowns = n_facts + 1u;
    for (uint32_t k = 0; k < told->n; k++) n_unknowns += told->model->edges[told->edges[k]].n_changes;
    t.domain = calloc(n_unknowns, sizeof *t.domain);
    t.unknown = calloc((size_t)(told->n + 1) * n_facts + 1u, sizeof *t.unknown);
    t.chosen = calloc(n_facts + 1u, 1);
    t.run = run_new(told->model, told->n);
    const char *wrong = read_path(&t);
    if (!wrong) {
        meet(&t, 0);
        if (!t.found) wrong = t.refused ? t.refused : "no values are possible along the path";
    }
    *earlier = wrong && t.earlier;
    run_free(t.run);
    free(t.domain);
    free(t.unknown);
    free(t.chosen);
    free(t.demands);
    free(t.undone);
    free(t.former);
    return wrong;
}
