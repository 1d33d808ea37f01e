/* Which gates a line is a safeguard of.

   A line brings something about: its edges in the model change facts, ask for them, or are events. It is a *safeguard* of a gate that applies
   where what it brings about is what the gate demands, and lasts until the gate asks for it:
   - a step of `before E: …`, or the renewal that its `since` asks for, from which E can be come to within the same procedure;
   - of an outcome: what is found there and starts an `after E: no F` or an `after E: F before G`;
   - an answer of `after E within T: …`, or F of `after E: F before G`;
   - a position or band of the condition, if from the line a moment can be come to at which the gate asks for it, and no line on that way
     sets or looks again at the same thing;
   - `turn to D` and the ends with `no more starts`, of `after D: no E`; the drill that must be within reach;
   - cranks, retries and `next start after`, of a duty; what is counted; a `wait` after the event behind which a pause is demanded.
   A line with others inside, or a group, is what these are. */
#include "mutate.h"
#include <stdlib.h>
#include <string.h>

/* ---- the lines' items and edges ---- */
typedef VEC(const Item *) Items;
typedef struct {
    const Subject *subject;
    const Model *model;
    const Tail *tail;
    const GateInstance *gate;
    const Items *items;
    bool outcome, by_time;
} Asked;

static bool is_among(const Items *items, const Item *item) {
    for (size_t k = 0; k < items->n; k++)
        if (items->at[k] == item) return true;
    return false;
}

static void add_items(Arena *arena, Items *items, const Item *first, const Stmt *stmt);
static void add_item(Arena *arena, Items *items, const Item *item, const Stmt *stmt) {
    if (item->stmt == stmt) vec_push(arena, items, item);
    const Stmt *inside = item->stmt == stmt ? NULL : stmt; /* NULL: all that stands inside */
    if (!stmt) vec_push(arena, items, item);
    add_items(arena, items, item->body, inside);
    add_items(arena, items, item->between, inside);
    for (const ItemOutcome *o = item->outcomes; o; o = o->next)
        if (o->action.kind == ACTION_BLOCK) add_items(arena, items, o->action.block, inside);
}
static void add_items(Arena *arena, Items *items, const Item *first, const Stmt *stmt) {
    for (const Item *item = first; item; item = item->next) add_item(arena, items, item, stmt);
}

/* `do` and `for` are written out as other lines, `when` as cases. */
static void add_line(Arena *arena, Items *items, const Subject *subject, const Tail *tail, const Stmt *stmt) {
    if (!stmt) return;
    for (uint32_t p = 0; p < tail->n_procedures; p++) add_items(arena, items, tail->procedures[p].items, stmt);
    for (uint32_t d = 0; d < tail->n_drills; d++) add_items(arena, items, tail->drills[d].items, stmt);
    bool written_out = stmt->kind == STMT_FOR || stmt->kind == STMT_WHEN;
    const Stmt *first = written_out && stmt->more->block ? stmt->more->block->first : NULL;
    for (size_t f = 0; stmt->kind == STMT_DO && f < subject->good.unit->files.n; f++)
        for (const Decl *d = subject->good.unit->files.at[f]->first; d; d = d->next)
            if (d->kind == DECL_GROUP && d->name.name == stmt->ref.name) first = d->u.parts;
    for (const Stmt *s = first; s; s = s->next) add_line(arena, items, subject, tail, s);
}

/* ---- conditions ---- */
static uint64_t all_values(const Asked *a, uint32_t fact) {
    uint32_t n = a->model->facts[fact].n_values;
    return n >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << n) - 1;
}

typedef void SeeLiteral(void *context, uint32_t fact, uint64_t mask);
static void each_literal(const Asked *a, const Test *test, bool negated, SeeLiteral *see, void *context) {
    if (!test) return;
    if (test->kind == TEST_FACT) {
        uint64_t all = all_values(a, test->fact), mask = (negated ? ~test->mask : test->mask) & all;
        if (mask && mask != all) see(context, test->fact, mask);
    }
    for (const Test *part = test->parts; part; part = part->next)
        each_literal(a, part, negated != (test->kind == TEST_NOT), see, context);
}

