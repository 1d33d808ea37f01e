/* Two places are alike when the same may be done at both, at the same times, and leads to places that are alike: the coarsest such
   partition, found by splitting. What makes two edges or conditions the same is compared in full; nothing leans on a hash. */
#include "check/merge.h"
#include "base/vec.h"
#include <stdlib.h>
#include <string.h>

/* ---- numbers for rows of numbers: equal rows have one ---- */
typedef struct {
    uint32_t first, n, hash;
} Row;
typedef struct {
    Arena *arena;
    VEC(uint64_t) words;
    VEC(Row) rows;
    uint32_t *slots; /* open: row + 1 */
    uint32_t mask;
    VEC(uint64_t) row; /* the one being written */
} Numbers;

static Numbers numbers_open(Arena *arena) {
    enum { SLOTS = 1024 };
    Numbers numbers = {.arena = arena, .mask = SLOTS - 1};
    numbers.slots = ARENA_ARRAY(arena, uint32_t, SLOTS);
    return numbers;
}

static void numbers_clear(Numbers *numbers) {
    memset(numbers->slots, 0, (numbers->mask + 1u) * sizeof *numbers->slots);
    numbers->words.n = numbers->rows.n = 0;
}

static void put(Numbers *numbers, uint64_t word) {
    vec_push(numbers->arena, &numbers->row, word);
}

static void link_row(Numbers *numbers, uint32_t row) {
    uint32_t at = numbers->rows.at[row].hash & numbers->mask;
    while (numbers->slots[at]) at = (at + 1) & numbers->mask;
    numbers->slots[at] = row + 1;
}

static void slots_grow(Numbers *numbers) {
    uint32_t n = 2 * (numbers->mask + 1);
    numbers->slots = ARENA_ARRAY(numbers->arena, uint32_t, n);
    numbers->mask = n - 1;
    for (size_t k = 0; k < numbers->rows.n; k++) link_row(numbers, (uint32_t)k);
}

/* The number of the row that was put, which is empty again. */
static uint32_t number(Numbers *numbers) {
    uint64_t h = numbers->row.n;
    uint32_t n = (uint32_t)numbers->row.n;
    for (uint32_t k = 0; k < n; k++) h = (h ^ numbers->row.at[k]) * UINT64_C(0x9e3779b97f4a7c15), h ^= h >> 29;
    uint32_t hash = (uint32_t)(h ^ h >> 32);
    numbers->row.n = 0;
    for (uint32_t at = hash & numbers->mask; numbers->slots[at]; at = (at + 1) & numbers->mask) {
        const Row *row = &numbers->rows.at[numbers->slots[at] - 1];
        if (row->hash == hash && row->n == n &&
            !memcmp(numbers->words.at + row->first, numbers->row.at, n * sizeof *numbers->row.at))
            return numbers->slots[at] - 1;
    }
    Row row = {(uint32_t)numbers->words.n, n, hash};
    for (uint32_t k = 0; k < n; k++) vec_push(numbers->arena, &numbers->words, numbers->row.at[k]);
    vec_push(numbers->arena, &numbers->rows, row);
    if (2 * numbers->rows.n > numbers->mask) slots_grow(numbers);
    else link_row(numbers, (uint32_t)numbers->rows.n - 1);
    return (uint32_t)numbers->rows.n - 1;
}

/* ---- what can be told without looking where edges lead ---- */
typedef struct {
    const Model *m;
    Arena *arena;
    Numbers shapes, numbers;
    bool *merges;    /* by place: it may be made one with others */
    uint32_t *shape; /* by edge */
    uint32_t *group; /* by place of a drill: number of the list of ambient edges that leave it */
    VEC(uint32_t) group_first;
    VEC(uint32_t) group_edges;
    uint32_t *group_class; /* by group */
    uint32_t *class_of;    /* by place: the first of those that are alike so far */
    uint32_t *next;        /* likewise, after this round */
    uint32_t *first;       /* by number of a row: the first place that has it */
    uint64_t *ambient;     /* shape and number of each ambient edge, in order */
    uint32_t n_ambient;
} Merger;

static void put_guard(Numbers *numbers, const Guard *guard) {
    put(numbers, guard ? guard->n + 1u : 0);
    for (uint32_t t = 0; guard && t < guard->n; t++) {
        put(numbers, guard->terms[t].n);
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            put(numbers, guard->terms[t].literals[l].fact);
            put(numbers, guard->terms[t].literals[l].mask);
        }
    }
}

