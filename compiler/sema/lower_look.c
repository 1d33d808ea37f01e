/* What the pilot finds out: check, look, expect, the answers of a call; and pauses. */
#include "sema/lower.h"

typedef VEC(uint32_t) FactList;

/* Facts that a look finds out. What stays as it is through a run is read, unless the item waits until it has changed. */
bool world_fact(const Lower *l, uint32_t fact, bool waits) {
    const Fact *f = &l->facts.at[fact];
    if (f->kind == FACT_ANSWER) return true;
    if (f->kind != FACT_SCENE && f->kind != FACT_GAUGE && f->kind != FACT_TREND) return false;
    return waits || !f->frozen;
}

static void facts_of(Lower *l, const Test *test, bool waits, FactList *list) {
    if (!test) return;
    if (test->kind == TEST_FACT && world_fact(l, test->fact, waits)) {
        for (size_t i = 0; i < list->n; i++) {
            if (list->at[i] == test->fact) return;
        }
        vec_push(l->arena, list, test->fact);
    }
    for (const Test *part = test->parts; part; part = part->next) facts_of(l, part, waits, list);
}

/* One line's outcomes: which facts it looks at, how it looks. */
typedef struct {
    const Item *item;
    FactList facts;
    bool waits; /* until its condition holds */
    Actor actor;
} Looking;

static Looking looking_at(Lower *l, const Item *item, const Test *main, bool waits, Actor actor) {
    Looking looking = {.item = item, .waits = waits, .actor = actor};
    facts_of(l, main, waits, &looking.facts);
    for (const ItemOutcome *o = item->outcomes; o; o = o->next) facts_of(l, o->cond, waits, &looking.facts);
    return looking;
}

static void found(Lower *l, const Looking *looking, Raw *raw, Literal literal, bool unreadable) {
    const Fact *fact = &l->facts.at[literal.fact];
    bool look = looking->item->kind == STMT_LOOK && looking->item->fact == literal.fact;
    if (fact->kind == FACT_ANSWER) {
        load_change(l, &raw->load, literal.fact, literal.mask);
        load_mark(l, &raw->load, mark_of(ON_ANSWERED, literal.fact, literal.mask));
        return;
    }
    if (world_fact(l, literal.fact, looking->waits)) {
        bool lost = unreadable && (fact->kind == FACT_GAUGE || fact->kind == FACT_TREND);
        load_change(l, &raw->load, literal.fact, lost ? fact_all(fact) : literal.mask);
        if (lost) return;
    } else {
        raw->when = test_both(l->arena, raw->when, test_fact(l->arena, literal.fact, literal.mask));
    }
    load_mark(l, &raw->load, mark_of(ON_SEEN, literal.fact, literal.mask));
    if (look) load_mark(l, &raw->load, mark_of(ON_LOOK, literal.fact, literal.mask));
}

static bool term_has(const Term *term, uint32_t fact) {
    for (uint32_t i = 0; i < term->n; i++) {
        if (term->literals[i].fact == fact) return true;
    }
    return false;
}

/* The edges of one outcome: one for each way in which its condition can hold. */
static void outcome_edges(Lower *l, const Looking *looking, const Frontier *f, const Test *test, EdgeKind kind,
                          const Way *way, bool done, bool unreadable) {
    const Guard *guard = guard_make(l->arena, l->facts.at, test, false, &l->over);
    for (size_t i = 0; i < f->n; i++) {
        for (uint32_t t = 0; t < guard->n; t++) {
            const Term *term = &guard->terms[t];
            Raw *raw = edge_from(l, &f->at[i], kind, looking->item, NO_INDEX);
            raw->actor = looking->actor;
            for (size_t k = 0; k < looking->facts.n; k++) { /* what was seen before is no longer known */
                uint32_t fact = looking->facts.at[k];
                if (!term_has(term, fact)) load_change(l, &raw->load, fact, fact_all(&l->facts.at[fact]));
            }
            for (uint32_t k = 0; k < term->n; k++) found(l, looking, raw, term->literals[k], unreadable);
            if (done) lower_done(l, looking->item, &raw->load);
            way_take(l, raw, way);
        }
    }
}

typedef VEC(Way) Ways;