typedef struct {
    uint32_t fact;
    uint64_t mask;
    bool met;
} Meeting;
static void meets(void *context, uint32_t fact, uint64_t mask) {
    Meeting *m = context;
    m->met |= m->fact == fact && (m->mask & mask);
}
static bool condition_asks(const Asked *a, const Test *test, uint32_t fact, uint64_t mask) {
    Meeting m = {fact, mask, false};
    each_literal(a, test, false, meets, &m);
    return m.met;
}

/* ---- events ---- */
static bool changes_into(const Asked *a, const Edge *edge, uint32_t fact, uint64_t mask) {
    if (edge->kind == EDGE_BEGIN || (edge->kind == EDGE_JOIN && a->model->facts[fact].kind != FACT_ENGINE))
        return false;
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].kind == CHANGE_TO && edge->changes[c].fact == fact && edge->changes[c].mask & mask)
            return true;
    return false;
}

static bool mark_is(const Asked *a, const Mark *mark, const Trigger *t) {
    if (mark->kind != t->kind) return false;
    switch (t->kind) {
    case ON_SEEN:
    case ON_LOOK:
    case ON_ANSWERED:
    case ON_SET: return mark->fact == t->fact && (mark->mask & t->mask) != 0;
    case ON_CALL:
    case ON_BRIEF: return mark->thing == t->thing;
    case ON_LABEL: return mark->fact == t->fact;
    case ON_TURN:
        return mark->fact == t->fact || (mark->engine != NO_INDEX && a->tail->engine_facts[mark->engine] == t->fact);
    case ON_ENTER: return mark->name == t->name;
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_NOTHING: break;
    }
    return false;
}

static bool edge_is(const Asked *a, const Edge *edge, const Trigger *list) {
    for (const Trigger *t = list; t; t = t->next) {
        if (t->kind == ON_BECOMES && changes_into(a, edge, t->fact, t->mask)) return true;
        if (t->kind == ON_LEAVES && changes_into(a, edge, t->fact, ~t->mask)) return true;
        for (uint32_t k = 0; k < edge->n_marks; k++)
            if (mark_is(a, &edge->marks[k], t)) return true;
    }
    return false;
}

/* ---- where the gate is in force ---- */
static bool place_among(const Asked *a, const Place *p, const Name *names, uint32_t n, bool any_drill) {
    if (p->procedure == NO_INDEX) return false;
    if (any_drill && p->drill != NO_INDEX) return true;
    Name name = p->drill == NO_INDEX ? a->tail->procedures[p->procedure].name : a->tail->drills[p->drill].name;
    for (uint32_t k = 0; k < n; k++)
        if (names[k] == name) return true;
    return false;
}
static bool in_force(const Asked *a, uint32_t place) {
    const Place *p = &a->model->places[place];
    const GateInstance *g = a->gate;
    bool within =
        (!g->n_within && !g->within_any_drill) || place_among(a, p, g->within, g->n_within, g->within_any_drill);
    return within && !place_among(a, p, g->except, g->n_except, g->except_any_drill);
}

static bool end_is_meant(const Asked *a, const Place *p) {
    const GateInstance *g = a->gate;
    if (p->kind != PLACE_END) return false;
    if (g->rule == RULE_EVERY_END) {
        bool meant = !g->n_ends;
        for (uint32_t k = 0; k < g->n_ends; k++) meant |= g->ends[k] == p->outcome;
        return meant;
    }
    if (g->rule != RULE_END_OF || p->drill == NO_INDEX) return false;
    return g->end_any_drill || a->tail->drills[p->drill].name == g->end_drill;
}

