#include "check/frame.h"
#include <string.h>

uint64_t fact_full(const Fact *fact) {
    return fact->n_values >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << fact->n_values) - 1;
}

/* ---- edges by place ---- */
static bool scope_holds(const Scope *scope, uint32_t place, const Place *p) {
    if (place < scope->lo || place >= scope->hi) return false;
    if (place >= scope->but_lo && place < scope->but_hi) return false;
    return !(scope->skip_own && p->own_engine_edges);
}

static int64_t longest_wait(const Edge *edge) {
    int64_t most = 0;
    for (uint32_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].least_ms > most) most = edge->bounds[b].least_ms;
    return most;
}

/* Edges that need no wait first: of paths with as many steps the one told is then the quickest. */
static void sort_by_wait(const Model *m, uint32_t *out, uint32_t n) {
    for (uint32_t i = 1; i < n; i++)
        for (uint32_t k = i; k > 0 && longest_wait(&m->edges[out[k]]) < longest_wait(&m->edges[out[k - 1]]); k--) {
            uint32_t other = out[k];
            out[k] = out[k - 1];
            out[k - 1] = other;
        }
}

/* How many ambient edges leave each place, then which: each scope is gone through, not each pair of place and edge. */
static void ambient_edges(const Model *m, uint32_t *n_at, uint32_t *out) {
    for (uint32_t e = m->first_ambient; e < m->n_edges; e++) {
        const Scope *scope = &m->scopes[m->edges[e].scope];
        for (uint32_t p = scope->lo; p < scope->hi && p < m->n_places; p++) {
            if (!scope_holds(scope, p, &m->places[p])) continue;
            if (out) out[n_at[p]] = e;
            n_at[p]++;
        }
    }
}

static void list_edges(Frame *f) {
    const Model *m = f->model;
    uint32_t *at = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u), n = 0;
    f->out_first = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u);
    ambient_edges(m, at, NULL);
    for (uint32_t p = 0; p < m->n_places; p++) {
        f->out_first[p] = n;
        n += m->places[p].n_edges + at[p];
        at[p] = f->out_first[p] + m->places[p].n_edges;
    }
    f->out_first[m->n_places] = n;
    f->out = ARENA_ARRAY(f->arena, uint32_t, n + 1u);
    for (uint32_t p = 0; p < m->n_places; p++) {
        uint32_t *own = f->out + f->out_first[p];
        for (uint32_t k = 0; k < m->places[p].n_edges; k++) own[k] = m->places[p].first_edge + k;
        sort_by_wait(m, own, m->places[p].n_edges);
    }
    ambient_edges(m, at, f->out);
}

static void list_deadlines(Frame *f, bool everywhere) {
    const Model *m = f->model;
    uint32_t n_ambient = everywhere ? m->n_ambient_deadlines : 0;
    size_t most = m->n_deadlines + (size_t)m->n_places * n_ambient;
    f->due_first = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u);
    f->due = ARENA_ARRAY(f->arena, const Deadline *, most + 1);
    uint32_t n = 0;
    for (uint32_t p = 0; p < m->n_places; p++) {
        f->due_first[p] = n;
        for (uint32_t k = 0; k < m->places[p].n_deadlines; k++)
            f->due[n++] = &m->deadlines[m->places[p].first_deadline + k];
        for (uint32_t k = 0; k < n_ambient; k++) f->due[n++] = &m->ambient_deadlines[k];
    }
    f->due_first[m->n_places] = n;
}

/* ---- how far each clock is still tested ---- */
static void raise(Frame *f, int32_t *at, int64_t ms) {
    if (ms > ZONE_LONGEST) {
        f->too_large = true;
        ms = ZONE_LONGEST;
    }
    if (*at < (int32_t)ms) *at = (int32_t)ms;
}

static bool same_guard(const Guard *a, const Guard *b) {
    if (!a || !b) return a == b;
    if (a->n != b->n) return false;
    for (uint32_t t = 0; t < a->n; t++) {
        if (a->terms[t].n != b->terms[t].n) return false;
        for (uint32_t k = 0; k < a->terms[t].n; k++) {
            const Literal *x = &a->terms[t].literals[k], *y = &b->terms[t].literals[k];
            if (x->fact != y->fact || x->mask != y->mask) return false;
        }
    }
    return true;
}

static uint32_t least_times(const Edge *edge) {
    uint32_t n = 0;
    for (uint32_t b = 0; b < edge->n_bounds; b++) n += edge->bounds[b].least_ms >= 0;
    return n;
}