/* main -> its place, each `if` -> its action; returns what is left. */
static const Test *outcomes_lower(Lower *l, const Looking *looking, const Frontier *f, const Test *main, uint32_t to,
                                  Ways *ways) {
    Way on = way_to(to);
    outcome_edges(l, looking, f, main, EDGE_ITEM, &on, true, false);
    const Test *rest = test_inverse(l->arena, main);
    for (const ItemOutcome *o = looking->item->outcomes; o; o = o->next) {
        if (!o->cond) continue;
        Way way = way_of(l, &o->action, looking->item);
        outcome_edges(l, looking, f, test_both(l->arena, o->cond, rest), EDGE_OTHERWISE, &way, false, false);
        rest = test_both(l->arena, rest, test_inverse(l->arena, o->cond));
        vec_push(l->arena, ways, way);
    }
    return rest;
}

static void ways_follow(Lower *l, const Ways *ways, Frontier *f) {
    for (size_t i = 0; i < ways->n; i++) way_follow(l, &ways->at[i], f);
}

static bool by_somebody(const Item *item) {
    return item->person != NO_INDEX;
}

void lower_look(Lower *l, const Item *item, Frontier *f) {
    const Test *main = item->cond ? item->cond : test_fact(l->arena, item->fact, item->mask);
    const ItemOutcome *otherwise = outcome_otherwise(item);
    Looking looking =
        looking_at(l, item, main, !otherwise, otherwise && !by_somebody(item) ? ACTOR_PILOT : ACTOR_WORLD);
    uint32_t to = place_new(l);
    Ways ways = {NULL, 0, 0};
    const Test *rest = outcomes_lower(l, &looking, f, main, to, &ways);
    if (otherwise) {
        Way way = way_of(l, &otherwise->action, item);
        outcome_edges(l, &looking, f, rest, EDGE_OTHERWISE, &way, false, true);
        vec_push(l->arena, &ways, way);
        for (size_t i = 0; i < f->n && !by_somebody(item); i++) l->places.at[f->at[i].place].pilots_act = true;
    }
    *f = frontier_at(l, to);
    ways_follow(l, &ways, f);
}

/* A deadline that starts where the line before was done, at each place of the frontier. way NULL: it has no lapse. */
void deadline_default(Lower *l, const Item *item, const Frontier *f, const Way *way, const Load *load,
                      const Test *still) {
    for (size_t i = 0; i < f->n; i++) {
        Entry at = {.place = f->at[i].place};
        for (uint32_t k = 0; k < item->limit.n; k++) {
            const DurationCase *limit = &item->limit.cases[k];
            const Test *when = test_both(l->arena, f->at[i].when, limit->when);
            uint32_t deadline = deadline_put(l, at.place, when, l->model->pace_clock, limit->ms);
            if (!way || deadline == NO_INDEX) continue;
            at.when = test_both(l->arena, when, still);
            if (load) at.load = *load;
            Raw *raw = edge_from(l, &at, EDGE_LAPSE, item, NO_INDEX);
            raw->actor = ACTOR_TIME;
            raw->deadline = deadline;
            load_bound(l, &raw->load, l->model->pace_clock, limit->ms, -1);
            way_take(l, raw, way);
        }
    }
}

static bool pending_bounds(const Frontier *f) {
    for (size_t i = 0; i < f->n; i++) {
        if (f->at[i].load.n_bounds) return true;
    }
    return false;
}

/* What is known once an expectation has lapsed: a scene is not as expected, a gauge may show anything. */
static Load lapse_load(Lower *l, const Test *main, const Looking *looking) {
    Load load = {0};
    for (size_t i = 0; i < looking->facts.n; i++) {
        uint32_t fact = looking->facts.at[i];
        uint64_t mask = fact_all(&l->facts.at[fact]);
        bool plain = main->kind == TEST_FACT && main->fact == fact && l->facts.at[fact].kind == FACT_SCENE;
        load_change(l, &load, fact, plain && (mask & ~main->mask) ? mask & ~main->mask : mask);
    }
    return load;
}

/* The condition with everything the world decides left out as not holding: what can hold without having been seen. */
static const Test *unseen(Lower *l, const Test *test, const FactList *facts) {
    const Guard *guard = guard_make(l->arena, l->facts.at, test, false, &l->over);
    const Test *out = test_const(false);
    for (uint32_t t = 0; t < guard->n; t++) {
        const Test *term = test_const(true);
        bool world = false;
        for (uint32_t k = 0; k < guard->terms[t].n; k++) {
            Literal literal = guard->terms[t].literals[k];
            for (size_t i = 0; i < facts->n; i++) world = world || facts->at[i] == literal.fact;
            term = test_both(l->arena, term, test_fact(l->arena, literal.fact, literal.mask));
        }
        if (!world) out = test_either(l->arena, out, term);
    }
    return out;
}

