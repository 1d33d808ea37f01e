#include "check/given_up.h"
#include "check/observers.h"
#include "check/words.h"
#include <string.h>

/* ---- lines from which it leads nowhere ---- */
static bool engine_may_turn(const FirstPass *first, const uint64_t *masks) {
    const Tail *tail = first->model->tail;
    for (uint32_t e = 0; e < tail->n_engines; e++)
        if (masks[tail->engine_facts[e]] & ~(UINT64_C(1) << ENGINE_STOPPED)) return true;
    return false;
}

/* Procedures that begin with a running engine, as a shut-down does, are no starts: given up, they leave all as it was. */
static void mark_starts(const FirstPass *first, bool *starts) {
    for (uint32_t e = 0; e < first->model->first_ambient; e++) {
        const Edge *edge = &first->model->edges[e];
        const Place *from = &first->model->places[edge->from];
        if (from->procedure == NO_INDEX || from->drill != NO_INDEX || !pass_edge(first, e)) continue;
        for (uint32_t k = 0; k < edge->n_marks; k++) starts[from->procedure] |= edge->marks[k].kind == ON_TURN;
    }
}

static bool leads_nowhere(const FirstPass *first, uint32_t e, const bool *starts, uint64_t *room) {
    const Edge *edge = &first->model->edges[e];
    const Place *from = &first->model->places[edge->from];
    bool line = edge->kind == EDGE_ITEM || edge->kind == EDGE_OTHERWISE || edge->kind == EDGE_LAPSE;
    if (!line || !edge->item || edge->item->give_up || edge->item->kind == STMT_GO || !edge->item->span.hi)
        return false;
    if (from->procedure == NO_INDEX || from->drill != NO_INDEX || !starts[from->procedure] || !pass_edge(first, e))
        return false;
    const uint64_t *before = reach_before(first->reach, edge->from, edge, room);
    return before && engine_may_turn(first, before);
}

typedef struct {
    const Item *at[256];
    uint32_t n;
} LineList;

static void line_put(LineList *list, const Item *item) {
    uint32_t k = list->n;
    for (uint32_t i = 0; i < list->n; i++)
        if (list->at[i]->span.lo == item->span.lo) return;
    if (list->n == sizeof list->at / sizeof *list->at) return;
    for (list->n++; k > 0 && list->at[k - 1]->span.lo > item->span.lo; k--) list->at[k] = list->at[k - 1];
    list->at[k] = item;
}

static uint64_t line_number(const FirstPass *first, const Item *item) {
    return source_position(first->job->sources, item->span.lo).line;
}

void given_up_nowhere(const FirstPass *first, Arena *scratch) {
    LineList list = {.n = 0};
    uint64_t *room = ARENA_ARRAY(scratch, uint64_t, first->model->n_facts + 1u);
    bool *starts = ARENA_ARRAY(scratch, bool, first->model->tail->n_procedures + 1u);
    mark_starts(first, starts);
    for (uint32_t e = 0; e < first->model->first_ambient; e++)
        if (leads_nowhere(first, e, starts, room)) line_put(&list, first->model->edges[e].item);
    if (!list.n) return;
    Buf lines = {.arena = first->job->arena};
    for (uint32_t k = 1; k < list.n; k++)
        buf_format(&lines, NULL, k == 1 ? "; the same at line %u" : ", %u", line_number(first, list.at[k]));
    Finding *finding =
        finding_add(first->job->findings, FINDING_GIVE_UP_NOWHERE, list.at[0]->span,
                    "nothing says what is done if the start is given up here, and the engine may be turning: "
                    "%S%S",
                    words_item(first->job, first->model, list.at[0]), buf_view(&lines));
    finding_note(first->job->findings, finding, (Span){0, 0},
                 "give the phase a way out: `phase NAME \"TITLE\", otherwise turn to DRILL {`");
}

/* ---- where it leads ---- */
bool given_up_judges(const GateInstance *gate) {
    if (gate->standing != GATE_APPLIES) return false;
    return gate->rule == RULE_EVERY_END || gate->rule == RULE_END_OF || gate->rule == RULE_BEFORE_EACH ||
           gate->rule == RULE_AT_EACH;
}

