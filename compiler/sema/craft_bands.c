/* The aircraft's numbers: values and the bands of gauges, with the cases they hold in. */
#include "sema/craft.h"
#include "sema/program_parts.h"

void cover_later(Resolver *r, const Test **whens, const Span *spans, uint32_t n, Str what) {
    if (n == 0 || (n == 1 && !whens[0])) return;
    vec_push(r->job->arena, &r->scratch->covers, ((CoverCheck){whens, spans, n, what}));
}

static const Test *when_of(Resolver *r, const CraftLine *line, uint32_t engine) {
    if (!line->craft->when) return NULL;
    const Scene scene = {.engine = engine, .home = line->decl};
    const Test *when = resolve_test(r, line->craft->when, &scene);
    test_freeze(r, when);
    return when;
}

/* ---- values ---- */

static void value_add(Resolver *r, const CraftLine *line) {
    Tail *tail = r->tail;
    Quantity quantity = resolve_amount(r, line->craft->amount);
    if (!quantity.ok) return;
    tail->values[tail->n_values++] = (Value){
        .name = line->craft->ref.name, .amount = quantity.value, .measure = quantity.measure, .craft = line->craft};
}

typedef struct {
    uint32_t first, last; /* lines of one name, linked by next; + 1 */
} SameName;

/* Lines of one name become neighbours, in the order in which the names first appear. */
static void values_group(Resolver *r, CraftLines lines) {
    Arena *arena = r->job->arena;
    NameMap names = {.arena = arena};
    uint32_t *next = ARENA_ARRAY(arena, uint32_t, lines.n + 1);
    for (uint32_t i = 0; i < lines.n; i++) {
        Name name = lines.at[i].craft->ref.name;
        SameName *same = map_get(&names, name);
        if (same) {
            next[same->last] = i + 1;
            same->last = i;
            continue;
        }
        same = ARENA_NEW(arena, SameName);
        *same = (SameName){i, i};
        if (name) map_put(&names, name, same);
    }
    for (uint32_t i = 0; i < lines.n; i++) {
        Name name = lines.at[i].craft->ref.name;
        const SameName *same = name ? map_get(&names, name) : NULL;
        if (!same || same->first != i) continue;
        uint32_t begin = r->tail->n_values;
        for (uint32_t at = i + 1; at; at = next[at - 1]) value_add(r, &lines.at[at - 1]);
        if (r->tail->n_values > begin) map_put(&r->values, name, &r->tail->values[begin]);
    }
}

static void values_cover(Resolver *r) {
    Tail *tail = r->tail;
    Arena *arena = r->job->arena;
    for (uint32_t i = 0; i < tail->n_values;) {
        uint32_t n;
        (void)values_named(r, tail->values[i].name, &n);
        if (n <= 1 && !tail->values[i].when) {
            i++;
            continue;
        }
        const Test **whens = ARENA_ARRAY(arena, const Test *, n);
        Span *spans = ARENA_ARRAY(arena, Span, n);
        for (uint32_t k = 0; k < n; k++) {
            whens[k] = tail->values[i + k].when;
            spans[k] = tail->values[i + k].craft->span;
        }
        cover_later(r, whens, spans, n, format_text(arena, r->job->names, "the value %N", tail->values[i].name));
        i += n ? n : 1;
    }
}

void values_make(Resolver *r, const Decl *tail_decl) {
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_VALUE);
    r->tail->values = ARENA_ARRAY(r->job->arena, Value, lines.n + 1);
    values_group(r, lines);
}

/* After the bands are known, since a `when` may name one. */
static void values_when(Resolver *r, const Decl *tail_decl) {
    NameMap decls = {.arena = r->job->arena}; /* place of a line + 1 -> the aircraft it stands in */
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_VALUE);
    for (size_t i = 0; i < lines.n; i++)
        map_put(&decls, lines.at[i].craft->span.lo + 1, (void *)(uintptr_t)lines.at[i].decl);
    for (uint32_t i = 0; i < r->tail->n_values; i++) {
        Value *value = &r->tail->values[i];
        const CraftLine line = {value->craft, map_get(&decls, value->craft->span.lo + 1)};
        value->when = when_of(r, &line, NO_INDEX);
    }
    values_cover(r);
}

