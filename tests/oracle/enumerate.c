#include "enumerate.h"
#include <stdlib.h>
#include <string.h>

enum { CAP = ORACLE_TIME + 2, MEMORY = 8, STATES_MOST = 50000 };

typedef struct {
    uint16_t place;
    uint8_t fact[ORACLE_FACTS], clock[ORACLE_CLOCKS];
    uint8_t memory[MEMORY]; /* of the rule: see each judge below */
} State;

typedef struct {
    const Model *m;
    const GateInstance *g;
    State *states;
    size_t n;
    uint32_t *table;
    size_t table_size;
    bool broken, too_large;
} World;

/* One edge taken: what was and what is. */
typedef struct {
    const World *w;
    const Edge *edge;
    const State *before;
    State *after;
    bool bad;
} Act;

/* ---- conditions ---- */
static bool holds(const Test *t, const State *s) {
    if (!t) return true;
    bool any = false, all = true;
    for (const Test *part = t->parts; part; part = part->next) {
        bool one = holds(part, s);
        any |= one;
        all &= one;
    }
    if (t->kind == TEST_TRUE) return true;
    if (t->kind == TEST_FALSE) return false;
    if (t->kind == TEST_FACT) return t->mask >> s->fact[t->fact] & 1;
    if (t->kind == TEST_AND) return all;
    if (t->kind == TEST_OR) return any;
    if (t->kind == TEST_NOT) return !holds(t->parts, s);
    abort();
}

static bool allows(const Guard *guard, const State *s) {
    if (!guard) return true;
    for (uint32_t t = 0; t < guard->n; t++) {
        bool all = true;
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            all &= guard->terms[t].literals[l].mask >> s->fact[guard->terms[t].literals[l].fact] & 1;
        if (all) return true;
    }
    return false;
}

/* ---- where a rule is in force ---- */
static Name drill_name(const World *w, uint32_t place) {
    const Place *p = &w->m->places[place];
    return p->procedure == NO_INDEX || p->drill == NO_INDEX ? 0 : w->m->tail->drills[p->drill].name;
}

static Name home_name(const World *w, uint32_t place) {
    const Place *p = &w->m->places[place];
    if (p->procedure == NO_INDEX) return 0;
    return p->drill == NO_INDEX ? w->m->tail->procedures[p->procedure].name : drill_name(w, place);
}

static bool listed(const World *w, uint32_t place, const Name *names, uint32_t n, bool any_drill) {
    if (any_drill && drill_name(w, place)) return true;
    for (uint32_t k = 0; k < n; k++)
        if (names[k] == home_name(w, place)) return true;
    return false;
}

static bool excepted(const World *w, uint32_t place) {
    return listed(w, place, w->g->except, w->g->n_except, w->g->except_any_drill);
}

static bool within(const World *w, uint32_t place) {
    if (!w->g->n_within && !w->g->within_any_drill) return true;
    return listed(w, place, w->g->within, w->g->n_within, w->g->within_any_drill);
}

static bool is_joint(const World *w, uint32_t place) {
    return w->m->places[place].kind == PLACE_JOINT;
}

static bool judged(const World *w, uint32_t place) {
    return within(w, place) && !excepted(w, place) && !is_joint(w, place);
}

/* ---- events ---- */
static bool changes(const Edge *edge, uint32_t fact) {
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].fact == fact) return true;
    return false;
}

static bool marked(const Act *a, const Trigger *t, uint32_t *strokes) {
    bool any = false;
    for (uint32_t k = 0; k < a->edge->n_marks; k++) {
        const Mark *mark = &a->edge->marks[k];
        if (mark->kind != t->kind) continue;
        bool one = false;
        if (t->kind == ON_CALL || t->kind == ON_BRIEF) one = mark->thing == t->thing;
        else if (t->kind == ON_ENTER) one = mark->name == t->name;
        else if (t->kind == ON_SET) one = mark->fact == t->fact && mark->mask & t->mask;
        else if (t->kind == ON_SEEN || t->kind == ON_LOOK)
            one = mark->fact == t->fact && mark->mask & t->mask & (UINT64_C(1) << a->after->fact[t->fact]);
        else if (t->kind == ON_LABEL || t->kind == ON_TURN) one = mark->fact == t->fact;
        if (one && t->kind == ON_SET) *strokes += mark->count;
        any |= one;
    }
    return any;
}

