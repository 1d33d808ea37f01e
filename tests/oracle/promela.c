#include "promela.h"
#include <stdlib.h>

/* Beyond every time of a random model and its gate: clocks stay here. */
enum { STILL = 12, COUNT_STILL = 9 };

typedef struct {
    FILE *to;
    const Model *m;
    const GateInstance *g;
} Writer;

#define put(w, ...) fprintf((w)->to, __VA_ARGS__)

/* ---- conditions; facts are f0, f1 …, before an edge o0, o1 … ---- */
static void put_in(const Writer *w, char which, uint32_t fact, uint64_t mask) {
    put(w, "((%llu >> %c%u) & 1)", (unsigned long long)mask, which, fact);
}

static void put_test(const Writer *w, char which, const Test *test) {
    if (!test || test->kind == TEST_TRUE) put(w, "(1 == 1)");
    else if (test->kind == TEST_FALSE) put(w, "(1 == 0)");
    else if (test->kind == TEST_FACT) {
        put_in(w, which, test->fact, test->mask);
    } else if (test->kind == TEST_NOT) {
        put(w, "(!(");
        put_test(w, which, test->parts);
        put(w, "))");
    } else {
        put(w, "(");
        for (const Test *part = test->parts; part; part = part->next) {
            put_test(w, which, part);
            if (part->next) put(w, test->kind == TEST_AND ? " && " : " || ");
        }
        put(w, ")");
    }
}

static void put_guard(const Writer *w, const Guard *guard) {
    if (!guard) {
        put(w, "true");
        return;
    }
    put(w, "(false");
    for (uint32_t t = 0; t < guard->n; t++) {
        put(w, " || (true");
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            put(w, " && ");
            put_in(w, 'f', guard->terms[t].literals[l].fact, guard->terms[t].literals[l].mask);
        }
        put(w, ")");
    }
    put(w, ")");
}

/* ---- where the rule is in force ---- */
static Name home(const Writer *w, uint32_t place) {
    const Place *p = &w->m->places[place];
    if (p->procedure == NO_INDEX) return 0;
    return p->drill == NO_INDEX ? w->m->tail->procedures[p->procedure].name : w->m->tail->drills[p->drill].name;
}

static bool of_list(const Writer *w, uint32_t place, const Name *names, uint32_t n, bool any_drill) {
    const Place *p = &w->m->places[place];
    bool is = any_drill && p->procedure != NO_INDEX && p->drill != NO_INDEX;
    for (uint32_t k = 0; k < n; k++) is |= names[k] == home(w, place);
    return is;
}

static bool is_excepted(const Writer *w, uint32_t place) {
    return of_list(w, place, w->g->except, w->g->n_except, w->g->except_any_drill);
}

static bool is_within(const Writer *w, uint32_t place) {
    return (!w->g->n_within && !w->g->within_any_drill) ||
           of_list(w, place, w->g->within, w->g->n_within, w->g->within_any_drill);
}

static bool is_judged(const Writer *w, uint32_t place) {
    return is_within(w, place) && !is_excepted(w, place) && w->m->places[place].kind != PLACE_JOINT;
}

/* ---- events of an edge, as an expression over what was and what is ---- */
typedef struct {
    const Writer *w;
    const Edge *edge;
    uint32_t from, to;
} Act;

static bool has_change(const Act *a, uint32_t fact) {
    if (a->edge->kind == EDGE_BEGIN || (a->edge->kind == EDGE_JOIN && a->w->m->facts[fact].kind != FACT_ENGINE))
        return false;
    for (uint32_t c = 0; c < a->edge->n_changes; c++)
        if (a->edge->changes[c].fact == fact) return true;
    return false;
}

static bool same_thing(const Mark *mark, const Trigger *t) {
    if (mark->kind != t->kind) return false;
    if (t->kind == ON_CALL || t->kind == ON_BRIEF) return mark->thing == t->thing;
    if (t->kind == ON_ENTER) return mark->name == t->name;
    return mark->fact == t->fact && mark->mask & t->mask;
}

