#include "unit.h"

#include "base/json.h"

static Arena arena;
static Json json;

static Buf opened(void) {
    return (Buf){.arena = &arena};
}

static void structures(void **state) {
    (void)state;
    Buf buf = opened();
    json_open(&json, sink_to_buf(&buf));
    json_object(&json);
    json_key(&json, "a");
    json_array(&json);
    json_int(&json, 1);
    json_int(&json, -9007199254740992);
    json_bool(&json, true);
    json_null(&json);
    json_array(&json);
    json_end(&json);
    json_object(&json);
    json_end(&json);
    json_end(&json);
    json_key(&json, "b");
    json_text(&json, "x");
    json_key(&json, "c");
    json_raw(&json, STR("[0]"));
    json_end(&json);
    assert_true(json_close(&json));
    assert_str(buf_view(&buf), "{\"a\":[1,-9007199254740992,true,null,[],{}],\"b\":\"x\",\"c\":[0]}");
}

static Str one_string(Str text) {
    Buf *buf = arena_alloc(&arena, sizeof *buf);
    *buf = opened();
    json_open(&json, sink_to_buf(buf));
    json_str(&json, text);
    assert_true(json_close(&json));
    return buf_view(buf);
}

static void escapes(void **state) {
    (void)state;
    assert_str(one_string(STR("")), "\"\"");
    assert_str(one_string(STR("a\"b\\c/")), "\"a\\\"b\\\\c/\"");
    assert_str(one_string(STR("\b\f\n\r\t")), "\"\\b\\f\\n\\r\\t\"");
    assert_str(one_string(STR("\0\x01\x1F\x7F")), "\"\\u0000\\u0001\\u001f\x7F\"");
    assert_str(one_string(STR("25\u00A0\u00B0C \U0001F6E9")), "\"25\u00A0\u00B0C \U0001F6E9\"");
    assert_str(one_string(STR("a\xFF"
                              "b\xED\xA0\x80")),
               "\"a\uFFFD"
               "b\uFFFD\uFFFD\uFFFD\"");
}

static void long_strings_pass_the_buffer(void **state) {
    (void)state;
    static char text[3 * JSON_BUFFER + 17];
    memset(text, 'x', sizeof text);
    text[JSON_BUFFER - 3] = '\n';
    Str out = one_string((Str){text, sizeof text});
    assert_int_equal(out.len, sizeof text + 3);
    assert_int_equal(out.ptr[JSON_BUFFER - 2], '\\');
    assert_int_equal(out.ptr[JSON_BUFFER - 1], 'n');
    assert_int_equal(out.ptr[out.len - 1], '"');
}

/* RFC 8785 orders keys by UTF-16 units, so a character beyond U+FFFF comes before U+FB33; a wrong order asserts. */
static void keys_in_the_order_of_utf16(void **state) {
    (void)state;
    Buf buf = opened();
    json_open(&json, sink_to_buf(&buf));
    json_object(&json);
    const char *const keys[] = {"\r", "1", "10", "\xC2\x80", "\u00F6", "\u20AC", "\U0001F600", "\uFB33"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        json_key(&json, keys[i]);
        json_int(&json, (int64_t)i);
    }
    json_end(&json);
    assert_true(json_close(&json));
    assert_true(str_ends(buf_view(&buf), STR("\"\U0001F600\":6,\"\uFB33\":7}")));
}

static int writes_allowed;

static bool refusing(void *context, const char *bytes, size_t n) {
    (void)bytes;
    *(size_t *)context += n;
    return writes_allowed-- > 0;
}

static void a_refusal_is_reported_and_nothing_follows(void **state) {
    (void)state;
    size_t given = 0;
    writes_allowed = 1;
    json_open(&json, (Sink){&given, refusing});
    json_array(&json);
    for (int i = 0; i < 10 * JSON_BUFFER; i++) json_int(&json, 7);
    json_end(&json);
    assert_false(json_close(&json));
    assert_in_range(given, JSON_BUFFER, 2 * JSON_BUFFER);
}

static int free_arena(void **state) {
    (void)state;
    arena_free(&arena);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(structures),
        cmocka_unit_test(escapes),
        cmocka_unit_test(long_strings_pass_the_buffer),
        cmocka_unit_test(keys_in_the_order_of_utf16),
        cmocka_unit_test(a_refusal_is_reported_and_nothing_follows),
    };
    return cmocka_run_group_tests(tests, NULL, free_arena);
}