static bool fires_one(const Act *a, const Trigger *t, uint32_t *strokes) {
    if (t->kind != ON_BECOMES && t->kind != ON_LEAVES) return marked(a, t, strokes);
    if (a->edge->kind == EDGE_BEGIN || !changes(a->edge, t->fact)) return false;
    if (a->edge->kind == EDGE_JOIN && a->w->m->facts[t->fact].kind != FACT_ENGINE) return false;
    bool was = t->mask >> a->before->fact[t->fact] & 1, is = t->mask >> a->after->fact[t->fact] & 1;
    return t->kind == ON_BECOMES ? !was && is : was && !is;
}

static bool happens(const Act *a, const Trigger *list) {
    uint32_t strokes = 0;
    for (const Trigger *t = list; t; t = t->next)
        if (fires_one(a, t, &strokes)) return true;
    return false;
}

/* An event that counts only where the rule is in force: on edges out of its places, and as the entry into one of them. */
static uint32_t happens_in(const Act *a, const Trigger *list) {
    uint32_t from = a->before->place, to = a->after->place, strokes = 0;
    bool inside = within(a->w, from) && !excepted(a->w, from), any = false;
    bool enters = within(a->w, to) && !excepted(a->w, from);
    for (const Trigger *t = list; t; t = t->next) {
        if (!inside && !(enters && t->kind == ON_ENTER)) continue;
        any |= fires_one(a, t, &strokes);
    }
    return any ? (strokes ? strokes : 1) : 0;
}

/* ---- times ---- */
static uint8_t chosen_time(const GateInstance *g, const State *s) {
    for (uint32_t k = 0; k < g->time.n; k++)
        if (g->time.n == 1 || holds(g->time.cases[k].when, s)) return (uint8_t)k;
    abort();
}

static int64_t time_of(const GateInstance *g, uint8_t chosen) {
    return g->time.cases[chosen].ms;
}

/* ---- judges: memory[0] is what is pending, memory[1] its age where it has one ---- */
static void begin_time(Act *a) {
    a->after->memory[0] = (uint8_t)(1 + chosen_time(a->w->g, a->after));
    a->after->memory[1] = 0;
}

static void forget_if_excepted(Act *a) {
    if (excepted(a->w, a->after->place)) a->after->memory[0] = a->after->memory[1] = 0;
}

static void judge_response(Act *a) {
    uint8_t *memory = a->after->memory;
    if (happens(a, a->w->g->events)) memory[0] = memory[1] = 0;
    if (happens_in(a, a->w->g->trigger) && !memory[0]) begin_time(a);
    forget_if_excepted(a);
}

static void judge_never(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    if (memory[0] && happens_in(a, g->events)) {
        if (!g->time.n || memory[1] < time_of(g, (uint8_t)(memory[0] - 1))) a->bad = true;
        memory[0] = memory[1] = 0;
    }
    if (happens_in(a, g->trigger)) {
        if (g->time.n) begin_time(a);
        else memory[0] = 1;
    }
    forget_if_excepted(a);
}

static void judge_order(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    if (memory[0] && happens(a, g->before)) a->bad = true;
    if (happens(a, g->events)) memory[0] = 0;
    if (happens_in(a, g->trigger)) memory[0] = 1;
    forget_if_excepted(a);
}

static void judge_until(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    if (happens(a, g->since)) memory[0] = 0;
    if (happens_in(a, g->trigger)) memory[0] = 1;
    forget_if_excepted(a);
    if (memory[0] && judged(a->w, a->after->place) && !holds(g->cond, a->after)) a->bad = true;
}

static void judge_lasts(Act *a) {
    uint8_t *memory = a->after->memory;
    if (!judged(a->w, a->after->place) || !holds(a->w->g->state, a->after)) memory[0] = memory[1] = 0;
    else if (!memory[0]) begin_time(a);
}

static void judge_end(Act *a) {
    const GateInstance *g = a->w->g;
    const Place *p = &a->w->m->places[a->after->place];
    if (a->before->place == a->after->place || p->kind != PLACE_END) return;
    if (!within(a->w, a->after->place) || excepted(a->w, a->after->place)) return;
    bool meant = g->rule == RULE_EVERY_END && !g->n_ends;
    for (uint32_t k = 0; k < g->n_ends && g->rule == RULE_EVERY_END; k++) meant |= g->ends[k] == p->outcome;
    if (g->rule == RULE_END_OF)
        meant = g->end_any_drill ? p->drill != NO_INDEX : home_name(a->w, a->after->place) == g->end_drill;
    if (meant && !holds(g->cond, a->after)) a->bad = true;
}

