/* Numbers with their units: exact, of the right dimension, of a length that can be kept exact. */
#include "base/limits.h"
#include "front/front.h"
#include "sema/craft.h"
#include "sema/program_parts.h"

const Measure *resolve_unit(Resolver *r, Word unit) {
    NameMap *known = &r->program->measures;
    const Measure *measure = map_get(known, unit.name);
    if (measure) return measure;
    Str word = name_text(r->job->names, unit.name);
    measure = measure_find(word);
    if (measure) {
        map_put(known, unit.name, (void *)(uintptr_t)measure);
        return measure;
    }
    if (map_get(&r->program->poisoned[DECL_KINDS], unit.name)) return NULL;
    map_put(&r->program->poisoned[DECL_KINDS], unit.name, r->program);
    const Measure *meant = measure_nearest(word);
    Finding *finding =
        meant ? finding_add(r->job->findings, FINDING_UNIT_UNKNOWN, unit.span,
                            "%N is no unit of measure; did you mean %s?", unit.name, meant->spelling)
              : finding_add(r->job->findings, FINDING_UNIT_UNKNOWN, unit.span, "%N is no unit of measure", unit.name);
    if (meant) finding_fix(r->job->findings, finding, FIX_REVIEW, unit.span, "%s", meant->spelling);
    return NULL;
}

static bool read_number(Resolver *r, Span span, Rational *out) {
    Str text = span_text(r->job->sources, span);
    size_t digits = 0;
    for (size_t i = 0; i < text.len; i++) digits += text.ptr[i] >= '0' && text.ptr[i] <= '9';
    if (digits <= LIMIT_NUMBER_DIGITS && rational_parse(text, out)) return true;
    if (digits > LIMIT_NUMBER_DIGITS && first_report(r, FINDING_NUMBER_LONG, span))
        finding_add(r->job->findings, FINDING_NUMBER_LONG, span,
                    "this number has %u digits; at most %u are read, so that every number stays exact",
                    (uint64_t)digits, (uint64_t)LIMIT_NUMBER_DIGITS);
    return false;
}

static Quantity amount_in(Resolver *r, Amount amount, Word unit) {
    Quantity quantity = {0};
    if (!amount.number.hi || !read_number(r, amount.number, &quantity.value)) return quantity;
    if (!unit.name) {
        quantity.ok = true;
        return quantity;
    }
    quantity.measure = resolve_unit(r, unit);
    if (!quantity.measure) return quantity;
    quantity.value = measure_to_base(quantity.measure, quantity.value);
    quantity.ok = !rational_overflowed(quantity.value);
    if (!quantity.ok && first_report(r, FINDING_NUMBER_LONG, amount.span))
        finding_add(r->job->findings, FINDING_NUMBER_LONG, amount.span,
                    "this quantity is too large or too fine to be kept exact");
    return quantity;
}

Quantity resolve_amount(Resolver *r, Amount amount) {
    return amount_in(r, amount, amount.unit);
}

bool fits_gauge(Resolver *r, const Thing *gauge, const Measure *measure, Span span) {
    if (!gauge->measure) return false; /* its unit is reported where it is declared */
    const char *unit = gauge->measure->spelling;
    if (measure && measure->dimension == gauge->measure->dimension) return true;
    if (!first_report(r, FINDING_DIMENSION, span)) return false;
    Finding *finding =
        measure ? finding_add(r->job->findings, FINDING_DIMENSION, span, "%N shows %s (%s), and %s is a unit of %s",
                              gauge->name, dimension_words(gauge->measure->dimension), unit, measure->spelling,
                              dimension_words(measure->dimension))
                : finding_add(r->job->findings, FINDING_DIMENSION, span,
                              "%N shows %s: write the number with its unit, as in `25 %s`", gauge->name,
                              dimension_words(gauge->measure->dimension), unit);
    if (gauge->decl)
        finding_note(r->job->findings, finding, gauge->decl->name.span, "%N is declared here, in %s", gauge->name,
                     unit);
    return false;
}

static bool stretch_ends(Resolver *r, const Range *range, const Thing *gauge, Stretch *out) {
    const Amount *lo = &range->lo, *hi = &range->hi;
    out->has_lo = lo->span.hi != 0;
    out->has_hi = hi->span.hi != 0;
    out->span = span_join(lo->span, hi->span);
    const Measure *measures[2] = {NULL, NULL};
    if (out->has_lo) {
        Quantity quantity = amount_in(r, *lo, lo->unit.name ? lo->unit : hi->unit);
        if (!quantity.ok || !quantity.measure || !fits_gauge(r, gauge, quantity.measure, lo->span))
            return false; /* a bare number is the parser's */
        out->lo = quantity.value;
        measures[0] = quantity.measure;
    }
    if (out->has_hi) {
        Quantity quantity = amount_in(r, *hi, hi->unit);
        if (!quantity.ok || !quantity.measure || !fits_gauge(r, gauge, quantity.measure, hi->span)) return false;
        out->hi = quantity.value;
        measures[1] = quantity.measure;
    }
    out->measure = measures[1] ? measures[1] : measures[0];
    return out->measure != NULL;
}