/* The values after giving up; NULL: nobody can give up there. */
static const uint64_t *values_after(const FirstPass *first, const Edge *edge, uint64_t *room) {
    uint32_t n = first->model->n_facts;
    const uint64_t *before = pass_place(first, edge->from) ? reach_before(first->reach, edge->from, edge, room) : NULL;
    if (!before) return NULL;
    if (before != room) memcpy(room, before, n * sizeof *room);
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        uint32_t fact = edge->changes[c].fact;
        room[fact] = reach_after(first->reach, edge, fact, room[fact]);
    }
    return room;
}

static uint64_t *row(const GivenUp *given, uint64_t *masks, uint32_t place) {
    return masks + (size_t)place * given->first->model->n_facts;
}

GivenUp given_up_open(Arena *arena, const FirstPass *first) {
    const Model *m = first->model;
    GivenUp given = {.first = first, .arena = arena};
    given.entries = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * m->n_facts + 1u);
    given.enters = ARENA_ARRAY(arena, bool, m->n_places + 1u);
    given.added = ARENA_ARRAY(arena, uint64_t, m->n_facts / 64 + 1u);
    uint64_t *room = ARENA_ARRAY(arena, uint64_t, m->n_facts + 1u);
    for (uint32_t e = 0; e < m->n_give_ups; e++) {
        uint32_t to = m->give_ups[e].to;
        const uint64_t *after = values_after(first, &m->give_ups[e], room),
                       *here = row(&given, first->reach->masks, to);
        if (!after) continue;
        given.enters[to] = true;
        given.beyond |= !first->reach->seen[to];
        for (uint32_t fact = 0; fact < m->n_facts; fact++) {
            row(&given, given.entries, to)[fact] |= after[fact];
            if (after[fact] & ~here[fact]) fact_put(given.added, fact);
        }
    }
    for (uint32_t w = 0; w <= m->n_facts / 64; w++) given.beyond |= given.added[w] & first->frame->read[w];
    return given;
}

/* ---- and on from there: the steps are those that other runs take, so only the facts of the rule have to be followed ---- */
typedef struct {
    const GivenUp *given;
    const uint32_t *facts;
    uint32_t n_facts;
    uint64_t *masks, *after; /* as `entries`; of one step */
    bool *seen, *due;
    uint32_t *queue, head, tail;
} Flow;

static void flow_to(Flow *f, uint32_t place, const uint64_t *values) {
    bool grew = !f->seen[place];
    uint64_t *here = row(f->given, f->masks, place);
    for (uint32_t k = 0; k < f->n_facts; k++) {
        grew |= values[f->facts[k]] & ~here[f->facts[k]];
        here[f->facts[k]] |= values[f->facts[k]];
    }
    f->seen[place] = true;
    if (!grew || f->due[place]) return;
    f->due[place] = true;
    f->queue[f->tail++ % (f->given->first->model->n_places + 1u)] = place;
}

/* False: with these values it cannot be taken. */
static bool flow_along(Flow *f, uint32_t place, const Edge *edge) {
    const uint64_t *here = row(f->given, f->masks, place);
    const Term *only = edge->guard && edge->guard->n == 1 ? &edge->guard->terms[0] : NULL;
    for (uint32_t k = 0; k < f->n_facts; k++) {
        uint64_t values = here[f->facts[k]];
        for (uint32_t l = 0; only && l < only->n; l++)
            if (only->literals[l].fact == f->facts[k]) values &= only->literals[l].mask;
        if (!values) return false;
        f->after[f->facts[k]] = reach_after(f->given->first->reach, edge, f->facts[k], values);
    }
    return true;
}

static void flow_on(Flow *f) {
    const Frame *frame = f->given->first->frame;
    while (f->head != f->tail) {
        uint32_t place = f->queue[f->head++ % (frame->model->n_places + 1u)];
        f->due[place] = false;
        for (uint32_t k = frame->out_first[place]; k < frame->out_first[place + 1]; k++) {
            const Edge *edge = &frame->model->edges[frame->out[k]];
            if (edge->kind != EDGE_JOIN && flow_along(f, place, edge)) flow_to(f, edge_target(edge, place), f->after);
        }
    }
}

