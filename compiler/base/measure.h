/* Units of measure: one table, one line an entry (measure.c).
   takes   unit words as written
   gives   their dimension, and exact conversion to the dimension's base unit and back
   owns    the table, which never changes
   never   converts between gauge and absolute pressure, or between a temperature and a difference of two

   Base units: s, Pa, K, rpm, A, V, Ohm, m, m3, kg, m3/s, kg/s, m/s, percent, deg, N.m, W, J, Ah, Hz.

   Gauge and absolute pressure are different dimensions. psi, kPa and bar alone are gauge pressure (oil, fuel, brakes), as
   gauges show it: above or below the air around. hPa, mbar and inHg alone are absolute (manifold, altimeter setting).
   The other sense is said aloud: psia, kPa-abs, bar-abs, and inHg-gauge (suction), hPa-gauge. */
#ifndef BASE_MEASURE_H
#define BASE_MEASURE_H
#include "base/rational.h"

typedef enum {
    DIM_TIME,
    DIM_PRESSURE_GAUGE, /* also differences of pressure */
    DIM_PRESSURE_ABSOLUTE,
    DIM_TEMPERATURE,            /* a point: 10 degC is 50 degF */
    DIM_TEMPERATURE_DIFFERENCE, /* no unit has it alone: see measure_difference_to_base */
    DIM_ROTATION,
    DIM_CURRENT,
    DIM_VOLTAGE,
    DIM_RESISTANCE,
    DIM_LENGTH,
    DIM_VOLUME,
    DIM_MASS,
    DIM_VOLUME_FLOW,
    DIM_MASS_FLOW,
    DIM_SPEED,
    DIM_PERCENT,
    DIM_ANGLE,
    DIM_TORQUE,
    DIM_POWER,
    DIM_ENERGY,
    DIM_CHARGE,
    DIM_FREQUENCY,
    DIM_COUNT
} Dimension;

typedef struct {
    const char *spelling; /* the formatter's choice */
    const char *also;     /* other spellings, separated by blanks; "" for none */
    Dimension dimension;
    int64_t numerator, denominator;               /* value in base units = value * this + offset */
    int64_t offset_numerator, offset_denominator; /* for temperature points only */
    const char *ucum;                             /* code of the Unified Code for Units of Measure */
    const char *printed;                          /* on cards, after a blank (none before a degree sign alone) */
} Measure;

extern const Measure measure_table[];
extern const size_t measure_count;

const Measure *measure_find(Str word);    /* NULL: not known; linear in the table, so remember it by Name */
const Measure *measure_nearest(Str word); /* what was likely meant; NULL: no idea */
const Measure *
measure_base(Dimension dimension); /* a unit with factor 1 and no offset; NULL where the table has none */
const char *dimension_words(Dimension dimension); /* "gauge pressure" */

Rational measure_to_base(const Measure *measure, Rational value);
Rational measure_from_base(const Measure *measure, Rational base);
/* The same for a difference of two values: no offset. */
Rational measure_difference_to_base(const Measure *measure, Rational value);
Rational measure_difference_from_base(const Measure *measure, Rational base);
/* Seconds to whole milliseconds. False: not whole, negative or out of range (LIMIT: 2^53). */
bool measure_milliseconds(Rational seconds, int64_t *ms);

/* How a quantity is set: "25 psi". */
typedef struct {
    bool nbsp;         /* U+00A0 before the unit instead of a blank */
    bool as_written;   /* the unit as in a source ("degC"), not as printed ("°C") */
    bool difference;   /* of two temperatures */
    uint32_t decimals; /* at most; 0 means 3 */
    Rounding rounding;
    const char *between; /* the ends of a range; NULL: ".." */
} QuantityStyle;

void buf_quantity(Buf *buf, const Measure *measure, Rational base, QuantityStyle style);
/* "60..90 psi": both in the same unit. */
void buf_quantity_range(Buf *buf, const Measure *measure, Rational lo, Rational hi, QuantityStyle style);
#endif
