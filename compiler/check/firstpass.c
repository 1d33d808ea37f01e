#include "check/firstpass.h"
#include "check/observers.h"

/* The search knows better than the reach which values go together, and so what can be where. */
static void sharpen(FirstPass *first, const Store *store) {
    const Slice *slice = first->search->slice;
    const Model *m = first->model;
    uint32_t words = slice->words;
    uint64_t *found = ARENA_ARRAY(first->search->slice->arena, uint64_t, (size_t)m->n_places * words);
    for (uint32_t n = 0; n < store->n_nodes; n++) {
        uint64_t *at = found + (size_t)node_bucket(first->search, n)->place * words;
        const uint64_t *masks = node_masks(first->search, n);
        for (uint32_t w = 0; w < words; w++) at[w] |= masks[w];
    }
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        Field field = slice->fields[fact];
        if (field.word == NO_WORD) continue;
        uint64_t full = fact_full(&m->facts[fact]);
        for (uint32_t p = 0; p < m->n_places; p++)
            first->reach->masks[(size_t)p * m->n_facts + fact] &=
                (found[(size_t)p * words + field.word] >> field.shift & full) | (pass_place(first, p) ? 0 : full);
    }
}

/* Every step that facts alone leave possible may be taken: sets as of a search that did not know better. */
static void take_all(FirstPass *first, Arena *arena) {
    const Frame *f = first->frame;
    first->search->edge_taken = ARENA_ARRAY(arena, uint64_t, first->model->n_edges / 64 + 1u);
    first->search->place_seen = ARENA_ARRAY(arena, uint64_t, first->model->n_places / 64 + 1u);
    for (uint32_t p = 0; p < first->model->n_places; p++)
        if (first->reach->seen[p]) first->search->place_seen[p / 64] |= UINT64_C(1) << (p % 64);
    for (uint32_t k = 0; k < f->out_first[first->model->n_places]; k++)
        first->search->edge_taken[f->out[k] / 64] |= UINT64_C(1) << (f->out[k] % 64);
}

static FirstPass *pass_make(Job *job, Arena *arena, const Model *model, bool coasting, Store *store,
                            CheckBudget budget) {
    FirstPass *first = ARENA_NEW(arena, FirstPass);
    first->job = job;
    first->model = model;
    first->edges = frame_edges(arena, model, coasting);
    first->reach = reach_make(arena, first->edges);
    first->frame = frame_make(arena, first->edges, reach_steps(arena, first->reach), false);
    const Slice *slice = slice_make(arena, first->frame, NULL);
    first->search = search_new(arena, slice, NULL, store, budget);
    first->complete = search_run(first->search) == SEARCH_HOLDS;
    first->zones = store->n_nodes;
    first->taken = first->frame;
    if (first->complete) first->taken = frame_make(arena, first->frame, first->search->out_taken, false);
    else take_all(first, arena);
    return first;
}

FirstPass *firstpass_run(Job *job, Arena *arena, const Model *model, Store *store, CheckBudget budget) {
    FirstPass *first = pass_make(job, arena, model, false, store, budget);
    if (!first->complete) return first;
    lines_report(first);
    graph_report(first);
    sharpen(first, store);
    return first;
}

FirstPass *firstpass_coasting(const FirstPass *as_given, Arena *arena, Store *store, CheckBudget budget) {
    FirstPass *first = pass_make(as_given->job, arena, as_given->model, true, store, budget);
    if (first->complete) sharpen(first, store);
    return first;
}

FirstPass *firstpass_grown(const FirstPass *of, Arena *arena, const Model *model) {
    FirstPass *first = ARENA_NEW(arena, FirstPass);
    Reach some = {.masks = of->reach->masks, .seen = ARENA_ARRAY(arena, bool, model->n_places + 1u)};
    for (uint32_t p = 0; p < model->n_places; p++) some.seen[p] = pass_place(of, p);
    first->job = of->job;
    first->model = model;
    first->edges = frame_edges(arena, model, false);
    first->reach = reach_grown(arena, first->edges, &some);
    first->frame = first->taken = frame_make(arena, first->edges, reach_steps(arena, first->reach), false);
    first->complete = true;
    first->search = ARENA_NEW(arena, Search);
    take_all(first, arena);
    return first;
}

/* ---- gates decided without a search ---- */
typedef struct {
    const FirstPass *first;
    const GateInstance *gate;
    uint8_t *scope;
    Guard *bad, *state;
    const uint64_t *here; /* values at the place from which an edge is looked at */
    const Term *only;     /* the one way in which its condition holds; NULL: it narrows nothing */
    uint64_t *room;
    Arena *scratch;
    const Trigger *tested_by;
    Quick quick;
    bool open;          /* some place may break it: a search must tell */
    TestPoints *points; /* NULL: they are only counted */
} Quickly;