static Flow flow_from(const GivenUp *given, const uint32_t *facts, uint32_t n_facts, Arena *scratch) {
    uint32_t n = given->first->model->n_places + 1u;
    Flow f = {.given = given, .facts = facts, .n_facts = n_facts};
    f.masks = ARENA_ARRAY(scratch, uint64_t, (size_t)n * given->first->model->n_facts);
    f.after = ARENA_ARRAY(scratch, uint64_t, given->first->model->n_facts + 1u);
    f.seen = ARENA_ARRAY(scratch, bool, n);
    f.due = ARENA_ARRAY(scratch, bool, n);
    f.queue = ARENA_ARRAY(scratch, uint32_t, n);
    for (uint32_t p = 0; p + 1 < n; p++)
        if (given->enters[p]) flow_to(&f, p, row(given, given->entries, p));
    flow_on(&f);
    return f;
}

static bool kept_in(const Reach *reach, const Guard *bad, const uint8_t *scope) {
    const Model *m = reach->frame->model;
    for (uint32_t p = 0; p < m->n_places; p++)
        if (scope[p] & SCOPE_END && reach->seen[p] && guard_possible(bad, reach->masks + (size_t)p * m->n_facts))
            return false;
    return true;
}

/* From values that no other run has there, other steps may be taken, too, and all facts are followed. */
static bool kept_beyond(GivenUp *given, const Guard *bad, const uint8_t *scope) {
    const Reach entries = {.masks = given->entries, .seen = given->enters};
    if (!given->flow) given->flow = reach_from(given->arena, given->first->edges, &entries);
    return kept_in(given->flow, bad, scope);
}

static bool kept_within(const GivenUp *given, const GateInstance *gate, const Guard *bad, const uint8_t *scope,
                        Arena *scratch) {
    const FirstPass *first = given->first;
    uint32_t n_facts = first->model->n_facts, n = 0;
    uint64_t *read = ARENA_ARRAY(scratch, uint64_t, n_facts / 64 + 1u);
    uint32_t *facts = ARENA_ARRAY(scratch, uint32_t, n_facts + 1u);
    bool added = false;
    test_facts(gate->cond, read);
    for (uint32_t fact = 0; fact < n_facts; fact++) {
        if (!fact_in(read, fact)) continue;
        facts[n++] = fact;
        added |= fact_in(given->added, fact);
    }
    if (!added && kept_in(first->reach, bad, scope)) return true;
    Flow flow = flow_from(given, facts, n, scratch);
    const Reach there = {.frame = first->frame, .masks = flow.masks, .seen = flow.seen};
    return kept_in(&there, bad, scope);
}

/* No event that it speaks of comes on the way to the ends, or none that could break it. */
static bool kept_on_the_way(GivenUp *given, const GateInstance *gate, Arena *scratch) {
    const Model *m = given->first->model;
    if (given->beyond) return false;
    if (!given->ways) {
        uint32_t *facts = ARENA_ARRAY(given->arena, uint32_t, m->n_facts + 1u);
        for (uint32_t fact = 0; fact < m->n_facts; fact++) facts[fact] = fact;
        Flow flow = flow_from(given, facts, m->n_facts, given->arena);
        given->ways = ARENA_NEW(given->arena, Reach);
        *given->ways = (Reach){.frame = given->first->frame, .masks = flow.masks, .seen = flow.seen};
    }
    return firstpass_quick_at(given->first, given->ways, gate, scratch).decided;
}

bool given_up_keeps(GivenUp *given, const GateInstance *gate, Arena *scratch) {
    const Model *m = given->first->model;
    if (gate->rule == RULE_BEFORE_EACH || gate->rule == RULE_AT_EACH) return kept_on_the_way(given, gate, scratch);
    const Guard *bad = gate->cond ? guard_from_test(scratch, m->facts, gate->cond, true) : NULL;
    uint8_t *scope = ARENA_ARRAY(scratch, uint8_t, m->n_places + 1u);
    if (!bad) return false;
    scope_mark(m, gate, scope);
    return given->beyond ? kept_beyond(given, bad, scope) : kept_within(given, gate, bad, scope, scratch);
}
