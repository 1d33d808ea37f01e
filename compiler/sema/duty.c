/* Starter duty and its kin: on-times, rests, tries, windows, as the handbooks write them. */
#include "sema/craft.h"
#include "sema/program_parts.h"

enum { SERIES_MOST = 8 };

typedef struct {
    Resolver *r;
    Scene scene;
    DutyLine line;
    VEC(DutyWindow) windows;
    uint32_t ons, rests; /* read so far */
    bool tries_given, long_given, bad;
} Reading;

static void complain(Reading *reading, Span span, const char *text) {
    reading->bad = true;
    if (first_report(reading->r, FINDING_DUTY_SHAPE, span))
        finding_add(reading->r->job->findings, FINDING_DUTY_SHAPE, span, "%s", text);
}

/* A duty is judged against the clock: its times are plain numbers, or values without cases. */
static int64_t time_of_limit(Reading *reading, const DutyLimit *limit) {
    Duration time = resolve_duration(reading->r, &limit->time, &reading->scene);
    if (time.n == 1 && !time.cases[0].when) {
        if (time.cases[0].ms > 0) return time.cases[0].ms;
        complain(reading, limit->span, "a time of zero limits nothing; write the handbook's time");
        return 0;
    }
    reading->bad = true;
    if (time.n > 1)
        complain(reading, limit->span,
                 "this time has several cases; write a duty line for each case instead, with `when`");
    return 0;
}

static uint32_t count_of_limit(Reading *reading, const DutyLimit *limit) {
    Measured measured = {.amount = limit->count};
    uint32_t count;
    Name missing;
    if (!resolve_count(reading->r, &measured, &count, &missing)) {
        reading->bad = true;
        return 0;
    }
    if (!count) complain(reading, limit->span, "none at all cannot be a duty; write how many the handbook allows");
    return count;
}

static void read_on(Reading *reading, const DutyLimit *limit) {
    if (reading->long_given)
        complain(reading, limit->span, "nothing follows the long rest: after it the count begins anew");
    if (reading->ons > reading->rests)
        complain(reading, limit->span,
                 "two on-times without the rest between them; write `up to 30 s on, 60 s rest, up to 30 s on`");
    if (reading->ons == SERIES_MOST) {
        complain(reading, limit->span, "at most eight on-times are read in one line");
        return;
    }
    reading->line.on_ms[reading->ons++] = time_of_limit(reading, limit);
}

static void read_rest(Reading *reading, const DutyLimit *limit) {
    if (reading->long_given)
        complain(reading, limit->span, "nothing follows the long rest: after it the count begins anew");
    if (reading->rests >= reading->ons) {
        complain(reading, limit->span,
                 reading->ons ? "two rests follow one another; one on-time has one rest after it"
                              : "a rest follows an on-time: write `up to 10 s on, 20 s rest`");
        return;
    }
    reading->line.rest_ms[reading->rests++] = time_of_limit(reading, limit);
}

static void read_tries(Reading *reading, const DutyLimit *limit) {
    if (reading->tries_given) complain(reading, limit->span, "the tries are given twice");
    reading->tries_given = true;
    reading->line.tries = tries_followed(reading->r, count_of_limit(reading, limit), limit->span);
}

static void read_long_rest(Reading *reading, const DutyLimit *limit) {
    if (reading->long_given) complain(reading, limit->span, "the long rest is given twice");
    reading->long_given = true;
    reading->line.long_rest_ms = time_of_limit(reading, limit);
}

static void read_window(Reading *reading, const DutyLimit *limit) {
    DutyWindow window = {.most = count_of_limit(reading, limit), .in_ms = time_of_limit(reading, limit)};
    vec_push(reading->r->job->arena, &reading->windows, window);
}

/* What the pieces must be together. */
static void judge_line(Reading *reading, const Craft *craft) {
    DutyLine *line = &reading->line;
    line->n_series = reading->ons;
    if (reading->ons > 1 && !reading->tries_given && reading->long_given)
        line->tries = reading->ons; /* the list is the count */
    if (reading->long_given && !line->tries)
        complain(reading, craft->span,
                 "`then` names the rest after the last try: say how many tries, or list the on-times");
    if (!reading->ons && (reading->tries_given || reading->long_given))
        complain(reading, craft->span,
                 "tries and a long rest need the on-time they count: write `up to 10 s on` first");
    if (line->tries && line->tries < reading->ons)
        complain(reading, craft->span, "there are more on-times than tries; give each try its on-time, or one for all");
    int64_t longest = 0;
    for (uint32_t i = 0; i < reading->rests; i++)
        if (line->rest_ms[i] > longest) longest = line->rest_ms[i];
    if (line->long_rest_ms && longest > line->long_rest_ms)
        complain(reading, craft->span,
                 "the long rest is shorter than a rest between tries; check the numbers and their units");
}