Stretch resolve_range(Resolver *r, const Range *range, const Thing *gauge) {
    Stretch stretch = {0};
    if (!stretch_ends(r, range, gauge, &stretch)) return stretch;
    stretch.ok = true;
    if (!stretch.has_lo || !stretch.has_hi || rational_cmp(stretch.lo, stretch.hi) <= 0) return stretch;
    stretch.ok = false;
    if (first_report(r, FINDING_RANGE_REVERSED, stretch.span))
        finding_add(r->job->findings, FINDING_RANGE_REVERSED, stretch.span,
                    "this range begins above its end, so nothing lies in it; write the smaller number first");
    return stretch;
}

/* ---- times ---- */

Duration duration_fixed(Resolver *r, int64_t ms, Span span) {
    Duration duration = {.n = 1, .span = span};
    duration.cases = ARENA_NEW(r->job->arena, DurationCase);
    duration.cases->ms = ms;
    return duration;
}

/* Told at its number; what leans on it goes on with the longest time there is. */
static void time_shorten(Resolver *r, Span span, int64_t *ms) {
    if (*ms <= LIMIT_TIME_MS) return;
    *ms = LIMIT_TIME_MS;
    if (first_report(r, FINDING_TIME_LONG, span))
        finding_add(r->job->findings, FINDING_TIME_LONG, span,
                    "this is longer than the three days that a proof follows; give a shorter time, or say it in a "
                    "`plain` line for people to keep");
}

static bool time_of(Resolver *r, Rational seconds, const Measure *measure, Span span, int64_t *ms) {
    if (measure && measure->dimension == DIM_TIME && measure_milliseconds(seconds, ms)) {
        time_shorten(r, span, ms);
        return true;
    }
    Findings *findings = r->job->findings;
    if (!measure || measure->dimension != DIM_TIME) {
        if (!first_report(r, FINDING_DIMENSION, span)) return false;
        if (measure)
            finding_add(findings, FINDING_DIMENSION, span,
                        "a time is meant here, and %s is a unit of %s; write it in s, min or h", measure->spelling,
                        dimension_words(measure->dimension));
        else finding_add(findings, FINDING_DIMENSION, span, "a time needs its unit: s, min or h");
        return false;
    }
    if (!first_report(r, FINDING_TIME_IMPOSSIBLE, span)) return false;
    if (rational_sign(seconds) < 0) finding_add(findings, FINDING_TIME_IMPOSSIBLE, span, "a time cannot be negative");
    else
        finding_add(findings, FINDING_TIME_IMPOSSIBLE, span,
                    "times are kept in whole thousandths of a second, up to some hundred thousand years; this one is "
                    "finer or longer");
    return false;
}

const Value *values_named(const Resolver *r, Name name, uint32_t *n) {
    const Value *first = map_get(&r->values, name);
    *n = 0;
    if (!first) return NULL;
    const Value *end = r->tail->values + r->tail->n_values;
    while (first + *n < end && first[*n].name == name) ++*n;
    return first;
}

void value_missing(Resolver *r, Word name) {
    Program *program = r->program;
    if (!r->undecided) r->undecided = name.name;
    if (program->lost || map_get(&program->values, name.name) || in_library(r, name.span)) return;
    if (map_get(&program->poisoned[DECL_AIRCRAFT], name.name)) return;
    map_put(&program->poisoned[DECL_AIRCRAFT], name.name, program);
    Suggestion suggestion = suggestion_begin(program, name_text(r->job->names, name.name));
    for (uint32_t i = 0; i < r->tail->n_values; i++) suggestion_offer(&suggestion, r->tail->values[i].name);
    Findings *findings = r->job->findings;
    if (!suggestion.best) {
        finding_add(findings, FINDING_VALUE_UNKNOWN, name.span,
                    "no aircraft here gives the value %N; give it in the aircraft: value %N … from …", name.name,
                    name.name);
        return;
    }
    Finding *finding = finding_add(findings, FINDING_VALUE_UNKNOWN, name.span,
                                   "no aircraft here gives the value %N; did you mean %N?", name.name, suggestion.best);
    finding_fix(findings, finding, FIX_REVIEW, name.span, "%N", suggestion.best);
}

