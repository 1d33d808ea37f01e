/* What of the model a rule reads: the places where it is in force, facts, clocks. */
#include "base/limits.h"
#include "check/events.h"
#include <string.h>

static bool named(const Model *m, const Place *place, Name name, uint32_t engine) {
    if (place->procedure == NO_INDEX) return false;
    const Tail *tail = m->tail;
    if (place->drill == NO_INDEX) return tail->procedures[place->procedure].name == name;
    const Drill *drill = &tail->drills[place->drill];
    return drill->name == name && (engine == NO_INDEX || drill->engine == NO_INDEX || drill->engine == engine);
}

static bool among(const Model *m, const Place *place, const Name *names, uint32_t n, bool any_drill, uint32_t engine) {
    if (any_drill && place->procedure != NO_INDEX && place->drill != NO_INDEX) return true;
    for (uint32_t k = 0; k < n; k++)
        if (named(m, place, names[k], engine)) return true;
    return false;
}

static bool is_end(const Model *m, const Place *place, const GateInstance *gate) {
    if (place->kind != PLACE_END) return false;
    if (gate->rule == RULE_END_OF) {
        if (gate->end_any_drill) return place->drill != NO_INDEX;
        return named(m, place, gate->end_drill, gate->engine);
    }
    for (uint32_t k = 0; k < gate->n_ends; k++)
        if (gate->ends[k] == place->outcome) return true;
    return !gate->n_ends;
}

/* The first place of a drill that keeps cranking and goes on with the starter over its duty: the engagement is exempt from there. */
static bool goes_on_exempt(const Model *m, const Place *place) {
    if (place->drill == NO_INDEX || place->procedure == NO_INDEX || !m->tail->drills[place->drill].keeps_cranking)
        return false;
    for (uint32_t k = 0; k < place->n_edges; k++)
        if (m->edges[place->first_edge + k].over_duty) return true;
    return false;
}

void scope_mark(const Model *model, const GateInstance *gate, uint8_t *scope) {
    bool everywhere = !gate->n_within && !gate->within_any_drill;
    for (uint32_t p = 0; p < model->n_places; p++) {
        const Place *place = &model->places[p];
        bool within =
            everywhere || among(model, place, gate->within, gate->n_within, gate->within_any_drill, gate->engine);
        bool excepted = among(model, place, gate->except, gate->n_except, gate->except_any_drill, gate->engine);
        scope[p] = (uint8_t)((within ? SCOPE_WITHIN : 0) | (excepted ? SCOPE_EXCEPTED : 0) |
                             (place->kind == PLACE_JOINT ? SCOPE_JOINT : 0) |
                             (within && !excepted && is_end(model, place, gate) ? SCOPE_END : 0) |
                             (gate->rule == RULE_DUTY && goes_on_exempt(model, place) ? SCOPE_EXEMPT : 0));
    }
}

static void trigger_facts(const Trigger *trigger, uint64_t *set) {
    for (; trigger; trigger = trigger->next) {
        switch (trigger->kind) {
        case ON_BECOMES:
        case ON_LEAVES:
        case ON_SEEN:
        case ON_LOOK:
        case ON_ANSWERED: fact_put(set, trigger->fact); break;
        case ON_TURN:
        case ON_SET:
        case ON_CALL:
        case ON_BRIEF:
        case ON_LABEL:
        case ON_ENTER:
        case ON_NOTHING: break;
        }
    }
}

const Trigger *held_trigger(const GateInstance *gate) {
    if (gate->rule != RULE_AT_MOST_REST) return NULL;
    const Trigger *t = gate->trigger ? gate->trigger : gate->events;
    while (t && t->kind != ON_BECOMES && t->kind != ON_SET) t = t->next;
    return t;
}

static void duration_facts(const Duration *time, uint64_t *set) {
    for (uint32_t k = 0; time->n > 1 && k < time->n; k++) test_facts(time->cases[k].when, set);
}

void observer_facts(const Model *model, const GateInstance *gate, bool alone, uint64_t *set) {
    trigger_facts(gate->trigger, set);
    trigger_facts(gate->since, set);
    trigger_facts(gate->events, set);
    trigger_facts(gate->before, set);
    for (uint32_t k = 0; k < gate->n_steps; k++) trigger_facts(gate->steps[k].event, set);
    test_facts(gate->state, set);
    test_facts(gate->cond, set);
    duration_facts(&gate->time, set);
    const Trigger *held = held_trigger(gate);
    if (held) fact_put(set, held->fact);
    if (gate->rule != RULE_DUTY || gate->duty >= model->tail->n_duties) return;
    const Duty *duty = &model->tail->duties[gate->duty];
    fact_put(set, duty->fact);
    for (uint32_t h = 0; alone && h < model->n_histories; h++) /* retries wait and give up by it */
        if (model->histories[h].duty == gate->duty) fact_put(set, model->histories[h].count);
    for (uint32_t k = 0; k < duty->n_lines; k++) test_facts(duty->lines[k].when, set);
    for (uint32_t k = 0; k < duty->n_windows; k++) test_facts(duty->windows[k].when, set);
}

/* Does anything the edge does look like the event? */
static bool looks_like(const Model *model, const Edge *edge, const Trigger *t) {
    for (; t; t = t->next) {
        bool changes = t->kind == ON_BECOMES || t->kind == ON_LEAVES;
        for (uint32_t c = 0; changes && c < edge->n_changes; c++)
            if (edge->changes[c].fact == t->fact) return true;
        for (uint32_t k = 0; k < edge->n_marks; k++)
            if (mark_matches(model, &edge->marks[k], t)) return true;
    }
    return false;
}

static bool speaks_of(const Model *model, const GateInstance *gate, const Edge *edge) {
    if (looks_like(model, edge, gate->trigger) || looks_like(model, edge, gate->since) ||
        looks_like(model, edge, gate->events))
        return true;
    for (uint32_t k = 0; k < gate->n_steps; k++)
        if (looks_like(model, edge, gate->steps[k].event)) return true;
    return false;
}

/* A duty is kept by its own two clocks, and by the wait from an end to the next start. */
static void duty_clocks(const Model *model, uint32_t duty, uint64_t *set) {
    for (uint32_t h = 0; h < model->n_histories; h++) {
        if (model->histories[h].duty != duty) continue;
        fact_put(set, model->histories[h].on_clock);
        fact_put(set, model->histories[h].rest_clock);
    }
    if (model->pace_clock != NO_INDEX) fact_put(set, model->pace_clock);
}

void observer_clocks(const Model *model, const GateInstance *gate, Arena *scratch, uint64_t *set) {
    if (gate->rule == RULE_DUTY) {
        duty_clocks(model, gate->duty, set);
        return;
    }
    uint64_t *others = ARENA_ARRAY(scratch, uint64_t, model->n_clocks / 64 + 1u);
    for (uint32_t e = 0; e < model->n_edges; e++) {
        const Edge *edge = &model->edges[e];
        if (!edge->n_resets || edge->kind == EDGE_BEGIN || edge->kind == EDGE_JOIN) continue;
        uint64_t *to = speaks_of(model, gate, edge) ? set : others;
        for (uint32_t k = 0; k < edge->n_resets; k++) fact_put(to, edge->resets[k]);
    }
    for (uint32_t w = 0; w <= model->n_clocks / 64; w++) set[w] &= ~others[w];
    if (model->pace_clock != NO_INDEX)
        fact_put(set, model->pace_clock); /* it goes with every line, and matters at few */
}
