/* Places that were made one are alike: of each it is looked at what may be done there and where it leads, for all examples and good twins. */
#include "check/merge.h"
#include "../oracle/texts.c"
#include "unit.h"
#include <glob.h>

typedef struct {
    const Model *from, *to;
    const uint32_t *place_of;
} Pair;

static bool same_guard(const Guard *a, const Guard *b) {
    if (!a || !b) return a == b;
    if (a->n != b->n) return false;
    for (uint32_t t = 0; t < a->n; t++) {
        if (a->terms[t].n != b->terms[t].n) return false;
        for (uint32_t k = 0; k < a->terms[t].n; k++)
            if (a->terms[t].literals[k].fact != b->terms[t].literals[k].fact ||
                a->terms[t].literals[k].mask != b->terms[t].literals[k].mask)
                return false;
    }
    return true;
}

static bool same_mark(const Mark *a, const Mark *b) {
    return a->kind == b->kind && a->fact == b->fact && a->thing == b->thing && a->engine == b->engine &&
           a->mask == b->mask && a->name == b->name && a->count == b->count;
}

static bool same_deeds(const Edge *a, const Edge *b) {
    if (a->kind != b->kind || a->actor != b->actor || a->item != b->item || a->drill != b->drill ||
        a->over_duty != b->over_duty || !same_guard(a->guard, b->guard) || a->n_changes != b->n_changes ||
        a->n_bounds != b->n_bounds || a->n_resets != b->n_resets || a->n_marks != b->n_marks)
        return false;
    for (uint32_t k = 0; k < a->n_changes; k++)
        if (a->changes[k].kind != b->changes[k].kind || a->changes[k].fact != b->changes[k].fact ||
            a->changes[k].mask != b->changes[k].mask)
            return false;
    for (uint32_t k = 0; k < a->n_bounds; k++)
        if (a->bounds[k].clock != b->bounds[k].clock || a->bounds[k].least_ms != b->bounds[k].least_ms ||
            a->bounds[k].most_ms != b->bounds[k].most_ms)
            return false;
    for (uint32_t k = 0; k < a->n_resets; k++)
        if (a->resets[k] != b->resets[k]) return false;
    for (uint32_t k = 0; k < a->n_marks; k++)
        if (!same_mark(&a->marks[k], &b->marks[k])) return false;
    return true;
}

static bool same_edge(const Pair *pair, const Edge *a, const Edge *b) {
    uint32_t to = a->to == NO_INDEX ? NO_INDEX : pair->place_of[a->to];
    return to == b->to && same_deeds(a, b);
}

static bool leaves(const Model *m, const Edge *edge, uint32_t place) {
    const Scope *scope = &m->scopes[edge->scope];
    return place >= scope->lo && place < scope->hi && !(place >= scope->but_lo && place < scope->but_hi) &&
           !(scope->skip_own && m->places[place].own_engine_edges);
}

static uint32_t n_leaving(const Model *m, uint32_t place) {
    uint32_t n = 0;
    for (uint32_t e = m->first_ambient; e < m->n_edges; e++) n += leaves(m, &m->edges[e], place);
    return n;
}

static bool has_alike(const Pair *pair, const Edge *edge, uint32_t place) {
    for (uint32_t e = pair->to->first_ambient; e < pair->to->n_edges; e++)
        if (leaves(pair->to, &pair->to->edges[e], place) && same_edge(pair, edge, &pair->to->edges[e])) return true;
    return false;
}

static void edges_are_alike(const Pair *pair, uint32_t p) {
    uint32_t q = pair->place_of[p];
    const Place *from = &pair->from->places[p], *to = &pair->to->places[q];
    assert_int_equal(from->n_edges, to->n_edges);
    for (uint32_t k = 0; k < from->n_edges; k++) {
        const Edge *left = &pair->to->edges[to->first_edge + k];
        assert_true(same_edge(pair, &pair->from->edges[from->first_edge + k], left));
        assert_int_equal(left->from, q);
    }
    assert_int_equal(n_leaving(pair->from, p), n_leaving(pair->to, q));
    for (uint32_t e = pair->from->first_ambient; e < pair->from->n_edges; e++)
        if (leaves(pair->from, &pair->from->edges[e], p)) assert_true(has_alike(pair, &pair->from->edges[e], q));
}