static void read_limits(Reading *reading, const Craft *craft) {
    for (const DutyLimit *limit = craft->limits; limit; limit = limit->next) {
        switch ((DutyLimitKind)limit->kind) {
        case LIMIT_UP_TO_ON: read_on(reading, limit); break;
        case LIMIT_REST: read_rest(reading, limit); break;
        case LIMIT_TRIES: read_tries(reading, limit); break;
        case LIMIT_THEN_REST: read_long_rest(reading, limit); break;
        case LIMIT_AT_MOST_IN: read_window(reading, limit); break;
        }
    }
    if (!reading->bad) judge_line(reading, craft);
}

/* ---- duties of one control ---- */

typedef struct {
    Thing *thing; /* the instance */
    VEC(DutyLine) lines;
    VEC(DutyWindow) windows;
    VEC(Span) spans; /* of lines */
    bool bad;
} DutyOf;

static void duty_read(Resolver *r, const CraftLine *line, DutyOf *duty) {
    Reading reading = {.r = r, .scene = {.engine = duty->thing->engine, .home = line->decl}};
    read_limits(&reading, line->craft);
    duty->bad |= reading.bad;
    const Test *when = line->craft->when ? resolve_test(r, line->craft->when, &reading.scene) : NULL;
    if (when) test_freeze(r, when);
    if (reading.ons || reading.tries_given || reading.long_given) {
        reading.line.when = when;
        reading.line.craft = line->craft;
        vec_push(r->job->arena, &duty->lines, reading.line);
        vec_push(r->job->arena, &duty->spans, line->craft->span);
    }
    for (size_t i = 0; i < reading.windows.n; i++) {
        reading.windows.at[i].when = when;
        reading.windows.at[i].craft = line->craft;
        vec_push(r->job->arena, &duty->windows, reading.windows.at[i]);
    }
}

static uint64_t engaged_positions(const Thing *thing) {
    uint64_t turning = 0, all = 0;
    for (uint32_t i = 0; i < thing->n_positions; i++) {
        all |= UINT64_C(1) << i;
        if (thing->positions[i].turns) turning |= UINT64_C(1) << i;
    }
    return turning ? turning : all & ~UINT64_C(1);
}

static void duty_finish(Resolver *r, DutyOf *of, Duty *duty) {
    Arena *arena = r->job->arena;
    uint32_t n = (uint32_t)of->lines.n;
    *duty = (Duty){.thing = thing_index(r, of->thing),
                   .fact = of->thing->fact,
                   .engaged = engaged_positions(of->thing),
                   .lines = of->lines.at,
                   .n_lines = n,
                   .windows = of->windows.at,
                   .n_windows = (uint32_t)of->windows.n};
    const Test **whens = ARENA_ARRAY(arena, const Test *, n + 1);
    for (uint32_t i = 0; i < n; i++) whens[i] = of->lines.at[i].when;
    if (!of->bad)
        cover_later(r, whens, of->spans.at, n, format_text(arena, r->job->names, "the duty of %N", of->thing->name));
}

static Thing *duty_thing(Resolver *r, const CraftLine *line, uint32_t *n) {
    RefParts parts = ref_split(r, line->craft->ref);
    Thing *first = first_instance(r, parts.name);
    const Scene scene = {.engine = NO_INDEX, .home = line->decl};
    bool all = first && !parts.dotted && first->engine != NO_INDEX;
    *n = all ? r->tail->n_engines : 1;
    Thing *thing = all ? first : resolve_thing(r, line->craft->ref, &scene);
    if (!thing || thing->kind == THING_CONTROL) return thing;
    if (first_report(r, FINDING_DUTY_SHAPE, line->craft->ref.span))
        finding_add(r->job->findings, FINDING_DUTY_SHAPE, line->craft->ref.span,
                    "%N is no control: a duty is how long, how often a control may be engaged", line->craft->ref.name);
    return NULL;
}

void duties_make(Resolver *r, const Decl *tail_decl) {
    Arena *arena = r->job->arena;
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_DUTY);
    NameMap known = {.arena = arena}; /* index of a thing + 1 -> DutyOf */
    VEC(DutyOf *) order = {0};
    for (size_t i = 0; i < lines.n; i++) {
        uint32_t n;
        Thing *thing = duty_thing(r, &lines.at[i], &n);
        for (uint32_t k = 0; thing && k < n; k++) {
            uint32_t index = thing_index(r, &thing[k]);
            if (index == NO_INDEX || thing[k].fact == NO_INDEX) continue;
            DutyOf *duty = map_get(&known, index + 1);
            if (!duty) {
                duty = ARENA_NEW(arena, DutyOf);
                duty->thing = &thing[k];
                map_put(&known, index + 1, duty);
                vec_push(arena, &order, duty);
            }
            duty_read(r, &lines.at[i], duty);
        }
    }
    r->tail->duties = ARENA_ARRAY(arena, Duty, order.n + 1);
    for (size_t i = 0; i < order.n; i++) duty_finish(r, order.at[i], &r->tail->duties[r->tail->n_duties++]);
}
