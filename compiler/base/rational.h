/* Exact numbers: fractions of 128-bit integers, every operation checked. Never floating point.
   takes   digits as written, or whole numbers
   gives   fractions in lowest terms with a positive denominator
   owns    nothing: values
   never   wraps: what does not fit is the overflow value, and so is everything computed from it */
#ifndef BASE_RATIONAL_H
#define BASE_RATIONAL_H
#include "base/str.h"

__extension__ typedef __int128 Int128;

typedef struct {
    Int128 numerator, denominator; /* denominator 0: overflow */
} Rational;

typedef enum { ROUND_NEAREST, ROUND_DOWN, ROUND_UP } Rounding; /* nearest: halves away from zero; down: towards minus */

Rational rational_whole(int64_t n);
Rational rational_of(int64_t numerator, int64_t denominator); /* denominator not 0 */
/* "12", "0.5", "-3.25"; at most LIMIT_NUMBER_DIGITS digits. False: not such a number, or too long. */
bool rational_parse(Str text, Rational *out);
bool rational_overflowed(Rational r);

Rational rational_add(Rational a, Rational b);
Rational rational_sub(Rational a, Rational b);
Rational rational_mul(Rational a, Rational b);
Rational rational_div(Rational a, Rational b); /* by zero: the overflow value */
Rational rational_negate(Rational a);
/* -1, 0, 1; exact for all values, without overflow. Neither may be the overflow value. */
int rational_cmp(Rational a, Rational b);
bool rational_eq(Rational a, Rational b);
int rational_sign(Rational a);

/* Whole numbers out: false when it is none, or does not fit. */
bool rational_to_int(Rational r, int64_t *out);

/* The shortest decimal where it is finite ("0.25"), else a fraction ("1/3"). */
void buf_rational(Buf *buf, Rational r);
/* At most so many decimals (up to 12), without zeros at the end. Overflow prints "?". */
void buf_rational_rounded(Buf *buf, Rational r, uint32_t decimals, Rounding rounding);
/* Whether it is finite as a decimal of at most so many places. */
bool rational_is_decimal(Rational r, uint32_t decimals);
#endif