static void put_alternative(const Act *a, const Trigger *t) {
    if (t->kind == ON_BECOMES || t->kind == ON_LEAVES) {
        if (!has_change(a, t->fact)) return;
        put(a->w, " || (");
        put_in(a->w, 'o', t->fact, t->mask);
        put(a->w, t->kind == ON_BECOMES ? " == 0 && " : " == 1 && ");
        put_in(a->w, 'f', t->fact, t->mask);
        put(a->w, t->kind == ON_BECOMES ? " == 1)" : " == 0)");
        return;
    }
    for (uint32_t k = 0; k < a->edge->n_marks; k++) {
        const Mark *mark = &a->edge->marks[k];
        if (!same_thing(mark, t)) continue;
        put(a->w, " || ");
        if (t->kind == ON_SEEN || t->kind == ON_LOOK) put_in(a->w, 'f', t->fact, mark->mask & t->mask);
        else put(a->w, "true");
    }
}

static bool counts_here(const Act *a, const Trigger *t, bool scoped) {
    bool free_from = !is_excepted(a->w, a->from);
    return !scoped || (is_within(a->w, a->from) && free_from) ||
           (is_within(a->w, a->to) && free_from && t->kind == ON_ENTER);
}

/* Can the edge make it at all? */
static bool can_be(const Act *a, const Trigger *list, bool scoped) {
    for (const Trigger *t = list; t; t = t->next) {
        if (!counts_here(a, t, scoped)) continue;
        if ((t->kind == ON_BECOMES || t->kind == ON_LEAVES) && has_change(a, t->fact)) return true;
        for (uint32_t k = 0; k < a->edge->n_marks; k++)
            if (same_thing(&a->edge->marks[k], t)) return true;
    }
    return false;
}

/* `scoped`: only where the rule is in force. */
static void put_event(const Act *a, const Trigger *list, bool scoped) {
    put(a->w, "(false");
    for (const Trigger *t = list; t; t = t->next)
        if (counts_here(a, t, scoped)) put_alternative(a, t);
    put(a->w, ")");
}

static uint32_t strokes(const Act *a, const Trigger *list) {
    uint32_t n = 0;
    for (const Trigger *t = list; t; t = t->next)
        for (uint32_t k = 0; t->kind == ON_SET && k < a->edge->n_marks; k++)
            if (same_thing(&a->edge->marks[k], t)) n += a->edge->marks[k].count;
    return n ? n : 1;
}

static void put_when(const Act *a, const Trigger *list, bool scoped, const char *also, const char *then) {
    if (!can_be(a, list, scoped)) return;
    put(a->w, "    if :: (");
    put_event(a, list, scoped);
    put(a->w, "%s) -> %s :: else -> skip fi;\n", also, then);
}

/* ---- times: p is 1 + the case that was chosen, a is the age ---- */
static void put_choose(const Writer *w) {
    if (w->g->time.n < 2) {
        put(w, "p = 1; a = 0");
        return;
    }
    put(w, "p = (");
    put_test(w, 'f', w->g->time.cases[0].when);
    put(w, " -> 1 : 2); a = 0");
}

static void put_time(const Writer *w) {
    const Duration *time = &w->g->time;
    if (time->n < 2) put(w, "%lld", (long long)time->cases[0].ms);
    else put(w, "(p == 1 -> %lld : %lld)", (long long)time->cases[0].ms, (long long)time->cases[1].ms);
}

static void put_begin_timing(const Act *a, const char *also) {
    if (!can_be(a, a->w->g->trigger, true)) return;
    put(a->w, "    if :: (");
    put_event(a, a->w->g->trigger, true);
    put(a->w, "%s) -> ", also);
    put_choose(a->w);
    put(a->w, " :: else -> skip fi;\n");
}

static void put_dropping(const Act *a) {
    if (is_excepted(a->w, a->to)) put(a->w, "    p = 0; a = 0;\n");
}

