/* Where outcomes lead: a drill, an end, back to the head of a try, or a block that goes on with the next line. */
#include "sema/lower.h"

Way way_to(uint32_t place) {
    return (Way){.to = place, .drill = NO_INDEX, .reset = NO_INDEX};
}

static Way way_turn(Lower *l, const ItemAction *action) {
    Way way = way_to(NO_INDEX);
    way.ends = true;
    if (action->drill >= l->tail->n_drills) { /* reported where it was read */
        way.to = place_new(l);
        return way;
    }
    way.to = l->drill_ways[action->drill].by_turn;
    way.drill = action->drill;
    way.turns = true;
    return way;
}

static Way way_end(Lower *l, const ItemAction *action, const Item *item) {
    Way way = way_to(target_new(l));
    vec_push(&l->temp, &l->ends, ((EndWork){way.to, l->drill, item, action}));
    way.ends = true;
    return way;
}

static bool same_duration(const Duration *a, const Duration *b) {
    if (!a || !b) return a == b;
    if (a->n != b->n) return false;
    for (uint32_t i = 0; i < a->n; i++) {
        if (a->cases[i].ms != b->cases[i].ms) return false;
        if (a->n > 1 && a->cases[i].when != b->cases[i].when && a->value != b->value) return false;
    }
    return true;
}

static Way way_again(Lower *l, const ItemAction *action) {
    Try *here = l->tries;
    if (!here) return way_to(target_new(l)); /* reported where it was read */
    const Duration *after = action->after.n ? &action->after : NULL;
    Way way = way_to(NO_INDEX);
    way.again = true;
    for (size_t i = 0; i < here->backs.n; i++) {
        if (same_duration(here->backs.at[i].after, after)) way.to = here->backs.at[i].target;
    }
    if (way.to == NO_INDEX) {
        way.to = target_new(l);
        vec_push(l->arena, &here->backs, ((Back){after, way.to}));
    }
    if (after) way.reset = here->again_clock;
    return way;
}

Way way_of(Lower *l, const ItemAction *action, const Item *item) {
    switch (action->kind) {
    case ACTION_TURN_TO: return way_turn(l, action);
    case ACTION_END: return way_end(l, action, item);
    case ACTION_AGAIN: return way_again(l, action);
    case ACTION_BLOCK:
    case ACTION_NONE: break;
    }
    Way way = way_to(place_new(l));
    way.block = action->block;
    return way;
}

/* An engagement that a drill continues into a crank over duty is exempt as a whole, so from its entry. */
static void exempt_from_entry(Lower *l, const Drill *drill, Raw *raw) {
    const Item *crank = drill->keeps_cranking ? first_crank(drill->items) : NULL;
    uint32_t history = crank && crank->over_duty ? crank_duty(l, crank) : NO_INDEX;
    if (history == NO_INDEX) return;
    raw->over_duty = true;
    load_change(l, &raw->load, l->histories.at[history].exempt, 2);
}

static bool lowers_to_nothing(const Item *item) {
    return item->kind == STMT_NOTE || item->kind == STMT_CAUTION || item->kind == STMT_WARNING;
}

/* A drill that does not keep cranking lets the starter go as it breaks in; its first line says so. */
static void release_on_entry(Lower *l, const Drill *drill, Raw *raw) {
    const Item *item = drill->items;
    while (item && !item->implied)
        item = item->kind == STMT_MEMORY ? item->body : lowers_to_nothing(item) ? item->next : NULL;
    for (; item && item->implied; item = item->next) load_change(l, &raw->load, item->fact, item->mask);
}

void drill_entered(Lower *l, uint32_t index, Raw *raw) {
    const Drill *drill = &l->tail->drills[index];
    Mark mark = mark_of(ON_ENTER, NO_INDEX, 0);
    mark.name = drill->name;
    mark.engine = drill->engine;
    load_mark(l, &raw->load, mark);
    exempt_from_entry(l, drill, raw);
    release_on_entry(l, drill, raw);
}

void way_take(Lower *l, Raw *raw, const Way *way) {
    raw->to = way->to;
    if (way->reset != NO_INDEX) load_reset(l, &raw->load, way->reset);
    if (way->again) {
        for (size_t i = l->tries ? l->tries->watched : 0; i < l->watched.n; i++)
            load_change(l, &raw->load, l->watched.at[i], 1);
    }
    if (!way->turns) return;
    const Drill *drill = &l->tail->drills[way->drill];
    raw->drill = way->drill;
    raw->keeps = drill->keeps_cranking;
    drill_entered(l, way->drill, raw);
}

void way_follow(Lower *l, const Way *way, Frontier *f) {
    if (way->turns || way->ends || way->again) return;
    Frontier block = frontier_at(l, way->to);
    lower_items(l, way->block, &block);
    frontier_join(l, f, &block);
}

const ItemOutcome *outcome_otherwise(const Item *item) {
    for (const ItemOutcome *o = item->outcomes; o; o = o->next) {
        if (!o->cond) return o;
    }
    return NULL;
}