static void put_to_test(Quickly *q, uint32_t edge, uint32_t place) {
    q->quick.tested++;
    if (q->points) vec_push(q->scratch, q->points, ((TestPoint){edge, place}));
}

/* Can the trigger happen on this edge, facts before and after being within the masks? Errs towards yes. */
static bool may_fire(const Quickly *q, const Trigger *t, const Edge *edge) {
    for (; t; t = t->next) {
        if (t->kind == ON_BECOMES || t->kind == ON_LEAVES) {
            if (edge->kind == EDGE_BEGIN ||
                (edge->kind == EDGE_JOIN && q->first->model->facts[t->fact].kind != FACT_ENGINE))
                continue;
            uint64_t was = t->kind == ON_BECOMES ? ~t->mask : t->mask;
            bool changes = false;
            for (uint32_t c = 0; c < edge->n_changes; c++) changes |= edge->changes[c].fact == t->fact;
            uint64_t before = term_values(q->only, t->fact, q->here[t->fact]);
            if (changes && before & was && reach_after(q->first->reach, edge, t->fact, before) & ~was) return true;
            continue;
        }
        for (uint32_t k = 0; k < edge->n_marks; k++)
            if (mark_matches(q->first->model, &edge->marks[k], t)) return true;
    }
    return false;
}

static bool in_force_at(const Quickly *q, uint32_t place) {
    return (q->scope[place] & (SCOPE_WITHIN | SCOPE_EXCEPTED | SCOPE_JOINT)) == SCOPE_WITHIN;
}

/* Events inside an excepted drill do not count, but the entry into one does. */
static bool counts_here(const Quickly *q, const Edge *edge, uint32_t from, uint32_t to) {
    uint8_t here = q->scope[from];
    if ((here & (SCOPE_WITHIN | SCOPE_EXCEPTED)) == SCOPE_WITHIN) return true;
    bool enters = false;
    for (uint32_t k = 0; k < edge->n_marks; k++) enters |= edge->marks[k].kind == ON_ENTER;
    return enters && q->scope[to] & SCOPE_WITHIN && !(here & SCOPE_EXCEPTED);
}

/* Whatever the facts: does anything the edge does look like the trigger? */
static bool looks_like(const Quickly *q, const Trigger *t, const Edge *edge) {
    for (; t; t = t->next) {
        if (t->kind == ON_BECOMES || t->kind == ON_LEAVES)
            for (uint32_t c = 0; c < edge->n_changes; c++)
                if (edge->changes[c].fact == t->fact) return true;
        for (uint32_t k = 0; k < edge->n_marks; k++)
            if (mark_matches(q->first->model, &edge->marks[k], t)) return true;
    }
    return false;
}

static void look_at(Quickly *q, uint32_t e, uint32_t from) {
    const FirstPass *first = q->first;
    const Edge *edge = &first->model->edges[e];
    uint32_t to = edge_target(edge, from);
    if (!pass_place(first, from) || !counts_here(q, edge, from, to)) return;
    q->here = reach_open(first->reach, from, edge, &q->only);
    if (!q->here || !may_fire(q, q->tested_by, edge)) return;
    put_to_test(q, e, from);
    if (q->gate->rule == RULE_AT_EACH)
        q->open |= guard_possible(q->bad, reach_before(first->reach, from, edge, q->room));
    else if (q->gate->rule != RULE_FROM_UNTIL) q->open = true;
}

/* Forms that begin with an event: the edges that may make it. */
static void look_at_edges(Quickly *q) {
    const FirstPass *first = q->first;
    const Frame *f = first->taken;
    const Model *m = first->model;
    bool *alike = ARENA_ARRAY(q->scratch, bool, m->n_edges + 1u), ambient = false;
    for (uint32_t e = 0; e < m->n_edges; e++) {
        alike[e] = pass_edge(first, e) && looks_like(q, q->tested_by, &m->edges[e]);
        if (!alike[e]) continue;
        if (e < m->first_ambient) look_at(q, e, m->edges[e].from);
        else ambient = true;
    }
    if (!ambient) return;
    for (uint32_t p = 0; p < m->n_places; p++)
        for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++)
            if (f->out[k] >= m->first_ambient && alike[f->out[k]]) look_at(q, f->out[k], p);
}