/* Of the pilot's acts here that ask for the same, the one that waits for least: the others part from it by what a clock shows, and
   together they leave no reading out. */
static bool waits_least(const Model *m, const Place *place, uint32_t at) {
    const Edge *edge = &m->edges[place->first_edge + at];
    for (uint32_t k = 0; k < place->n_edges; k++) {
        const Edge *other = &m->edges[place->first_edge + k];
        if (k == at || other->actor != ACTOR_PILOT || !same_guard(other->guard, edge->guard)) continue;
        uint32_t theirs = least_times(other), own = least_times(edge);
        if (theirs < own || (theirs == own && k < at)) return false;
    }
    return true;
}

static void pace_bounds(Frame *f, uint32_t e) {
    const Edge *edge = &f->model->edges[e];
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        int64_t least = edge->bounds[b].least_ms;
        if (least < 0) continue;
        PaceBound bound = {e, edge->bounds[b].clock, (int32_t)(least > ZONE_LONGEST ? ZONE_LONGEST : least)};
        vec_push(f->arena, &f->pace_bounds, bound);
    }
}

/* When the pilot's acts at this place become possible. Which of those that ask for something are open is not known here: they are asked at
   each situation, unless there is one that asks for nothing. */
static PaceRule pace_rule(Frame *f, uint32_t p) {
    const Model *m = f->model;
    const Place *place = &m->places[p];
    PaceRule rule = {place->pilots_act, (uint32_t)f->pace_bounds.n, 0, (int32_t)m->tail->pace_ms};
    bool always = false;
    for (uint32_t k = 0; k < place->n_edges; k++)
        always |= m->edges[place->first_edge + k].actor == ACTOR_PILOT && !m->edges[place->first_edge + k].guard;
    for (uint32_t k = 0; k < place->n_edges; k++) {
        const Edge *edge = &m->edges[place->first_edge + k];
        if (edge->actor != ACTOR_PILOT || (always && edge->guard) || !waits_least(m, place, k)) continue;
        pace_bounds(f, place->first_edge + k);
    }
    rule.n = (uint32_t)f->pace_bounds.n - rule.first;
    return rule;
}

static void make_paces(Frame *f) {
    f->pace_clock = f->model->pace_clock;
    f->paces = ARENA_ARRAY(f->arena, PaceRule, f->model->n_places + 1u);
    for (uint32_t p = 0; p < f->model->n_places; p++) f->paces[p] = pace_rule(f, p);
}

static void pace_tests(Frame *f, uint32_t p, int32_t *lower, int32_t *upper) {
    const PaceRule *pace = &f->paces[p];
    if (!pace->holds) return;
    raise(f, &lower[f->pace_clock], pace->ms);
    raise(f, &upper[f->pace_clock], pace->ms);
    for (uint32_t k = 0; k < pace->n; k++) {
        const PaceBound *bound = &f->pace_bounds.at[pace->first + k];
        raise(f, &lower[bound->clock], (int64_t)bound->least + pace->ms);
        raise(f, &upper[bound->clock], (int64_t)bound->least + pace->ms);
    }
}

static void own_tests(Frame *f, uint32_t p, int32_t *lower, int32_t *upper) {
    const Model *m = f->model;
    if (f->paces) pace_tests(f, p, lower, upper);
    for (uint32_t k = f->due_first[p]; k < f->due_first[p + 1]; k++) {
        raise(f, &lower[f->due[k]->clock], f->due[k]->ms);
        raise(f, &upper[f->due[k]->clock], f->due[k]->ms);
    }
    for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++) {
        const Edge *edge = &m->edges[f->out[k]];
        for (uint32_t b = 0; b < edge->n_bounds; b++) {
            const Bound *bound = &edge->bounds[b];
            if (bound->least_ms >= 0) raise(f, &lower[bound->clock], bound->least_ms);
            if (bound->most_ms >= 0) raise(f, &upper[bound->clock], bound->most_ms);
        }
    }
}

/* ---- going backwards until nothing changes ---- */
/* Rounds over all places, the last first; a place asks only those that changed in this round or the one before. */
typedef struct {
    uint32_t *changed; /* by place: the round in which it last changed */
    uint32_t round;
} Rounds;

static Rounds rounds_begin(Arena *arena, const Model *m) {
    return (Rounds){ARENA_ARRAY(arena, uint32_t, m->n_places + 1u), 1};
}

