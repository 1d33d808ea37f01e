/* One line's own words: its thing, its position, its times. */
#include "sema/items.h"

/* What a verb may be about, and what to write instead. */
static const struct {
    StmtKind kind;
    ThingKind thing;
    const char *verb, *wants;
} verbs[] = {
    {STMT_SET, THING_CONTROL, "set", "a control, which the pilot moves; what is only seen or read is for `check`"},
    {STMT_LOOK, THING_SCENE, "look",
     "a scene, which the crew sees outside; lights, gauges and controls are for `check`"},
    {STMT_CALL, THING_CALL, "call", "a call"},
    {STMT_BRIEF, THING_BRIEFING, "brief", "a briefing"},
    {STMT_HOLD, THING_CONTROL, "hold", "a control, which a hand or a foot stays on"},
    {STMT_RELEASE, THING_CONTROL, "release", "a control that is held"},
    {STMT_WATCH, THING_GAUGE, "watch", "a gauge"},
};

static bool verb_fits(Walk *w, const Item *item, const Thing *thing) {
    for (size_t i = 0; i < sizeof verbs / sizeof *verbs; i++) {
        if (verbs[i].kind != item->kind || verbs[i].thing == thing->kind) continue;
        if (first_report(w->r, FINDING_ITEM_THING, item->stmt->ref.span))
            finding_add(w->r->job->findings, FINDING_ITEM_THING, item->stmt->ref.span, "`%s` is for %s; %N is %s",
                        verbs[i].verb, verbs[i].wants, item->stmt->ref.name,
                        thing->decl ? decl_kind_words(thing->decl->kind) : "the engine itself");
        return false;
    }
    return true;
}

static Fill fill_thing(Walk *w, Item *item, const Thing **found) {
    const Thing *thing = resolve_thing(w->r, item->stmt->ref, &w->scene);
    *found = thing;
    if (!thing || !verb_fits(w, item, thing)) return FILL_BROKEN;
    if (thing->fitted == FITTED_NO) return FILL_DROP;
    if (thing->fitted == FITTED_UNDECIDED) missing_add(w->r, MISSING_FITTED, thing->name, item->stmt->ref.span, 0);
    item->thing = thing_index(w->r, thing);
    item->engine = thing->engine;
    item->inoperative = thing->inoperative;
    item->fact = thing->fact;
    return FILL_KEEP;
}

static bool fill_position(Walk *w, Item *item, const Thing *thing) {
    item->position = resolve_position(w->r, thing, item->stmt->pos);
    if (item->position == NO_INDEX) return false;
    item->mask = UINT64_C(1) << item->position;
    return true;
}

static void fill_after(Walk *w, Item *item) {
    const Timing *timing = item->stmt->more->timing;
    if (!timing) return;
    if (measured_written(&timing->time)) item->limit = item_duration(w, &timing->time);
    if (timing->after) item->after = resolve_trigger(w->r, timing->after, &w->scene);
}

static bool fill_count(Walk *w, Item *item, const Thing *thing) {
    const Amount *amount = &item->stmt->more->amount;
    bool counted = thing->positions[item->position].counted;
    if (!amount->span.hi) {
        item->count = counted ? 1 : 0;
        return true;
    }
    if (!counted) {
        if (first_report(w->r, FINDING_COUNT_NOT_COUNTED, amount->span))
            finding_add(
                w->r->job->findings, FINDING_COUNT_NOT_COUNTED, amount->span,
                "%N %N is not counted, so no number stands before it; declare it as `%N counted` if each act counts",
                thing->name, item->stmt->pos.name, item->stmt->pos.name);
        return false;
    }
    Name missing = 0;
    Measured measured = {.amount = *amount};
    if (!resolve_count(w->r, &measured, &item->count, &missing)) return false;
    return true;
}

static Fill fill_set(Walk *w, Item *item) {
    const Thing *thing;
    Fill fill = fill_thing(w, item, &thing);
    if (fill != FILL_KEEP) return fill;
    if (!fill_position(w, item, thing) || !fill_count(w, item, thing)) return FILL_BROKEN;
    fill_after(w, item);
    return FILL_KEEP;
}

static Fill fill_look(Walk *w, Item *item) {
    const Thing *thing;
    Fill fill = fill_thing(w, item, &thing);
    if (fill == FILL_KEEP && item->stmt->pos.name && !fill_position(w, item, thing)) return FILL_BROKEN;
    return fill;
}