/* memory[0]: how often since; memory[1]: how long the rest has been */
static void judge_since(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    if (a->edge->kind == EDGE_BEGIN) memory[0] = 0;
    uint32_t n = memory[0] + happens_in(a, g->events);
    if (n > g->count) a->bad = true;
    memory[0] = happens(a, g->since) ? 0 : (uint8_t)n;
}

static bool engaged(const World *w, const State *s) {
    for (const Trigger *t = w->g->events; t; t = t->next)
        if (t->kind == ON_BECOMES || t->kind == ON_SET)
            return !is_joint(w, s->place) && t->mask >> s->fact[t->fact] & 1;
    return false;
}

static void judge_rest(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    bool was = engaged(a->w, a->before);
    uint32_t n = happens_in(a, g->events);
    if (n) {
        bool rested = memory[0] && !was && memory[1] >= time_of(g, 0);
        uint32_t now = rested ? n : memory[0] + n;
        if (now > g->count) a->bad = true;
        memory[0] = (uint8_t)now;
    }
    if (n || was) memory[1] = 0;
    if (!memory[0]) memory[1] = 0;
}

/* memory: the ages of those that lie within the time, each plus one; 0: none */
static void judge_window(Act *a) {
    const GateInstance *g = a->w->g;
    uint32_t n = happens_in(a, g->events), have = 0;
    if (!n) return;
    for (uint32_t k = 0; k < MEMORY; k++) have += a->after->memory[k] && a->after->memory[k] - 1 <= time_of(g, 0);
    if (have + n > g->count) {
        a->bad = true;
        return;
    }
    uint8_t kept[MEMORY] = {0};
    uint32_t at = 0;
    for (uint32_t k = 0; k < MEMORY; k++)
        if (a->after->memory[k] && a->after->memory[k] - 1 <= time_of(g, 0)) kept[at++] = a->after->memory[k];
    while (n--) kept[at++] = 1;
    memcpy(a->after->memory, kept, sizeof kept);
}

/* memory[0]: steps done; memory[1]: since the last of them; memory[2]: judged already (before the first) */
static void judge_chain(Act *a) {
    const GateInstance *g = a->w->g;
    uint8_t *memory = a->after->memory;
    const Trigger *steps[8];
    int64_t lo[9], hi[9];
    uint32_t k = 0;
    for (uint32_t i = 0; i < 9; i++) lo[i] = hi[i] = -1;
    for (uint32_t i = 0; i < g->n_steps; i++) {
        if (g->steps[i].event) steps[k++] = g->steps[i].event;
        else lo[k] = g->steps[i].least_ms < 0 ? 0 : g->steps[i].least_ms, hi[k] = g->steps[i].most_ms;
    }
    bool begins = a->edge->kind == EDGE_BEGIN;
    if (begins) memory[0] = memory[1] = memory[2] = 0;
    if (happens_in(a, g->trigger) && !memory[2]) {
        if (memory[0] < k) a->bad = true;
        else if (lo[k] >= 0 && (memory[1] < lo[k] || (hi[k] >= 0 && memory[1] > hi[k]))) a->bad = true;
        if (g->rule == RULE_BEFORE_FIRST) {
            memory[0] = memory[1] = 0;
            memory[2] = !happens(a, g->since);
            return;
        }
    }
    if (begins || happens(a, g->since)) memory[0] = memory[1] = memory[2] = 0;
    else if (!memory[2]) {
        uint8_t done = memory[0];
        bool timely = lo[done] < 0 || (memory[1] >= lo[done] && (hi[done] < 0 || memory[1] <= hi[done]));
        if (done < k && happens(a, steps[done])) {
            if (timely) memory[0]++, memory[1] = 0;
        } else if (done && happens(a, steps[done - 1])) memory[1] = 0;
    }
}

/* memory[0]: engagements since the long rest; [1]: since the engagement or its release; [2]: engaged, exempt; [3]: the line */
static int64_t owed_rest(const DutyLine *line, uint32_t count, bool *never) {
    bool series_over = line->n_series > 1 && !line->tries && count >= line->n_series && line->long_rest_ms;
    *never = false;
    if ((line->tries && count >= line->tries) || series_over) {
        *never = !line->long_rest_ms;
        return line->long_rest_ms;
    }
    return line->rest_ms[count < line->n_series ? count - 1 : line->n_series - 1];
}