static bool rounds_asks(const Rounds *rounds, uint32_t place) {
    return rounds->changed[place] + 1 >= rounds->round;
}

static bool join_tests(const Frame *f, int32_t *to, const int32_t *from, const Edge *edge, uint32_t n) {
    bool changed = false;
    for (uint32_t c = 0; c < n; c++) {
        if (from[c] <= to[c] || frame_clears(f, edge, c)) continue;
        to[c] = from[c];
        changed = true;
    }
    return changed;
}

static bool pull_tests(Frame *f, const Rounds *rounds, uint32_t p) {
    const Model *m = f->model;
    uint32_t n = m->n_clocks;
    bool changed = false;
    for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++) {
        const Edge *edge = &m->edges[f->out[k]];
        if (edge->to == NO_INDEX || edge->to == p || !rounds_asks(rounds, edge->to)) continue;
        size_t here = (size_t)p * n, there = (size_t)edge->to * n;
        changed |= join_tests(f, f->lower + here, f->lower + there, edge, n);
        changed |= join_tests(f, f->upper + here, f->upper + there, edge, n);
    }
    return changed;
}

static void list_clocks(Frame *f) {
    const Model *m = f->model;
    f->clocks_first = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u);
    size_t total = 0;
    for (size_t k = 0; k < (size_t)m->n_places * m->n_clocks; k++) total += f->lower[k] >= 0 || f->upper[k] >= 0;
    if (m->n_clocks > UINT16_MAX || total > UINT32_MAX) f->too_large = true;
    f->clocks = ARENA_ARRAY(f->arena, uint16_t, total + 1);
    uint32_t n = 0;
    for (uint32_t p = 0; p < m->n_places && !f->too_large; p++) {
        uint32_t first = n;
        f->clocks_first[p] = n;
        for (uint32_t c = 0; c < m->n_clocks; c++) {
            size_t at = (size_t)p * m->n_clocks + c;
            if (f->lower[at] >= 0 || f->upper[at] >= 0) f->clocks[n++] = (uint16_t)c;
        }
        if (n - first > ZONE_MAX - 4) f->too_large = true;
    }
    f->clocks_first[m->n_places] = n;
}

static void bound_clocks(Frame *f) {
    const Model *m = f->model;
    size_t n = (size_t)m->n_places * m->n_clocks;
    f->lower = ARENA_ARRAY(f->arena, int32_t, n + 1);
    f->upper = ARENA_ARRAY(f->arena, int32_t, n + 1);
    memset(f->lower, 0xff, n * sizeof *f->lower);
    memset(f->upper, 0xff, n * sizeof *f->upper);
    for (uint32_t p = 0; p < m->n_places; p++)
        own_tests(f, p, f->lower + (size_t)p * m->n_clocks, f->upper + (size_t)p * m->n_clocks);
    Rounds rounds = rounds_begin(f->arena, m);
    for (bool changed = true; changed; rounds.round++) {
        changed = false;
        for (uint32_t p = m->n_places; p-- > 0;) {
            if (!pull_tests(f, &rounds, p)) continue;
            rounds.changed[p] = rounds.round;
            changed = true;
        }
    }
    list_clocks(f);
}

/* ---- where each fact is still read ---- */
static void guard_facts(const Guard *guard, uint64_t *set) {
    for (uint32_t t = 0; guard && t < guard->n; t++)
        for (uint32_t l = 0; l < guard->terms[t].n; l++) fact_put(set, guard->terms[t].literals[l].fact);
}

/* An edge that sets a fact outright ends the interest in what it was before. */
static void kill_facts(const Edge *edge, uint64_t *set) {
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        uint32_t fact = edge->changes[c].fact;
        if (edge->changes[c].kind == CHANGE_TO) set[fact / 64] &= ~(UINT64_C(1) << (fact % 64));
    }
}

static bool pull_facts(Frame *f, const Rounds *rounds, uint32_t p, uint64_t *scratch) {
    const Model *m = f->model;
    uint64_t *here = f->live + (size_t)p * f->fact_words;
    bool changed = false;
    for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++) {
        const Edge *edge = &m->edges[f->out[k]];
        if (edge->to == NO_INDEX || edge->to == p || !rounds_asks(rounds, edge->to)) continue;
        memcpy(scratch, f->live + (size_t)edge->to * f->fact_words, f->fact_words * sizeof *scratch);
        kill_facts(edge, scratch);
        for (uint32_t w = 0; w < f->fact_words; w++) {
            if (!(scratch[w] & ~here[w])) continue;
            here[w] |= scratch[w];
            changed = true;
        }
    }
    return changed;
}