/* ---- bands ---- */

/* The instances a line speaks of: one, or one for each engine. */
static Thing *gauge_of(Resolver *r, const CraftLine *line, uint32_t *n) {
    RefParts parts = ref_split(r, line->craft->ref);
    Thing *first = first_instance(r, parts.name);
    const Scene scene = {.engine = NO_INDEX, .home = line->decl};
    bool all = first && !parts.dotted && first->engine != NO_INDEX;
    *n = all ? r->tail->n_engines : 1;
    Thing *thing = all ? first : resolve_thing(r, line->craft->ref, &scene);
    if (!thing || thing->kind == THING_GAUGE) return thing;
    if (first_report(r, FINDING_NOT_A_GAUGE, line->craft->ref.span))
        finding_add(r->job->findings, FINDING_NOT_A_GAUGE, line->craft->ref.span,
                    "%N is no gauge: only gauges have bands", line->craft->ref.name);
    return NULL;
}

/* How many bands each gauge gets, so that its array is made once. */
static uint32_t *bands_count(Resolver *r, CraftLines lines) {
    uint32_t *counts = ARENA_ARRAY(r->job->arena, uint32_t, r->tail->n_things + 1);
    for (size_t i = 0; i < lines.n; i++) {
        uint32_t n, parts = 0;
        Thing *gauge = gauge_of(r, &lines.at[i], &n);
        uint32_t index = gauge ? thing_index(r, gauge) : NO_INDEX;
        if (index == NO_INDEX) continue;
        for (const BandPart *part = lines.at[i].craft->bands; part; part = part->next) parts++;
        for (uint32_t k = 0; k < n; k++) counts[index + k] += parts;
    }
    return counts;
}

static void band_add(Resolver *r, Thing *gauge, const CraftLine *line, const BandPart *part, const Test *when) {
    Stretch stretch = resolve_range(r, &part->range, gauge);
    if (!part->name.name) return;
    if (!stretch
             .ok) { /* told: neither the lines that ask for the band nor the rules that wait for it need say so again */
        Name spoilt = band_missing(r, gauge, part->name.name);
        map_put(&r->spoilt, spoilt, gauge);
        map_put(&r->program->poisoned[DECL_AIRCRAFT], spoilt, r->program);
        return;
    }
    if (trend_index(r, part->name.name) >= 0) {
        if (first_report(r, FINDING_BAND_NAME, part->name.span))
            finding_add(r->job->findings, FINDING_BAND_NAME, part->name.span,
                        "%N cannot name a band: it says how the needle moves", part->name.name);
        return;
    }
    gauge->bands[gauge->n_bands++] = (Band){.name = part->name.name,
                                            .span = part->name.span,
                                            .has_lo = stretch.has_lo,
                                            .has_hi = stretch.has_hi,
                                            .lo = stretch.lo,
                                            .hi = stretch.hi,
                                            .measure = stretch.measure,
                                            .when = (struct Test *)(uintptr_t)when,
                                            .why = line->craft->why};
}

/* Bands of one name become neighbours (names in the order of their first line): band_find() counts on it. */
static void bands_group(Resolver *r, Thing *gauge) {
    Arena *arena = r->job->arena;
    uint32_t n = gauge->n_bands, n_names = 0;
    NameMap ordinals = {.arena = arena};
    uint32_t *begin = ARENA_ARRAY(arena, uint32_t, n + 2), *of = ARENA_ARRAY(arena, uint32_t, n);
    for (uint32_t i = 0; i < n; i++) {
        uintptr_t ordinal = (uintptr_t)map_get(&ordinals, gauge->bands[i].name);
        if (!ordinal) map_put(&ordinals, gauge->bands[i].name, (void *)(ordinal = ++n_names));
        of[i] = (uint32_t)ordinal - 1;
        begin[ordinal]++;
    }
    for (uint32_t i = 0; i < n_names; i++) begin[i + 1] += begin[i];
    Band *sorted = ARENA_ARRAY(arena, Band, n);
    for (uint32_t i = 0; i < n; i++) sorted[begin[of[i]]++] = gauge->bands[i];
    gauge->bands = sorted;
}