/* ---- the rules ---- */
static void put_never(const Act *a) {
    const Writer *w = a->w;
    put(w, "    if :: (p > 0 && ");
    put_event(a, w->g->events, true);
    put(w, ") -> ");
    if (!w->g->time.n) put(w, "bad = 1");
    else {
        put(w, "if :: (a < ");
        put_time(w);
        put(w, ") -> bad = 1 :: else -> p = 0; a = 0 fi");
    }
    put(w, " :: else -> skip fi;\n");
    if (w->g->time.n) put_begin_timing(a, "");
    else put_when(a, w->g->trigger, true, "", "p = 1");
    put_dropping(a);
}

static void put_condition(const Act *a, const char *also, const Test *state) {
    if (!is_judged(a->w, a->to)) return;
    put(a->w, "    if :: (%s && ", also);
    put_test(a->w, 'f', state);
    put(a->w, " && !");
    put_test(a->w, 'f', a->w->g->cond);
    put(a->w, ") -> bad = 1 :: else -> skip fi;\n");
}

static void put_at_each(const Act *a) {
    if (!can_be(a, a->w->g->trigger, true)) return;
    put(a->w, "    if :: (");
    put_event(a, a->w->g->trigger, true);
    put(a->w, " && !");
    put_test(a->w, 'o', a->w->g->cond);
    put(a->w, ") -> bad = 1 :: else -> skip fi;\n");
}

static void put_lasts(const Act *a) {
    const Writer *w = a->w;
    if (!is_judged(w, a->to)) {
        put(w, "    p = 0; a = 0;\n");
        return;
    }
    put(w, "    if :: !");
    put_test(w, 'f', w->g->state);
    put(w, " -> p = 0; a = 0 :: else -> if :: (p == 0) -> ");
    put_choose(w);
    put(w, " :: else -> skip fi fi;\n");
}

static void put_ends(const Act *a) {
    const Writer *w = a->w;
    const Place *to = &w->m->places[a->to];
    if (a->from == a->to || to->kind != PLACE_END || !is_within(w, a->to) || is_excepted(w, a->to)) return;
    bool meant = w->g->rule == RULE_EVERY_END && !w->g->n_ends;
    for (uint32_t k = 0; w->g->rule == RULE_EVERY_END && k < w->g->n_ends; k++) meant |= w->g->ends[k] == to->outcome;
    if (w->g->rule == RULE_END_OF)
        meant = w->g->end_any_drill ? to->drill != NO_INDEX : home(w, a->to) == w->g->end_drill;
    if (meant) put_condition(a, "true", NULL);
}

static void put_since(const Act *a) {
    const Writer *w = a->w;
    if (a->edge->kind == EDGE_BEGIN) put(w, "    p = 0;\n");
    put(w, "    if :: ");
    put_event(a, w->g->events, true);
    put(w, " -> p = p + %u :: else -> skip fi;\n    if :: (p > %u) -> bad = 1 :: else -> skip fi;\n",
        strokes(a, w->g->events), w->g->count);
    put_when(a, w->g->since, false, "", "p = 0");
}

/* The control whose release is the rest. */
static const Trigger *held(const Writer *w) {
    const Trigger *t = w->g->events;
    while (t && t->kind != ON_BECOMES && t->kind != ON_SET) t = t->next;
    return t;
}

static void put_held(const Writer *w, char which, uint32_t place) {
    const Trigger *t = held(w);
    if (!t || w->m->places[place].kind == PLACE_JOINT) put(w, "false");
    else put_in(w, which, t->fact, t->mask);
}

/* p: how many since the last rest, a: released for so long, q: that is a rest */
static void put_rest(const Act *a) {
    const Writer *w = a->w;
    put(w, "    if :: ");
    put_event(a, w->g->events, true);
    put(w, " ->\n        if :: (q == 1) -> p = %u :: else -> p = p + %u fi;\n", strokes(a, w->g->events),
        strokes(a, w->g->events));
    put(w,
        "        if :: (p > %u) -> bad = 1 :: else -> skip fi;\n        a = 0; q = 0\n    :: else -> skip fi;\n    if "
        ":: ",
        w->g->count);
    put_held(w, 'f', a->to);
    put(w, " -> a = 0; q = 0 :: else -> skip fi;\n");
}