/* ---- from the line on ---- */
typedef struct {
    const Asked *a;
    const Edge *edge;
    bool asks;
} AtEdge;
static void state_begins(void *context, uint32_t fact, uint64_t mask) {
    AtEdge *at = context;
    at->asks |= changes_into(at->a, at->edge, fact, mask);
}

/* Does the gate ask for its condition as this edge is taken? */
static bool asks_at(const Asked *a, const Edge *edge, uint32_t from, uint32_t to) {
    const GateInstance *g = a->gate;
    if (end_is_meant(a, &a->model->places[to])) return true;
    if (g->rule == RULE_AT_EACH || g->rule == RULE_FROM_UNTIL || g->rule == RULE_BEFORE_EACH ||
        g->rule == RULE_BEFORE_FIRST)
        return in_force(a, from) && edge_is(a, edge, g->trigger);
    AtEdge at = {a, edge, false};
    if (g->rule == RULE_WHILE || g->rule == RULE_CAN_REACH) each_literal(a, g->state, false, state_begins, &at);
    return at.asks && in_force(a, to);
}

static bool guard_excludes(const Guard *guard, uint32_t fact, uint64_t mask) {
    if (!guard) return false;
    for (uint32_t t = 0; t < guard->n; t++) {
        bool open = true;
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            open &= guard->terms[t].literals[l].fact != fact || (guard->terms[t].literals[l].mask & mask);
        if (open) return false;
    }
    return true;
}

static bool forgets(const Edge *edge, uint32_t fact) {
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].fact == fact) return true;
    return false;
}

/* Can a moment be come to from `start` at which the gate asks, with the fact as it is? NO_INDEX: an event; until the procedure's end. */
typedef struct {
    const Asked *a;
    uint32_t fact;
    uint64_t mask;
    bool *been;
    uint32_t *left, n;
    bool found;
} Way;

static void go_on(Way *w, const Edge *edge, uint32_t from) {
    uint32_t to = edge->to == NO_INDEX ? from : edge->to;
    if (w->fact != NO_INDEX && guard_excludes(edge->guard, w->fact, w->mask)) return;
    w->found |= asks_at(w->a, edge, from, to);
    bool over = w->fact == NO_INDEX ? edge->kind == EDGE_JOIN : forgets(edge, w->fact);
    if (over || w->been[to]) return;
    w->been[to] = true;
    w->left[w->n++] = to;
}

static bool lasts_until_asked(const Asked *a, uint32_t start, uint32_t fact, uint64_t mask) {
    const Model *m = a->model;
    Way w = {a, fact, mask, calloc(m->n_places, 1), malloc((m->n_places + 1u) * sizeof(uint32_t)), 0, false};
    w.been[start] = true;
    w.left[w.n++] = start;
    w.found = end_is_meant(a, &m->places[start]);
    while (w.n && !w.found) {
        uint32_t place = w.left[--w.n];
        for (uint32_t e = 0; e < m->places[place].n_edges; e++)
            go_on(&w, &m->edges[m->places[place].first_edge + e], place);
        for (uint32_t e = m->first_ambient; e < m->n_edges && !w.found; e++)
            if (edge_leaves(m, &m->edges[e], place)) go_on(&w, &m->edges[e], place);
    }
    free(w.been);
    free(w.left);
    return w.found;
}

/* ---- what an edge brings about ---- */
static bool fact_asked(const Asked *a, const Edge *edge, uint32_t fact, uint64_t mask) {
    const GateInstance *g = a->gate;
    if (mask == all_values(a, fact)) return false;
    if (!condition_asks(a, g->cond, fact, mask) && !condition_asks(a, g->target, fact, mask)) return false;
    return asks_at(a, edge, edge->from, edge->to) || lasts_until_asked(a, edge->to, fact, mask);
}

static bool counts(RuleKind rule) {
    return rule == RULE_AT_MOST_SINCE || rule == RULE_AT_MOST_REST || rule == RULE_WINDOW;
}

