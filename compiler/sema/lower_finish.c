/* Raw edges to edges: each is split until what it does to duties, engines, armed drills and clocks of events is plain. */
#include "sema/lower.h"

typedef struct {
    Lower *l;
    Edges *out;
    Arena *kept; /* where the list `out` lives */
    Known here;  /* where the followed controls stand at the place the edge leaves */
} Finish;

/* ---- what is known before and after ---- */
static void known_put(Finish *f, Known *known, Literal literal) {
    Arena *arena = f->l->arena;
    vec_push(arena, known, literal);
}

static void known_from(Finish *f, Known *known, const Test *when) {
    if (!when) return;
    if (when->kind == TEST_FACT) {
        Literal literal = {when->fact, when->mask};
        for (size_t i = 0; i < known->n; i++) {
            if (known->at[i].fact == literal.fact) literal.mask &= known->at[i].mask;
        }
        known_put(f, known, literal);
    } else if (when->kind == TEST_NOT && when->parts->kind == TEST_FACT) {
        const Test *part = when->parts;
        Test inverse = {
            .kind = TEST_FACT, .fact = part->fact, .mask = fact_all(&f->l->facts.at[part->fact]) & ~part->mask};
        known_from(f, known, &inverse);
    } else if (when->kind == TEST_AND) {
        for (const Test *part = when->parts; part; part = part->next) known_from(f, known, part);
    }
}

static void known_at(Finish *f, Known *known, uint32_t place) {
    const Lower *l = f->l;
    if (!l->stand.masks || place == NO_INDEX || place < l->stand.lo) return;
    const uint64_t *masks = l->stand.masks + (size_t)(place - l->stand.lo) * l->n_slots;
    for (uint32_t i = 0; i < l->n_slots; i++) {
        uint32_t fact = l->slot_facts[i];
        if (masks[i] && l->facts.at[fact].kind != FACT_ENGINE && masks[i] != fact_all(&l->facts.at[fact])) {
            known_put(f, known, (Literal){fact, masks[i]});
        }
    }
}

static Known known_before(Finish *f, const Raw *raw) {
    enum { MORE = 6 }; /* as many as an edge's own condition and changes mostly say */
    Known known = {NULL, f->here.n, 0, f->here.n + MORE};
    known.at = ARENA_ARRAY(f->l->arena, Literal, known.cap);
    if (known.n) memcpy(known.at, f->here.at, known.n * sizeof *known.at);
    known_from(f, &known, raw->when);
    known.before = known.n;
    return known;
}

static Known known_after(Finish *f, const Raw *raw) {
    Known known = known_before(f, raw);
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        const Change *change = &raw->load.changes[i];
        if (change->kind == CHANGE_TO) known_put(f, &known, (Literal){change->fact, change->mask});
    }
    return known;
}

static const Test *both(Finish *f, const Test *a, const Test *b) {
    return test_both(f->l->arena, a, b);
}

static const Test * not(Finish * f, const Test *a) {
    return test_inverse(f->l->arena, a);
}

/* The edge where the test holds; false where it cannot. */
static bool narrowed(Finish *f, const Raw *raw, const Test *test, Raw *out) {
    Known known = known_before(f, raw);
    const Test *left = test_fold(f->l->arena, test, &known);
    if (test_never(left)) return false;
    *out = *raw;
    out->when = both(f, raw->when, left);
    if (test_always(out->when)) out->when = NULL;
    return true;
}

static bool touches(const Lower *l, const Raw *raw, uint8_t what, const Test *test) {
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        uint32_t fact = raw->load.changes[i].fact;
        if (fact < l->n_reads && (l->reads[fact] & what) && (!test || test_reads(test, fact))) return true;
    }
    return false;
}

static const Change *change_of(const Raw *raw, uint32_t fact) {
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        if (raw->load.changes[i].fact == fact && raw->load.changes[i].kind == CHANGE_TO) return &raw->load.changes[i];
    }
    return NULL;
}