/* a and b: the ages of the last two */
static void put_window(const Act *a) {
    const Writer *w = a->w;
    uint32_t n = strokes(a, w->g->events);
    long long time = (long long)w->g->time.cases[0].ms;
    if (!can_be(a, w->g->events, true)) return;
    put(w, "    if :: ");
    put_event(a, w->g->events, true);
    put(w,
        " ->\n        if :: (%u + (a <= %lld -> 1 : 0) + (b <= %lld -> 1 : 0) > %u) -> bad = 1 :: else -> skip fi;\n",
        n, time, time, w->g->count);
    put(w, n > 1 ? "        a = 0; b = 0\n" : "        b = a; a = 0\n");
    put(w, "    :: else -> skip fi;\n");
}

/* ---- before each E: p steps are done, a since the last of them, q: judged already ---- */
typedef struct {
    const Trigger *steps[8];
    long long least[9], most[9];
    uint32_t n;
} Chain;

static Chain read_chain(const GateInstance *g) {
    Chain chain = {.n = 0};
    for (uint32_t k = 0; k < 9; k++) chain.least[k] = -1, chain.most[k] = -1;
    for (uint32_t k = 0; k < g->n_steps; k++) {
        if (g->steps[k].event) chain.steps[chain.n++] = g->steps[k].event;
        else {
            chain.least[chain.n] = g->steps[k].least_ms < 0 ? 0 : (long long)g->steps[k].least_ms;
            chain.most[chain.n] = (long long)g->steps[k].most_ms;
        }
    }
    return chain;
}

static void put_timely(const Writer *w, const Chain *chain, uint32_t done) {
    if (chain->least[done] < 0) put(w, "true");
    else if (chain->most[done] < 0) put(w, "(a >= %lld)", chain->least[done]);
    else put(w, "(a >= %lld && a <= %lld)", chain->least[done], chain->most[done]);
}

static void put_chain_steps(const Act *a, const Chain *chain) {
    const Writer *w = a->w;
    put(w, "        if\n");
    for (uint32_t k = 0; k < chain->n; k++) {
        if (!can_be(a, chain->steps[k], false)) continue;
        put(w, "        :: (p == %u && ", k);
        put_event(a, chain->steps[k], false);
        put(w, ") -> if :: ");
        put_timely(w, chain, k);
        put(w, " -> p = %u; a = 0 :: else -> skip fi\n", k + 1);
    }
    put(w, "        :: else -> if\n");
    for (uint32_t k = 0; k < chain->n; k++) {
        if (!can_be(a, chain->steps[k], false)) continue;
        put(w, "            :: (p == %u && ", k + 1);
        put_event(a, chain->steps[k], false);
        put(w, ") -> a = 0\n");
    }
    put(w, "            :: else -> skip fi\n        fi\n");
}

static void put_chain(const Act *a) {
    const Writer *w = a->w;
    Chain chain = read_chain(w->g);
    bool first = w->g->rule == RULE_BEFORE_FIRST;
    if (a->edge->kind == EDGE_BEGIN) put(w, "    p = 0; a = 0; q = 0;\n");
    put(w, "    x = 0;\n    if :: (q == 0 && ");
    put_event(a, w->g->trigger, true);
    put(w, ") ->\n        if :: (p == %u && ", chain.n);
    put_timely(w, &chain, chain.n);
    put(w, ") -> skip :: else -> bad = 1 fi;\n");
    if (first) put(w, "        p = 0; a = 0; q = 1; x = 1\n");
    else put(w, "        skip\n");
    put(w, "    :: else -> skip fi;\n");
    if (first) put_when(a, w->g->since, false, " && x == 1", "q = 0");
    put(w, "    if :: (x == 1) -> skip\n    :: (x == 0 && (%s || ", a->edge->kind == EDGE_BEGIN ? "true" : "false");
    put_event(a, w->g->since, false);
    put(w, ")) -> p = 0; a = 0; q = 0\n    :: else ->\n        if :: (q == 1) -> skip :: else ->\n");
    put_chain_steps(a, &chain);
    put(w, "        fi\n    fi;\n    x = 0;\n");
}

