#include "sema/values.h"

/* The steps from the one behind `lo` to the one before `hi`; NULL: no end. */
static void put_steps(Buf *buf, const GaugeCut *lo, const GaugeCut *hi) {
    const QuantityStyle style = {.as_written = true, .decimals = 6};
    if (lo && hi && !lo->below && hi->below) {
        if (rational_eq(lo->at, hi->at)) buf_quantity(buf, lo->measure, lo->at, style);
        else buf_quantity_range(buf, lo->measure, lo->at, hi->at, style);
        return;
    }
    if (lo) {
        buf_text(buf, lo->below ? "above " : "at least ");
        buf_quantity(buf, lo->measure, lo->at, style);
    }
    if (lo && hi) buf_text(buf, " and ");
    if (hi) {
        buf_text(buf, hi->below ? "at most " : "below ");
        buf_quantity(buf, hi->measure, hi->at, style);
    }
    if (!lo && !hi) buf_text(buf, "any reading");
}

static void put_value(Buf *buf, const Fact *fact, uint32_t value) {
    if (fact->value_names && fact->value_names[value].len) buf_str(buf, fact->value_names[value]);
    else buf_uint(buf, value); /* a counter */
}

void buf_values(Buf *buf, const Fact *fact, uint64_t mask) {
    bool first = true;
    for (uint32_t from = 0, to; from < fact->n_values; from = to + 1) {
        to = from;
        if (!(mask >> from & 1)) continue;
        if (!first) buf_text(buf, " or ");
        first = false;
        if (!fact->cuts) {
            put_value(buf, fact, from);
            continue;
        }
        while (to + 1 < fact->n_values && mask >> (to + 1) & 1) to++;
        put_steps(buf, from ? &fact->cuts[from - 1] : NULL, to + 1 < fact->n_values ? &fact->cuts[to] : NULL);
    }
}