static void bands_cover(Resolver *r, const Thing *gauge) {
    Arena *arena = r->job->arena;
    for (uint32_t i = 0; i < gauge->n_bands;) {
        uint32_t n = 1; /* bands of one name are neighbours */
        while (i + n < gauge->n_bands && gauge->bands[i + n].name == gauge->bands[i].name) n++;
        if (n == 1 && !gauge->bands[i].when) {
            i++;
            continue;
        }
        const Test **whens = ARENA_ARRAY(arena, const Test *, n);
        Span *spans = ARENA_ARRAY(arena, Span, n);
        for (uint32_t k = 0; k < n; k++) {
            whens[k] = gauge->bands[i + k].when;
            spans[k] = gauge->bands[i + k].span;
        }
        cover_later(r, whens, spans, n,
                    format_text(arena, r->job->names, "the band %N of %N", gauge->bands[i].name, gauge->name));
        i += n;
    }
}

/* Every band is one more stretch that the gauge's steps must tell apart. */
static void bands_wait_for_steps(Resolver *r, Thing *gauge) {
    for (uint32_t i = 0; i < gauge->n_bands && gauge->fact != NO_INDEX; i++) {
        Band *band = &gauge->bands[i];
        vec_push(r->job->arena, &r->scratch->gauge_tests,
                 ((GaugeTest){.fact = gauge->fact,
                              .has_lo = band->has_lo,
                              .has_hi = band->has_hi,
                              .lo = band->lo,
                              .hi = band->hi,
                              .measure = band->measure,
                              .mask = &band->mask,
                              .span = band->span}));
    }
}

/* For each thing with bands: place of a band + 1 -> the band. */
static NameMap *bands_places(Resolver *r) {
    Tail *tail = r->tail;
    NameMap *places = ARENA_ARRAY(r->job->arena, NameMap, tail->n_things + 1);
    for (uint32_t i = 0; i < tail->n_things; i++) {
        places[i].arena = r->job->arena;
        for (uint32_t b = 0; b < tail->things[i].n_bands; b++)
            map_put(&places[i], tail->things[i].bands[b].span.lo + 1, &tail->things[i].bands[b]);
    }
    return places;
}

static void bands_when(Resolver *r, const CraftLine *line, const NameMap *places) {
    uint32_t n;
    Thing *gauge = line->craft->when ? gauge_of(r, line, &n) : NULL;
    if (!gauge || thing_index(r, gauge) == NO_INDEX) return;
    for (uint32_t k = 0; k < n; k++) {
        const Test *when = when_of(r, line, gauge[k].engine);
        for (const BandPart *part = line->craft->bands; part; part = part->next) {
            Band *band = map_get(&places[thing_index(r, &gauge[k])], part->name.span.lo + 1);
            if (band) band->when = (struct Test *)(uintptr_t)when;
        }
    }
}