/* Forms that hold in a place. */
static void look_at_places(Quickly *q) {
    const FirstPass *first = q->first;
    for (uint32_t p = 0; p < first->model->n_places; p++) {
        if (!pass_place(first, p)) continue;
        const uint64_t *here = first->reach->masks + (size_t)p * first->model->n_facts;
        bool in_place = in_force_at(q, p);
        switch (q->gate->rule) {
        case RULE_WHILE:
            if (in_place && guard_possible(q->state, here)) put_to_test(q, NO_INDEX, p);
            q->open |= in_place && guard_possible(q->bad, here);
            break;
        case RULE_LASTS:
        case RULE_CAN_REACH:
            if (in_place && guard_possible(q->state, here)) put_to_test(q, NO_INDEX, p);
            q->open = true;
            break;
        case RULE_EVERY_END:
        case RULE_END_OF:
            if (!(q->scope[p] & SCOPE_END)) break;
            put_to_test(q, NO_INDEX, p);
            q->open |= guard_possible(q->bad, here);
            break;
        case RULE_FROM_UNTIL: q->open |= in_place && guard_possible(q->bad, here); break;
        case RULE_BEFORE_EACH:
        case RULE_BEFORE_FIRST:
        case RULE_RESPONSE:
        case RULE_NEVER_AFTER:
        case RULE_ORDER:
        case RULE_AT_EACH:
        case RULE_AT_MOST_SINCE:
        case RULE_AT_MOST_REST:
        case RULE_WINDOW:
        case RULE_DUTY:
        case RULE_CASES: break;
        }
    }
}

static bool quick_conditions(Quickly *q) {
    Arena *scratch = q->scratch;
    const GateInstance *gate = q->gate;
    const Fact *facts = q->first->model->facts;
    q->bad = q->state = NULL;
    if (gate->cond) {
        q->bad = guard_from_test(scratch, facts, gate->cond, true);
        if (!q->bad) return false;
    }
    if (gate->state) {
        q->state = guard_from_test(scratch, facts, gate->state, false);
        if (!q->state) return false;
    }
    if (gate->rule == RULE_WHILE) q->bad = q->bad && q->state ? guard_and(scratch, q->state, q->bad) : NULL;
    return gate->rule != RULE_WHILE || q->bad;
}

/* A time that was not given, or a condition that leans on something undecided, is for the search's observer to tell. */
static bool quick_possible(const GateInstance *gate) {
    bool timed = gate->rule == RULE_RESPONSE || gate->rule == RULE_LASTS || gate->rule == RULE_AT_MOST_REST ||
                 gate->rule == RULE_WINDOW;
    return gate->rule != RULE_DUTY && !gate->time.missing && (!timed || gate->time.n);
}

static Quickly quickly_open(const FirstPass *first, const GateInstance *gate, Arena *scratch) {
    return (Quickly){
        .first = first, .gate = gate, .scratch = scratch, .tested_by = gate->trigger ? gate->trigger : gate->events};
}

static void look_everywhere(Quickly *q) {
    const Model *m = q->first->model;
    q->scope = ARENA_ARRAY(q->scratch, uint8_t, m->n_places + 1u);
    q->room = ARENA_ARRAY(q->scratch, uint64_t, m->n_facts + 1u);
    scope_mark(m, q->gate, q->scope);
    look_at_places(q);
    look_at_edges(q);
}

Quick firstpass_quick(const FirstPass *first, const GateInstance *gate, Arena *scratch) {
    Quickly q = quickly_open(first, gate, scratch);
    if (!quick_possible(gate) || !quick_conditions(&q)) return q.quick;
    look_everywhere(&q);
    q.quick.decided = !q.open || !q.quick.tested;
    return q.quick;
}

Quick firstpass_quick_at(const FirstPass *first, Reach *reach, const GateInstance *gate, Arena *scratch) {
    FirstPass there = *first;
    Search sets = {.slice = NULL};
    there.reach = reach;
    there.taken = first->frame;
    there.search = &sets;
    take_all(&there, scratch);
    return firstpass_quick(&there, gate, scratch);
}

TestPoints firstpass_tests(const FirstPass *first, const GateInstance *gate, Arena *scratch) {
    Quickly q = quickly_open(first, gate, scratch);
    TestPoints points = {NULL, 0, 0};
    const Tail *tail = first->model->tail;
    Trigger engages = {.kind = ON_BECOMES};
    if (gate->rule == RULE_CASES || !quick_conditions(&q)) return points;
    if (gate->rule == RULE_DUTY && gate->duty < tail->n_duties) {
        engages.fact = tail->duties[gate->duty].fact;
        engages.mask = tail->duties[gate->duty].engaged;
        q.tested_by = &engages;
    }
    q.points = &points;
    look_everywhere(&q);
    return points;
}