/* ---- duty: p engagements since the long rest, q engaged, x exempt, b the line, a since the engagement or its end ---- */
static void put_owed(const Act *a, const DutyLine *line, uint32_t number) {
    const Writer *w = a->w;
    bool used =
        line->tries ? number >= line->tries : line->n_series > 1 && number >= line->n_series && line->long_rest_ms;
    long long owed =
        (long long)(used ? line->long_rest_ms : line->rest_ms[(number < line->n_series ? number : line->n_series) - 1]);
    if (a->edge->over_duty) put(w, "skip\n");
    else if (used && !line->long_rest_ms) put(w, "bad = 1\n");
    else put(w, "if :: (a < %lld) -> bad = 1 :: else -> skip fi\n", owed);
}

static void put_engage(const Act *a, const Duty *duty) {
    const Writer *w = a->w;
    put(w, "        if\n        :: (p == 0) -> p = 1\n");
    for (uint32_t l = 0; l < duty->n_lines; l++) {
        const DutyLine *line = &duty->lines[l];
        if (line->long_rest_ms)
            put(w, "        :: (p > 0 && b == %u && a >= %lld) -> p = 1\n", l, (long long)line->long_rest_ms);
        for (uint32_t k = 1; k <= COUNT_STILL; k++) {
            put(w, "        :: (p == %u && b == %u && a < %lld) -> p = %u; ", k, l,
                line->long_rest_ms ? (long long)line->long_rest_ms : 255LL, k < COUNT_STILL ? k + 1 : k);
            put_owed(a, line, k);
        }
    }
    put(w, "        fi;\n        a = 0; q = 1; x = %d; b = ", a->edge->over_duty);
    if (duty->n_lines == 2) {
        put(w, "(");
        put_test(w, 'f', duty->lines[0].when);
        put(w, " -> 0 : 1)\n");
    } else put(w, "0\n");
}

static void put_duty(const Act *a) {
    const Writer *w = a->w;
    const Duty *duty = &w->m->tail->duties[w->g->duty];
    Trigger on = {.kind = ON_BECOMES, .fact = duty->fact, .mask = duty->engaged}, off = on;
    off.kind = ON_LEAVES;
    if (!can_be(a, &on, true) && !can_be(a, &off, false) && !a->edge->over_duty) return;
    put(w, "    if :: (q == 0 && ");
    put_event(a, &on, true);
    put(w, ") ->\n");
    put_engage(a, duty);
    put(w, "    :: (q == 1 && ");
    put_event(a, &off, false);
    put(w, ") -> q = 0; x = 0; a = 0\n    :: else -> %s\n    fi;\n",
        a->edge->over_duty ? "if :: (q == 1) -> x = 1 :: else -> skip fi" : "skip");
}

static void put_judge(const Act *a) {
    const GateInstance *g = a->w->g;
    switch (g->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: put_chain(a); return;
    case RULE_RESPONSE:
        put_when(a, g->events, false, "", "p = 0; a = 0");
        put_begin_timing(a, " && p == 0");
        put_dropping(a);
        return;
    case RULE_NEVER_AFTER: put_never(a); return;
    case RULE_ORDER:
        put_when(a, g->before, false, " && p == 1", "bad = 1");
        put_when(a, g->events, false, "", "p = 0");
        put_when(a, g->trigger, true, "", "p = 1");
        put_dropping(a);
        return;
    case RULE_AT_EACH: put_at_each(a); return;
    case RULE_FROM_UNTIL:
        put_when(a, g->since, false, "", "p = 0");
        put_when(a, g->trigger, true, "", "p = 1");
        put_dropping(a);
        put_condition(a, "p == 1", NULL);
        return;
    case RULE_WHILE: put_condition(a, "true", g->state); return;
    case RULE_LASTS: put_lasts(a); return;
    case RULE_AT_MOST_SINCE: put_since(a); return;
    case RULE_AT_MOST_REST: put_rest(a); return;
    case RULE_WINDOW: put_window(a); return;
    case RULE_EVERY_END:
    case RULE_END_OF: put_ends(a); return;
    case RULE_DUTY: put_duty(a); return;
    case RULE_CAN_REACH:
    case RULE_CASES: abort();
    }
}

