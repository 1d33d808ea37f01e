/* crank: the starter goes in at its head and out on every way that leaves it. */
#include "sema/lower.h"

bool crank_control(Lower *l, const Item *item, uint32_t *thing, uint64_t *engaged) {
    if (item->thing >= l->tail->n_things) return false;
    const Thing *control = &l->tail->things[item->thing];
    if (control->kind != THING_CONTROL || control->fact == NO_INDEX) return false;
    *thing = item->thing;
    *engaged = 0;
    for (uint32_t i = 0; i < control->n_positions && i < 64; i++) {
        if (control->positions[i].turns) *engaged |= UINT64_C(1) << i;
    }
    return *engaged != 0;
}

uint32_t crank_duty(Lower *l, const Item *item) {
    uint32_t thing;
    uint64_t engaged;
    return crank_control(l, item, &thing, &engaged) ? l->duty_of[l->tail->things[thing].fact] : NO_INDEX;
}

static uint64_t lowest(uint64_t mask) {
    return mask & (~mask + 1);
}

static bool within(const Crank *crank, uint32_t place) {
    return place != NO_INDEX && place >= crank->lo && place < crank->hi;
}

static void crank_release(Lower *l, const Crank *crank, Raw *raw) {
    if (!raw->keeps) load_change(l, &raw->load, crank->fact, crank->release);
}

void crank_leave(Lower *l, uint32_t from, Raw *raw) {
    uint32_t to = place_of(l, raw->to);
    for (uint32_t i = l->place_crank.at[from]; i != NO_INDEX; i = l->cranks.at[i].up) {
        if (within(&l->cranks.at[i], to)) return;
        crank_release(l, &l->cranks.at[i], raw);
    }
}

/* ---- until ---- */
typedef struct {
    const Test *now; /* what edges of pilot and engine can make true: released in the very edge */
    const Guard *all;
    const bool *world; /* by term of all: the world makes it true, at any moment */
} Until;

static const Test *term_test(Lower *l, const Term *term) {
    const Test *test = test_const(true);
    for (uint32_t i = 0; i < term->n; i++) {
        test = test_both(l->arena, test, test_fact(l->arena, term->literals[i].fact, term->literals[i].mask));
    }
    return test;
}

static Until until_split(Lower *l, const Test *test) {
    Until until = {.now = test_const(false)};
    until.all = guard_make(l->arena, l->facts.at, test, false, &l->over);
    bool *world = ARENA_ARRAY(l->arena, bool, (size_t)until.all->n + 1);
    for (uint32_t t = 0; t < until.all->n; t++) {
        const Term *term = &until.all->terms[t];
        for (uint32_t i = 0; i < term->n; i++) world[t] = world[t] || world_fact(l, term->literals[i].fact, true);
        if (!world[t]) until.now = test_either(l->arena, until.now, term_test(l, term));
    }
    until.world = world;
    return until;
}

/* What the test reads after the edge. */
static const Test *after_edge(Lower *l, const Test *test, const Raw *raw, bool *touched) {
    Known known = {ARENA_ARRAY(l->arena, Literal, (size_t)raw->load.n_changes + 1), 0, 0, 0};
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        const Change *change = &raw->load.changes[i];
        if (change->kind != CHANGE_TO || !test_reads(test, change->fact)) continue;
        known.at[known.n++] = (Literal){change->fact, change->mask};
        *touched = true;
    }
    return *touched ? test_fold(l->arena, test, &known) : test;
}

/* An edge within the crank: where it makes `until` true, the starter is released in it. */
static void until_compose(Lower *l, const Crank *crank, const Until *until, size_t index) {
    Raw raw = l->raws.at[index];
    bool touched = false;
    const Test *holds = after_edge(l, until->now, &raw, &touched);
    if (!touched || test_never(holds)) return;
    Raw out = raw;
    out.to = crank->after;
    out.stays = false;
    out.when = test_both(l->arena, raw.when, holds);
    crank_release(l, crank, &out);
    if (test_always(holds)) {
        l->raws.at[index] = out;
        return;
    }
    l->raws.at[index].when = test_both(l->arena, raw.when, test_inverse(l->arena, holds));
    vec_push(&l->temp, &l->raws, out);
}

static bool reads_engine(const Lower *l, const Test *test) {
    for (uint32_t i = 0; i < l->tail->n_engines; i++) {
        if (test_reads(test, l->engines[i].fact)) return true;
    }
    return false;
}

/* The engine's own edges at a place of the crank, so that they can release the starter. */
static void crank_engines(Lower *l, const Crank *crank, const Until *until) {
    Raw *list;
    size_t n = reads_engine(l, until->now) ? engine_raws(l, &list) : 0;
    if (!n) return;
    for (uint32_t place = crank->lo; place < crank->hi; place++) {
        if (l->places.at[place].own_engine_edges) continue;
        l->places.at[place].own_engine_edges = true;
        for (size_t i = 0; i < n; i++) {
            Raw raw = list[i];
            raw.from = raw.to = place;
            raw.scope = NO_INDEX;
            vec_push(&l->temp, &l->raws, raw);
            until_compose(l, crank, until, l->raws.n - 1);
        }
    }
}