static void deadlines_are_alike(const Pair *pair, const Place *from, const Place *to) {
    assert_int_equal(from->n_deadlines, to->n_deadlines);
    for (uint32_t k = 0; k < from->n_deadlines; k++) {
        const Deadline *a = &pair->from->deadlines[from->first_deadline + k];
        const Deadline *b = &pair->to->deadlines[to->first_deadline + k];
        assert_true(a->clock == b->clock && a->ms == b->ms && same_guard(a->when, b->when));
        assert_true(a->lapse == NO_INDEX ? b->lapse == NO_INDEX
                                         : a->lapse - from->first_edge == b->lapse - to->first_edge);
    }
}

static void place_is_alike(const Pair *pair, uint32_t p) {
    const Place *from = &pair->from->places[p], *to = &pair->to->places[pair->place_of[p]];
    assert_true(from->kind == to->kind && from->item == to->item && from->drill == to->drill &&
                from->outcome == to->outcome && from->no_more_starts == to->no_more_starts &&
                from->pilots_act == to->pilots_act && from->own_engine_edges == to->own_engine_edges &&
                same_guard(from->pace_when, to->pace_when));
    if (from->drill == NO_INDEX) assert_int_equal(from->procedure, to->procedure);
    deadlines_are_alike(pair, from, to);
    edges_are_alike(pair, p);
}

/* Edges by which one gives up, and where procedures lie. */
static void rest_is_alike(const Pair *pair) {
    const Model *from = pair->from, *to = pair->to;
    assert_int_equal(to->joint, pair->place_of[from->joint]);
    assert_int_equal(from->n_give_ups, to->n_give_ups);
    for (uint32_t k = 0; k < from->n_give_ups; k++) {
        assert_true(same_edge(pair, &from->give_ups[k], &to->give_ups[k]));
        assert_int_equal(pair->place_of[from->give_ups[k].from], to->give_ups[k].from);
    }
    for (uint32_t p = 0; p < to->n_places; p++) {
        uint32_t k = to->places[p].procedure;
        if (k != NO_INDEX) assert_true(p >= to->procedure_lo[k] && p < to->procedure_hi[k]);
    }
}

static void compare(Compiled *c, uint32_t *before, uint32_t *after) {
    Arena scratch = {.exhausted = NULL};
    for (size_t t = 0; t < c->unit->n_tails; t++) {
        if (!c->unit->tails[t].tail) continue;
        Pair pair = {.from = model_lower(&c->unit->job, c->unit->tails[t].tail)};
        pair.to = model_merged(&scratch, pair.from, &scratch, &pair.place_of);
        *before += pair.from->n_places;
        *after += pair.to->n_places;
        if (!pair.place_of) assert_ptr_equal(pair.from, pair.to);
        for (uint32_t p = 0; pair.place_of && p < pair.from->n_places; p++) place_is_alike(&pair, p);
        if (pair.place_of) rest_is_alike(&pair);
    }
    arena_free(&scratch);
}

static void compare_all(const char *pattern, bool twins, uint32_t *before, uint32_t *after) {
    glob_t found;
    *before = *after = 0;
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    for (size_t k = 0; k < found.gl_pathc; k++) {
        Compiled c;
        const char *path = found.gl_pathv[k];
        assert_true(text_compile(&c, path, twins ? text_of_twin(path, false) : text_of_file(path), NULL, NULL));
        compare(&c, before, after);
        text_discard(&c);
    }
    globfree(&found);
}

static void examples(void **state) {
    (void)state;
    uint32_t before, after;
    compare_all("examples/saltmarsh/*.start", false, &before, &after);
    print_message("# %u places of the examples are made %u\n", before, after);
    assert_true(after * 3 < before * 2);
}

static void twins(void **state) {
    (void)state;
    uint32_t before, after;
    compare_all("tests/gates/*.case", true, &before, &after);
    assert_true(after <= before);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(examples), cmocka_unit_test(twins)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