static void put_marks(Numbers *numbers, const Edge *edge) {
    put(numbers, edge->n_marks);
    for (uint32_t k = 0; k < edge->n_marks; k++) {
        const Mark *mark = &edge->marks[k];
        put(numbers, (uint64_t)mark->kind << 32 | mark->fact);
        put(numbers, (uint64_t)mark->thing << 32 | mark->engine);
        put(numbers, mark->mask);
        put(numbers, (uint64_t)mark->name << 32 | mark->count);
    }
}

static uint32_t shape_of(Merger *g, const Edge *edge) {
    Numbers *numbers = &g->shapes;
    put(numbers, (uint64_t)edge->kind << 32 | (uint64_t)edge->actor << 2 | (edge->to == NO_INDEX ? 2 : 0) |
                     (edge->over_duty ? 1 : 0));
    put(numbers, (uintptr_t)edge->item);
    put(numbers, edge->drill);
    put_guard(numbers, edge->guard);
    put(numbers, edge->n_changes);
    for (uint32_t k = 0; k < edge->n_changes; k++) {
        put(numbers, (uint64_t)edge->changes[k].kind << 32 | edge->changes[k].fact);
        put(numbers, edge->changes[k].mask);
    }
    put(numbers, edge->n_bounds);
    for (uint32_t k = 0; k < edge->n_bounds; k++) {
        put(numbers, edge->bounds[k].clock);
        put(numbers, (uint64_t)edge->bounds[k].least_ms);
        put(numbers, (uint64_t)edge->bounds[k].most_ms);
    }
    put(numbers, edge->n_resets);
    for (uint32_t k = 0; k < edge->n_resets; k++) put(numbers, edge->resets[k]);
    put_marks(numbers, edge);
    return number(numbers);
}

static void put_deadlines(Merger *g, const Place *place) {
    for (uint32_t k = 0; k < place->n_deadlines; k++) {
        const Deadline *deadline = &g->m->deadlines[place->first_deadline + k];
        put_guard(&g->numbers, deadline->when);
        put(&g->numbers, deadline->clock);
        put(&g->numbers, (uint64_t)deadline->ms);
        put(&g->numbers, deadline->lapse == NO_INDEX ? NO_INDEX : deadline->lapse - place->first_edge);
    }
}

/* Only what drills do is made one. */
static void find_drills(Merger *g) {
    const Model *m = g->m;
    g->merges = ARENA_ARRAY(g->arena, bool, m->n_places + 1u);
    for (uint32_t p = 0; p < m->n_places; p++)
        g->merges[p] = m->places[p].drill != NO_INDEX && m->places[p].procedure != NO_INDEX;
    for (uint32_t e = 0; e < m->n_give_ups; e++) g->merges[m->give_ups[e].from] = false;
}

static void put_place(Merger *g, uint32_t p) {
    const Place *place = &g->m->places[p];
    put(&g->numbers, (uint64_t)place->kind << 8 | (uint64_t)place->own_engine_edges << 2 |
                         (uint64_t)place->no_more_starts << 1 | (uint64_t)place->pilots_act);
    put(&g->numbers, (uintptr_t)place->item);
    put(&g->numbers, (uint64_t)place->drill << 32 | place->outcome);
    put_guard(&g->numbers, place->pace_when);
    put(&g->numbers, place->n_deadlines);
    put_deadlines(g, place);
    for (uint32_t k = 0; k < place->n_edges; k++) put(&g->numbers, g->shape[place->first_edge + k]);
}

static bool scope_holds(const Scope *scope, uint32_t p, const Place *place) {
    if (p < scope->lo || p >= scope->hi || (p >= scope->but_lo && p < scope->but_hi)) return false;
    return !(scope->skip_own && place->own_engine_edges);
}

static int by_number(const void *a, const void *b) {
    uint64_t left = *(const uint64_t *)a, right = *(const uint64_t *)b;
    return left < right ? -1 : left > right;
}

/* The ambient edges by what they do: which comes first in the `drills` lines is nothing to them. */
static void sort_ambient(Merger *g) {
    const Model *m = g->m;
    g->n_ambient = m->n_edges - m->first_ambient;
    g->ambient = ARENA_ARRAY(g->arena, uint64_t, g->n_ambient + 1u);
    for (uint32_t k = 0; k < g->n_ambient; k++)
        g->ambient[k] = (uint64_t)g->shape[m->first_ambient + k] << 32 | (m->first_ambient + k);
    if (g->n_ambient) qsort(g->ambient, g->n_ambient, sizeof *g->ambient, by_number);
}