static void crank_edges(Lower *l, const Crank *crank, const Until *until, size_t first) {
    size_t n = l->raws.n;
    for (size_t i = first; i < n; i++) {
        Raw *raw = &l->raws.at[i];
        if (raw->from < crank->lo) continue;
        if (!within(crank, place_of(l, raw->to))) {
            crank_release(l, crank, raw);
        } else {
            until_compose(l, crank, until, i);
        }
    }
}

static Raw *release_edge(Lower *l, const Crank *crank, uint32_t place, const Test *when) {
    Entry entry = {.place = place, .when = when};
    Raw *raw = edge_from(l, &entry, EDGE_RELEASE, crank->item, crank->after);
    crank_release(l, crank, raw);
    return raw;
}

/* `until` holds already as the starter goes in: it goes out at once. */
static void until_at_once(Lower *l, const Crank *crank, const Until *until, uint32_t place) {
    uint32_t deadline = deadline_put(l, place, until->now, crank->clock, 0);
    if (deadline != NO_INDEX) release_edge(l, crank, place, until->now)->deadline = deadline;
}

static void until_world(Lower *l, const Crank *crank, const Until *until, uint32_t place) {
    for (uint32_t t = 0; t < until->all->n; t++) {
        if (!until->world[t]) continue;
        Raw *raw = release_edge(l, crank, place, NULL);
        raw->actor = ACTOR_WORLD;
        for (uint32_t i = 0; i < until->all->terms[t].n; i++) {
            Literal literal = until->all->terms[t].literals[i];
            if (world_fact(l, literal.fact, true)) {
                load_change(l, &raw->load, literal.fact, literal.mask);
            } else {
                raw->when = test_both(l->arena, raw->when, test_fact(l->arena, literal.fact, literal.mask));
            }
        }
    }
}

/* ---- the on-time ---- */
static void on_time(Lower *l, const Crank *crank, const Test *when, uint32_t clock, int64_t ms, const Way *way) {
    for (uint32_t place = crank->lo; place < crank->hi; place++) {
        uint32_t deadline = deadline_put(l, place, when, clock, ms);
        if (deadline == NO_INDEX) continue;
        Entry entry = {.place = place, .when = when};
        Raw *raw = edge_from(l, &entry, EDGE_LAPSE, crank->item, crank->after);
        raw->actor = ACTOR_TIME;
        raw->deadline = deadline;
        load_bound(l, &raw->load, clock, ms, -1);
        if (way) way_take(l, raw, way);
        crank_release(l, crank, raw);
    }
}

static void duty_times(Lower *l, const Crank *crank, const Way *way) {
    const DutyHistory *history = &l->histories.at[crank->duty];
    const Duty *duty = &l->tail->duties[history->duty];
    uint64_t all = fact_all(&l->facts.at[history->count]);
    for (uint32_t i = 0; i < duty->n_lines; i++) {
        const DutyLine *line = &duty->lines[i];
        for (uint32_t k = 0; k < line->n_series; k++) {
            bool last = k + 1 == line->n_series;
            uint64_t mask = last ? all & ~((UINT64_C(1) << (k + 1)) - 1) : UINT64_C(1) << (k + 1);
            if (line->n_series == 1) mask = all;
            const Test *when = test_both(l->arena, line->when, test_fact(l->arena, history->count, mask));
            if (line->on_ms[k] > 0) on_time(l, crank, when, history->on_clock, line->on_ms[k], way);
        }
    }
}

static int64_t duty_longest(const Duty *duty) {
    int64_t longest = 0;
    for (uint32_t i = 0; i < duty->n_lines; i++) {
        for (uint32_t k = 0; k < duty->lines[i].n_series; k++) {
            if (!duty->lines[i].on_ms[k]) return INT64_MAX;
            if (duty->lines[i].on_ms[k] > longest) longest = duty->lines[i].on_ms[k];
        }
    }
    return duty->n_lines ? longest : INT64_MAX;
}

static Str time_words(Lower *l, int64_t ms) {
    if (ms >= 60000 && ms % 60000 == 0) return format_text(l->keep, l->job->names, "%d min", ms / 60000);
    if (ms % 1000 == 0) return format_text(l->keep, l->job->names, "%d s", ms / 1000);
    return format_text(l->keep, l->job->names, "%d ms", ms);
}

static void report_beyond(Lower *l, const Crank *crank) {
    const Item *item = crank->item;
    if (crank->duty == NO_INDEX || item->over_duty || item->limit.n != 1) return;
    int64_t most = duty_longest(&l->tail->duties[l->histories.at[crank->duty].duty]), ms = item->limit.cases[0].ms;
    if (ms <= most || !told_once(l, item->span, 3)) return;
    Finding *finding = finding_add(l->job->findings, FINDING_CRANK_BEYOND_DUTY, item->span,
                                   "this cranks for up to %S, but the duty of the starter allows at most %S",
                                   time_words(l, ms), time_words(l, most));
    finding_note(l->job->findings, finding, (Span){0, 0},
                 "shorten it, or state the exemption: `over duty because \"…\"`; it then goes into the register");
}