/* ---- edges ---- */
static void put_change(const Writer *w, const Change *change) {
    uint32_t n = w->m->facts[change->fact].n_values;
    if (change->kind == CHANGE_COUNT) {
        put(w, "    if :: (f%u < %u) -> f%u++ :: else -> skip fi;\n", change->fact, n - 1, change->fact);
        return;
    }
    put(w, "    if");
    for (uint32_t v = 0; v < n; v++)
        if (change->mask >> v & 1) put(w, " :: f%u = %u", change->fact, v);
    put(w, " fi;\n");
}

/* Is its value before the edge asked for? */
static bool kept_before(const Act *a, uint32_t fact) {
    return a->w->g->rule == RULE_AT_EACH || has_change(a, fact);
}

static void put_edge(const Writer *w, const Edge *edge, uint32_t from) {
    Act a = {w, edge, from, edge->to == NO_INDEX ? from : edge->to};
    put(w, "\n:: atomic { (place == %u && ", from);
    put_guard(w, edge->guard);
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        if (edge->bounds[b].least_ms >= 0)
            put(w, " && c%u >= %lld", edge->bounds[b].clock, (long long)edge->bounds[b].least_ms);
        if (edge->bounds[b].most_ms >= 0)
            put(w, " && c%u <= %lld", edge->bounds[b].clock, (long long)edge->bounds[b].most_ms);
    }
    put(w, ") ->\n");
    for (uint32_t f = 0; f < w->m->n_facts; f++)
        if (kept_before(&a, f)) put(w, "    o%u = f%u;\n", f, f);
    for (uint32_t c = 0; c < edge->n_changes; c++) put_change(w, &edge->changes[c]);
    for (uint32_t r = 0; r < edge->n_resets; r++) put(w, "    c%u = 0;\n", edge->resets[r]);
    put_judge(&a);
    for (uint32_t f = 0; f < w->m->n_facts; f++)
        if (kept_before(&a, f)) put(w, "    o%u = 0;\n", f);
    put(w, "    place = %u; assert(bad == 0) }\n", a.to);
}

static bool leaves(const Writer *w, const Edge *edge, uint32_t place) {
    if (edge->from != NO_INDEX) return edge->from == place;
    const Scope *s = &w->m->scopes[edge->scope];
    bool but = place >= s->but_lo && place < s->but_hi;
    return place >= s->lo && place < s->hi && !but && !(s->skip_own && w->m->places[place].own_engine_edges);
}

/* ---- time: a tick where no deadline of the place is reached ---- */
static void put_due(const Writer *w, const Deadline *due) {
    put(w, " && !(c%u >= %lld && ", due->clock, (long long)due->ms);
    put_guard(w, due->when);
    put(w, ")");
}

static void put_overdue(const Writer *w) {
    RuleKind rule = w->g->rule;
    if (rule == RULE_RESPONSE || rule == RULE_LASTS) {
        put(w, "    if :: (p > 0 && a > ");
        put_time(w);
        put(w, ") -> bad = 1 :: else -> skip fi;\n");
    }
    if (rule != RULE_DUTY) return;
    const Duty *duty = &w->m->tail->duties[w->g->duty];
    for (uint32_t l = 0; l < duty->n_lines; l++)
        for (uint32_t k = 1; k <= COUNT_STILL; k++) {
            const DutyLine *line = &duty->lines[l];
            long long on = (long long)line->on_ms[(k < line->n_series ? k : line->n_series) - 1];
            if (on)
                put(w,
                    "    if :: (q == 1 && x == 0 && b == %u && p == %u && a > %lld) -> bad = 1 :: else -> skip fi;\n",
                    l, k, on);
        }
}