/* Places of one drill's copy are left by the same ambient edges: which is asked once for each set of scopes. */
static uint32_t group_of(Merger *g, Numbers *sets, uint32_t p) {
    const Model *m = g->m;
    for (uint32_t s = 0; s < m->n_scopes; s++)
        if (scope_holds(&m->scopes[s], p, &m->places[p])) put(sets, s);
    uint32_t group = number(sets);
    if (group < g->group_first.n) return group;
    vec_push(g->arena, &g->group_first, (uint32_t)g->group_edges.n);
    for (uint32_t k = 0; k < g->n_ambient; k++) {
        uint32_t e = (uint32_t)g->ambient[k];
        if (scope_holds(&m->scopes[m->edges[e].scope], p, &m->places[p])) vec_push(g->arena, &g->group_edges, e);
    }
    return group;
}

static void merger_open(Merger *g) {
    const Model *m = g->m;
    find_drills(g);
    g->shapes = numbers_open(g->arena);
    g->numbers = numbers_open(g->arena);
    Numbers sets = numbers_open(g->arena);
    g->shape = ARENA_ARRAY(g->arena, uint32_t, m->n_edges + 1u);
    g->group = ARENA_ARRAY(g->arena, uint32_t, m->n_places + 1u);
    for (uint32_t e = 0; e < m->n_edges; e++)
        if (e >= m->first_ambient || g->merges[m->edges[e].from]) g->shape[e] = shape_of(g, &m->edges[e]);
    sort_ambient(g);
    for (uint32_t p = 0; p < m->n_places; p++)
        if (g->merges[p]) g->group[p] = group_of(g, &sets, p);
    vec_push(g->arena, &g->group_first, (uint32_t)g->group_edges.n);
    g->group_class = ARENA_ARRAY(g->arena, uint32_t, g->group_first.n);
    g->class_of = ARENA_ARRAY(g->arena, uint32_t, m->n_places + 1u);
    g->next = ARENA_ARRAY(g->arena, uint32_t, m->n_places + 1u);
    g->first = ARENA_ARRAY(g->arena, uint32_t, m->n_places + 1u);
}

/* ---- splitting ---- */
/* Those with the row that was put for this place are alike; gives whether it is the first. */
static bool classify(Merger *g, uint32_t p) {
    size_t before = g->numbers.rows.n;
    uint32_t row = number(&g->numbers);
    if (g->numbers.rows.n > before) g->first[row] = p;
    g->next[p] = g->first[row];
    return g->next[p] == p;
}

static void settle(Merger *g) {
    uint32_t *rest = g->class_of;
    g->class_of = g->next;
    g->next = rest;
    numbers_clear(&g->numbers);
}

/* By what they are and what may be done there; gives how many classes. */
static uint32_t split_by_shape(Merger *g) {
    uint32_t n = 0;
    for (uint32_t p = 0; p < g->m->n_places; p++) {
        g->next[p] = p;
        if (!g->merges[p]) continue;
        put_place(g, p);
        n += classify(g, p);
    }
    settle(g);
    return n;
}

static uint64_t leads_to(const Merger *g, const Edge *edge) {
    return edge->to == NO_INDEX ? NO_INDEX : g->class_of[edge->to];
}

static void number_groups(Merger *g) {
    for (uint32_t k = 0; k + 1 < g->group_first.n; k++) {
        for (uint32_t i = g->group_first.at[k]; i < g->group_first.at[k + 1]; i++) {
            uint32_t e = g->group_edges.at[i];
            put(&g->numbers, (uint64_t)g->shape[e] << 32 | leads_to(g, &g->m->edges[e]));
        }
        g->group_class[k] = number(&g->numbers);
    }
    numbers_clear(&g->numbers);
}

static uint32_t split_by_targets(Merger *g) {
    uint32_t n = 0;
    number_groups(g);
    for (uint32_t p = 0; p < g->m->n_places; p++) {
        g->next[p] = p;
        if (!g->merges[p]) continue;
        const Place *place = &g->m->places[p];
        put(&g->numbers, (uint64_t)g->class_of[p] << 32 | g->group_class[g->group[p]]);
        for (uint32_t k = 0; k < place->n_edges; k++)
            put(&g->numbers, leads_to(g, &g->m->edges[place->first_edge + k]));
        n += classify(g, p);
    }
    settle(g);
    return n;
}

/* ---- the model that is left ---- */
typedef struct {
    const Model *from;
    Model *m;
    const uint32_t *class_of;
    uint32_t *before; /* by place of the first model: how many of those before it stay */
    uint32_t *place_of;
} Builder;

static void count_places(Builder *b, Arena *arena) {
    uint32_t n = b->from->n_places, left = 0;
    b->before = ARENA_ARRAY(arena, uint32_t, n + 1u);
    b->place_of = ARENA_ARRAY(arena, uint32_t, n + 1u);
    for (uint32_t p = 0; p < n; p++) {
        b->before[p] = left;
        left += b->class_of[p] == p;
    }
    b->before[n] = left;
    for (uint32_t p = 0; p < n; p++) b->place_of[p] = b->before[b->class_of[p]];
    b->m->n_places = left;
}

