#include "unit.h"

#include "base/names.h"

static Str word_of(Buf *buf, uint32_t i) {
    static const char *const stems[] = {"gauge-", "a", "the-oil-pressure-of-engine-", "x"};
    buf->len = 0;
    buf_text(buf, stems[i % 4]);
    buf_uint(buf, i);
    return buf_view(buf);
}

static void each_word_once(void **state) {
    (void)state;
    Arena arena = {0};
    Names names;
    names_open(&names, &arena);
    Buf buf = {.arena = &arena};
    assert_int_equal(name_find(&names, STR("throttle")), 0);
    for (uint32_t i = 0; i < 30000; i++) assert_int_equal(name_intern(&names, word_of(&buf, i)), i + 1);
    for (uint32_t i = 0; i < 30000; i++) {
        Str word = word_of(&buf, i);
        assert_int_equal(name_intern(&names, word), i + 1);
        assert_int_equal(name_find(&names, word), i + 1);
        assert_true(str_eq(name_text(&names, i + 1), word));
    }
    assert_int_equal(name_find(&names, STR("throttle")), 0);
    arena_free(&arena);
}

static void no_name_is_zero(void **state) {
    (void)state;
    Arena arena = {0};
    Names names;
    names_open(&names, &arena);
    assert_int_equal(name_intern(&names, STR("")), 0);
    assert_int_equal(name_find(&names, (Str){NULL, 0}), 0);
    assert_str(name_text(&names, 0), "");
    assert_str(name_text(&names, 77), "");
    arena_free(&arena);
}

static void near_words_are_different(void **state) {
    (void)state;
    Arena arena = {0};
    Names names;
    names_open(&names, &arena);
    Name short_one = name_intern(&names, STR("ab"));
    assert_int_not_equal(short_one, name_intern(&names, STR("ab\0")));
    assert_int_not_equal(short_one, name_intern(&names, STR("\0ab")));
    assert_int_not_equal(name_intern(&names, STR("12345678")), name_intern(&names, STR("123456781")));
    assert_int_not_equal(name_intern(&names, STR("1234567812345678")), name_intern(&names, STR("12345678")));
    assert_int_equal(names.n, 7);
    arena_free(&arena);
}

static void names_outlive_the_text_they_came_from(void **state) {
    (void)state;
    Arena arena = {0};
    Names names;
    names_open(&names, &arena);
    char text[] = "mixture";
    Name name = name_intern(&names, (Str){text, 7});
    memset(text, '?', 7);
    assert_str(name_text(&names, name), "mixture");
    arena_free(&arena);
}

static void maps_find_what_was_put(void **state) {
    (void)state;
    Arena arena = {0};
    NameMap map = {.arena = &arena};
    static int values[20000];
    assert_null(map_get(&map, 5));
    for (uint32_t i = 1; i < 20000; i++) map_put(&map, i * 64, &values[i]);
    for (uint32_t i = 1; i < 20000; i++) assert_ptr_equal(map_get(&map, i * 64), &values[i]);
    assert_null(map_get(&map, 65));
    map_put(&map, 64, &values[0]);
    assert_ptr_equal(map_get(&map, 64), &values[0]);
    assert_int_equal(map.n, 19999);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_word_once),           cmocka_unit_test(no_name_is_zero),
        cmocka_unit_test(near_words_are_different), cmocka_unit_test(names_outlive_the_text_they_came_from),
        cmocka_unit_test(maps_find_what_was_put),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