/* ---- the edge itself ---- */
static void resets_put(Lower *l, Edge *edge, const Raw *raw) {
    Load load = raw->load;
    if (raw->stays) {
        edge->resets = load.resets;
        edge->n_resets = load.n_resets;
    } else if (!load.n_resets) {
        edge->resets = l->only_pace;
        edge->n_resets = 1;
    } else {
        load_reset(l, &load, l->model->pace_clock);
        edge->resets = load.resets;
        edge->n_resets = load.n_resets;
    }
}

static void deadline_lapse(Lower *l, uint32_t deadline, uint32_t edge) {
    if (deadline == NO_INDEX) return;
    bool first = l->deadline_edges.at[deadline]++ == 0;
    l->deadlines.at[deadline].deadline.lapse = first ? edge : NO_INDEX;
}

static void edge_put(Finish *f, const Raw *raw) {
    Lower *l = f->l;
    const Guard *guard = NULL;
    if (!test_always(raw->when)) {
        guard = guard_make(l->arena, l->facts.at, raw->when, false, &l->over);
        if (!guard->n) return;
        if (guard->n == 1 && !guard->terms->n) guard = NULL;
    }
    uint32_t to = place_of(l, raw->to);
    if (to == NO_INDEX && raw->from != NO_INDEX) return; /* leads nowhere: reported where it was read */
    Edge edge = {.kind = raw->kind,
                 .actor = raw->actor,
                 .from = raw->from,
                 .to = to,
                 .scope = raw->scope,
                 .item = raw->item,
                 .guard = guard,
                 .changes = raw->load.changes,
                 .bounds = raw->load.bounds,
                 .marks = raw->load.marks,
                 .n_changes = raw->load.n_changes,
                 .n_bounds = raw->load.n_bounds,
                 .n_marks = raw->load.n_marks,
                 .drill = raw->drill,
                 .over_duty = raw->over_duty};
    resets_put(l, &edge, raw);
    deadline_lapse(l, raw->deadline, (uint32_t)f->out->n);
    vec_push(f->kept, f->out, edge);
}

/* ---- clocks of events ---- */
typedef struct {
    const Test *when;
    uint32_t clock;
} MayReset;
typedef VEC(MayReset) MayResets;

static void reset_under(Finish *f, Raw *raw, MayResets *may, const Test *when, uint32_t clock) {
    if (test_never(when)) return;
    if (test_always(when)) {
        load_reset(f->l, &raw->load, clock);
        return;
    }
    for (size_t i = 0; i < may->n; i++) {
        if (may->at[i].clock != clock) continue;
        may->at[i].when = test_either(f->l->arena, may->at[i].when, when);
        return;
    }
    vec_push(f->l->arena, may, ((MayReset){when, clock}));
}

/* The fact changes into (or out of) the mask. */
static const Test *changes_over(Finish *f, const Raw *raw, const Trigger *trigger, const Change *change) {
    Arena *arena = f->l->arena;
    const Test *inside = test_fact(arena, trigger->fact, trigger->mask);
    Known before = known_before(f, raw), after = {NULL, 0, 0, 0};
    known_put(f, &after, (Literal){change->fact, change->mask});
    const Test *was = test_fold(arena, inside, &before), *is = test_fold(arena, inside, &after);
    return trigger->kind == ON_BECOMES ? both(f, not(f, was), is) : both(f, was, not(f, is));
}

static bool mark_matches(const Mark *mark, const Trigger *trigger) {
    if (mark->kind != trigger->kind) return false;
    switch (trigger->kind) {
    case ON_SEEN:
    case ON_LOOK:
    case ON_SET:
    case ON_ANSWERED: return mark->fact == trigger->fact && mark->mask && !(mark->mask & ~trigger->mask);
    case ON_TURN:
    case ON_LABEL: return mark->fact == trigger->fact;
    case ON_CALL:
    case ON_BRIEF: return mark->thing == trigger->thing;
    case ON_ENTER:
        return mark->name == trigger->name && (trigger->engine == NO_INDEX || trigger->engine == mark->engine);
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_NOTHING: break;
    }
    return false;
}