static void report_nobody(Walk *w, const Item *item) {
    const Word answer = item->stmt->pos;
    if (!first_report(w->r, FINDING_ANSWER_FROM_NOBODY, answer.span)) return;
    finding_add(w->r->job->findings, FINDING_ANSWER_FROM_NOBODY, answer.span,
                "an answer is demanded, but nobody is named who gives it: write `call %N by ground-crew, answered %N`; "
                "a pilot alone hears nothing, "
                "calls, listens and looks again",
                item->stmt->ref.name, answer.name);
}

static Fill fill_call(Walk *w, Item *item) {
    const Thing *thing;
    Fill fill = fill_thing(w, item, &thing);
    if (fill != FILL_KEEP) return fill;
    fill_after(w, item);
    item->fact = thing->answer;
    if (!item->stmt->pos.name) return FILL_KEEP;
    uint32_t answer = resolve_position(w->r, thing, item->stmt->pos);
    if (answer == NO_INDEX) return FILL_BROKEN;
    item->answer = UINT64_C(1) << (answer + 1); /* the first value is "none yet" */
    if (!item->stmt->why || !item->stmt->why->by.name) report_nobody(w, item);
    return FILL_KEEP;
}

/* A condition that is looked at. It is dropped with the equipment it asks for. */
static Fill fill_cond(Walk *w, Item *item) {
    Resolver *r = w->r;
    const Cond *cond = item->stmt->cond;
    if (!cond) return FILL_KEEP;
    r->undecided = r->unfitted = 0;
    item->cond = resolve_test(r, cond, &w->scene);
    if (cond_needs_engine(r, cond)) item->engine = w->scene.engine;
    if (r->unfitted && test_constant(item->cond) >= 0 && item->kind != STMT_TRY && item->kind != STMT_CRANK)
        return FILL_DROP;
    if (!r->undecided) return FILL_KEEP;
    const uint32_t *at = map_get(&r->things, r->undecided);
    if (at && r->tail->things[*at - 1].inoperative) item->inoperative = true;
    else missing_add(r, missing_kind(r, r->undecided), r->undecided, cond->span, 0);
    return FILL_KEEP;
}

static Fill fill_expect(Walk *w, Item *item) {
    fill_after(w, item);
    return fill_cond(w, item);
}

static Duration wait_bound(Walk *w, Amount amount, Name unit_of, Span unit_span, Word name) {
    if (!amount.unit.name && amount.span.hi) amount.unit = (Word){unit_of, unit_span};
    Measured measured = {amount, name};
    return measured_written(&measured) ? item_duration(w, &measured) : (Duration){0};
}

static Fill fill_wait(Walk *w, Item *item) {
    const Timing *timing = item->stmt->more->timing;
    if (!timing) return FILL_KEEP;
    Word unit = timing->span.hi.unit;
    item->least = wait_bound(w, timing->span.lo, unit.name, unit.span, timing->lo_name);
    item->most = wait_bound(w, timing->span.hi, 0, (Span){0, 0}, timing->hi_name);
    if (timing->after) item->after = resolve_trigger(w->r, timing->after, &w->scene);
    return FILL_KEEP;
}

/* The control that turns the engine because something powers it. */
static const Thing *starter_of(const Resolver *r, uint32_t engine, uint32_t *position) {
    for (uint32_t i = 0; i < r->tail->n_things; i++) {
        const Thing *thing = &r->tail->things[i];
        if (thing->kind != THING_CONTROL || thing->fitted == FITTED_NO) continue;
        if (thing->engine != NO_INDEX && engine != NO_INDEX && thing->engine != engine) continue;
        for (uint32_t p = 0; p < thing->n_positions; p++) {
            if (!thing->positions[p].turns || !thing_powered(r, thing)) continue;
            *position = p;
            return thing;
        }
    }
    return NULL;
}

