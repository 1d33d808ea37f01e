#include "unit.h"

#include "base/utf8.h"

/* The offset of the first byte that begins no character; the text's length when there is none. */
static size_t first_invalid(Str text) {
    for (size_t at = 0; at < text.len;) {
        Utf8 one = utf8_decode(text, at);
        if (!one.valid) return at;
        at += one.size;
    }
    return text.len;
}

static void assert_valid(Str text) {
    assert_int_equal(first_invalid(text), text.len);
}

static void accepts_what_is_valid(void **state) {
    (void)state;
    assert_valid(STR(""));
    assert_valid(STR("plain text, longer than eight bytes"));
    assert_valid(STR("\x7F\xC2\x80\xDF\xBF\xE0\xA0\x80\xED\x9F\xBF\xEE\x80\x80\xEF\xBF\xBF\xF0\x90\x80\x80"
                     "\xF4\x8F\xBF\xBF"));
    assert_valid(STR("a\0b"));
}

static void refuses_what_is_not(void **state) {
    (void)state;
    const Str bad[] = {
        STR("\x80"),             /* a tail without a head */
        STR("\xC0\x80"),         /* overlong NUL */
        STR("\xC1\xBF"),         /* overlong */
        STR("\xE0\x9F\xBF"),     /* overlong */
        STR("\xF0\x8F\xBF\xBF"), /* overlong */
        STR("\xED\xA0\x80"),     /* surrogates */
        STR("\xED\xBF\xBF"),
        STR("\xF4\x90\x80\x80"), /* beyond U+10FFFF */
        STR("\xF5\x80\x80\x80"),
        STR("\xFF"),
        STR("\xC3"), /* cut short */
        STR("\xE2\x82"),
        STR("\xF0\x9F\x9B"),
        STR("\xE2\x28\xA1"),
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_int_equal(first_invalid(bad[i]), 0);
        Utf8 one = utf8_decode(bad[i], 0);
        assert_false(one.valid);
        assert_int_equal(one.size, 1);
        assert_int_equal(one.code, 0xFFFD);
    }
    assert_int_equal(first_invalid(STR("nine byte\xC3(")), 9);
}

static void every_code_point_comes_back(void **state) {
    (void)state;
    Arena arena = {0};
    Buf buf = {.arena = &arena};
    for (uint32_t code = 0; code <= 0x10FFFF; code++) {
        if (code >= 0xD800 && code <= 0xDFFF) continue;
        buf.len = 0;
        buf_utf8(&buf, code);
        Utf8 one = utf8_decode(buf_view(&buf), 0);
        if (!one.valid || one.code != code || one.size != buf.len) fail_msg("U+%04X", code);
    }
    arena_free(&arena);
}

static void widths(void **state) {
    (void)state;
    assert_int_equal(utf8_text_width(STR("Ko\u010D\u00ED")), 4);
    assert_int_equal(utf8_text_width(STR("e\u0301")), 1);
    assert_int_equal(utf8_text_width(STR("\u4E2D\u6587")), 4);
    assert_int_equal(utf8_text_width(STR("\uFF21")), 2);
    assert_int_equal(utf8_text_width(STR("25\u00A0\u00B0C")), 5);
    assert_int_equal(utf8_width(0), 0);
    assert_int_equal(utf8_width(0x200B), 0);
    assert_int_equal(utf8_count(STR("Ko\u010D\u00ED")), 4);
    assert_int_equal(utf8_count(STR("a\xFF\xFE")), 3);
}

static void what_nobody_sees(void **state) {
    (void)state;
    const uint32_t turning[] = {0x061C, 0x200E, 0x200F, 0x202A, 0x202E, 0x2066, 0x2069};
    for (size_t i = 0; i < sizeof turning / sizeof *turning; i++) assert_true(utf8_turns(turning[i]));
    const uint32_t hidden[] = {0x00, 0x01, 0x7F, 0x85, 0xAD, 0x200B, 0x2028, 0x2060, 0x3164, 0xFEFF, 0xE0041};
    for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++) assert_true(utf8_hides(hidden[i]));
    /* Blanks of all kinds, joiners, marks and letters written from the right are seen, or change what is seen. */
    const uint32_t seen[] = {'\t',  '\n',   '\r',   ' ',    'a',    0xA0,   0x301,
                             0x5D0, 0x200C, 0x200D, 0x202F, 0x2065, 0xFE0F, 0x1F525};
    for (size_t i = 0; i < sizeof seen / sizeof *seen; i++) assert_false(utf8_turns(seen[i]) || utf8_hides(seen[i]));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(accepts_what_is_valid),
        cmocka_unit_test(refuses_what_is_not),
        cmocka_unit_test(every_code_point_comes_back),
        cmocka_unit_test(widths),
        cmocka_unit_test(what_nobody_sees),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
