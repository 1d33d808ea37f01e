/* Conditions as alternatives, and a small text lowered: that variants which cannot be are left out, that lists stay in order, and
   that running out of memory anywhere in it is left cleanly. */
#include "sema/lower.h"
#include "front/front.h"
#include "sema/program.h"
#include "unit.h"
#include <stdlib.h>

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
} Bench;

static void bench_start(Bench *bench) {
    memset(bench, 0, sizeof *bench);
    names_open(&bench->names, &bench->arena);
    bench->sources.arena = bench->findings.arena = &bench->arena;
    bench->findings.names = &bench->names;
    bench->job = (Job){&bench->arena, &bench->names, &bench->sources, &bench->findings};
}

static const Test *fact(Bench *bench, uint32_t index, uint64_t mask) {
    return test_fact(&bench->arena, index, mask);
}

/* "0=1 1=3 or 2=4": terms and literals as they are. */
static Str guard_words(Bench *bench, const Guard *guard) {
    Buf buf = {.arena = &bench->arena};
    for (uint32_t t = 0; t < guard->n; t++) {
        if (t) buf_text(&buf, " or ");
        if (!guard->terms[t].n) buf_text(&buf, "true");
        for (uint32_t i = 0; i < guard->terms[t].n; i++) {
            const Literal *literal = &guard->terms[t].literals[i];
            buf_format(&buf, &bench->names, i ? " %u=%u" : "%u=%u", (uint64_t)literal->fact, literal->mask);
        }
    }
    if (!guard->n) buf_text(&buf, "false");
    return buf_view(&buf);
}

/* Three facts of four values; the last an engine. */
static Guard *guard_of(Bench *bench, const Test *test, bool negated) {
    static const Fact facts[3] = {{.kind = FACT_CONTROL, .n_values = 4},
                                  {.kind = FACT_CONTROL, .n_values = 4},
                                  {.kind = FACT_ENGINE, .n_values = 4}};
    bool over = false;
    Guard *guard = guard_make(&bench->arena, facts, test, negated, &over);
    assert_false(over);
    return guard;
}

static void guards_are_short(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    Arena *arena = &b.arena;
    const Test *a = fact(&b, 0, 1), *c = fact(&b, 1, 3), *engine = fact(&b, 2, 4);
    assert_str(guard_words(&b, guard_of(&b, test_both(arena, a, c), false)), "0=1 1=3");
    assert_str(guard_words(&b, guard_of(&b, test_both(arena, a, c), true)), "0=14 or 1=12");
    assert_str(guard_words(&b, guard_of(&b, test_both(arena, a, engine), false)), "2=4 0=1"); /* engines first */
    assert_str(guard_words(&b, guard_of(&b, test_both(arena, a, fact(&b, 0, 2)), false)), "false");
    assert_str(guard_words(&b, guard_of(&b, test_either(arena, a, fact(&b, 0, 14)), false)), "true");
    assert_str(guard_words(&b, guard_of(&b, test_either(arena, a, fact(&b, 0, 2)), false)), "0=3"); /* one term */
    const Test *covered = test_either(arena, test_both(arena, a, c), a);
    assert_str(guard_words(&b, guard_of(&b, covered, false)), "0=1");
    assert_str(guard_words(&b, guard_of(&b, test_inverse(arena, covered), true)), "0=1");
    arena_free(&b.arena);
}

static void texts_hold_either_way(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    Test said = {.kind = TEST_SAID};
    assert_str(guard_words(&b, guard_of(&b, &said, false)), "true");
    assert_str(guard_words(&b, guard_of(&b, &said, true)), "true");
    arena_free(&b.arena);
}

static void too_many_alternatives_are_told(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    const Test *all = test_const(true);
    for (uint32_t i = 0; i < 9; i++) { /* (f0=1 or f1=1) and (f2=1 or f3=1) … : 2 to the 9th */
        all = test_both(&b.arena, all, test_either(&b.arena, fact(&b, 2 * i, 1), fact(&b, 2 * i + 1, 1)));
    }
    assert_null(guard_of_test(&b.job, all, false));
    assert_int_equal(b.findings.list.n, 1);
    assert_int_equal(b.findings.list.at[0]->kind, FINDING_CONDITION_MANY);
    assert_non_null(guard_of_test(&b.job, all, true));
    arena_free(&b.arena);
}

static void what_an_edge_changes_is_read_after_it(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    Literal known[] = {{0, 1}, {0, 2}, {1, 3}};
    Known list = {known, 3, 1, 3}; /* fact 0 was 1 and becomes 2; fact 1 becomes 1 or 2 */
    assert_true(test_never(test_fold(&b.arena, fact(&b, 0, 1), &list)));
    assert_true(test_always(test_fold(&b.arena, fact(&b, 0, 6), &list)));
    assert_int_equal(test_fold(&b.arena, fact(&b, 1, 1), &list)->kind, TEST_UNDECIDED); /* either way */
    assert_int_equal(test_fold(&b.arena, fact(&b, 2, 1), &list)->kind, TEST_FACT);
    arena_free(&b.arena);
}