static void events_of_changes(Finish *f, Raw *raw, MayResets *may) {
    Lower *l = f->l;
    for (uint16_t i = 0; i < raw->load.n_changes && !raw->plain; i++) {
        Change change = raw->load.changes[i];
        if (change.kind != CHANGE_TO || change.fact >= l->n_reads) continue;
        for (const EventLink *link = l->fact_events[change.fact]; link; link = link->next) {
            if (link->trigger->kind != ON_BECOMES && link->trigger->kind != ON_LEAVES) continue;
            reset_under(f, raw, may, changes_over(f, raw, link->trigger, &change), link->clock);
        }
    }
}

static void events_of_marks(Finish *f, Raw *raw, MayResets *may) {
    Lower *l = f->l;
    for (uint16_t i = 0; i < raw->load.n_marks; i++) {
        Mark mark = raw->load.marks[i];
        const EventLink *link = mark.kind == ON_ENTER                           ? *l->enter_events
                                : mark.kind == ON_CALL || mark.kind == ON_BRIEF ? l->thing_events[mark.thing]
                                : mark.fact < l->n_reads                        ? l->fact_events[mark.fact]
                                                                                : NULL;
        for (; link; link = link->next) {
            if (mark_matches(&mark, link->trigger)) reset_under(f, raw, may, test_const(true), link->clock);
        }
    }
}

static void events_split(Finish *f, const Raw *raw, const MayResets *may, size_t at) {
    if (at == may->n) {
        edge_put(f, raw);
        return;
    }
    Raw one;
    if (narrowed(f, raw, may->at[at].when, &one)) {
        load_reset(f->l, &one.load, may->at[at].clock);
        events_split(f, &one, may, at + 1);
    }
    if (narrowed(f, raw, not(f, may->at[at].when), &one)) events_split(f, &one, may, at + 1);
}

static void finish_events(Finish *f, const Raw *raw) {
    Raw copy = *raw;
    MayResets may = {NULL, 0, 0};
    events_of_marks(f, &copy, &may);
    events_of_changes(f, &copy, &may);
    events_split(f, &copy, &may, 0);
}

/* ---- drills whose cue must last: their clock starts as they become armed ---- */
static void finish_armed(Finish *f, const Raw *raw, size_t at) {
    Lower *l = f->l;
    for (; at < l->armed_drills.n; at++) {
        const Test *armed = l->tail->drills[l->armed_drills.at[at]].armed;
        if (touches(l, raw, READ_ARMED, armed)) break;
    }
    if (at == l->armed_drills.n) {
        finish_events(f, raw);
        return;
    }
    uint32_t drill = l->armed_drills.at[at];
    Known before = known_before(f, raw), after = known_after(f, raw);
    const Test *armed = l->tail->drills[drill].armed;
    const Test *begins = both(f, not(f, test_fold(l->arena, armed, &before)), test_fold(l->arena, armed, &after));
    Raw one;
    if (narrowed(f, raw, begins, &one)) {
        load_reset(l, &one.load, l->armed_clocks[drill]);
        finish_armed(f, &one, at + 1);
    }
    if (narrowed(f, raw, not(f, begins), &one)) finish_armed(f, &one, at + 1);
}

/* ---- engines ---- */
static const Test *engine_is(Finish *f, const EngineWork *engine, uint64_t mask) {
    return test_fact(f->l->arena, engine->fact, mask);
}

enum {
    IS_STILL = 1 << ENGINE_STOPPED,
    IS_TURNING = 1 << ENGINE_TURNING,
    IS_RUNNING = 1 << ENGINE_RUNNING,
    IS_LATE = 1 << ENGINE_RUNNING_LATE
};

static void finish_stops(Finish *f, const Raw *raw, uint32_t at);