void lower_expect(Lower *l, const Item *item, Frontier *f) {
    Looking looking = looking_at(l, item, item->cond, true, ACTOR_WORLD);
    if (!item->after && pending_bounds(f)) frontier_settle(l, item, f);
    Frontier at = {NULL, 0, 0};
    frontier_join(l, &at, f);
    uint32_t to = place_new(l);
    Ways ways = {NULL, 0, 0};
    outcomes_lower(l, &looking, f, item->cond, to, &ways);
    const ItemOutcome *otherwise = outcome_otherwise(item);
    if (otherwise && item->limit.n) {
        Way way = way_of(l, &otherwise->action, item);
        Load load = lapse_load(l, item->cond, &looking);
        const Test *still = test_inverse(l->arena, unseen(l, item->cond, &looking.facts));
        if (item->after) {
            Timed timed = {.item = item,
                           .limit = &item->limit,
                           .clock = event_clock(l, item),
                           .lapses = true,
                           .at = at,
                           .way = way,
                           .load = load,
                           .still = still};
            vec_push(&l->temp, &l->timed, timed);
        } else {
            deadline_default(l, item, &at, &way, &load, still);
        }
        vec_push(l->arena, &ways, way);
    }
    *f = frontier_at(l, to);
    ways_follow(l, &ways, f);
}

/* Spoken, then maybe answered. Only an answer that somebody must give is waited for. */
static uint32_t call_speak(Lower *l, const Item *item, const Frontier *f, bool done) {
    const Thing *thing = &l->tail->things[item->thing];
    uint32_t to = place_new(l);
    for (size_t i = 0; i < f->n; i++) {
        l->places.at[f->at[i].place].pilots_act = true;
        Raw *raw = edge_from(l, &f->at[i], EDGE_ITEM, item, to);
        Mark mark = mark_of(ON_CALL, NO_INDEX, 0);
        mark.thing = item->thing;
        load_mark(l, &raw->load, mark);
        if (thing->answer != NO_INDEX) load_change(l, &raw->load, thing->answer, 1);
        if (done) lower_done(l, item, &raw->load);
    }
    return to;
}

static void call_answered(Lower *l, const Item *item, Frontier *f, uint32_t spoken, uint32_t answer) {
    Frontier at = frontier_at(l, spoken);
    const Test *demanded = test_fact(l->arena, answer, item->answer);
    Looking looking = looking_at(l, item, demanded, true, ACTOR_WORLD);
    uint32_t to = place_new(l);
    Ways ways = {NULL, 0, 0};
    const Test *rest = outcomes_lower(l, &looking, &at, demanded, to, &ways);
    const ItemOutcome *otherwise = outcome_otherwise(item);
    if (otherwise) {
        Way way = way_of(l, &otherwise->action, item);
        const Test *some = test_fact(l->arena, answer, fact_all(&l->facts.at[answer]) & ~UINT64_C(1));
        outcome_edges(l, &looking, &at, test_both(l->arena, rest, some), EDGE_OTHERWISE, &way, false, false);
        deadline_default(l, item, &at, &way, NULL, NULL);
        vec_push(l->arena, &ways, way);
    }
    *f = frontier_at(l, to);
    ways_follow(l, &ways, f);
}

/* Nobody must answer: what is heard leads to its action until the next act; anything else is only heard, at a place of its own
   with the same next line, so that nothing is heard twice. Its time counts on from the call. */