void bands_make(Resolver *r, const Decl *tail_decl) {
    Tail *tail = r->tail;
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_BAND);
    uint32_t *counts = bands_count(r, lines);
    for (uint32_t i = 0; i < tail->n_things; i++)
        if (counts[i]) tail->things[i].bands = ARENA_ARRAY(r->job->arena, Band, counts[i]);
    for (size_t i = 0; i < lines.n; i++) {
        uint32_t n;
        Thing *gauge = gauge_of(r, &lines.at[i], &n);
        if (!gauge || thing_index(r, gauge) == NO_INDEX) continue;
        for (uint32_t k = 0; k < n; k++)
            for (const BandPart *part = lines.at[i].craft->bands; part; part = part->next)
                band_add(r, &gauge[k], &lines.at[i], part, NULL);
    }
    for (uint32_t i = 0; i < tail->n_things; i++)
        if (tail->things[i].n_bands > 1) bands_group(r, &tail->things[i]);
    NameMap *places = bands_places(r);
    for (uint32_t i = 0; i < tail->n_things; i++) bands_wait_for_steps(r, &tail->things[i]);
    values_when(r, tail_decl);
    for (size_t i = 0; i < lines.n; i++) bands_when(r, &lines.at[i], places); /* last: they may name bands */
    for (uint32_t i = 0; i < tail->n_things; i++) bands_cover(r, &tail->things[i]);
    bands_judge(r);
}

/* ---- what bands of one gauge must be to one another ---- */

static void judge_units(Resolver *r, const Thing *gauge) {
    for (uint32_t i = 1; i < gauge->n_bands; i++) {
        const Band *band = &gauge->bands[i];
        if (band->measure == gauge->bands[0].measure) continue;
        if (!first_report(r, FINDING_TWO_UNITS, band->span)) return;
        Finding *finding = finding_add(r->job->findings, FINDING_TWO_UNITS, band->span,
                                       "the bands of %N are in two units, %s and %s; a number copied with the wrong "
                                       "unit looks just like this: use one",
                                       gauge->name, gauge->bands[0].measure->spelling, band->measure->spelling);
        finding_note(r->job->findings, finding, gauge->bands[0].span, "this band is in %s",
                     gauge->bands[0].measure->spelling);
        return;
    }
}

static bool within(Rational number, const Band *limit) {
    return !(limit->has_lo && rational_cmp(number, limit->lo) < 0) &&
           !(limit->has_hi && rational_cmp(number, limit->hi) > 0);
}

/* Every number of the band lies within the limit. */
static bool ends_within(const Band *band, const Band *limit) {
    return (!band->has_lo || within(band->lo, limit)) && (!band->has_hi || within(band->hi, limit));
}

/* No reading is in both. */
static bool apart(const Band *band, const Band *limit) {
    return (band->has_lo && limit->has_hi && rational_cmp(band->lo, limit->hi) > 0) ||
           (band->has_hi && limit->has_lo && rational_cmp(band->hi, limit->lo) < 0);
}

/* Bands that by their names say where the needle should be; others, as `too-low at most 24 psi`, lie outside on purpose. */
static bool meets_limit(const Resolver *r, const Band *band, const Band *limit) {
    Str name = name_text(r->job->names, band->name);
    if (str_eq(name, STR("normal")) || str_eq(name, STR("caution"))) return ends_within(band, limit);
    if (str_eq(name, STR("rise")) || str_eq(name, STR("idle"))) return !apart(band, limit);
    return true;
}

static void judge_limit(Resolver *r, const Thing *gauge) {
    Name limit_name = name_find(r->job->names, STR("limit"));
    uint32_t n;
    const Band *limit = limit_name ? band_find(gauge, limit_name, &n) : NULL;
    if (!limit || n != 1 || limit->when) return;
    for (uint32_t i = 0; i < gauge->n_bands; i++) {
        const Band *band = &gauge->bands[i];
        if (meets_limit(r, band, limit) || !first_report(r, FINDING_BAND_OUTSIDE_LIMIT, band->span)) continue;
        Finding *finding =
            finding_add(r->job->findings, FINDING_BAND_OUTSIDE_LIMIT, band->span,
                        "%N of %N lies outside its limit; check the numbers and their units against the handbook",
                        band->name, gauge->name);
        finding_note(r->job->findings, finding, limit->span, "the limit stands here");
    }
}

void bands_judge(Resolver *r) {
    for (uint32_t i = 0; i < r->tail->n_things; i++) {
        if (r->tail->things[i].n_bands < 2) continue;
        judge_units(r, &r->tail->things[i]);
        judge_limit(r, &r->tail->things[i]);
    }
}