static uint8_t duty_line(const Duty *duty, const State *s) {
    for (uint32_t k = 0; k < duty->n_lines; k++)
        if (holds(duty->lines[k].when, s)) return (uint8_t)k;
    abort();
}

static void duty_engages(Act *a, const Duty *duty) {
    uint8_t *memory = a->after->memory;
    const DutyLine *line = &duty->lines[memory[3]];
    bool never = false;
    if (memory[0] && !(line->long_rest_ms && memory[1] >= line->long_rest_ms)) {
        int64_t owed = owed_rest(line, memory[0], &never);
        if (!a->edge->over_duty && (never || memory[1] < owed)) a->bad = true;
        if (memory[0] < 20) memory[0]++;
    } else memory[0] = 1;
    memory[1] = 0;
    memory[2] = (uint8_t)(1 | (a->edge->over_duty ? 2 : 0));
    memory[3] = duty_line(duty, a->after);
}

static void judge_duty(Act *a) {
    const Duty *duty = &a->w->m->tail->duties[a->w->g->duty];
    uint8_t *memory = a->after->memory;
    Trigger on = {.kind = ON_BECOMES, .fact = duty->fact, .mask = duty->engaged}, off = on;
    off.kind = ON_LEAVES;
    if (happens_in(a, &on) && !(memory[2] & 1)) duty_engages(a, duty);
    else if (happens(a, &off) && memory[2] & 1) memory[2] = memory[1] = 0;
    else if (memory[2] & 1 && a->edge->over_duty) memory[2] |= 2;
}

static void judge(Act *a) {
    const GateInstance *g = a->w->g;
    switch (g->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: judge_chain(a); return;
    case RULE_RESPONSE: judge_response(a); return;
    case RULE_NEVER_AFTER: judge_never(a); return;
    case RULE_ORDER: judge_order(a); return;
    case RULE_AT_EACH:
        if (happens_in(a, g->trigger) && !holds(g->cond, a->before)) a->bad = true;
        return;
    case RULE_FROM_UNTIL: judge_until(a); return;
    case RULE_WHILE:
        if (judged(a->w, a->after->place) && holds(g->state, a->after) && !holds(g->cond, a->after)) a->bad = true;
        return;
    case RULE_LASTS: judge_lasts(a); return;
    case RULE_AT_MOST_SINCE: judge_since(a); return;
    case RULE_AT_MOST_REST: judge_rest(a); return;
    case RULE_WINDOW: judge_window(a); return;
    case RULE_EVERY_END:
    case RULE_END_OF: judge_end(a); return;
    case RULE_DUTY: judge_duty(a); return;
    case RULE_CAN_REACH:
    case RULE_CASES: abort();
    }
}

/* Time went on by a tick: is something overdue? */
static bool overdue(const World *w, const State *s) {
    const GateInstance *g = w->g;
    if (g->rule == RULE_RESPONSE || g->rule == RULE_LASTS)
        return s->memory[0] && s->memory[1] > time_of(g, (uint8_t)(s->memory[0] - 1));
    if (g->rule != RULE_DUTY || s->memory[2] != 1) return false;
    const DutyLine *line = &w->m->tail->duties[g->duty].lines[s->memory[3]];
    int64_t on = line->on_ms[s->memory[0] < line->n_series ? s->memory[0] - 1u : line->n_series - 1];
    return on && s->memory[1] > on;
}

/* ---- going through all states ---- */
static void add_state(World *w, const State *s) {
    uint64_t h = 1469598103934665603u;
    const uint8_t *bytes = (const uint8_t *)s;
    for (size_t k = 0; k < sizeof *s; k++) h = (h ^ bytes[k]) * 1099511628211u;
    size_t at = (size_t)(h ^ h >> 31) % w->table_size;
    for (; w->table[at]; at = (at + 1) % w->table_size)
        if (!memcmp(&w->states[w->table[at] - 1], s, sizeof *s)) return;
    if (w->n == STATES_MOST) {
        w->too_large = true;
        return;
    }
    w->states[w->n] = *s;
    w->table[at] = (uint32_t)++w->n;
}

