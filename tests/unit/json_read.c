#include "unit.h"

#include "base/json_read.h"

static Arena arena;

static Str again(const char *text) {
    const JsonNode *node = json_read(&arena, str_of(text));
    if (!node) return STR("refused");
    Buf buf = {&arena, NULL, 0, 0};
    static Json json;
    json_open(&json, sink_to_buf(&buf));
    json_put(&json, &arena, node, "left-out");
    json_close(&json);
    return buf_finish(&buf);
}

static void canonical(void **state) {
    (void)state;
    assert_str(again(" { \"b\" : [ 1 , -2, true,false ,null ] , \"a\" : { } } "),
               "{\"a\":{},\"b\":[1,-2,true,false,null]}");
    assert_str(again("{\"left-out\":1,\"x\":{\"left-out\":2}}"), "{\"x\":{\"left-out\":2}}");
    assert_str(again("\"\\u00e9\\ud83d\\ude00\\n\\/\""), "\"\xC3\xA9\xF0\x9F\x98\x80\\n/\"");
    /* by UTF-16 units: U+10000 (D800 …) before U+FFFD */
    assert_str(again("{\"\xEF\xBF\xBD\":1,\"\xF0\x90\x80\x80\":2}"), "{\"\xF0\x90\x80\x80\":2,\"\xEF\xBF\xBD\":1}");
    assert_str(again("{\"a\":1,\"b\":2,\"a\":3}"), "{\"a\":3,\"b\":2}");
}

static void refused(void **state) {
    (void)state;
    static const char *const bad[] = {"",    "{",       "[1,]",   "{\"a\"}",     "01",       "1.",    "+1",
                                      "nul", "\"\\x\"", "\"\n\"", "\"\\ud800\"", "\"\xFF\"", "[1] 2", "{\"a\":1,}",
                                      "1e",  "\"a",     "[",      "{1:2}",       "-",        "tru",   "'a'"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) assert_str(again(bad[i]), "refused");
    char deep[200];
    memset(deep, '[', 100), memset(deep + 100, ']', 99), deep[199] = 0;
    assert_str(again(deep), "refused");
}

static void whole_numbers(void **state) {
    (void)state;
    const JsonNode *list =
        json_read(&arena, STR("[9007199254740991,9007199254740992,-5,1.5,1e3,18446744073709551617]"));
    static const bool whole[] = {true, false, true, false, false, false};
    size_t i = 0;
    for (const JsonNode *one = list->first; one; one = one->next) assert_int_equal(one->whole, whole[i++]);
    assert_int_equal(list->first->value, INT64_C(9007199254740991));
    assert_int_equal(list->first->next->next->value, -5);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(canonical), cmocka_unit_test(refused),
                                       cmocka_unit_test(whole_numbers)};
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    arena_free(&arena);
    return failed;
}