static void put_age(const Writer *w, uint32_t place) {
    RuleKind rule = w->g->rule;
    if (rule == RULE_WINDOW)
        put(w, "    if :: (a < %d) -> a++ :: else -> skip fi; if :: (b < %d) -> b++ :: else -> skip fi;\n", STILL,
            STILL);
    else if (rule == RULE_AT_MOST_REST) {
        put(w, "    if :: (p > 0 && !");
        put_held(w, 'f', place);
        put(w,
            ") -> if :: (a < %d) -> a++ :: else -> skip fi; if :: (a >= %lld) -> q = 1 :: else -> skip fi\n    :: else "
            "-> skip fi;\n",
            STILL, (long long)w->g->time.cases[0].ms);
    } else {
        bool always = rule == RULE_BEFORE_EACH || rule == RULE_BEFORE_FIRST;
        put(w, "    if :: (%s && a < %d) -> a++ :: else -> skip fi;\n", always ? "true" : "p > 0", STILL);
    }
}

static void put_tick(const Writer *w, uint32_t place) {
    const Place *p = &w->m->places[place];
    put(w, "\n:: atomic { (place == %u", place);
    for (uint32_t k = 0; k < p->n_deadlines; k++) put_due(w, &w->m->deadlines[p->first_deadline + k]);
    for (uint32_t k = 0; k < w->m->n_ambient_deadlines; k++) put_due(w, &w->m->ambient_deadlines[k]);
    put(w, ") ->\n");
    for (uint32_t c = 0; c < w->m->n_clocks; c++)
        put(w, "    if :: (c%u < %d) -> c%u++ :: else -> skip fi;\n", c, STILL, c);
    put_age(w, place);
    put_overdue(w);
    put(w, "    assert(bad == 0) }\n");
}

static void put_model(const Writer *w) {
    const Model *m = w->m;
    put(w, "    atomic {\n    place = %u;\n", m->joint);
    if (w->g->rule == RULE_WINDOW) put(w, "    a = %d; b = %d;\n", STILL, STILL);
    for (uint32_t f = 0; f < m->n_facts; f++) put_change(w, &(Change){CHANGE_TO, f, m->initial[f]});
    put(w, "    skip };\ndo");
    for (uint32_t place = 0; place < m->n_places; place++) {
        for (uint32_t e = 0; e < m->n_edges; e++)
            if (leaves(w, &m->edges[e], place)) put_edge(w, &m->edges[e], place);
        put_tick(w, place);
    }
    put(w, "od\n");
}

void promela_write(FILE *to, const Model *const *models, uint32_t n) {
    uint32_t n_facts = 0, n_clocks = 0;
    for (uint32_t k = 0; k < n; k++) {
        if (models[k]->n_facts > n_facts) n_facts = models[k]->n_facts;
        if (models[k]->n_clocks > n_clocks) n_clocks = models[k]->n_clocks;
    }
    fprintf(to, "byte which = 0, place = 0, p = 0, a = 0, b = 0;\nbit bad = 0, q = 0, x = 0;\n");
    for (uint32_t f = 0; f < n_facts; f++) fprintf(to, "byte f%u = 0, o%u = 0;\n", f, f);
    for (uint32_t c = 0; c < n_clocks; c++) fprintf(to, "byte c%u = 0;\n", c);
    fprintf(to, "active proctype model() {\nc_code { now.which = (uchar)atoi(getenv(\"PROMELA_WHICH\")); };\nif\n");
    for (uint32_t k = 0; k < n; k++) {
        fprintf(to, "\n:: (which == %u) ->\n", k);
        put_model(&(Writer){to, models[k], &models[k]->tail->gates[0]});
    }
    fprintf(to, "fi\n}\n");
}