/* A control begins to turn the engine. */
static void turn_begins(Finish *f, const Raw *raw, uint32_t at, const Test *when) {
    const EngineWork *engine = &f->l->engines[at];
    Raw one, two;
    if (!narrowed(f, raw, when, &one)) return;
    Mark mark = mark_of(ON_TURN, engine->fact, IS_TURNING);
    mark.engine = at;
    load_mark(f->l, &one.load, mark);
    if (narrowed(f, &one, engine_is(f, engine, IS_RUNNING | IS_LATE), &two)) finish_stops(f, &two, at);
    if (!narrowed(f, &one, engine_is(f, engine, IS_STILL | IS_TURNING), &two)) return;
    load_change(f->l, &two.load, engine->fact, IS_TURNING);
    finish_stops(f, &two, at);
}

/* Nothing turns it any more: from now on it runs down, unless it runs. What was turned did not stand still. */
static void turn_ends(Finish *f, const Raw *raw, uint32_t at, const Test *when) {
    const EngineWork *engine = &f->l->engines[at];
    const Change *moved = change_of(raw, engine->fact);
    Raw one, two;
    if (!narrowed(f, raw, when, &one)) return;
    if (moved) {
        if (moved->mask == IS_TURNING) load_reset(f->l, &one.load, engine->clock);
        finish_stops(f, &one, at);
        return;
    }
    if (narrowed(f, &one, engine_is(f, engine, IS_TURNING), &two)) {
        load_reset(f->l, &two.load, engine->clock);
        finish_stops(f, &two, at);
    }
    if (narrowed(f, &one, engine_is(f, engine, IS_RUNNING | IS_LATE), &two)) finish_stops(f, &two, at);
}

static void finish_turns(Finish *f, const Raw *raw, uint32_t at) {
    Lower *l = f->l;
    if (at == l->tail->n_engines) {
        finish_armed(f, raw, 0);
        return;
    }
    const EngineWork *engine = &l->engines[at];
    if (!touches(l, raw, READ_TURNS, engine->turned)) {
        finish_stops(f, raw, at);
        return;
    }
    Known before = known_before(f, raw), after = known_after(f, raw);
    const Test *was = test_fold(l->arena, engine->turned, &before), *is = test_fold(l->arena, engine->turned, &after);
    if (test_same(was, is)) {
        finish_stops(f, raw, at);
        return;
    }
    turn_begins(f, raw, at, both(f, not(f, was), is));
    turn_ends(f, raw, at, both(f, was, not(f, is)));
    const Test *same = test_either(l->arena, both(f, was, is), both(f, not(f, was), not(f, is)));
    Raw one;
    if (narrowed(f, raw, same, &one)) finish_stops(f, &one, at);
}

static uint64_t mask_in(const Test *test, uint32_t fact) {
    if (test->kind == TEST_FACT) return test->fact == fact ? test->mask : 0;
    uint64_t mask = 0;
    for (const Test *part = test->parts; part; part = part->next) mask |= mask_in(part, fact);
    return mask;
}

/* A stop is taken while the engine runs: its time to stop begins. */
static void stop_taken(Finish *f, const Raw *raw, uint32_t at, const Test *was_free, const Test *none_stood) {
    const EngineWork *engine = &f->l->engines[at];
    const Test *runs = both(f, engine_is(f, engine, IS_RUNNING), both(f, was_free, none_stood));
    const Test *late = both(f, engine_is(f, engine, IS_LATE), was_free);
    bool alone = engine->stops->kind == TEST_FACT; /* then none stood, and it cannot have fired with one standing */
    Raw one;
    if (narrowed(f, raw, runs, &one)) {
        load_reset(f->l, &one.load, engine->clock);
        finish_turns(f, &one, at + 1);
    }
    if (!alone && narrowed(f, raw, late, &one)) {
        load_change(f->l, &one.load, engine->fact, IS_RUNNING);
        load_reset(f->l, &one.load, engine->clock);
        finish_turns(f, &one, at + 1);
    }
    const Test *moved = alone ? runs : test_either(f->l->arena, runs, late);
    if (narrowed(f, raw, not(f, moved), &one)) finish_turns(f, &one, at + 1);
}