static void take(World *w, const State *s, const Edge *edge, uint32_t change, State after) {
    if (change < edge->n_changes) {
        const Change *c = &edge->changes[change];
        uint32_t n = w->m->facts[c->fact].n_values;
        if (c->kind == CHANGE_COUNT) {
            if (after.fact[c->fact] + 1u < n) after.fact[c->fact]++;
            take(w, s, edge, change + 1, after);
            return;
        }
        for (uint32_t v = 0; v < n; v++) {
            if (!(c->mask >> v & 1)) continue;
            after.fact[c->fact] = (uint8_t)v;
            take(w, s, edge, change + 1, after);
        }
        return;
    }
    if (edge->to != NO_INDEX) after.place = (uint16_t)edge->to;
    for (uint32_t r = 0; r < edge->n_resets; r++) after.clock[edge->resets[r]] = 0;
    Act act = {w, edge, s, &after, false};
    judge(&act);
    w->broken |= act.bad;
    add_state(w, &after);
}

static bool in_bounds(const Edge *edge, const State *s) {
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        int64_t now = s->clock[edge->bounds[b].clock];
        if (edge->bounds[b].least_ms >= 0 && now < edge->bounds[b].least_ms) return false;
        if (edge->bounds[b].most_ms >= 0 && now > edge->bounds[b].most_ms) return false;
    }
    return true;
}

static bool leaves_from(const World *w, const Edge *edge, uint32_t place) {
    if (edge->from != NO_INDEX) return edge->from == place;
    const Scope *scope = &w->m->scopes[edge->scope];
    bool in = place >= scope->lo && place < scope->hi, out = place >= scope->but_lo && place < scope->but_hi;
    return in && !out && !(scope->skip_own && w->m->places[place].own_engine_edges);
}

static bool stopped_by(const Deadline *due, const State *s) {
    return allows(due->when, s) && s->clock[due->clock] >= due->ms;
}

static void tick(World *w, const State *s) {
    const Place *p = &w->m->places[s->place];
    for (uint32_t k = 0; k < p->n_deadlines; k++)
        if (stopped_by(&w->m->deadlines[p->first_deadline + k], s)) return;
    for (uint32_t k = 0; k < w->m->n_ambient_deadlines; k++)
        if (stopped_by(&w->m->ambient_deadlines[k], s)) return;
    State after = *s;
    for (uint32_t c = 0; c < w->m->n_clocks; c++)
        if (after.clock[c] < CAP) after.clock[c]++;
    if (w->g->rule == RULE_WINDOW) {
        for (uint32_t k = 0; k < MEMORY; k++) {
            if (!after.memory[k]) continue;
            if (++after.memory[k] - 1 > time_of(w->g, 0)) after.memory[k] = 0;
        }
    } else if (after.memory[1] < CAP &&
               (after.memory[0] || w->g->rule == RULE_BEFORE_EACH || w->g->rule == RULE_BEFORE_FIRST))
        after.memory[1]++;
    w->broken |= overdue(w, &after);
    add_state(w, &after);
}

static void begin_all(World *w, State s, uint32_t fact) {
    if (fact == w->m->n_facts) {
        add_state(w, &s);
        return;
    }
    for (uint32_t v = 0; v < w->m->facts[fact].n_values; v++) {
        if (!(w->m->initial[fact] >> v & 1)) continue;
        s.fact[fact] = (uint8_t)v;
        begin_all(w, s, fact + 1);
    }
}

OracleAnswer oracle_ask(const Model *model, const GateInstance *gate) {
    static State states[STATES_MOST];
    static uint32_t table[2 * STATES_MOST + 1];
    World w = {.m = model, .g = gate, .states = states, .table = table, .table_size = 2 * STATES_MOST + 1};
    memset(table, 0, sizeof table);
    State first;
    memset(&first, 0, sizeof first);
    first.place = (uint16_t)model->joint;
    begin_all(&w, first, 0);
    for (size_t k = 0; k < w.n && !w.broken && !w.too_large; k++) {
        State s = w.states[k];
        tick(&w, &s);
        for (uint32_t e = 0; e < model->n_edges; e++) {
            const Edge *edge = &model->edges[e];
            if (leaves_from(&w, edge, s.place) && allows(edge->guard, &s) && in_bounds(edge, &s))
                take(&w, &s, edge, 0, s);
        }
    }
    return w.broken ? ORACLE_BROKEN : w.too_large ? ORACLE_TOO_LARGE : ORACLE_KEPT;
}
