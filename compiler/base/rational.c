#include "base/rational.h"
#include "base/limits.h"
#include <assert.h>

__extension__ typedef unsigned __int128 Uint128;

static const Rational OVERFLOW = {0, 0};

static Uint128 magnitude(Int128 n) {
    return n < 0 ? 0 - (Uint128)n : (Uint128)n;
}

static Uint128 common_divisor(Uint128 a, Uint128 b) {
    while (b) {
        if (a >> 64 == 0 && b >> 64 == 0) { /* far cheaper, and the usual case */
            uint64_t x = (uint64_t)a, y = (uint64_t)b;
            while (y) {
                uint64_t rest = x % y;
                x = y;
                y = rest;
            }
            return x;
        }
        Uint128 rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* The least negative number has no opposite: it counts as overflow, so that no sign can wrap. */
static Rational reduced(Int128 numerator, Int128 denominator) {
    Int128 least = (Int128)((Uint128)1 << 127);
    if (denominator == 0 || numerator == least || denominator == least) return OVERFLOW;
    if (denominator < 0) {
        numerator = -numerator;
        denominator = -denominator;
    }
    Int128 divisor = (Int128)common_divisor(magnitude(numerator), magnitude(denominator));
    return (Rational){numerator / divisor, denominator / divisor};
}

Rational rational_whole(int64_t n) {
    return (Rational){n, 1};
}

Rational rational_of(int64_t numerator, int64_t denominator) {
    assert(denominator != 0);
    return reduced(numerator, denominator);
}

bool rational_parse(Str text, Rational *out) {
    size_t at = 0;
    bool negative = text.len && text.ptr[0] == '-';
    if (negative) at++;
    int64_t digits = 0, scale = 1;
    uint32_t before = 0, after = 0;
    bool point = false;
    for (; at < text.len; at++) {
        char c = text.ptr[at];
        if (c == '.' && !point && before) {
            point = true;
            continue;
        }
        if (c < '0' || c > '9' || before + after == LIMIT_NUMBER_DIGITS) return false;
        digits = digits * 10 + (c - '0');
        if (point) scale *= 10, after++;
        else before++;
    }
    if (!before || (point && !after)) return false;
    *out = reduced(negative ? -digits : digits, scale);
    return true;
}

bool rational_overflowed(Rational r) {
    return r.denominator == 0;
}

static bool multiply(Int128 a, Int128 b, Int128 *product) {
    return !__builtin_mul_overflow(a, b, product);
}

Rational rational_add(Rational a, Rational b) {
    if (!a.denominator || !b.denominator) return OVERFLOW;
    Int128 shared = (Int128)common_divisor((Uint128)a.denominator, (Uint128)b.denominator);
    Int128 left, right, sum, denominator;
    if (!multiply(a.numerator, b.denominator / shared, &left)) return OVERFLOW;
    if (!multiply(b.numerator, a.denominator / shared, &right)) return OVERFLOW;
    if (__builtin_add_overflow(left, right, &sum)) return OVERFLOW;
    if (!multiply(a.denominator, b.denominator / shared, &denominator)) return OVERFLOW;
    return reduced(sum, denominator);
}

Rational rational_negate(Rational a) {
    return (Rational){-a.numerator, a.denominator};
}

Rational rational_sub(Rational a, Rational b) {
    return rational_add(a, rational_negate(b));
}

/* Crosswise division first keeps the products as small as the result allows. */
Rational rational_mul(Rational a, Rational b) {
    if (!a.denominator || !b.denominator) return OVERFLOW;
    Int128 first = (Int128)common_divisor(magnitude(a.numerator), (Uint128)b.denominator);
    Int128 second = (Int128)common_divisor(magnitude(b.numerator), (Uint128)a.denominator);
    Int128 numerator, denominator;
    if (!multiply(a.numerator / first, b.numerator / second, &numerator)) return OVERFLOW;
    if (!multiply(a.denominator / second, b.denominator / first, &denominator)) return OVERFLOW;
    return reduced(numerator, denominator);
}

Rational rational_div(Rational a, Rational b) {
    if (!b.denominator || b.numerator == 0) return OVERFLOW;
    Rational inverse =
        b.numerator < 0 ? (Rational){-b.denominator, -b.numerator} : (Rational){b.denominator, b.numerator};
    return rational_mul(a, inverse);
}

static Int128 floor_of(Rational r) {
    Int128 whole = r.numerator / r.denominator;
    return r.numerator % r.denominator < 0 ? whole - 1 : whole;
}

/* Compares by continued fractions: whole parts first, then the inverses of what is left the other way round. */
int rational_cmp(Rational a, Rational b) {
    assert(a.denominator && b.denominator);
    for (int sign = 1;; sign = -sign) {
        Int128 whole_a = floor_of(a), whole_b = floor_of(b);
        if (whole_a != whole_b) return whole_a < whole_b ? -sign : sign;
        Int128 rest_a = a.numerator - whole_a * a.denominator, rest_b = b.numerator - whole_b * b.denominator;
        if (!rest_a || !rest_b) return !rest_a && !rest_b ? 0 : !rest_a ? -sign : sign;
        a = (Rational){a.denominator, rest_a};
        b = (Rational){b.denominator, rest_b};
    }
}

bool rational_eq(Rational a, Rational b) {
    return a.numerator == b.numerator && a.denominator == b.denominator;
}

int rational_sign(Rational a) {
    return a.numerator < 0 ? -1 : a.numerator > 0;
}

bool rational_to_int(Rational r, int64_t *out) {
    if (r.denominator != 1 || r.numerator > INT64_MAX || r.numerator < INT64_MIN) return false;
    *out = (int64_t)r.numerator;
    return true;
}

static void buf_digits(Buf *buf, Uint128 n, uint32_t at_least) {
    char digits[48];
    size_t at = sizeof digits;
    for (; n || at_least; n /= 10) {
        digits[--at] = (char)('0' + (int)(n % 10));
        if (at_least) at_least--;
    }
    buf_str(buf, (Str){digits + at, sizeof digits - at});
}

enum { MOST_DECIMALS = 38 };

/* How many decimals the fraction takes; MOST_DECIMALS + 1 when it never ends (or is longer than 128 bits hold). */
static uint32_t decimals_of(Int128 denominator) {
    uint32_t twos = 0, fives = 0;
    for (; denominator % 2 == 0; denominator /= 2) twos++;
    for (; denominator % 5 == 0; denominator /= 5) fives++;
    uint32_t needed = twos > fives ? twos : fives;
    return denominator == 1 && needed <= MOST_DECIMALS ? needed : MOST_DECIMALS + 1;
}

bool rational_is_decimal(Rational r, uint32_t decimals) {
    return r.denominator && decimals_of(r.denominator) <= decimals;
}

/* Long division: no power of ten has to fit. The digits were counted before, so the division comes out even. */
void buf_rational(Buf *buf, Rational r) {
    if (!r.denominator) {
        buf_char(buf, '?');
        return;
    }
    if (r.numerator < 0) buf_char(buf, '-');
    Uint128 top = magnitude(r.numerator), bottom = (Uint128)r.denominator;
    uint32_t decimals = decimals_of(r.denominator);
    if (decimals > MOST_DECIMALS || bottom > (Uint128)-1 / 10) {
        buf_digits(buf, top, 1);
        buf_char(buf, '/');
        buf_digits(buf, bottom, 1);
        return;
    }
    buf_digits(buf, top / bottom, 1);
    if (decimals) buf_char(buf, '.');
    for (Uint128 rest = top % bottom; decimals--;) {
        rest *= 10;
        buf_char(buf, (char)('0' + (int)(rest / bottom)));
        rest %= bottom;
    }
}

enum { ROUNDED_DECIMALS = 12 };

/* The size rounded to a whole number; r is not negative. */
static Uint128 round_size(Uint128 top, Uint128 bottom, bool negative, Rounding rounding) {
    Uint128 whole = top / bottom, rest = top % bottom;
    if (!rest) return whole;
    switch (rounding) {
    case ROUND_NEAREST: return whole + (rest >= bottom - rest);
    case ROUND_DOWN: return whole + negative;
    case ROUND_UP: return whole + !negative;
    }
    return whole;
}

void buf_rational_rounded(Buf *buf, Rational r, uint32_t decimals, Rounding rounding) {
    assert(decimals <= ROUNDED_DECIMALS);
    int64_t tens = 1;
    for (uint32_t i = 0; i < decimals; i++) tens *= 10;
    Rational scaled = rational_mul(r, rational_whole(tens));
    if (!scaled.denominator) {
        buf_char(buf, '?');
        return;
    }
    bool negative = r.numerator < 0;
    Uint128 size = round_size(magnitude(scaled.numerator), (Uint128)scaled.denominator, negative, rounding);
    if (negative && size) buf_char(buf, '-');
    Uint128 scale = (Uint128)tens, rest = size % scale;
    buf_digits(buf, size / scale, 1);
    if (!rest) return;
    for (; rest % 10 == 0; rest /= 10) decimals--;
    buf_char(buf, '.');
    buf_digits(buf, rest, decimals);
}