static void follow_facts(Frame *f) {
    const Model *m = f->model;
    f->fact_words = m->n_facts / 64 + 1;
    f->live = ARENA_ARRAY(f->arena, uint64_t, (size_t)m->n_places * f->fact_words);
    f->read = ARENA_ARRAY(f->arena, uint64_t, f->fact_words);
    uint64_t *scratch = ARENA_ARRAY(f->arena, uint64_t, f->fact_words);
    for (uint32_t p = 0; p < m->n_places; p++) {
        uint64_t *here = f->live + (size_t)p * f->fact_words;
        for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++) guard_facts(m->edges[f->out[k]].guard, here);
        for (uint32_t k = f->due_first[p]; k < f->due_first[p + 1]; k++) guard_facts(f->due[k]->when, here);
        if (f->paces && f->paces[p].holds) guard_facts(m->places[p].pace_when, here);
        for (uint32_t w = 0; w < f->fact_words; w++) f->read[w] |= here[w];
    }
    Rounds rounds = rounds_begin(f->arena, m);
    for (bool changed = true; changed; rounds.round++) {
        changed = false;
        for (uint32_t p = m->n_places; p-- > 0;) {
            if (!pull_facts(f, &rounds, p, scratch)) continue;
            rounds.changed[p] = rounds.round;
            changed = true;
        }
    }
}

Frame *frame_edges(Arena *arena, const Model *model, bool coasting) {
    Frame *f = ARENA_NEW(arena, Frame);
    f->model = model;
    f->arena = arena;
    f->pace_clock = NO_INDEX;
    list_edges(f);
    list_deadlines(f, !coasting);
    return f;
}

static void keep_edges(Frame *f, const uint64_t *keep) {
    uint32_t n_places = f->model->n_places, n = 0;
    const uint32_t *first = f->out_first, *out = f->out;
    f->out_first = ARENA_ARRAY(f->arena, uint32_t, n_places + 1u);
    f->out = ARENA_ARRAY(f->arena, uint32_t, first[n_places] + 1u);
    for (uint32_t p = 0; p < n_places; p++) {
        f->out_first[p] = n;
        for (uint32_t k = first[p]; k < first[p + 1]; k++)
            if (keep[k / 64] >> (k % 64) & 1) f->out[n++] = out[k];
    }
    f->out_first[n_places] = n;
}

Frame *frame_make(Arena *arena, const Frame *edges, const uint64_t *keep, bool with_pace) {
    Frame *f = ARENA_NEW(arena, Frame);
    const Model *m = edges->model;
    *f = *edges;
    f->arena = arena;
    if (keep) keep_edges(f, keep);
    if (with_pace && m->tail->pace_ms > 0 && m->pace_clock != NO_INDEX) make_paces(f);
    bound_clocks(f);
    follow_facts(f);
    return f;
}

static void forget_time(Frame *f) {
    const Model *m = f->model;
    f->due_first = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u);
    f->clocks_first = ARENA_ARRAY(f->arena, uint32_t, m->n_places + 1u);
}

static void forget_facts(Frame *f) {
    f->live = ARENA_ARRAY(f->arena, uint64_t, (size_t)f->model->n_places * f->fact_words);
    f->read = ARENA_ARRAY(f->arena, uint64_t, f->fact_words);
}

static int32_t *few_tests(const Frame *f, const int32_t *from) {
    size_t n_clocks = f->model->n_clocks, n = f->model->n_places * n_clocks;
    int32_t *tests = arena_copy(f->arena, from, (n + 1) * sizeof *tests);
    for (size_t k = 0; k < n; k++)
        if (!fact_in(f->few, (uint32_t)(k % n_clocks))) tests[k] = -1;
    return tests;
}

Frame *frame_few(Arena *arena, const Frame *exact, const uint64_t *clocks) {
    Frame *f = ARENA_NEW(arena, Frame);
    *f = *exact;
    f->arena = arena;
    f->few = clocks;
    f->lower = few_tests(f, exact->lower);
    f->upper = few_tests(f, exact->upper);
    list_clocks(f);
    return f;
}

Frame *frame_wider(Arena *arena, const Frame *exact, bool timed, bool read) {
    Frame *f = ARENA_NEW(arena, Frame);
    *f = *exact;
    f->arena = arena;
    f->untimed = !timed;
    f->unread = !read;
    if (!timed) forget_time(f);
    if (!read) forget_facts(f);
    return f;
}