/* ---- a text ---- */
static const char text[] = "kind piston\n"
                           "control starter \"Starter\" { RELEASED, ENGAGED turns engine }\n"
                           "control master \"Master\" { OFF, ON powers starter }\n"
                           "control mixture \"Mixture\" { RICH, CUTOFF stops engine }\n"
                           "gauge oil \"Oil\" psi\n"
                           "scene area \"Area\" { CLEAR, OCCUPIED }\n"
                           "source poh \"Handbook\" edition \"1\"\n"
                           "event fires means engine becomes RUNNING\n"
                           "aircraft a \"A\" {\n"
                           "    kind piston\n"
                           "    duty starter up to 10 s on, 20 s rest, 3 tries, then 10 min rest from poh 1\n"
                           "    band oil rise at least 25 psi from poh 1\n"
                           "    value run-down 8 s from poh 1\n"
                           "}\n"
                           "procedure p \"P\" for a {\n"
                           "    begins with engine STOPPED\n"
                           "    drills near\n"
                           "    phase first \"First\" {\n"
                           "        set master ON\n"
                           "        set mixture RICH\n"
                           "        try {\n"
                           "            look area CLEAR, otherwise again after 10 s\n"
                           "            crank\n"
                           "        } until engine RUNNING, otherwise end ABANDONED\n"
                           "        expect oil rise within 30 s after fires, otherwise end SECURED\n"
                           "    }\n"
                           "    end RUNNING\n"
                           "}\n"
                           "drill near \"Near\" for a {\n"
                           "    cue area OCCUPIED for 3 s\n"
                           "    armed while engine RUNNING\n"
                           "    memory { set mixture CUTOFF }\n"
                           "    check engine STOPPED\n"
                           "    end READY, start again at first\n"
                           "}\n";

static File *nothing_to_load(void *context, const File *from, const Decl *use) {
    (void)context;
    (void)from;
    (void)use;
    return NULL;
}

static const Tail *bench_tail(Bench *bench) {
    File *file = parse_file(&bench->job, source_add(&bench->sources, STR("a.start"), STR(text), false));
    Program *program = program_open(&bench->job, &file, 1, (Loader){NULL, nothing_to_load});
    const Tail *tail = program_tail(&bench->job, program, program_tail_decl(program, 0));
    assert_non_null(tail);
    assert_int_equal(bench->findings.list.n, 0);
    return tail;
}

static void lists_are_in_order(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    const Model *m = model_lower(&b.job, bench_tail(&b));
    assert_int_equal(b.findings.list.n, 0);
    uint32_t edge = 0, deadline = 0;
    for (uint32_t i = 0; i < m->n_places; i++) {
        assert_int_equal(m->places[i].first_edge, edge);
        assert_int_equal(m->places[i].first_deadline, deadline);
        for (uint32_t k = 0; k < m->places[i].n_edges; k++, edge++) {
            assert_int_equal(m->edges[edge].from, i);
            assert_true(m->edges[edge].to < m->n_places);
        }
        for (uint32_t k = 0; k < m->places[i].n_deadlines; k++, deadline++) {
            uint32_t lapse = m->deadlines[deadline].lapse;
            if (lapse == NO_INDEX) continue;
            assert_int_equal(m->edges[lapse].kind, EDGE_LAPSE);
            assert_int_equal(m->edges[lapse].from, i);
        }
    }
    assert_int_equal(edge, m->first_ambient);
    assert_int_equal(deadline, m->n_deadlines);
    for (; edge < m->n_edges; edge++) {
        assert_int_equal(m->edges[edge].from, NO_INDEX);
        assert_true(m->edges[edge].scope < m->n_scopes);
    }
    arena_free(&b.arena);
}

static void places_of_a_procedure_are_together(void **state) {
    (void)state;
    Bench b;
    bench_start(&b);
    const Model *m = model_lower(&b.job, bench_tail(&b));
    for (uint32_t i = 0; i < m->n_places; i++) {
        bool inside = i >= m->procedure_lo[0] && i < m->procedure_hi[0];
        assert_int_equal(m->places[i].procedure, inside ? 0 : NO_INDEX);
        assert_int_equal(m->places[i].kind == PLACE_JOINT, !inside);
        if (m->places[i].kind == PLACE_END) assert_true(i >= m->scopes[0].hi); /* no drill is entered from an end */
    }
    arena_free(&b.arena);
}

/* True: the k-th allocation failed and was left through the arena's exit. */
static bool lowering_fails(size_t k) {
    Bench b;
    jmp_buf exhausted;
    bench_start(&b);
    const Tail *volatile tail = bench_tail(&b);
    bool failed = setjmp(exhausted) != 0;
    if (!failed) {
        b.arena.exhausted = &exhausted;
        arena_fail_at(k);
        (void)model_lower(&b.job, tail);
    }
    arena_fail_at(0);
    arena_free(&b.arena);
    return failed;
}

static void no_memory_is_left_cleanly(void **state) {
    (void)state;
    size_t k = 1;
    while (k < 1000 && lowering_fails(k)) k++;
    assert_in_range(k, 4, 999);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(guards_are_short),
        cmocka_unit_test(texts_hold_either_way),
        cmocka_unit_test(too_many_alternatives_are_told),
        cmocka_unit_test(what_an_edge_changes_is_read_after_it),
        cmocka_unit_test(lists_are_in_order),
        cmocka_unit_test(places_of_a_procedure_are_together),
        cmocka_unit_test(no_memory_is_left_cleanly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
