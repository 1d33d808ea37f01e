/* Items one after the other, and those that are one act of the pilot. */
#include "sema/lower.h"

typedef void Lowerer(Lower *l, const Item *item, Frontier *f);

void lower_done(Lower *l, const Item *item, Load *load) {
    if (item->label == NO_INDEX) return;
    load_change(l, load, item->label, 2);
    load_mark(l, load, mark_of(ON_LABEL, item->label, 2));
}

void lower_done_later(Lower *l, const Item *item, Frontier *f) {
    for (size_t i = 0; i < f->n; i++) lower_done(l, item, &f->at[i].load);
}

static void pilots_act(Lower *l, const Item *item, const Frontier *f) {
    if (item->person != NO_INDEX) return;
    for (size_t i = 0; i < f->n; i++) l->places.at[f->at[i].place].pilots_act = true;
}

/* The act as such: an edge from each entry to one new place. `one` is called with each edge to say what it does. */
static void lower_act(Lower *l, const Item *item, Frontier *f, void (*one)(Lower *, const Item *, Load *)) {
    uint32_t to = place_new(l);
    for (size_t i = 0; i < f->n; i++) {
        Raw *raw = edge_from(l, &f->at[i], EDGE_ITEM, item, to);
        if (item->person != NO_INDEX) raw->actor = ACTOR_WORLD;
        one(l, item, &raw->load);
        lower_done(l, item, &raw->load);
    }
    f->n = 0;
    frontier_add(l, f, (Entry){.place = to});
}

static Mark thing_mark(TriggerKind kind, uint32_t thing) {
    Mark mark = mark_of(kind, NO_INDEX, 0);
    mark.thing = thing;
    return mark;
}

static void act_set(Lower *l, const Item *item, Load *load) {
    load_change(l, load, item->fact, item->mask);
    Mark mark = mark_of(ON_SET, item->fact, item->mask);
    mark.thing = item->thing;
    if (item->count) mark.count = item->count;
    load_mark(l, load, mark);
}

static void act_brief(Lower *l, const Item *item, Load *load) {
    load_mark(l, load, thing_mark(ON_BRIEF, item->thing));
}

static void act_hold(Lower *l, const Item *item, Load *load) {
    const Thing *thing = &l->tail->things[item->thing];
    if (thing->held != NO_INDEX) load_change(l, load, thing->held, 2);
    if (item->mask && item->fact != NO_INDEX) act_set(l, item, load);
}

/* Only the hand or the foot kept it there: let go, it may stand anywhere. What is held without a position stays where it was set. */
static void act_release(Lower *l, const Item *item, Load *load) {
    const Thing *thing = &l->tail->things[item->thing];
    if (thing->held != NO_INDEX) load_change(l, load, thing->held, 1);
    if (thing->fact != NO_INDEX && map_get(&l->held_there, item->thing + 1))
        load_change(l, load, thing->fact, fact_all(&l->facts.at[thing->fact]));
}

static void act_watch(Lower *l, const Item *item, Load *load) {
    const Thing *thing = &l->tail->things[item->thing];
    if (thing->watched != NO_INDEX) load_change(l, load, thing->watched, 2);
}

static void act_nothing(Lower *l, const Item *item, Load *load) {
    (void)l;
    (void)item;
    (void)load;
}

static bool has_bounds(const Frontier *f) {
    for (size_t i = 0; i < f->n; i++) {
        if (f->at[i].load.n_bounds) return true;
    }
    return false;
}

/* set … within: the pilot's own commitment, a deadline without a lapse. */
static void set_in_time(Lower *l, const Item *item, Frontier *f) {
    if (item->after) {
        Timed timed = {.item = item, .limit = &item->limit, .clock = event_clock(l, item), .way = way_to(NO_INDEX)};
        frontier_join(l, &timed.at, f);
        vec_push(&l->temp, &l->timed, timed);
        return;
    }
    if (has_bounds(f)) frontier_settle(l, item, f);
    deadline_default(l, item, f, NULL, NULL, NULL);
}

static void lower_set(Lower *l, const Item *item, Frontier *f) {
    if (item->limit.n) set_in_time(l, item, f);
    pilots_act(l, item, f);
    lower_act(l, item, f, act_set);
}

static void lower_brief(Lower *l, const Item *item, Frontier *f) {
    lower_act(l, item, f, act_brief);
}

static void lower_hold(Lower *l, const Item *item, Frontier *f) {
    pilots_act(l, item, f);
    lower_act(l, item, f, act_hold);
}

static void lower_release(Lower *l, const Item *item, Frontier *f) {
    pilots_act(l, item, f);
    lower_act(l, item, f, act_release);
}

static void lower_watch(Lower *l, const Item *item, Frontier *f) {
    pilots_act(l, item, f);
    lower_act(l, item, f, act_watch);
    const Thing *thing = &l->tail->things[item->thing];
    if (thing->watched != NO_INDEX) vec_push(&l->temp, &l->watched, thing->watched);
}