static void report_no_duty(Lower *l, const Crank *crank) {
    if (crank->duty != NO_INDEX || !told_once(l, crank->item->span, 4)) return;
    finding_add(l->job->findings, FINDING_DUTY_NOT_GIVEN, crank->item->span,
                "nothing says how long this starter may be on and how long it must rest; give the aircraft a `duty` "
                "line for it");
}

static void crank_times(Lower *l, const Crank *crank, const Way *way) {
    report_beyond(l, crank);
    report_no_duty(l, crank);
    for (uint32_t i = 0; i < crank->item->limit.n; i++) {
        on_time(l, crank, crank->item->limit.cases[i].when, crank->clock, crank->item->limit.cases[i].ms, way);
    }
    if (!crank->item->limit.n && crank->duty != NO_INDEX) duty_times(l, crank, way);
}

/* ---- the crank as a whole ---- */
static uint32_t head_clock(Lower *l, uint32_t fact) {
    if (l->crank_clocks[fact] == NO_INDEX) l->crank_clocks[fact] = clock_new(l, "since the head of the crank");
    return l->crank_clocks[fact];
}

static Crank crank_open(Lower *l, const Item *item, uint32_t thing, uint64_t engaged) {
    Crank crank = {.item = item, .thing = thing, .engaged = engaged, .up = l->crank};
    const Thing *control = &l->tail->things[thing];
    crank.fact = control->fact;
    crank.engage = item->mask & engaged ? lowest(item->mask & engaged) : lowest(engaged);
    crank.release = lowest(fact_all(&l->facts.at[crank.fact]) & ~engaged);
    crank.clock = head_clock(l, crank.fact);
    crank.duty = l->duty_of[crank.fact];
    crank.after = target_new(l);
    crank.lo = (uint32_t)l->places.n;
    crank.hi = NO_INDEX;
    return crank;
}

static void crank_engage(Lower *l, const Crank *crank, const Frontier *f, uint32_t head) {
    for (size_t i = 0; i < f->n; i++) {
        l->places.at[f->at[i].place].pilots_act = true;
        Raw *raw = edge_from(l, &f->at[i], EDGE_ITEM, crank->item, head);
        raw->over_duty = crank->item->over_duty;
        load_change(l, &raw->load, crank->fact, crank->engage);
        load_reset(l, &raw->load, crank->clock);
        Mark mark = mark_of(ON_SET, crank->fact, crank->engage);
        mark.thing = crank->thing;
        load_mark(l, &raw->load, mark);
    }
}

/* The body's end: released there where nothing else is waited for. */
static void crank_body(Lower *l, const Crank *crank, uint32_t head) {
    Frontier in = frontier_at(l, head);
    lower_items(l, crank->item->body, &in);
    bool ends = crank->item->body && !crank->item->cond;
    for (size_t i = 0; i < in.n; i++) {
        Place *place = &l->places.at[in.at[i].place];
        if (!place->item) place->item = crank->item;
        if (!ends) continue;
        place->pilots_act = true;
        edge_from(l, &in.at[i], EDGE_RELEASE, crank->item, crank->after);
    }
}

static const Test *crank_until(Lower *l, const Item *item) {
    if (item->cond) return item->cond;
    if (item->body) return test_const(false);
    uint32_t engine = item->engine < l->tail->n_engines ? item->engine : 0;
    return test_fact(l->arena, l->engines[engine].fact, ENGINE_IS_RUNNING);
}

static void crank_close(Lower *l, const Crank *crank, size_t first, const Way *way) {
    Until until = until_split(l, crank_until(l, crank->item));
    crank_edges(l, crank, &until, first);
    crank_engines(l, crank, &until);
    for (uint32_t place = crank->lo; place < crank->hi; place++) {
        if (place == crank->lo) until_at_once(l, crank, &until, place);
        until_world(l, crank, &until, place);
    }
    crank_times(l, crank, way);
}

void lower_crank(Lower *l, const Item *item, Frontier *f) {
    uint32_t thing, index = (uint32_t)l->cranks.n;
    uint64_t engaged;
    if (!crank_control(l, item, &thing, &engaged)) {
        frontier_settle(l, item, f); /* reported where it was read */
        return;
    }
    Crank crank = crank_open(l, item, thing, engaged);
    vec_push(&l->temp, &l->cranks, crank);
    size_t first = l->raws.n;
    l->crank = index;
    uint32_t head = place_new(l);
    crank_engage(l, &crank, f, head);
    crank_body(l, &crank, head);
    crank.hi = l->cranks.at[index].hi = (uint32_t)l->places.n;
    l->crank = crank.up;
    const ItemOutcome *otherwise = outcome_otherwise(item);
    Way way = otherwise ? way_of(l, &otherwise->action, item) : way_to(crank.after);
    crank_close(l, &crank, first, otherwise ? &way : NULL);
    uint32_t after = place_new(l);
    l->targets.at[crank.after - TARGET] = after;
    *f = frontier_at(l, after);
    if (otherwise) way_follow(l, &way, f);
    lower_done_later(l, item, f);
}