static Fill fill_crank(Walk *w, Item *item) {
    Resolver *r = w->r;
    uint32_t engine = r->tail->n_engines == 1 ? 0 : w->scene.engine;
    item->engine = engine;
    item->over_duty = item->stmt->more->over_duty;
    if (engine == NO_INDEX) {
        if (first_report(r, FINDING_ENGINE_NOT_CHOSEN, item->span))
            finding_add(r->job->findings, FINDING_ENGINE_NOT_CHOSEN, (Span){item->span.lo, item->span.lo + 5},
                        "which engine is cranked? put the line into `for %N { … }`", r->tail->engines[0]);
        return FILL_BROKEN;
    }
    const Thing *starter = starter_of(r, engine, &item->position);
    if (!starter) {
        if (!r->program->lost && first_report(r, FINDING_CRANK_NO_STARTER, item->span))
            finding_add(r->job->findings, FINDING_CRANK_NO_STARTER, (Span){item->span.lo, item->span.lo + 5},
                        "%N has no control that turns the engine and is powered by another; `crank` needs one (see "
                        "`turns engine` and `powers` in trade/starter)",
                        r->tail->name);
        return FILL_BROKEN;
    }
    item->thing = thing_index(r, starter);
    item->fact = starter->fact;
    item->mask = UINT64_C(1) << item->position;
    fill_after(w, item);
    return fill_cond(w, item);
}

static Fill fill_try(Walk *w, Item *item) {
    const Timing *timing = item->stmt->more->timing;
    Name missing = 0;
    if (timing && measured_written(&timing->time) && !resolve_count(w->r, &timing->time, &item->passes, &missing) &&
        missing)
        missing_add(w->r, MISSING_VALUE, missing, timing->time.name.span, 0);
    if (timing && item->passes > LIMIT_PASSES)
        item->passes = tries_followed(w->r, item->passes,
                                      timing->time.name.name ? timing->time.name.span : timing->time.amount.span);
    return fill_cond(w, item);
}

static Fill fill_go(Walk *w, Item *item) {
    const Action *action = item->stmt->more->action;
    if (!action) return FILL_BROKEN;
    item->go = ARENA_NEW(w->r->job->arena, ItemAction);
    action_resolve(w, action, item->go);
    return FILL_KEEP;
}

/* In a text, `by` is for differences. */
static void report_by_text(Walk *w, Text by) {
    if (by.span.hi && first_report(w->r, FINDING_ITEM_THING, by.span))
        finding_add(
            w->r->job->findings, FINDING_ITEM_THING, by.span,
            "in quotes, `by` says who answers for a difference between aircraft; who does a line is a person of "
            "the crew: name one that is declared, as in `by ground-crew`");
}

static void fill_person(Walk *w, Item *item) {
    if (item->stmt->why) report_by_text(w, item->stmt->why->by_text);
    if (!item->stmt->why || !item->stmt->why->by.name) return;
    Word by = item->stmt->why->by;
    const Thing *person = resolve_thing(w->r, by, &w->scene);
    if (!person) return;
    if (person->kind == THING_PERSON) item->person = thing_index(w->r, person);
    else if (first_report(w->r, FINDING_ITEM_THING, by.span))
        finding_add(w->r->job->findings, FINDING_ITEM_THING, by.span, "`by` names a person; %N is %s", by.name,
                    person->decl ? decl_kind_words(person->decl->kind) : "the engine itself");
}

static Fill fill_kind(Walk *w, Item *item) {
    const Thing *thing;
    switch (item->kind) {
    case STMT_SET: return fill_set(w, item);
    case STMT_CHECK: return fill_cond(w, item);
    case STMT_EXPECT: return fill_expect(w, item);
    case STMT_LOOK: return fill_look(w, item);
    case STMT_HOLD: return fill_look(w, item);
    case STMT_CALL: return fill_call(w, item);
    case STMT_BRIEF:
    case STMT_RELEASE:
    case STMT_WATCH: return fill_thing(w, item, &thing);
    case STMT_WAIT: return fill_wait(w, item);
    case STMT_CRANK: return fill_crank(w, item);
    case STMT_TRY: return fill_try(w, item);
    case STMT_GO: return fill_go(w, item);
    case STMT_BAD:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE:
    case STMT_FOR:
    case STMT_DO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
    case STMT_MEMORY: break;
    }
    return FILL_KEEP;
}

Fill item_fill(Walk *w, Item *item) {
    Fill fill = fill_kind(w, item);
    if (fill == FILL_KEEP) fill_person(w, item);
    if (fill == FILL_KEEP && item->stmt->why)
        (void)resolve_text(w->r, item->stmt->why->because, &w->scene); /* are its holes known? */
    return fill;
}