/* Taken back before it acted: the engine runs on. */
static void stop_taken_back(Finish *f, const Raw *raw, uint32_t at, const Test *none_stands) {
    const EngineWork *engine = &f->l->engines[at];
    const Test *saved = both(f, engine_is(f, engine, IS_LATE), none_stands);
    Raw one;
    if (narrowed(f, raw, saved, &one)) {
        load_change(f->l, &one.load, engine->fact, IS_RUNNING);
        finish_turns(f, &one, at + 1);
    }
    if (narrowed(f, raw, not(f, saved), &one)) finish_turns(f, &one, at + 1);
}

static void finish_stops(Finish *f, const Raw *raw, uint32_t at) {
    Lower *l = f->l;
    const EngineWork *engine = &l->engines[at];
    for (uint16_t i = 0; i < raw->load.n_changes && !change_of(raw, engine->fact); i++) {
        Change change = raw->load.changes[i];
        uint64_t stop =
            change.fact < l->n_reads && (l->reads[change.fact] & READ_STOPS) ? mask_in(engine->stops, change.fact) : 0;
        if (!stop) continue;
        Known before = known_before(f, raw), after = known_after(f, raw);
        const Test *was_free = test_fold(l->arena, not(f, test_fact(l->arena, change.fact, stop)), &before);
        if (!(change.mask & ~stop)) {
            stop_taken(f, raw, at, was_free, not(f, test_fold(l->arena, engine->stops, &before)));
            return;
        }
        if (!(change.mask & stop)) {
            stop_taken_back(f, raw, at, not(f, test_fold(l->arena, engine->stops, &after)));
            return;
        }
    }
    finish_turns(f, raw, at + 1);
}

/* ---- duties ---- */
static void finish_duty(Finish *f, const Raw *raw, uint16_t at);

/* Counted anew where it is the first of all, or where the rest before it was a long one. */
static void engagement_anew(Finish *f, const Raw *raw, uint16_t at, const DutyHistory *history, int64_t rest) {
    Raw anew = *raw;
    if (rest > 0) load_bound(f->l, &anew.load, history->rest_clock, rest, -1);
    load_change(f->l, &anew.load, history->count, 2);
    finish_duty(f, &anew, at);
}

/* A new engagement. */
static void engagement(Finish *f, const Raw *raw, uint16_t at, const DutyHistory *history) {
    Lower *l = f->l;
    const Duty *duty = &l->tail->duties[history->duty];
    Raw base = *raw;
    load_reset(l, &base.load, history->on_clock);
    load_change(l, &base.load, history->exempt, raw->over_duty ? 2 : 1);
    for (uint32_t i = 0; i < duty->n_lines; i++) {
        Raw one, first;
        if (!narrowed(f, &base, duty->lines[i].when, &one)) continue;
        int64_t rest = duty->lines[i].long_rest_ms;
        if (rest > 0) {
            const Test *none = test_fact(l->arena, history->count, 1);
            if (narrowed(f, &one, none, &first)) engagement_anew(f, &first, at, history, 0);
            if (!narrowed(f, &one, not(f, none), &one)) continue;
            engagement_anew(f, &one, at, history, rest);
            load_bound(l, &one.load, history->rest_clock, -1, rest - 1);
        }
        load_count(l, &one.load, history->count);
        finish_duty(f, &one, at);
    }
    if (duty->n_lines) return;
    load_count(l, &base.load, history->count);
    finish_duty(f, &base, at);
}