/* A value of the wrong kind for its use is told at its own line, once; the name is silent afterwards. */
static void value_wrong(Resolver *r, const Value *value, Span use, const char *wanted) {
    NameMap *told = &r->program->poisoned[DECL_AIRCRAFT];
    if (map_get(told, value->name)) return;
    map_put(told, value->name, r->program);
    Finding *finding = value->measure
                           ? finding_add(r->job->findings, FINDING_DIMENSION, value->craft->amount.span,
                                         "%N must be %s, and %s is a unit of %s", value->name, wanted,
                                         value->measure->spelling, dimension_words(value->measure->dimension))
                           : finding_add(r->job->findings, FINDING_DIMENSION, value->craft->amount.span,
                                         "%N must be %s: write the number with its unit", value->name, wanted);
    finding_note(r->job->findings, finding, use, "it is used so here");
}

static Duration duration_named(Resolver *r, Word name) {
    uint32_t n;
    const Value *values = values_named(r, name.name, &n);
    Duration duration = {.value = name.name, .span = name.span};
    if (!n) {
        value_missing(r, name);
        duration.missing = name.name;
        return duration;
    }
    duration.cases = ARENA_ARRAY(r->job->arena, DurationCase, n);
    for (uint32_t i = 0; i < n; i++) {
        bool time = values[i].measure && values[i].measure->dimension == DIM_TIME;
        if (!time) value_wrong(r, &values[i], name.span, "a time (s, min, h)");
        if (!time ||
            !time_of(r, values[i].amount, values[i].measure, values[i].craft->amount.span, &duration.cases[i].ms)) {
            duration.missing = name.name;
            return duration;
        }
        duration.cases[i].when = values[i].when;
        if (!values[i].when || values[i].when->kind != TEST_UNDECIDED) continue;
        duration.missing = values[i].when->missing; /* which case holds is not known */
        if (!r->undecided) r->undecided = duration.missing;
        return duration;
    }
    duration.n = n;
    return duration;
}

Duration resolve_duration(Resolver *r, const Measured *measured, const Scene *scene) {
    Duration none = {0};
    (void)scene; /* values are of the whole aircraft, whatever engine is chosen */
    if (!measured) return none;
    if (measured->name.name) return duration_named(r, measured->name);
    if (!measured->amount.span.hi) return none;
    Quantity quantity = resolve_amount(r, measured->amount);
    int64_t ms;
    none.span = measured->amount.span;
    if (!quantity.ok || !quantity.measure) return none; /* a bare number is reported where it is parsed */
    if (!time_of(r, quantity.value, quantity.measure, measured->amount.span, &ms)) return none;
    return duration_fixed(r, ms, measured->amount.span);
}

/* ---- counts ---- */

static bool count_of(Resolver *r, Rational value, const Measure *measure, Span span, uint32_t *count) {
    int64_t whole;
    if (!measure && rational_to_int(value, &whole) && whole >= 0 && whole <= INT32_MAX) {
        *count = (uint32_t)whole;
        return true;
    }
    if (!first_report(r, FINDING_COUNT_WRONG, span)) return false;
    finding_add(r->job->findings, FINDING_COUNT_WRONG, span,
                "a count is meant here: a whole number without a unit, as in `3`");
    return false;
}

bool resolve_count(Resolver *r, const Measured *measured, uint32_t *count, Name *missing) {
    *missing = 0;
    *count = 0;
    if (!measured) return false;
    if (!measured->name.name) {
        Quantity quantity = resolve_amount(r, measured->amount);
        return quantity.ok && count_of(r, quantity.value, quantity.measure, measured->amount.span, count);
    }
    uint32_t n;
    const Value *values = values_named(r, measured->name.name, &n);
    if (!n) {
        value_missing(r, measured->name);
        *missing = measured->name.name;
        return false;
    }
    if (n > 1) {
        if (first_report(r, FINDING_COUNT_WRONG, measured->name.span))
            finding_add(r->job->findings, FINDING_COUNT_WRONG, measured->name.span,
                        "%N has several cases; a count here must be one number, whatever the case",
                        measured->name.name);
        return false;
    }
    if (values->measure) {
        value_wrong(r, values, measured->name.span, "a count without a unit");
        return false;
    }
    return count_of(r, values->amount, values->measure, values->craft->amount.span, count);
}