static bool event_asked(const Asked *a, const Edge *edge) {
    const GateInstance *g = a->gate;
    if (g->rule == RULE_BEFORE_EACH || g->rule == RULE_BEFORE_FIRST) {
        bool step = edge_is(a, edge, g->since) && !edge_is(a, edge, g->trigger);
        for (uint32_t k = 0; k < g->n_steps; k++) step |= edge_is(a, edge, g->steps[k].event);
        return step && lasts_until_asked(a, edge->to, NO_INDEX, 0);
    }
    if (g->rule == RULE_RESPONSE || g->rule == RULE_ORDER)
        return in_force(a, edge->from) && edge_is(a, edge, g->events);
    if (g->rule == RULE_NEVER_AFTER)
        return edge->drill != NO_INDEX && edge->kind != EDGE_ENTER_DRILL && edge_is(a, edge, g->trigger);
    return counts(g->rule) && (edge_is(a, edge, g->events) || edge_is(a, edge, g->trigger));
}

/* What is found on the way out of a line: `after E: no F`, `after E: F before G` of which it is the E. */
static bool outcome_asked(const Asked *a, const Edge *edge) {
    bool out = edge->kind == EDGE_OTHERWISE || edge->kind == EDGE_LAPSE || edge->drill != NO_INDEX;
    return out && (a->gate->rule == RULE_NEVER_AFTER || a->gate->rule == RULE_ORDER) &&
           edge_is(a, edge, a->gate->trigger);
}

static bool edge_asked(const Asked *a, const Edge *edge) {
    if (event_asked(a, edge)) return true;
    if (a->outcome) return outcome_asked(a, edge);
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].kind == CHANGE_TO && fact_asked(a, edge, edge->changes[c].fact, edge->changes[c].mask))
            return true;
    if (!edge->guard || edge->guard->n != 1) return false;
    for (uint32_t l = 0; l < edge->guard->terms[0].n; l++) {
        Literal literal = edge->guard->terms[0].literals[l];
        if (!forgets(edge, literal.fact) && fact_asked(a, edge, literal.fact, literal.mask)) return true;
    }
    return false;
}

/* ---- times, retries, ends ---- */
static bool pause_asked(const Asked *a, const Trigger *after) {
    const GateInstance *g = a->gate;
    for (uint32_t k = 1; k < g->n_steps; k++)
        for (const Trigger *t = g->steps[k].event ? NULL : g->steps[k - 1].event; t; t = t->next)
            if (t->kind == after->kind && t->fact == after->fact && t->thing == after->thing) return true;
    return false;
}

static bool answers_in_time(const Asked *a, const Item *item) {
    const GateInstance *g = a->gate;
    if (g->rule != RULE_RESPONSE || item->kind != STMT_EXPECT) return false;
    for (uint32_t e = 0; e < a->model->first_ambient; e++)
        if (a->model->edges[e].item == item && event_asked(a, &a->model->edges[e])) return true;
    return false;
}

static bool last_asked(const Asked *a, const ItemAction *action) {
    if (!action || action->kind != ACTION_END) return false;
    return (a->gate->rule == RULE_DUTY && action->next_start.n) ||
           (a->gate->rule == RULE_NEVER_AFTER && action->no_more_starts && !a->by_time);
}

static bool item_asked(const Asked *a, const Item *item) {
    const GateInstance *g = a->gate;
    bool starter = item->kind == STMT_CRANK || item->kind == STMT_TRY;
    if (item->kind == STMT_WAIT && item->after && pause_asked(a, item->after)) return true;
    if (g->rule == RULE_DUTY && starter && !a->outcome) return true;
    if (last_asked(a, item->go)) return true;
    for (const ItemOutcome *o = item->outcomes; o; o = o->next)
        if (last_asked(a, &o->action)) return true;
    return a->by_time && answers_in_time(a, item);
}