static void lower_plain(Lower *l, const Item *item, Frontier *f) {
    lower_act(l, item, f, act_nothing);
}

static void lower_note(Lower *l, const Item *item, Frontier *f) {
    (void)l;
    (void)item;
    (void)f;
}

static void lower_go(Lower *l, const Item *item, Frontier *f) {
    if (!item->go) return;
    Way way = way_of(l, item->go, item);
    pilots_act(l, item, f);
    for (size_t i = 0; i < f->n; i++) {
        Raw *raw = edge_from(l, &f->at[i], EDGE_ITEM, item, NO_INDEX);
        lower_done(l, item, &raw->load);
        way_take(l, raw, &way);
    }
    f->n = 0;
    way_follow(l, &way, f);
}

/* The parts cover everything; one without a condition stands for what the others leave. */
static void lower_cases(Lower *l, const Item *item, Frontier *f) {
    if (f->n > 12 && !has_bounds(f)) frontier_settle(l, item, f);
    Frontier after = {NULL, 0, 0};
    const Test *rest = test_const(true);
    for (const Item *part = item->body; part; part = part->next) {
        Frontier one = frontier_when(l, f, part->cond ? part->cond : rest);
        if (part->cond) rest = test_both(l->arena, rest, test_inverse(l->arena, part->cond));
        if (one.n) lower_items(l, part->body, &one);
        if (one.n) lower_done_later(l, part, &one);
        frontier_join(l, &after, &one);
    }
    *f = after;
    lower_done_later(l, item, f);
}

/* A drill starts again here: a place of its own that leads to the same first line. */
static void restart_here(Lower *l, Name phase, Frontier *f) {
    uint32_t *target = ARENA_NEW(l->arena, uint32_t);
    *target = place_new(l);
    map_put(&l->phase_targets, phase, target);
    frontier_add(l, f, (Entry){.place = *target});
}

static bool restarts(const Lower *l, const Item *item) {
    return item->kind == STMT_PHASE && l->drill == NO_INDEX && item->stmt && item->stmt->ref.name &&
           map_get(&l->again_phases, item->stmt->ref.name);
}

static void lower_body(Lower *l, const Item *item, Frontier *f) {
    if (restarts(l, item)) restart_here(l, item->stmt->ref.name, f);
    lower_items(l, item->body, f);
    lower_done_later(l, item, f);
}

static Lowerer *const lowerers[STMT_MEMORY + 1] = {
    [STMT_SET] = lower_set,     [STMT_CHECK] = lower_look,  [STMT_EXPECT] = lower_expect,   [STMT_LOOK] = lower_look,
    [STMT_CALL] = lower_call,   [STMT_BRIEF] = lower_brief, [STMT_WAIT] = lower_wait,       [STMT_CRANK] = lower_crank,
    [STMT_TRY] = lower_try,     [STMT_HOLD] = lower_hold,   [STMT_RELEASE] = lower_release, [STMT_WATCH] = lower_watch,
    [STMT_PLAIN] = lower_plain, [STMT_NOTE] = lower_note,   [STMT_CAUTION] = lower_note,    [STMT_WARNING] = lower_note,
    [STMT_CASES] = lower_cases, [STMT_WHEN] = lower_cases,  [STMT_GO] = lower_go,           [STMT_PHASE] = lower_body,
    [STMT_MEMORY] = lower_body,
};

static void report_unreachable(Lower *l, const Item *item) {
    if (!told_once(l, item->span, 1)) return;
    finding_add(l->job->findings, FINDING_UNREACHABLE_LINE, item->span,
                "nobody comes to this line: every way before it ends, turns to a drill or goes back");
}

static bool skipped(const Item *item) {
    bool on_thing = item->kind == STMT_SET || item->kind == STMT_HOLD || item->kind == STMT_LOOK;
    return item->inoperative || (on_thing && item->fact == NO_INDEX && item->kind != STMT_HOLD);
}

/* The lines of one block. Gauges watched in it are watched until it ends. */
void lower_items(Lower *l, const Item *first, Frontier *f) {
    size_t watched = l->watched.n;
    if (l->depth > 4 * LIMIT_NESTING) return;
    l->depth++;
    for (const Item *item = first; item; item = item->next) {
        Lowerer *lower = lowerers[item->kind];
        if (!lower || lower == lower_note || skipped(item)) continue;
        if (!f->n && !restarts(l, item)) {
            report_unreachable(l, item);
            break;
        }
        if (f->n > 24 && !has_bounds(f)) frontier_settle(l, item, f);
        lower(l, item, f);
    }
    for (size_t i = watched; i < l->watched.n; i++) {
        for (size_t k = 0; k < f->n; k++) load_change(l, &f->at[k].load, l->watched.at[i], 1);
    }
    l->watched.n = watched;
    l->depth--;
}
