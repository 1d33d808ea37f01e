#include "base/measure.h"
#include <assert.h>
#include <string.h>

#define POINT(offset_numerator, offset_denominator) (offset_numerator), (offset_denominator)
#define NO_OFFSET 0, 1

/* Factors are exact by definition of the unit: 1 lb = 0.45359237 kg, 1 in = 25.4 mm, standard gravity 9.80665 m/s2,
   1 mmHg = 133.322387415 Pa, 1 US gal = 231 in3. */
const Measure measure_table[] = {
    {"s", "sec", DIM_TIME, 1, 1, NO_OFFSET, "s", "s"},
    {"ms", "", DIM_TIME, 1, 1000, NO_OFFSET, "ms", "ms"},
    {"min", "", DIM_TIME, 60, 1, NO_OFFSET, "min", "min"},
    {"h", "", DIM_TIME, 3600, 1, NO_OFFSET, "h", "h"},

    {"psi", "psig", DIM_PRESSURE_GAUGE, 8896443230521, 1290320000, NO_OFFSET, "[psi]", "psi"},
    {"Pa", "", DIM_PRESSURE_GAUGE, 1, 1, NO_OFFSET, "Pa", "Pa"},
    {"kPa", "", DIM_PRESSURE_GAUGE, 1000, 1, NO_OFFSET, "kPa", "kPa"},
    {"bar", "", DIM_PRESSURE_GAUGE, 100000, 1, NO_OFFSET, "bar", "bar"},
    {"hPa-gauge", "mbar-gauge", DIM_PRESSURE_GAUGE, 100, 1, NO_OFFSET, "hPa", "hPa"},
    {"inHg-gauge", "", DIM_PRESSURE_GAUGE, 3386388640341, 1000000000, NO_OFFSET, "[in_i'Hg]", "inHg"},
    {"inHg", "", DIM_PRESSURE_ABSOLUTE, 3386388640341, 1000000000, NO_OFFSET, "[in_i'Hg]", "inHg"},
    {"hPa", "mbar", DIM_PRESSURE_ABSOLUTE, 100, 1, NO_OFFSET, "hPa", "hPa"},
    {"psia", "psi-abs", DIM_PRESSURE_ABSOLUTE, 8896443230521, 1290320000, NO_OFFSET, "[psi]", "psia"},
    {"Pa-abs", "", DIM_PRESSURE_ABSOLUTE, 1, 1, NO_OFFSET, "Pa", "Pa abs"},
    {"kPa-abs", "", DIM_PRESSURE_ABSOLUTE, 1000, 1, NO_OFFSET, "kPa", "kPa abs"},
    {"bar-abs", "", DIM_PRESSURE_ABSOLUTE, 100000, 1, NO_OFFSET, "bar", "bar abs"},

    {"degC", "°C", DIM_TEMPERATURE, 1, 1, POINT(5463, 20), "Cel", "°C"},
    {"degF", "°F", DIM_TEMPERATURE, 5, 9, POINT(45967, 180), "[degF]", "°F"},
    {"K", "", DIM_TEMPERATURE, 1, 1, NO_OFFSET, "K", "K"},

    {"rpm", "", DIM_ROTATION, 1, 1, NO_OFFSET, "/min", "rpm"},
    {"Hz", "", DIM_FREQUENCY, 1, 1, NO_OFFSET, "Hz", "Hz"},

    {"A", "", DIM_CURRENT, 1, 1, NO_OFFSET, "A", "A"},
    {"mA", "", DIM_CURRENT, 1, 1000, NO_OFFSET, "mA", "mA"},
    {"V", "", DIM_VOLTAGE, 1, 1, NO_OFFSET, "V", "V"},
    {"mV", "", DIM_VOLTAGE, 1, 1000, NO_OFFSET, "mV", "mV"},
    {"Ohm", "ohm Ω", DIM_RESISTANCE, 1, 1, NO_OFFSET, "Ohm", "ohm"},
    {"kOhm", "kohm kΩ", DIM_RESISTANCE, 1000, 1, NO_OFFSET, "kOhm", "kohm"},
    {"MOhm", "Mohm MΩ", DIM_RESISTANCE, 1000000, 1, NO_OFFSET, "MOhm", "Mohm"},
    {"Ah", "", DIM_CHARGE, 1, 1, NO_OFFSET, "A.h", "Ah"},

    {"m", "", DIM_LENGTH, 1, 1, NO_OFFSET, "m", "m"},
    {"cm", "", DIM_LENGTH, 1, 100, NO_OFFSET, "cm", "cm"},
    {"mm", "", DIM_LENGTH, 1, 1000, NO_OFFSET, "mm", "mm"},
    {"km", "", DIM_LENGTH, 1000, 1, NO_OFFSET, "km", "km"},
    {"in", "", DIM_LENGTH, 127, 5000, NO_OFFSET, "[in_i]", "in"},
    {"ft", "", DIM_LENGTH, 381, 1250, NO_OFFSET, "[ft_i]", "ft"},
    {"pt", "", DIM_LENGTH, 127, 360000, NO_OFFSET, "[in_i]/72", "pt"},

    {"l", "L", DIM_VOLUME, 1, 1000, NO_OFFSET, "L", "L"},
    {"ml", "mL", DIM_VOLUME, 1, 1000000, NO_OFFSET, "mL", "mL"},
    {"m3", "", DIM_VOLUME, 1, 1, NO_OFFSET, "m3", "m3"},
    {"gal", "usgal", DIM_VOLUME, 473176473, 125000000000, NO_OFFSET, "[gal_us]", "US gal"},
    {"qt", "usqt", DIM_VOLUME, 473176473, 500000000000, NO_OFFSET, "[qt_us]", "US qt"},
    {"impgal", "", DIM_VOLUME, 454609, 100000000, NO_OFFSET, "[gal_br]", "imp gal"},
    {"kg", "", DIM_MASS, 1, 1, NO_OFFSET, "kg", "kg"},
    {"g", "", DIM_MASS, 1, 1000, NO_OFFSET, "g", "g"},
    {"lb", "lbs", DIM_MASS, 45359237, 100000000, NO_OFFSET, "[lb_av]", "lb"},

    {"l/h", "L/h", DIM_VOLUME_FLOW, 1, 3600000, NO_OFFSET, "L/h", "L/h"},
    {"gal/h", "gph", DIM_VOLUME_FLOW, 157725491, 150000000000000, NO_OFFSET, "[gal_us]/h", "US gal/h"},
    {"impgal/h", "", DIM_VOLUME_FLOW, 454609, 360000000000, NO_OFFSET, "[gal_br]/h", "imp gal/h"},
    {"m3/s", "", DIM_VOLUME_FLOW, 1, 1, NO_OFFSET, "m3/s", "m3/s"},
    {"kg/h", "", DIM_MASS_FLOW, 1, 3600, NO_OFFSET, "kg/h", "kg/h"},
    {"lb/h", "pph", DIM_MASS_FLOW, 45359237, 360000000000, NO_OFFSET, "[lb_av]/h", "lb/h"},
    {"kg/s", "", DIM_MASS_FLOW, 1, 1, NO_OFFSET, "kg/s", "kg/s"},

    {"kt", "kts", DIM_SPEED, 463, 900, NO_OFFSET, "[kn_i]", "kt"},
    {"km/h", "", DIM_SPEED, 5, 18, NO_OFFSET, "km/h", "km/h"},
    {"m/s", "", DIM_SPEED, 1, 1, NO_OFFSET, "m/s", "m/s"},
    {"percent", "%", DIM_PERCENT, 1, 1, NO_OFFSET, "%", "%"},
    {"deg", "°", DIM_ANGLE, 1, 1, NO_OFFSET, "deg", "°"},

    {"Nm", "N-m", DIM_TORQUE, 1, 1, NO_OFFSET, "N.m", "Nm"},
    {"ft-lb", "lb-ft", DIM_TORQUE, 3389544870828501, 2500000000000000, NO_OFFSET, "[ft_i].[lbf_av]", "ft-lb"},
    {"W", "", DIM_POWER, 1, 1, NO_OFFSET, "W", "W"},
    {"kW", "", DIM_POWER, 1000, 1, NO_OFFSET, "kW", "kW"},
    {"hp", "", DIM_POWER, 37284993579113511, 50000000000000, NO_OFFSET, "[HP]", "hp"},
    {"kWh", "", DIM_ENERGY, 3600000, 1, NO_OFFSET, "kW.h", "kWh"},
    {"Wh", "", DIM_ENERGY, 3600, 1, NO_OFFSET, "W.h", "Wh"},
    {"J", "", DIM_ENERGY, 1, 1, NO_OFFSET, "J", "J"},
};
const size_t measure_count = sizeof measure_table / sizeof *measure_table;

