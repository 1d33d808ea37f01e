#include "unit.h"

#include "base/rational.h"

static Arena arena;

static Str shown(Rational r) {
    Buf buf = {.arena = &arena};
    buf_rational(&buf, r);
    return buf_view(&buf);
}

static Str rounded(Rational r, uint32_t decimals, Rounding rounding) {
    Buf buf = {.arena = &arena};
    buf_rational_rounded(&buf, r, decimals, rounding);
    return buf_view(&buf);
}

static Rational number(const char *text) {
    Rational r;
    assert_true(rational_parse(str_of(text), &r));
    return r;
}

static void reads_decimals(void **state) {
    (void)state;
    assert_str(shown(number("25")), "25");
    assert_str(shown(number("0.50")), "0.5");
    assert_str(shown(number("-3.25")), "-3.25");
    assert_str(shown(number("007")), "7");
    assert_str(shown(number("-0")), "0");
    assert_str(shown(number("999999999999999999")), "999999999999999999");
    assert_str(shown(number("0.00000000000000001")), "0.00000000000000001");
    const char *const bad[] = {"",
                               "-",
                               ".5",
                               "5.",
                               "1.2.3",
                               "1,5",
                               "1e3",
                               "+1",
                               " 1",
                               "1 ",
                               "0x1",
                               "--1",
                               "1234567890123456789",
                               "0.000000000000000001"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        Rational r;
        if (rational_parse(str_of(bad[i]), &r)) fail_msg("\"%s\" was read", bad[i]);
    }
}

static void computes_exactly(void **state) {
    (void)state;
    Rational tenth = number("0.1"), third = rational_of(1, 3);
    assert_true(rational_eq(rational_add(tenth, number("0.2")), number("0.3")));
    assert_str(shown(rational_mul(third, rational_whole(3))), "1");
    assert_str(shown(rational_sub(third, third)), "0");
    assert_str(shown(rational_div(rational_whole(1), rational_whole(-3))), "-1/3");
    assert_str(shown(rational_of(-6, -8)), "0.75");
    assert_str(shown(rational_div(third, tenth)), "10/3");
    assert_true(rational_eq(rational_of(2, 4), rational_of(1, 2)));
}

static void compares(void **state) {
    (void)state;
    assert_int_equal(rational_cmp(rational_of(1, 3), number("0.33333333333333333")), 1);
    assert_int_equal(rational_cmp(rational_of(-1, 3), number("-0.33333333333333333")), -1);
    assert_int_equal(rational_cmp(rational_of(-7, 2), rational_whole(-4)), 1);
    assert_int_equal(rational_cmp(rational_whole(0), rational_of(0, 5)), 0);
    /* cross products of these do not fit in 128 bits */
    Rational a = rational_mul(rational_of(INT64_MAX, INT64_MAX - 1), rational_of(INT64_MAX - 4, INT64_MAX - 6));
    Rational b = rational_mul(rational_of(INT64_MAX, INT64_MAX - 1), rational_of(INT64_MAX - 6, INT64_MAX - 8));
    assert_false(rational_overflowed(a) || rational_overflowed(b));
    assert_int_equal(rational_cmp(a, b), -1);
    assert_int_equal(rational_cmp(b, a), 1);
    assert_int_equal(rational_cmp(a, a), 0);
}

static void overflow_sticks(void **state) {
    (void)state;
    Rational n = rational_whole(INT64_MAX), product = n;
    for (int i = 0; i < 2; i++) product = rational_mul(product, n);
    assert_true(rational_overflowed(product));
    assert_true(rational_overflowed(rational_add(product, rational_whole(1))));
    assert_true(rational_overflowed(rational_sub(rational_whole(1), product)));
    assert_true(rational_overflowed(rational_mul(product, rational_whole(0))));
    assert_true(rational_overflowed(rational_div(rational_whole(1), product)));
    assert_true(rational_overflowed(rational_div(rational_whole(1), rational_whole(0))));
    assert_str(shown(product), "?");
    int64_t whole;
    assert_false(rational_to_int(product, &whole));

    Rational sum = rational_mul(n, n);
    for (int i = 0; i < 3; i++) sum = rational_add(sum, sum); /* 2^126, 2^127: too much */
    assert_true(rational_overflowed(sum));
    Rational fine = rational_of(1, INT64_MAX);
    fine = rational_mul(fine, rational_of(1, INT64_MAX - 1));
    assert_false(rational_overflowed(fine));
    assert_true(rational_overflowed(rational_mul(fine, rational_of(1, INT64_MAX - 2))));
    assert_true(rational_overflowed(rational_add(fine, rational_of(1, INT64_MAX - 2))));
}

static void whole_numbers_out(void **state) {
    (void)state;
    int64_t n;
    assert_true(rational_to_int(rational_whole(INT64_MIN), &n));
    assert_true(n == INT64_MIN);
    assert_false(rational_to_int(rational_of(1, 2), &n));
    assert_false(rational_to_int(rational_mul(rational_whole(INT64_MAX), rational_whole(2)), &n));
}

static void rounds_as_told(void **state) {
    (void)state;
    Rational two_thirds = rational_of(2, 3), minus = rational_of(-2, 3);
    assert_str(rounded(two_thirds, 2, ROUND_NEAREST), "0.67");
    assert_str(rounded(two_thirds, 2, ROUND_DOWN), "0.66");
    assert_str(rounded(minus, 2, ROUND_UP), "-0.66");
    assert_str(rounded(minus, 2, ROUND_DOWN), "-0.67");
    assert_str(rounded(rational_of(5, 2), 0, ROUND_NEAREST), "3");
    assert_str(rounded(rational_of(-5, 2), 0, ROUND_NEAREST), "-3");
    assert_str(rounded(rational_of(-1, 1000), 2, ROUND_NEAREST), "0");
    assert_str(rounded(number("12.5000"), 3, ROUND_UP), "12.5");
    assert_str(rounded(number("1.005"), 2, ROUND_NEAREST), "1.01");
    assert_str(rounded(number("100"), 3, ROUND_NEAREST), "100");
    assert_str(rounded(number("0.9999"), 3, ROUND_NEAREST), "1");
    assert_str(rounded(number("3.05"), 2, ROUND_NEAREST), "3.05");
    assert_true(rational_is_decimal(number("0.125"), 3));
    assert_false(rational_is_decimal(number("0.125"), 2));
    assert_false(rational_is_decimal(two_thirds, 12));
}

static int free_arena(void **state) {
    (void)state;
    arena_free(&arena);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_decimals),  cmocka_unit_test(computes_exactly),  cmocka_unit_test(compares),
        cmocka_unit_test(overflow_sticks), cmocka_unit_test(whole_numbers_out), cmocka_unit_test(rounds_as_told),
    };
    return cmocka_run_group_tests(tests, NULL, free_arena);
}