static bool drill_asked(const Asked *a, Name drill) {
    const GateInstance *g = a->gate;
    if (g->rule == RULE_CAN_REACH && !g->target)
        return !g->why_not.len && a->tail->drills[g->target_drill].name == drill;
    if (g->rule == RULE_END_OF) return !g->end_any_drill && g->end_drill == drill;
    for (const Trigger *t = g->rule == RULE_NEVER_AFTER ? g->trigger : NULL; t; t = t->next)
        if (t->kind == ON_ENTER && t->name == drill) return true;
    return false;
}

static bool gate_asks(const Asked *a, const Mutant *mutant) {
    if (mutant->drill && !a->by_time && drill_asked(a, mutant->drill->name)) return true;
    for (size_t k = 0; k < a->items->n; k++)
        if (item_asked(a, a->items->at[k])) return true;
    for (uint32_t e = 0; e < a->model->first_ambient && !a->by_time; e++)
        if (is_among(a->items, a->model->edges[e].item) && edge_asked(a, &a->model->edges[e])) return true;
    return false;
}

bool gate_at_stake(const Mutant *mutant, Str gate) {
    char word[300];
    snprintf(word, sizeof word, " %.*s ", (int)gate.len, gate.ptr);
    return strstr(mutant->gates, word) != NULL;
}

void safeguard_gates(const Subject *subject, Mutant *mutant) {
    Arena arena = {0};
    mutant->gates[0] = 0;
    for (uint32_t t = 0; t < subject->n_tails; t++) {
        const Tail *tail = subject->models[t]->tail;
        Items items = {0};
        for (uint32_t k = 0; k < LINES_MOST; k++) add_line(&arena, &items, subject, tail, mutant->lines[k]);
        for (uint32_t g = 0; g < tail->n_gates; g++) {
            Asked a = {subject, subject->models[t], tail, &tail->gates[g], &items, mutant->outcome, mutant->by_time};
            Str name = name_text(&subject->good.workspace->names, tail->gates[g].name);
            size_t at = strlen(mutant->gates), room = sizeof mutant->gates - at;
            if (tail->gates[g].standing != GATE_APPLIES || gate_at_stake(mutant, name) || !gate_asks(&a, mutant))
                continue;
            if (name.len + 3 < room)
                snprintf(mutant->gates + at, room, at ? "%.*s " : " %.*s ", (int)name.len, name.ptr);
        }
    }
    arena_free(&arena);
}

typedef struct {
    uint32_t fact;
    uint64_t mask;
} Union;
static void unite(void *context, uint32_t fact, uint64_t mask) {
    Union *u = context;
    if (u->fact == fact) u->mask |= mask;
}
uint64_t gate_demands(const Model *model, const GateInstance *gate, uint32_t fact) {
    Asked a = {.model = model, .tail = model->tail, .gate = gate};
    Union u = {fact, 0};
    each_literal(&a, gate->cond, false, unite, &u);
    each_literal(&a, gate->target, false, unite, &u);
    return u.mask;
}

/* ---- the facts that the lines are about ---- */
void facts_at_stake(const Subject *subject, const Mutant *mutant, uint32_t t, bool *facts) {
    const Model *m = subject->models[t];
    Arena arena = {0};
    Items items = {0};
    memset(facts, 0, m->tail->n_facts * sizeof *facts);
    for (uint32_t k = 0; k < LINES_MOST; k++) add_line(&arena, &items, subject, m->tail, mutant->lines[k]);
    for (uint32_t e = 0; e < m->n_edges; e++) {
        const Edge *edge = &m->edges[e];
        if (!edge->item || !is_among(&items, edge->item)) continue;
        for (uint32_t c = 0; c < edge->n_changes; c++)
            if (edge->changes[c].fact < m->tail->n_facts) facts[edge->changes[c].fact] = true;
        for (uint32_t k = 0; edge->guard && k < edge->guard->n; k++)
            for (uint32_t l = 0; l < edge->guard->terms[k].n; l++)
                if (edge->guard->terms[k].literals[l].fact < m->tail->n_facts)
                    facts[edge->guard->terms[k].literals[l].fact] = true;
    }
    arena_free(&arena);
}
