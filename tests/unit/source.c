#include "unit.h"

#include "base/source.h"

static Position place(Sources *sources, const Source *source, uint32_t at) {
    return source_position(sources, source->base + at);
}

static void assert_place(Position p, uint32_t line, uint32_t column, uint32_t utf16, uint32_t width) {
    assert_int_equal(p.line, line);
    assert_int_equal(p.column, column);
    assert_int_equal(p.utf16, utf16);
    assert_int_equal(p.width, width);
}

static void counts_in_four_ways(void **state) {
    (void)state;
    Arena arena = {0};
    Sources sources = {.arena = &arena};
    /* a, tab, e acute, CJK (wide), e + combining acute, a character beyond U+FFFF, x */
    const Source *s = source_add(&sources, STR("a.start"), STR("a\t\u00E9\u4E2De\u0301\U0001F6E9x"), false);
    assert_place(place(&sources, s, 0), 1, 1, 0, 0);
    assert_place(place(&sources, s, 1), 1, 2, 1, 1);   /* the tab */
    assert_place(place(&sources, s, 2), 1, 3, 2, 8);   /* é */
    assert_place(place(&sources, s, 4), 1, 4, 3, 9);   /* 中 */
    assert_place(place(&sources, s, 7), 1, 5, 4, 11);  /* e */
    assert_place(place(&sources, s, 8), 1, 6, 5, 12);  /* combining */
    assert_place(place(&sources, s, 10), 1, 7, 6, 12); /* beyond U+FFFF */
    assert_place(place(&sources, s, 14), 1, 8, 8, 14); /* x */
    assert_place(place(&sources, s, 15), 1, 9, 9, 15); /* the end */
    assert_place(place(&sources, s, 5), 1, 4, 3, 9);   /* inside 中: its beginning; and going back works */
    arena_free(&arena);
}

static void every_line_end_counts_once(void **state) {
    (void)state;
    Arena arena = {0};
    Sources sources = {.arena = &arena};
    const Source *s = source_add(&sources, STR("a"), STR("one\r\ntwo\rthree\nfour\n\nsix"), false);
    const uint32_t begins[] = {0, 5, 9, 15, 20, 21};
    const char *const lines[] = {"one", "two", "three", "four", "", "six"};
    for (uint32_t i = 0; i < 6; i++) {
        assert_place(place(&sources, s, begins[i]), i + 1, 1, 0, 0);
        assert_str(source_line(&sources, s, i + 1), lines[i]);
    }
    assert_int_equal(s->n_lines, 6);
    assert_place(place(&sources, s, 4), 1, 5, 4, 3); /* the LF of CR LF is still on line 1 */
    assert_place(place(&sources, s, 24), 6, 4, 3, 3);
    assert_str(source_line(&sources, s, 0), "");
    assert_str(source_line(&sources, s, 7), "");
    arena_free(&arena);
}

static void the_end_of_a_text_has_a_place(void **state) {
    (void)state;
    Arena arena = {0};
    Sources sources = {.arena = &arena};
    const Source *empty = source_add(&sources, STR("empty"), STR(""), false);
    const Source *ended = source_add(&sources, STR("ended"), STR("a\n"), false);
    const Source *cr = source_add(&sources, STR("cr"), STR("a\r"), false);
    assert_place(place(&sources, empty, 0), 1, 1, 0, 0);
    assert_ptr_equal(place(&sources, empty, 0).source, empty);
    assert_place(place(&sources, ended, 2), 2, 1, 0, 0);
    assert_ptr_equal(place(&sources, ended, 2).source, ended);
    assert_place(place(&sources, cr, 2), 2, 1, 0, 0);
    assert_null(source_position(&sources, cr->base + 3).source);
    assert_null(source_position(&sources, 0).source);
    arena_free(&arena);
}

static void a_nul_and_bad_bytes_are_counted_and_kept(void **state) {
    (void)state;
    Arena arena = {0};
    Sources sources = {.arena = &arena};
    Str text = STR("a\0b\xFF\xFE"
                   "c\nd\0e");
    const Source *s = source_add(&sources, STR("a"), text, false);
    assert_place(place(&sources, s, 5), 1, 6, 5, 4); /* NUL: no cell; each bad byte: one column, one cell */
    assert_place(place(&sources, s, 9), 2, 3, 2, 1);
    assert_int_equal(source_line(&sources, s, 2).len, 3);
    assert_true(str_eq(span_text(&sources, (Span){s->base + 7, s->base + 10}), STR("d\0e")));
    arena_free(&arena);
}

static void one_space_for_all_texts(void **state) {
    (void)state;
    Arena arena = {0};
    Sources sources = {.arena = &arena};
    const Source *all[100];
    for (int i = 0; i < 100; i++) all[i] = source_add(&sources, STR("x"), STR("line\nline\n"), i % 2);
    for (int i = 0; i < 100; i++) {
        assert_ptr_equal(source_at(&sources, all[i]->base), all[i]);
        assert_ptr_equal(source_at(&sources, all[i]->base + 10), all[i]);
        assert_ptr_equal(place(&sources, all[i], 7).source, all[i]);
        assert_int_equal(place(&sources, all[i], 7).line, 2);
    }
    assert_null(source_at(&sources, 0));
    assert_null(source_add(&sources, STR("too long"), (Str){"", (size_t)UINT32_MAX}, false));
    arena_free(&arena);
}

static void spans_join(void **state) {
    (void)state;
    Span none = {0, 0}, a = {4, 9}, b = {2, 5};
    assert_int_equal(span_join(a, b).lo, 2);
    assert_int_equal(span_join(a, b).hi, 9);
    assert_int_equal(span_join(none, b).lo, 2);
    assert_int_equal(span_join(a, none).hi, 9);
    Sources sources = {0};
    assert_str(span_text(&sources, a), "");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_in_four_ways),           cmocka_unit_test(every_line_end_counts_once),
        cmocka_unit_test(the_end_of_a_text_has_a_place), cmocka_unit_test(a_nul_and_bad_bytes_are_counted_and_kept),
        cmocka_unit_test(one_space_for_all_texts),       cmocka_unit_test(spans_join),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