static const char *const words_of_dimension[DIM_COUNT] = {
    [DIM_TIME] = "time",
    [DIM_PRESSURE_GAUGE] = "gauge pressure",
    [DIM_PRESSURE_ABSOLUTE] = "absolute pressure",
    [DIM_TEMPERATURE] = "temperature",
    [DIM_TEMPERATURE_DIFFERENCE] = "difference of temperatures",
    [DIM_ROTATION] = "speed of rotation",
    [DIM_CURRENT] = "electric current",
    [DIM_VOLTAGE] = "voltage",
    [DIM_RESISTANCE] = "electric resistance",
    [DIM_LENGTH] = "length",
    [DIM_VOLUME] = "volume",
    [DIM_MASS] = "mass",
    [DIM_VOLUME_FLOW] = "flow by volume",
    [DIM_MASS_FLOW] = "flow by mass",
    [DIM_SPEED] = "speed",
    [DIM_PERCENT] = "percent",
    [DIM_ANGLE] = "angle",
    [DIM_TORQUE] = "torque",
    [DIM_POWER] = "power",
    [DIM_ENERGY] = "energy",
    [DIM_CHARGE] = "electric charge",
    [DIM_FREQUENCY] = "frequency",
};

const char *dimension_words(Dimension dimension) {
    return words_of_dimension[dimension];
}

