/* Conditions on gauges: bands by name, numbers, ranges; and what is told where none can stand. */
#include "sema/craft.h"
#include "sema/program_parts.h"

Test *test_stretch(Resolver *r, const Thing *gauge, GaugeTest stretch, const Cond *written) {
    if (gauge->fact == NO_INDEX) return test_new(r, TEST_FALSE, written);
    Test *test = test_new(r, TEST_FACT, written);
    test->fact = stretch.fact = gauge->fact;
    stretch.mask = &test->mask;
    vec_push(r->job->arena, &r->scratch->gauge_tests, stretch);
    return test;
}

/* ---- bands ---- */

const Band *band_find(const Thing *gauge, Name name, uint32_t *n) {
    *n = 0;
    for (uint32_t i = 0; i < gauge->n_bands; i++) {
        if (gauge->bands[i].name != name) continue;
        while (i + *n < gauge->n_bands && gauge->bands[i + *n].name == name) ++*n;
        return &gauge->bands[i];
    }
    return NULL;
}

Str band_list(Resolver *r, const Thing *gauge) {
    Buf buf = {.arena = r->job->arena};
    for (uint32_t i = 0; i < gauge->n_bands && i < 12; i++)
        if (!i || gauge->bands[i].name != gauge->bands[i - 1].name)
            buf_format(&buf, r->job->names, i ? ", %N" : "%N", gauge->bands[i].name);
    return buf_view(&buf);
}

/* A lost blank or a slip in `within`, `otherwise` reads like the name of a band. */
static const char *joining_word(const Resolver *r, Name word, size_t best) {
    static const char *const words[] = {"within",   "until", "otherwise", "again", "because", "after",
                                        "answered", "from",  "above",     "below", "since"};
    Str text = name_text(r->job->names, word);
    const char *nearest = NULL;
    if (best > 3) best = 3;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        size_t distance = str_distance(text, str_of(words[i]), 2);
        if (distance >= best || distance * 2 >= text.len) continue;
        best = distance;
        nearest = words[i];
    }
    return nearest;
}

Name band_missing(Resolver *r, const Thing *gauge, Name band) {
    return name_intern(r->job->names, format_text(r->job->arena, r->job->names, "%N %N", gauge->name, band));
}

void report_band(Resolver *r, const Thing *gauge, Word band, const Scene *scene) {
    bool somewhere = map_get(&r->program->bands, band.name) != NULL;
    uint8_t home =
        scene->home ? scene->home->kind : DECL_BAD; /* what serves several aircraft may name what one of them lacks */
    bool library = in_library(r, band.span);
    bool template = library || home == DECL_GATE || home == DECL_STATE || home == DECL_EVENT;
    if ((template && (somewhere || library)) || r->program->lost) return;
    if (map_get(&r->spoilt, band_missing(r, gauge, band.name))) return;
    if (!first_report(r, FINDING_BAND_UNKNOWN, band.span)) return;
    Findings *findings = r->job->findings;
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, band.name));
    for (uint32_t i = 0; i < gauge->n_bands; i++) suggestion_offer(&suggestion, gauge->bands[i].name);
    const char *joining = joining_word(r, band.name, suggestion.best ? suggestion.distance : 3);
    const char *best = joining;
    Str meant = joining ? str_of(joining) : name_text(r->job->names, suggestion.best);
    Finding *finding;
    if (meant.len)
        finding = finding_add(findings, FINDING_BAND_UNKNOWN, band.span, "%N has no band %N on %N; did you mean %S?",
                              gauge->name, band.name, r->tail->name, meant);
    else if (gauge->n_bands)
        finding = finding_add(findings, FINDING_BAND_UNKNOWN, band.span, "%N has no band %N on %N; its bands are %S",
                              gauge->name, band.name, r->tail->name, band_list(r, gauge));
    else
        finding = finding_add(findings, FINDING_BAND_UNKNOWN, band.span,
                              "%N has no bands on %N; give them in the aircraft: band %N %N … from …", gauge->name,
                              r->tail->name, gauge->name, band.name);
    map_put(&r->program->poisoned[DECL_AIRCRAFT], band_missing(r, gauge, band.name), r->program); /* told */
    if (meant.len) finding_fix(findings, finding, best ? FIX_SHOWN : FIX_REVIEW, band.span, "%S", meant);
    if (gauge->n_bands)
        finding_note(findings, finding, gauge->bands[0].span, "its bands are given here: %S", band_list(r, gauge));
}

static Test *band_case(Resolver *r, const Thing *gauge, const Band *band, const Cond *written) {
    GaugeTest stretch = {.has_lo = band->has_lo,
                         .has_hi = band->has_hi,
                         .lo = band->lo,
                         .hi = band->hi,
                         .measure = band->measure,
                         .span = written ? written->span : band->span};
    Test *test = test_stretch(r, gauge, stretch, written);
    return band->when ? test_held(r, test_and(r, band->when, test)) : test;
}

const Test *test_band(Resolver *r, const Thing *gauge, Word band, const Scene *scene, const Cond *written) {
    uint32_t n;
    const Band *bands = band_find(gauge, band.name, &n);
    if (!n) {
        report_band(r, gauge, band, scene);
        return test_undecided(r, band_missing(r, gauge, band.name), written);
    }
    Test **cases = ARENA_ARRAY(r->job->arena, Test *, n);
    for (uint32_t i = 0; i < n; i++) cases[i] = band_case(r, gauge, &bands[i], written);
    return test_join(r, TEST_OR, cases, n, written);
}