static void call_heard(Lower *l, const Item *item, Frontier *f, uint32_t spoken, uint32_t answer) {
    Frontier at = frontier_at(l, spoken);
    Looking looking = looking_at(l, item, test_fact(l->arena, answer, 1), true, ACTOR_WORLD);
    const Test *rest = test_fact(l->arena, answer, fact_all(&l->facts.at[answer]) & ~UINT64_C(1));
    Ways ways = {NULL, 0, 0};
    for (const ItemOutcome *o = item->outcomes; o; o = o->next) {
        if (!o->cond) continue;
        Way way = way_of(l, &o->action, item);
        outcome_edges(l, &looking, &at, test_both(l->arena, o->cond, rest), EDGE_OTHERWISE, &way, false, false);
        rest = test_both(l->arena, rest, test_inverse(l->arena, o->cond));
        vec_push(l->arena, &ways, way);
    }
    *f = at;
    if (guard_make(l->arena, l->facts.at, rest, false, &l->over)->n) {
        size_t first = l->raws.n;
        Way here = way_to(place_new(l));
        outcome_edges(l, &looking, &at, rest, EDGE_ITEM, &here, false, false);
        for (size_t i = first; i < l->raws.n; i++) l->raws.at[i].stays = true;
        frontier_add(l, f, (Entry){.place = here.to});
    }
    ways_follow(l, &ways, f);
}

void lower_call(Lower *l, const Item *item, Frontier *f) {
    uint32_t answer = l->tail->things[item->thing].answer;
    bool asks = answer != NO_INDEX && (item->answer || (item->outcomes && item->outcomes->cond));
    uint32_t spoken = call_speak(l, item, f, !item->answer);
    if (!asks) {
        *f = frontier_at(l, spoken);
    } else if (item->answer) {
        call_answered(l, item, f, spoken, answer);
    } else {
        call_heard(l, item, f, spoken, answer);
    }
}

/* The end of a pause: a deadline at the place where the pause is spent, and where it leads when it lapses. */
static void wait_lapse(Lower *l, const Item *item, const Entry *entry, uint32_t clock, const Way *way) {
    for (uint32_t k = 0; k < item->most.n; k++) {
        const DurationCase *most = &item->most.cases[k];
        const Test *when = test_both(l->arena, entry->when, most->when);
        uint32_t deadline = deadline_put(l, entry->place, when, clock, most->ms);
        if (!way || deadline == NO_INDEX) continue;
        Entry at = {.place = entry->place, .when = when};
        at.load.changes = entry->load.changes;
        at.load.n_changes = entry->load.n_changes;
        at.load.resets = entry->load.resets;
        at.load.n_resets = entry->load.n_resets;
        Raw *raw = edge_from(l, &at, EDGE_LAPSE, item, NO_INDEX);
        raw->actor = ACTOR_TIME;
        raw->deadline = deadline;
        load_bound(l, &raw->load, clock, most->ms, -1);
        way_take(l, raw, way);
    }
}

/* The bounds of the next act: one entry for each pair of cases of its two times. */
static void wait_bounds(Lower *l, const Item *item, const Entry *entry, uint32_t clock, Frontier *out) {
    static const DurationCase none = {NULL, -1};
    uint32_t n_least = item->least.n ? item->least.n : 1, n_most = item->most.n ? item->most.n : 1;
    for (uint32_t i = 0; i < n_least; i++) {
        const DurationCase *least = item->least.n ? &item->least.cases[i] : &none;
        for (uint32_t k = 0; k < n_most; k++) {
            const DurationCase *most = item->most.n ? &item->most.cases[k] : &none;
            Entry next = *entry;
            next.when = test_both(l->arena, next.when, test_both(l->arena, least->when, most->when));
            if (least->ms >= 0 || most->ms >= 0) load_bound(l, &next.load, clock, least->ms, most->ms);
            lower_done(l, item, &next.load);
            if (!test_never(next.when)) frontier_add(l, out, next);
        }
    }
}

void lower_wait(Lower *l, const Item *item, Frontier *f) {
    if (!item->after && pending_bounds(f)) frontier_settle(l, item, f);
    uint32_t clock = item->after ? event_clock(l, item) : l->model->pace_clock;
    const ItemOutcome *otherwise = outcome_otherwise(item);
    bool lapses = otherwise && item->most.n;
    Way way = lapses ? way_of(l, &otherwise->action, item) : way_to(NO_INDEX);
    Frontier out = {NULL, 0, 0};
    if (item->after) {
        Timed timed = {.item = item, .clock = clock, .asks_only = true, .way = way};
        frontier_join(l, &timed.at, f);
        vec_push(&l->temp, &l->timed, timed);
    }
    for (size_t i = 0; i < f->n; i++) {
        wait_lapse(l, item, &f->at[i], clock, lapses ? &way : NULL);
        wait_bounds(l, item, &f->at[i], clock, &out);
    }
    *f = out;
    if (lapses) way_follow(l, &way, f);
}
