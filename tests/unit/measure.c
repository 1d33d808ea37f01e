#include "unit.h"

#include "base/measure.h"

static Arena arena;

static const Measure *unit(const char *word) {
    const Measure *measure = measure_find(str_of(word));
    if (!measure) fail_msg("no unit %s", word);
    return measure;
}

static Rational number(const char *text) {
    Rational r;
    assert_true(rational_parse(str_of(text), &r));
    return r;
}

/* The amount in the other unit, to so many decimals. */
static Str converted(const char *amount, const char *from, const char *to, uint32_t decimals) {
    Rational base = measure_to_base(unit(from), number(amount));
    Buf buf = {.arena = &arena};
    buf_rational_rounded(&buf, measure_from_base(unit(to), base), decimals, ROUND_NEAREST);
    return buf_view(&buf);
}

static Str difference(const char *amount, const char *from, const char *to) {
    Rational base = measure_difference_to_base(unit(from), number(amount));
    Buf buf = {.arena = &arena};
    buf_rational(&buf, measure_difference_from_base(unit(to), base));
    return buf_view(&buf);
}

static void the_trade_converts_so(void **state) {
    (void)state;
    assert_str(converted("1", "psi", "kPa", 6), "6.894757");
    assert_str(converted("1", "bar", "kPa", 6), "100");
    assert_str(converted("1", "bar", "psi", 4), "14.5038");
    assert_str(converted("1", "inHg", "kPa-abs", 5), "3.38639");
    assert_str(converted("29.92", "inHg", "hPa", 1), "1013.2"); /* 29.9213 are 1013.25 */
    assert_str(converted("1", "gal", "l", 6), "3.785412");
    assert_str(converted("1", "impgal", "l", 6), "4.54609");
    assert_str(converted("1", "impgal", "gal", 5), "1.20095");
    assert_str(converted("1", "qt", "l", 6), "0.946353");
    assert_str(converted("1", "lb", "kg", 8), "0.45359237");
    assert_str(converted("1", "kt", "km/h", 6), "1.852");
    assert_str(converted("1", "kt", "m/s", 6), "0.514444");
    assert_str(converted("1", "ft", "m", 6), "0.3048");
    assert_str(converted("1", "in", "mm", 6), "25.4");
    assert_str(converted("72", "pt", "in", 6), "1");
    assert_str(converted("10", "degC", "degF", 6), "50");
    assert_str(converted("-40", "degC", "degF", 6), "-40");
    assert_str(converted("0", "degC", "K", 6), "273.15");
    assert_str(converted("1.5", "min", "s", 6), "90");
    assert_str(converted("10", "gal/h", "l/h", 5), "37.85412");
    assert_str(converted("100", "lb/h", "kg/h", 6), "45.359237");
    assert_str(converted("1", "hp", "kW", 6), "0.7457");
    assert_str(converted("1", "ft-lb", "Nm", 6), "1.355818");
    assert_str(converted("1", "kOhm", "Ohm", 0), "1000");
    assert_str(converted("1", "MOhm", "kOhm", 0), "1000");
    assert_str(converted("2500", "mV", "V", 3), "2.5");
}

static void a_difference_has_no_offset(void **state) {
    (void)state;
    assert_str(difference("10", "degC", "degF"), "18");
    assert_str(difference("10", "K", "degC"), "10");
    assert_str(difference("9", "degF", "degC"), "5");
}

static void converting_back_and_forth_is_exact(void **state) {
    (void)state;
    const Rational samples[] = {number("0"), number("25"), number("-12.5"), number("0.001"), number("999999")};
    for (size_t i = 0; i < measure_count; i++) {
        for (size_t k = 0; k < sizeof samples / sizeof *samples; k++) {
            const Measure *m = &measure_table[i];
            Rational base = measure_to_base(m, samples[k]);
            assert_false(rational_overflowed(base));
            assert_true(rational_eq(measure_from_base(m, base), samples[k]));
        }
    }
}

static void gauge_and_absolute_are_apart(void **state) {
    (void)state;
    assert_int_equal(unit("psi")->dimension, DIM_PRESSURE_GAUGE);
    assert_int_equal(unit("kPa")->dimension, DIM_PRESSURE_GAUGE);
    assert_int_equal(unit("inHg-gauge")->dimension, DIM_PRESSURE_GAUGE);
    assert_int_equal(unit("inHg")->dimension, DIM_PRESSURE_ABSOLUTE);
    assert_int_equal(unit("hPa")->dimension, DIM_PRESSURE_ABSOLUTE);
    assert_int_equal(unit("psia")->dimension, DIM_PRESSURE_ABSOLUTE);
    assert_int_not_equal(unit("rpm")->dimension, unit("Hz")->dimension);
    assert_int_not_equal(unit("gal/h")->dimension, unit("lb/h")->dimension);
}