uint32_t tries_followed(Resolver *r, uint32_t tries, Span span) {
    if (tries <= LIMIT_PASSES) return tries;
    if (first_report(r, FINDING_TRIES_MANY, span))
        finding_add(r->job->findings, FINDING_TRIES_MANY, span, "at most %u tries are followed; give a smaller number",
                    (uint64_t)LIMIT_PASSES);
    return LIMIT_PASSES;
}

/* ---- texts with holes: what a person reads ---- */

static const QuantityStyle as_read = {.decimals = 6, .between = " to "};

static void put_amount(Resolver *r, Buf *buf, const Range *range) {
    Amount lo = range->lo, hi = range->hi;
    Quantity high = amount_in(r, hi, hi.unit);
    if (!high.ok) return;
    if (lo.span.hi) {
        Quantity low = amount_in(r, lo, lo.unit.name ? lo.unit : hi.unit);
        if (low.ok && high.measure) buf_quantity_range(buf, high.measure, low.value, high.value, as_read);
    } else if (high.measure) buf_quantity(buf, high.measure, high.value, as_read);
    else buf_rational(buf, high.value);
}

static void put_value(Resolver *r, Buf *buf, const Value *values, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        if (i) buf_text(buf, ", ");
        if (values[i].measure) buf_quantity(buf, values[i].measure, values[i].amount, as_read);
        else buf_rational(buf, values[i].amount);
        if (!values[i].craft || !values[i].craft->when) continue;
        buf_text(buf, " when ");
        print_cond(buf, r->job, values[i].craft->when);
    }
}

static void put_band(Buf *buf, const Band *band) {
    if (band->has_lo && band->has_hi) {
        buf_quantity_range(buf, band->measure, band->lo, band->hi, as_read);
        return;
    }
    buf_text(buf, band->has_lo ? "at least " : "at most ");
    buf_quantity(buf, band->measure, band->has_lo ? band->lo : band->hi, as_read);
}

/* LEFT; nothing on an aircraft with one engine. */
static void put_engine(Resolver *r, Buf *buf, const TextPart *part, const Scene *scene) {
    if (r->tail->n_engines == 1) {
        if (buf->len && buf->ptr[buf->len - 1] == ' ') buf->len--; /* nor two blanks in its place */
        return;
    }
    if (scene->engine >= r->tail->n_engines) {
        if (first_report(r, FINDING_ENGINE_NOT_CHOSEN, part->span))
            finding_add(
                r->job->findings, FINDING_ENGINE_NOT_CHOSEN, part->span,
                "%N has several engines and none is chosen here: put the line inside `for`, or write the engine's word",
                r->tail->name);
        return;
    }
    Str engine = name_text(r->job->names, r->tail->engines[scene->engine]);
    for (size_t i = 0; i < engine.len; i++)
        buf_char(buf, engine.ptr[i] >= 'a' && engine.ptr[i] <= 'z' ? (char)(engine.ptr[i] - 'a' + 'A') : engine.ptr[i]);
}

static void put_hole(Resolver *r, Buf *buf, const TextPart *part, const Scene *scene) {
    uint32_t n;
    if (str_eq(name_text(r->job->names, part->ref.name), STR("engine")) && !part->band.name) {
        put_engine(r, buf, part, scene);
        return;
    }
    if (part->band.name) {
        Thing *gauge = resolve_thing(r, part->ref, scene);
        if (!gauge || gauge->kind != THING_GAUGE || gauge->fitted == FITTED_NO) return;
        const Band *bands = band_find(gauge, part->band.name, &n);
        if (!n) report_band(r, gauge, part->band, scene);
        for (uint32_t i = 0; i < n; i++) {
            if (i) buf_text(buf, ", ");
            put_band(buf, &bands[i]);
        }
        return;
    }
    const Value *values = values_named(r, part->ref.name, &n);
    if (!n) value_missing(r, part->ref);
    put_value(r, buf, values, n);
}

Str resolve_text(Resolver *r, Text text, const Scene *scene) {
    if (!text.span.hi) return STR("");
    Str raw = span_text(r->job->sources, text.span);
    bool plain = true;
    for (size_t i = 0; i < raw.len && plain; i++) plain = raw.ptr[i] != '{' && raw.ptr[i] != '\\';
    if (plain && raw.len >= 2) return str_slice(raw, 1, raw.len - 1);
    Buf buf = {.arena = r->job->arena};
    for (const TextPart *part = text_parse(r->job, text); part; part = part->next) {
        switch ((TextPartKind)part->kind) {
        case TEXT_LITERAL: buf_str(&buf, part->literal); break;
        case TEXT_AMOUNT: put_amount(r, &buf, &part->range); break;
        case TEXT_REF: put_hole(r, &buf, part, scene); break;
        }
    }
    return buf_view(&buf);
}