static void move_edge(const Builder *b, Edge *edge) {
    if (edge->from != NO_INDEX) edge->from = b->place_of[edge->from];
    if (edge->to != NO_INDEX) edge->to = b->place_of[edge->to];
}

static void move_deadlines(Builder *b, const Place *from, Place *to) {
    for (uint32_t k = 0; k < from->n_deadlines; k++) {
        Deadline *deadline = &b->m->deadlines[b->m->n_deadlines++];
        *deadline = b->from->deadlines[from->first_deadline + k];
        if (deadline->lapse != NO_INDEX) deadline->lapse = deadline->lapse - from->first_edge + to->first_edge;
    }
}

static void move_places(Builder *b) {
    Model *m = b->m;
    m->n_edges = m->n_deadlines = 0;
    for (uint32_t p = 0; p < b->from->n_places; p++) {
        if (b->class_of[p] != p) continue;
        const Place *from = &b->from->places[p];
        Place *to = &m->places[b->place_of[p]];
        *to = *from;
        to->first_edge = m->n_edges;
        to->first_deadline = m->n_deadlines;
        for (uint32_t k = 0; k < from->n_edges; k++) {
            m->edges[m->n_edges] = b->from->edges[from->first_edge + k];
            move_edge(b, &m->edges[m->n_edges++]);
        }
        move_deadlines(b, from, to);
    }
    m->first_ambient = m->n_edges;
}

/* What enters a drill from one procedure goes on to do so, from those of its places that are left. */
static void move_ambient(Builder *b) {
    Model *m = b->m;
    for (uint32_t s = 0; s < m->n_scopes; s++) {
        Scope *scope = &m->scopes[s];
        scope->lo = b->before[scope->lo], scope->hi = b->before[scope->hi];
        scope->but_lo = b->before[scope->but_lo], scope->but_hi = b->before[scope->but_hi];
    }
    for (uint32_t e = b->from->first_ambient; e < b->from->n_edges; e++) {
        m->edges[m->n_edges] = b->from->edges[e];
        move_edge(b, &m->edges[m->n_edges++]);
    }
    for (uint32_t e = 0; e < m->n_give_ups; e++) move_edge(b, &m->give_ups[e]);
    for (uint32_t k = 0; m->procedure_lo && k < m->tail->n_procedures; k++) {
        m->procedure_lo[k] = b->before[m->procedure_lo[k]];
        m->procedure_hi[k] = b->before[m->procedure_hi[k]];
    }
    m->joint = b->place_of[m->joint];
}

static const Model *build(Arena *arena, const Model *from, const Merger *g, Builder *b) {
    uint32_t n_procedures = from->procedure_lo ? from->tail->n_procedures : 0;
    Model *m = b->m = arena_copy(arena, from, sizeof *from);
    b->from = from;
    b->class_of = g->class_of;
    count_places(b, g->arena);
    m->places = ARENA_ARRAY(arena, Place, m->n_places + 1u);
    m->edges = ARENA_ARRAY(arena, Edge, from->n_edges + 1u);
    m->deadlines = ARENA_ARRAY(arena, Deadline, from->n_deadlines + 1u);
    m->scopes = arena_copy(arena, from->scopes, from->n_scopes * sizeof *m->scopes);
    m->give_ups = arena_copy(arena, from->give_ups, from->n_give_ups * sizeof *m->give_ups);
    m->procedure_lo = arena_copy(arena, from->procedure_lo, n_procedures * sizeof *m->procedure_lo);
    m->procedure_hi = arena_copy(arena, from->procedure_hi, n_procedures * sizeof *m->procedure_hi);
    move_places(b);
    move_ambient(b);
    return m;
}

static bool several_come(const Model *m) {
    return m->tail->n_procedures > 1 && m->tail->n_drills;
}

const Model *model_merged(Arena *arena, const Model *model, Arena *scratch, const uint32_t **place_of) {
    Merger g = {.m = model, .arena = scratch};
    Builder b = {.m = NULL};
    if (place_of) *place_of = NULL;
    if (!several_come(model)) return model;
    merger_open(&g);
    uint32_t n = 0, classes = split_by_shape(&g);
    while (classes > n) {
        n = classes;
        classes = split_by_targets(&g);
    }
    const Model *merged = build(arena, model, &g, &b);
    if (place_of) *place_of = b.place_of;
    return merged;
}