/* Each spelling finds its own line and no other; each line is complete. */
static void the_table_is_sound(void **state) {
    (void)state;
    for (size_t i = 0; i < measure_count; i++) {
        const Measure *m = &measure_table[i];
        assert_ptr_equal(measure_find(str_of(m->spelling)), m);
        for (const char *at = m->also; *at;) {
            size_t len = strcspn(at, " ");
            assert_ptr_equal(measure_find((Str){at, len}), m);
            at += len + (at[len] == ' ');
        }
        assert_true(m->numerator > 0 && m->denominator > 0 && m->offset_denominator > 0);
        assert_true(m->ucum[0] && m->printed[0]);
        assert_true(m->offset_numerator == 0 || m->dimension == DIM_TEMPERATURE);
    }
    for (int d = 0; d < DIM_COUNT; d++) {
        assert_true(dimension_words((Dimension)d)[0] != 0);
        if (d != DIM_TEMPERATURE_DIFFERENCE) assert_non_null(measure_base((Dimension)d));
    }
    assert_null(measure_find(STR("furlong")));
    assert_null(measure_find(STR("")));
    assert_null(measure_find(STR("ps")));
}

static void assert_meant(const char *written, const char *meant) {
    const Measure *measure = measure_nearest(str_of(written));
    if (!measure) fail_msg("nothing for %s", written);
    assert_string_equal(measure->spelling, meant);
}

static void says_what_was_likely_meant(void **state) {
    (void)state;
    assert_meant("PSI", "psi");
    assert_meant("kpa", "kPa");
    assert_meant("seconds", "s");
    assert_meant("Celsius", "degC");
    assert_meant("C", "degC");
    assert_meant("knots", "kt");
    assert_meant("gal/hr", "gal/h");
    assert_meant("percnet", "percent");
    assert_meant("inHG", "inHg");
    assert_meant("kOhn", "kOhm");
    assert_null(measure_nearest(STR("furlong")));
    assert_null(measure_nearest(STR("x")));
}

static Str quantity(const char *amount, const char *in, QuantityStyle style) {
    Buf buf = {.arena = &arena};
    buf_quantity(&buf, unit(in), measure_to_base(unit(in), number(amount)), style);
    return buf_view(&buf);
}

static void quantities_are_set(void **state) {
    (void)state;
    QuantityStyle plain = {0}, nbsp = {.nbsp = true}, source = {.as_written = true};
    assert_str(quantity("25", "psi", plain), "25 psi");
    assert_str(quantity("25", "psi", nbsp), "25\u00A0psi");
    assert_str(quantity("-5", "degC", plain), "-5 \u00B0C");
    assert_str(quantity("-5", "degC", source), "-5 degC");
    assert_str(quantity("7.50", "gal/h", plain), "7.5 US gal/h");
    assert_str(quantity("30", "deg", nbsp), "30\u00B0");
    assert_str(quantity("75", "percent", plain), "75 %");
    assert_str(quantity("1.23456", "V", plain), "1.235 V");
    assert_str(quantity("1.23456", "V", (QuantityStyle){.decimals = 1, .rounding = ROUND_UP}), "1.3 V");
    Buf buf = {.arena = &arena};
    Rational ten = measure_difference_to_base(unit("degC"), number("10"));
    buf_quantity(&buf, unit("degF"), ten, (QuantityStyle){.difference = true});
    assert_str(buf_view(&buf), "18 \u00B0F");
    buf.len = 0;
    const Measure *psi = unit("psi");
    buf_quantity_range(&buf, psi, measure_to_base(psi, number("60")), measure_to_base(psi, number("90")), nbsp);
    assert_str(buf_view(&buf), "60..90\u00A0psi");
}

static void times_are_whole_milliseconds(void **state) {
    (void)state;
    int64_t ms = 0;
    assert_true(measure_milliseconds(measure_to_base(unit("min"), number("1.5")), &ms));
    assert_int_equal(ms, 90000);
    assert_true(measure_milliseconds(number("0.001"), &ms));
    assert_int_equal(ms, 1);
    assert_false(measure_milliseconds(number("0.0001"), &ms));
    assert_false(measure_milliseconds(number("-1"), &ms));
    assert_false(measure_milliseconds(number("999999999999999"), &ms));
}

static int free_arena(void **state) {
    (void)state;
    arena_free(&arena);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_trade_converts_so),
        cmocka_unit_test(a_difference_has_no_offset),
        cmocka_unit_test(converting_back_and_forth_is_exact),
        cmocka_unit_test(gauge_and_absolute_are_apart),
        cmocka_unit_test(the_table_is_sound),
        cmocka_unit_test(says_what_was_likely_meant),
        cmocka_unit_test(quantities_are_set),
        cmocka_unit_test(times_are_whole_milliseconds),
    };
    return cmocka_run_group_tests(tests, NULL, free_arena);
}