/* ---- what is no gauge ---- */

/* "chocks is removed": the position that is meant; 0: none. */
static Name in_capitals(Resolver *r, const Thing *thing, Name word) {
    Str typed = name_text(r->job->names, word);
    Buf buf = {.arena = r->job->arena};
    for (size_t i = 0; i < typed.len; i++)
        buf_char(&buf, typed.ptr[i] >= 'a' && typed.ptr[i] <= 'z' ? (char)(typed.ptr[i] - 'a' + 'A') : typed.ptr[i]);
    for (uint32_t i = 0; i < thing->n_positions; i++)
        if (str_eq(name_text(r->job->names, thing->positions[i].name), buf_view(&buf))) return thing->positions[i].name;
    return 0;
}

const Test *test_no_gauge(Resolver *r, const Thing *thing, Word word, const Cond *cond) {
    if (!first_report(r, FINDING_NOT_A_GAUGE, word.span)) return test_new(r, TEST_TRUE, cond);
    Name meant = in_capitals(r, thing, word.name);
    if (meant) {
        Finding *finding = finding_add(r->job->findings, FINDING_NOT_A_GAUGE, word.span,
                                       "a position is written in capitals: %N", meant);
        finding_fix(r->job->findings, finding, FIX_SAFE, word.span, "%N", meant);
        return test_new(r, TEST_TRUE, cond);
    }
    Buf list = {.arena = r->job->arena};
    for (uint32_t i = 0; i < thing->n_positions && i < 12; i++)
        buf_format(&list, r->job->names, i ? ", %N" : "%N", thing->positions[i].name);
    finding_add(r->job->findings, FINDING_NOT_A_GAUGE, word.span,
                thing->n_positions ? "%N is no gauge: it stands at one of %S"
                                   : "%N is no gauge, and has no positions%S",
                thing->name, buf_view(&list));
    return test_new(r, TEST_TRUE, cond);
}

/* ---- numbers ---- */

static GaugeTest one_sided(uint8_t comparison, Rational value, const Measure *measure, Span span) {
    bool low = comparison == COMPARE_AT_LEAST || comparison == COMPARE_ABOVE;
    GaugeTest test = {.has_lo = low,
                      .has_hi = !low,
                      .lo_open = comparison == COMPARE_ABOVE,
                      .hi_open = comparison == COMPARE_BELOW,
                      .measure = measure,
                      .span = span};
    test.lo = test.hi = value;
    return test;
}

static const Test *compare_value(Resolver *r, const Thing *gauge, const Cond *cond) {
    uint32_t n;
    Word name = cond->measured->name;
    const Value *values = values_named(r, name.name, &n);
    if (!n) {
        value_missing(r, name);
        return test_undecided(r, name.name, cond);
    }
    Test **cases = ARENA_ARRAY(r->job->arena, Test *, n);
    for (uint32_t i = 0; i < n; i++) {
        if (!fits_gauge(r, gauge, values[i].measure, name.span)) return test_new(r, TEST_TRUE, cond);
        Test *test =
            test_stretch(r, gauge, one_sided(cond->comparison, values[i].amount, values[i].measure, cond->span), cond);
        cases[i] = values[i].when ? test_held(r, test_and(r, values[i].when, test)) : test;
    }
    return test_join(r, TEST_OR, cases, n, cond);
}

const Test *test_compare(Resolver *r, const Cond *cond, const Scene *scene) {
    const Thing *gauge = resolve_thing(r, cond->ref, scene);
    const Test *test = test_settled(r, gauge, cond);
    if (test) return test;
    if (gauge->kind != THING_GAUGE) return test_no_gauge(r, gauge, cond->ref, cond);
    if (!cond->measured) return test_new(r, TEST_TRUE, cond);
    if (cond->measured->name.name) return compare_value(r, gauge, cond);
    Quantity quantity = resolve_amount(r, cond->measured->amount);
    if (!quantity.ok || !quantity.measure || !fits_gauge(r, gauge, quantity.measure, cond->measured->amount.span))
        return test_new(r, TEST_TRUE, cond);
    return test_stretch(r, gauge, one_sided(cond->comparison, quantity.value, quantity.measure, cond->span), cond);
}

const Test *test_range(Resolver *r, const Cond *cond, const Scene *scene) {
    const Thing *gauge = resolve_thing(r, cond->ref, scene);
    const Test *test = test_settled(r, gauge, cond);
    if (test) return test;
    if (gauge->kind != THING_GAUGE) return test_no_gauge(r, gauge, cond->ref, cond);
    if (!cond->range) return test_new(r, TEST_TRUE, cond);
    Stretch stretch = resolve_range(r, cond->range, gauge);
    if (!stretch.ok) return test_new(r, TEST_TRUE, cond);
    GaugeTest pending = {.has_lo = stretch.has_lo,
                         .has_hi = stretch.has_hi,
                         .lo = stretch.lo,
                         .hi = stretch.hi,
                         .measure = stretch.measure,
                         .span = stretch.span};
    return test_stretch(r, gauge, pending, cond);
}
