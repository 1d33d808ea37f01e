/* Giving a start up: from every line of a procedure to where the innermost `otherwise` around it leads. A drill is a way out itself. */
#include "sema/lower.h"
#include <string.h>

/* The end that the action leads to, where some line of the procedure has been lowered that takes it; NO_INDEX: none. */
static uint32_t end_of(const Lower *l, const ItemAction *action) {
    for (size_t i = 0; i < l->ends.n; i++)
        if (l->ends.at[i].drill == NO_INDEX && l->ends.at[i].action->written == action->written)
            return l->ends.at[i].target;
    return NO_INDEX;
}

static Way way_out(Lower *l, const Item *item, const ItemAction *action) {
    if (action->kind == ACTION_TURN_TO) return way_of(l, action, item);
    Way way = way_to(end_of(l, action));
    way.ends = true;
    return way.to == NO_INDEX ? way_of(l, action, item) : way;
}

/* The lines that may be next at a place, and when: one, but where a condition decides. */
typedef struct NextLine NextLine;
struct NextLine {
    const Item *item;
    const Test *when; /* NULL: always */
    NextLine *next;
};

static void next_put(Lower *l, NextLine **list, const Raw *raw) {
    NextLine *line = *list;
    while (line && line->item != raw->item) line = line->next;
    if (line) {
        line->when =
            test_always(line->when) || test_always(raw->when) ? NULL : test_either(l->arena, line->when, raw->when);
        return;
    }
    line = ARENA_NEW(l->arena, NextLine);
    *line = (NextLine){raw->item, test_always(raw->when) ? NULL : raw->when, *list};
    *list = line;
}

static NextLine **next_lines(Lower *l, uint32_t lo, uint32_t hi) {
    NextLine **lists = ARENA_ARRAY(l->arena, NextLine *, hi - lo + 1u);
    for (size_t i = 0; i < l->raws.n; i++) {
        const Raw *raw = &l->raws.at[i];
        bool line = raw->kind == EDGE_ITEM || raw->kind == EDGE_OTHERWISE || raw->kind == EDGE_LAPSE;
        if (line && raw->item && raw->from >= lo && raw->from < hi) next_put(l, &lists[raw->from - lo], raw);
    }
    return lists;
}

static void give_up_at(Lower *l, uint32_t place, const NextLine *line, bool alone, Raws *list) {
    bool begun = l->place_crank.at[place] != NO_INDEX;
    Way way = way_out(l, line->item, begun ? line->item->give_up : line->item->give_up_before);
    Raw raw = {.kind = EDGE_GIVE_UP,
               .actor = ACTOR_PILOT,
               .from = place,
               .to = NO_INDEX,
               .scope = NO_INDEX,
               .drill = NO_INDEX,
               .deadline = NO_INDEX,
               .item = line->item,
               .when = alone ? NULL : line->when};
    way_take(l, &raw, &way);
    crank_leave(l, place, &raw);
    vec_push(l->arena, list, raw);
}

Raws give_ups_lower(Lower *l, uint32_t lo) {
    Raws list = {NULL, 0, 0};
    uint32_t hi = (uint32_t)l->places.n;
    NextLine **lists = next_lines(l, lo, hi);
    for (uint32_t p = lo; p < hi; p++)
        for (const NextLine *line = lists[p - lo]; line; line = line->next)
            if (line->item->give_up) give_up_at(l, p, line, line == lists[p - lo] && !line->next, &list);
    return list;
}

/* ---- the model in which giving up is an edge like all others ---- */
static Edge *edges_copied(Edge *to, const Edge *from, uint32_t n) {
    if (n) memcpy(to, from, n * sizeof *to);
    return to + n;
}

static uint32_t give_ups_at(const Model *m, uint32_t place, uint32_t from) {
    uint32_t n = 0;
    while (from + n < m->n_give_ups && m->give_ups[from + n].from == place) n++;
    return n;
}

Model *model_giving_up(Arena *arena, const Model *model) {
    Model *m = arena_copy(arena, model, sizeof *model);
    m->places = arena_copy(arena, model->places, (model->n_places + 1u) * sizeof *m->places);
    m->deadlines = arena_copy(arena, model->deadlines, (model->n_deadlines + 1u) * sizeof *m->deadlines);
    m->edges = ARENA_ARRAY(arena, Edge, (size_t)model->n_edges + model->n_give_ups + 1u);
    Edge *to = m->edges;
    uint32_t given = 0;
    for (uint32_t p = 0; p < m->n_places; p++) {
        Place *place = &m->places[p];
        uint32_t n = give_ups_at(model, p, given);
        for (uint32_t k = 0; k < place->n_deadlines; k++) {
            uint32_t *lapse = &m->deadlines[place->first_deadline + k].lapse;
            if (*lapse != NO_INDEX) *lapse += given; /* an edge of this place */
        }
        to = edges_copied(to, model->edges + place->first_edge, place->n_edges);
        to = edges_copied(to, model->give_ups + given, n);
        place->first_edge += given;
        place->n_edges += n;
        given += n;
    }
    m->first_ambient += given;
    m->n_edges += given;
    edges_copied(to, model->edges + model->first_ambient, model->n_edges - model->first_ambient);
    m->n_give_ups = 0;
    return m;
}