/* Words that people write for a unit and that are not one here: what they mean. */
static const struct {
    const char *written, *meant;
} usual_slips[] = {
    {"second", "s"},        {"seconds", "s"},       {"secs", "s"},
    {"minute", "min"},      {"minutes", "min"},     {"mins", "min"},
    {"hour", "h"},          {"hours", "h"},         {"hr", "h"},
    {"hrs", "h"},           {"celsius", "degC"},    {"C", "degC"},
    {"centigrade", "degC"}, {"fahrenheit", "degF"}, {"F", "degF"},
    {"kelvin", "K"},        {"deg-C", "degC"},      {"deg-F", "degF"},
    {"amp", "A"},           {"amps", "A"},          {"ampere", "A"},
    {"amperes", "A"},       {"volt", "V"},          {"volts", "V"},
    {"millimeter", "mm"},   {"millimetre", "mm"},   {"millimetres", "mm"},
    {"inch", "in"},         {"inches", "in"},       {"foot", "ft"},
    {"feet", "ft"},         {"metre", "m"},         {"meter", "m"},
    {"metres", "m"},        {"meters", "m"},        {"liter", "l"},
    {"litre", "l"},         {"liters", "l"},        {"litres", "l"},
    {"gallon", "gal"},      {"gallons", "gal"},     {"quart", "qt"},
    {"quarts", "qt"},       {"pound", "lb"},        {"pounds", "lb"},
    {"kilo", "kg"},         {"kilos", "kg"},        {"knot", "kt"},
    {"knots", "kt"},        {"kn", "kt"},           {"kmh", "km/h"},
    {"kph", "km/h"},        {"pct", "percent"},     {"per-cent", "percent"},
    {"degrees", "deg"},     {"degree", "deg"},      {"rev/min", "rpm"},
    {"r/min", "rpm"},       {"revs", "rpm"},        {"ohms", "Ohm"},
    {"gal/hr", "gal/h"},    {"lb/hr", "lb/h"},      {"lbs/h", "lb/h"},
    {"l/hr", "l/h"},        {"lph", "l/h"},         {"in-Hg", "inHg"},
    {"inhg-abs", "inHg"},   {"mb", "hPa"},          {"millibar", "hPa"},
    {"hertz", "Hz"},        {"horsepower", "hp"},   {"bhp", "hp"},
    {"ftlb", "ft-lb"},      {"lbft", "ft-lb"},      {"ft/lb", "ft-lb"},
    {"points", "pt"},
};

/* Whether the word is one of a list separated by blanks. */
static bool is_listed(const char *list, Str word) {
    while (*list) {
        size_t len = strcspn(list, " ");
        if (str_eq((Str){list, len}, word)) return true;
        list += len + (list[len] == ' ');
    }
    return false;
}