static void finish_duty(Finish *f, const Raw *raw, uint16_t at) {
    Lower *l = f->l;
    for (; at < raw->load.n_changes; at++) {
        uint32_t fact = raw->load.changes[at].fact;
        if (fact < l->n_reads && (l->reads[fact] & READ_DUTY)) break;
    }
    if (at >= raw->load.n_changes) {
        finish_turns(f, raw, 0);
        return;
    }
    Change change = raw->load.changes[at];
    const DutyHistory *history = &l->histories.at[l->duty_of[change.fact]];
    uint64_t engaged = l->tail->duties[history->duty].engaged;
    const Test *was = test_fact(l->arena, change.fact, engaged);
    Raw one;
    at++;
    if (!(change.mask & ~engaged)) {
        if (narrowed(f, raw, not(f, was), &one)) engagement(f, &one, at, history);
        if (narrowed(f, raw, was, &one)) {
            if (raw->over_duty) load_change(l, &one.load, history->exempt, 2);
            finish_duty(f, &one, at);
        }
    } else if (!(change.mask & engaged)) {
        if (narrowed(f, raw, was, &one)) {
            load_reset(l, &one.load, history->rest_clock);
            finish_duty(f, &one, at);
        }
        if (narrowed(f, raw, not(f, was), &one)) finish_duty(f, &one, at);
    } else {
        finish_duty(f, raw, at);
    }
}

void raw_finish(Lower *l, const Raw *raw, Edges *out) {
    bool lasting = out == &l->edges || out == &l->ambient;
    Finish f = {.l = l, .out = out, .kept = lasting ? &l->temp : l->arena};
    known_at(&f, &f.here, raw->from);
    if (raw->plain) {
        finish_events(&f, raw);
    } else if (touches(l, raw, READ_DUTY | READ_TURNS | READ_STOPS | READ_ARMED, NULL)) {
        finish_duty(&f, raw, 0);
    } else {
        finish_events(&f, raw);
    }
}

/* ---- the registry of events that start a clock ---- */
static bool same_trigger(const Trigger *a, const Trigger *b) {
    for (; a && b; a = a->next, b = b->next) {
        if (a->kind != b->kind || a->fact != b->fact || a->thing != b->thing || a->engine != b->engine ||
            a->mask != b->mask)
            return false;
        if (a->kind == ON_ENTER && a->name != b->name) return false;
    }
    return !a && !b;
}

static EventLink **links_of(Lower *l, const Trigger *trigger) {
    switch (trigger->kind) {
    case ON_CALL:
    case ON_BRIEF: return trigger->thing < l->tail->n_things ? &l->thing_events[trigger->thing] : NULL;
    case ON_ENTER: return l->enter_events;
    case ON_NOTHING: return NULL;
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_TURN:
    case ON_SEEN:
    case ON_LOOK:
    case ON_SET:
    case ON_ANSWERED:
    case ON_LABEL: break;
    }
    return trigger->fact < l->n_reads ? &l->fact_events[trigger->fact] : NULL;
}

/* The event as the line writes it. */
Str event_words(const Lower *l, const Item *item) {
    const Event *written =
        item->stmt && item->stmt->more && item->stmt->more->timing ? item->stmt->more->timing->after : NULL;
    if (written && l->job->sources && written->span.hi) return span_text(l->job->sources, written->span);
    return item->after && item->after->name ? name_text(l->job->names, item->after->name) : STR("that event");
}

static const EventLink *link_known(const EventLink *link, const Trigger *trigger) {
    while (link && !same_trigger(link->head, trigger)) link = link->next;
    return link;
}

static void link_put(Lower *l, EventLink **list, EventLink link) {
    if (!list) return; /* it never happens on this tail */
    EventLink *put = ARENA_NEW(&l->temp, EventLink);
    *put = link;
    put->next = *list;
    *list = put;
}

uint32_t event_clock(Lower *l, const Item *item) {
    const Trigger *trigger = item->after;
    EventLink *const *first = links_of(l, trigger);
    const EventLink *known = first ? link_known(*first, trigger) : NULL;
    if (known) return known->clock;
    uint32_t clock = (uint32_t)l->clocks.n;
    Clock words = {format_text(l->keep, l->job->names, "since %S", event_words(l, item))};
    vec_push(l->keep, &l->clocks, words);
    for (const Trigger *one = trigger; one; one = one->next)
        link_put(l, links_of(l, one), (EventLink){one, trigger, clock, NULL});
    return clock;
}
