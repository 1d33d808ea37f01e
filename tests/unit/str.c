#include "unit.h"

static void compares_by_bytes_and_length(void **state) {
    (void)state;
    assert_true(str_eq(STR("oil"), str_of("oil")));
    assert_false(str_eq(STR("oil"), STR("oils")));
    assert_true(str_eq(STR(""), (Str){NULL, 0}));
    assert_false(str_eq(STR("a\0b"), STR("a\0c"))); /* a NUL is an ordinary byte */
    assert_true(str_cmp(STR("a"), STR("b")) < 0);
    assert_true(str_cmp(STR("ab"), STR("a")) > 0);
    assert_true(str_cmp(STR("\xC3\xA9"), STR("z")) > 0);
    assert_int_equal(str_cmp(STR("a\0"), STR("a\0")), 0);
    assert_true(str_starts(STR("oil-pressure"), STR("oil")));
    assert_false(str_starts(STR("oi"), STR("oil")));
    assert_true(str_ends(STR("marram.start"), STR(".start")));
    assert_false(str_ends(STR("start"), STR(".start")));
}

static void slices_stay_within_the_text(void **state) {
    (void)state;
    assert_str(str_slice(STR("throttle"), 2, 5), "rot");
    assert_str(str_slice(STR("throttle"), 5, 500), "tle");
    assert_str(str_slice(STR("throttle"), 9, 12), "");
    assert_str(str_slice(STR("throttle"), 5, 2), "");
}

static void buffers_grow(void **state) {
    (void)state;
    Arena arena = {0};
    Buf buf = {.arena = &arena};
    assert_str(buf_view(&buf), "");
    buf_text(&buf, "n=");
    buf_uint(&buf, UINT64_MAX);
    buf_char(&buf, ' ');
    buf_int(&buf, INT64_MIN);
    buf_int(&buf, 0);
    buf_repeat(&buf, '.', 3);
    assert_str(buf_view(&buf), "n=18446744073709551615 -92233720368547758080...");
    size_t before = buf.len;
    for (int i = 0; i < 10000; i++) buf_str(&buf, STR("0123456789"));
    assert_int_equal(buf.len, before + 100000);
    assert_int_equal(buf.ptr[buf.len - 1], '9');
    Str copy = str_copy(&arena, str_slice(buf_view(&buf), 0, 3));
    Str whole = buf_finish(&buf);
    assert_int_equal(whole.len, before + 100000);
    assert_int_equal(buf.len, 0);
    assert_str(copy, "n=1");
    arena_free(&arena);
}

static void distances(void **state) {
    (void)state;
    assert_int_equal(str_distance(STR("oil-pressure"), STR("oil-pressure"), 3), 0);
    assert_int_equal(str_distance(STR("oil-presure"), STR("oil-pressure"), 3), 1);
    assert_int_equal(str_distance(STR("oli-pressure"), STR("oil-pressure"), 3), 1); /* neighbours swapped */
    assert_int_equal(str_distance(STR("kitten"), STR("sitting"), 5), 3);
    assert_int_equal(str_distance(STR("kitten"), STR("sitting"), 2), 3);
    assert_int_equal(str_distance(STR("throttle"), STR("mixture"), 2), 3);
    assert_int_equal(str_distance(STR(""), STR("abc"), 5), 3);
    static char long_word[1000];
    memset(long_word, 'a', sizeof long_word);
    assert_int_equal(str_distance((Str){long_word, 1000}, (Str){long_word, 1000}, 2), 3); /* too long to compare */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compares_by_bytes_and_length),
        cmocka_unit_test(slices_stay_within_the_text),
        cmocka_unit_test(buffers_grow),
        cmocka_unit_test(distances),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