const Measure *measure_find(Str word) {
    if (!word.len) return NULL;
    for (size_t i = 0; i < measure_count; i++) {
        const char *spelling = measure_table[i].spelling;
        if (spelling[0] == word.ptr[0] && str_eq(str_of(spelling), word)) return &measure_table[i];
    }
    for (size_t i = 0; i < measure_count; i++) {
        if (is_listed(measure_table[i].also, word)) return &measure_table[i];
    }
    return NULL;
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same_but_case(Str a, Str b) {
    if (a.len != b.len) return false;
    for (size_t i = 0; i < a.len; i++) {
        if (lower(a.ptr[i]) != lower(b.ptr[i])) return false;
    }
    return true;
}

/* Short units are all near each other: an edit is only trusted in words of four letters and more. */
static const Measure *nearest_by_edits(Str word) {
    const Measure *best = NULL;
    size_t least = word.len >= 7 ? 2 : 1;
    if (word.len < 4) return NULL;
    for (size_t i = 0; i < measure_count; i++) {
        Str spelling = str_of(measure_table[i].spelling);
        size_t distance = spelling.len < 3 ? least + 1 : str_distance(word, spelling, least);
        if (distance < least || (distance == least && !best)) {
            best = &measure_table[i];
            least = distance;
        }
    }
    return best;
}

const Measure *measure_nearest(Str word) {
    for (size_t i = 0; i < measure_count; i++) {
        if (same_but_case(str_of(measure_table[i].spelling), word)) return &measure_table[i];
    }
    for (size_t i = 0; i < sizeof usual_slips / sizeof *usual_slips; i++) {
        if (same_but_case(str_of(usual_slips[i].written), word)) return measure_find(str_of(usual_slips[i].meant));
    }
    return nearest_by_edits(word);
}

const Measure *measure_base(Dimension dimension) {
    for (size_t i = 0; i < measure_count; i++) {
        const Measure *measure = &measure_table[i];
        bool plain = measure->numerator == 1 && measure->denominator == 1 && measure->offset_numerator == 0;
        if (plain && measure->dimension == dimension) return measure;
    }
    return NULL;
}

static Rational factor_of(const Measure *measure) {
    return rational_of(measure->numerator, measure->denominator);
}

static Rational offset_of(const Measure *measure) {
    return rational_of(measure->offset_numerator, measure->offset_denominator);
}

Rational measure_difference_to_base(const Measure *measure, Rational value) {
    return rational_mul(value, factor_of(measure));
}

Rational measure_difference_from_base(const Measure *measure, Rational base) {
    return rational_div(base, factor_of(measure));
}

Rational measure_to_base(const Measure *measure, Rational value) {
    return rational_add(measure_difference_to_base(measure, value), offset_of(measure));
}

Rational measure_from_base(const Measure *measure, Rational base) {
    return measure_difference_from_base(measure, rational_sub(base, offset_of(measure)));
}

bool measure_milliseconds(Rational seconds, int64_t *ms) {
    if (!rational_to_int(rational_mul(seconds, rational_whole(1000)), ms)) return false;
    return *ms >= 0 && *ms <= (int64_t)1 << 53;
}

static void buf_value(Buf *buf, const Measure *measure, Rational base, QuantityStyle style) {
    Rational value = style.difference ? measure_difference_from_base(measure, base) : measure_from_base(measure, base);
    buf_rational_rounded(buf, value, style.decimals ? style.decimals : 3, style.rounding);
}

static void buf_unit(Buf *buf, const Measure *measure, QuantityStyle style) {
    const char *unit = style.as_written ? measure->spelling : measure->printed;
    if (strcmp(unit, "°") != 0) buf_text(buf, style.nbsp ? "\u00A0" : " ");
    buf_text(buf, unit);
}

void buf_quantity(Buf *buf, const Measure *measure, Rational base, QuantityStyle style) {
    buf_value(buf, measure, base, style);
    buf_unit(buf, measure, style);
}

void buf_quantity_range(Buf *buf, const Measure *measure, Rational lo, Rational hi, QuantityStyle style) {
    buf_value(buf, measure, lo, style);
    buf_text(buf, style.between ? style.between : "..");
    buf_value(buf, measure, hi, style);
    buf_unit(buf, measure, style);
}
