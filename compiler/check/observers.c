#include "base/limits.h"
#include "check/events.h"
#include <string.h>

/* ---- what all share ---- */
static bool has(const Step *step, uint32_t role) {
    return step->roles & ROLE_BIT(role);
}

static uint8_t scope_to(const Step *step) {
    return step->observer->scope[step->to];
}

static bool in_force(const Step *step) {
    return (scope_to(step) & (SCOPE_WITHIN | SCOPE_EXCEPTED | SCOPE_JOINT)) == SCOPE_WITHIN;
}

/* Entering a drill that is excepted drops what is pending. */
static bool drops(const Step *step) {
    return scope_to(step) & SCOPE_EXCEPTED;
}

static void go_bad(const Step *step) {
    Move move = MOVE(step->state);
    move.bad = true;
    step_go(step, step->after, move);
}

static void bad_between(const Step *step, const uint64_t *after, int32_t least, int32_t most) {
    if (most >= 0 && least > most) return;
    step_go(step, after, (Move){.state = step->state, .least = least, .most = most, .bad = true});
}

static void go(const Step *step, uint32_t state, bool reset) {
    step_go(step, step->after, (Move){.state = state, .least = -1, .most = -1, .reset = reset});
}

/* Where no case of the time holds (a gap that is reported where the value stands), the shortest is asked for. */
static void begin_uncovered(const Step *step, const uint64_t *after, int32_t least) {
    const Observer *o = step->observer;
    uint64_t *parts;
    size_t mark;
    uint32_t n = step_parts(step, o->any_case, after, false, &parts, &mark);
    for (uint32_t k = 0; k < n; k++)
        step_go(step, parts + (size_t)k * step->search->slice->words,
                (Move){.state = 1 + o->shortest, .least = least, .most = -1, .reset = true});
    scratch_give(step->search, mark);
}

/* Begins to time: state 1 + i for the i-th case of the time. `least`: so much has passed since it began the last time; -1: any. */
static void begin_timed(const Step *step, const uint64_t *after, int32_t least) {
    const Observer *o = step->observer;
    if (o->n_times < 2) {
        step_go(step, after, (Move){.state = 1, .least = least, .most = -1, .reset = true});
        return;
    }
    for (uint32_t i = 0; i < o->n_times; i++) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, o->cases[i], after, true, &parts, &mark);
        for (uint32_t k = 0; k < n; k++)
            step_go(step, parts + (size_t)k * step->search->slice->words,
                    (Move){.state = 1 + i, .least = least, .most = -1, .reset = true});
        scratch_give(step->search, mark);
    }
    begin_uncovered(step, after, least);
}

/* ---- before each / before the first ---- */

static void chain_next(const Step *step, uint32_t done, int32_t least, int32_t most, bool reset) {
    step_go(step, step->after, (Move){.state = done, .least = least, .most = most, .reset = reset});
}

/* What an edge does to the number of steps done, after the trigger has been judged. */
static void chain_advance(const Step *step, int32_t least, int32_t most) {
    const Observer *o = step->observer;
    uint32_t done = step->state, k = o->n_steps;
    if (step->kind == EDGE_BEGIN || has(step, ROLE_SINCE)) chain_next(step, 0, least, most, true);
    else if (done > k) chain_next(step, done, least, most, false);
    else if (done < k && has(step, ROLE_STEP + done)) {
        int32_t lo = o->pause_lo[done], hi = o->pause_hi[done];
        if (lo < 0) {
            chain_next(step, done + 1, least, most, true);
            return;
        }
        chain_next(step, done + 1, lo, hi, true); /* in time; too early or too late it does not count */
        if (lo > 0) chain_next(step, done, -1, lo - 1, false);
        if (hi >= 0) chain_next(step, done, hi + 1, -1, false);
    } else {
        bool again = done > 0 && has(step, ROLE_STEP + done - 1);
        chain_next(step, done, least, most, again);
    }
}

static void chain_judge(const Step *step) {
    const Observer *o = step->observer;
    uint32_t k = o->n_steps, done = step->kind == EDGE_BEGIN ? 0 : step->state;
    if (done < k) {
        go_bad(step);
        return;
    }
    int32_t lo = o->pause_lo[k], hi = o->pause_hi[k];
    if (lo > 0) bad_between(step, step->after, -1, lo - 1);
    if (lo >= 0 && hi >= 0) bad_between(step, step->after, hi + 1, -1);
    if (o->first_only) {
        /* Judged once: the rest of the procedure is of no interest. */
        if (lo < 0) lo = hi = -1;
        if (step->kind == EDGE_BEGIN) chain_next(step, k + 1, lo, hi, false);
        else if (has(step, ROLE_SINCE)) chain_next(step, 0, lo, hi, true);
        else chain_next(step, k + 1, lo, hi, false);
        return;
    }
    chain_advance(step, lo < 0 ? -1 : lo, lo < 0 ? -1 : hi);
}

static void chain_step(Step *step) {
    bool done = step->observer->first_only && step->state == step->observer->n_steps + 1 && step->kind != EDGE_BEGIN;
    if (has(step, ROLE_TRIGGER) && !done) chain_judge(step);
    else chain_advance(step, -1, -1);
}

/* ---- after each E within T: R ---- */
static void response_step(Step *step) {
    uint32_t state = has(step, ROLE_EVENT)
                         ? 0
                         : step->state; /* before the new trigger: an answer in the same edge is not after it */
    if (drops(step)) go(step, 0, true);
    else if (has(step, ROLE_TRIGGER) && !state) begin_timed(step, step->after, -1);
    else go(step, state, false);
}

/* ---- after each E: no F [for at least T] ---- */
static void never_trigger(const Step *step, uint32_t state, int32_t least) {
    if (drops(step)) step_go(step, step->after, (Move){.state = 0, .least = least, .most = -1, .reset = true});
    else if (has(step, ROLE_TRIGGER)) {
        if (step->observer->n_times) begin_timed(step, step->after, least);
        else go(step, 1, false);
    } else step_go(step, step->after, (Move){.state = state, .least = least, .most = -1, .reset = false});
}

static void never_step(Step *step) {
    const Observer *o = step->observer;
    if (!step->state || !has(step, ROLE_EVENT)) {
        never_trigger(step, step->state, -1);
        return;
    }
    if (!o->n_times) {
        go_bad(step);
        return;
    }
    int32_t time = o->times[step->state - 1];
    if (time > 0) bad_between(step, step->after, -1, time - 1);
    never_trigger(step, 0, time);
}

/* ---- after each E: F before G ---- */
static void order_step(Step *step) {
    if (step->state && has(step, ROLE_BEFORE)) {
        go_bad(step); /* also when F comes in the same edge: neither is before the other */
        return;
    }
    uint32_t state = has(step, ROLE_EVENT) ? 0 : step->state;
    if (has(step, ROLE_TRIGGER)) state = 1;
    go(step, drops(step) ? 0 : state, false);
}

/* ---- conditions at moments ---- */
static void at_each_step(Step *step) {
    if (has(step, ROLE_TRIGGER) && formula_possible(step->observer->bad, step->before)) go_bad(step);
    else go(step, 0, false);
}

static void while_step(Step *step) {
    const Observer *o = step->observer;
    if (!in_force(step)) {
        go(step, 0, false);
        return;
    }
    if (formula_possible(o->state, step->after)) step_tested(step);
    if (formula_possible(o->bad, step->after)) go_bad(step);
    else go(step, 0, false);
}

static void until_step(Step *step) {
    uint32_t state = has(step, ROLE_EVENT) ? 0 : step->state;
    if (has(step, ROLE_TRIGGER)) state = 1;
    if (drops(step)) state = 0;
    if (state && in_force(step) && formula_possible(step->observer->bad, step->after)) go_bad(step);
    else go(step, state, false);
}

static void end_step(Step *step) {
    bool entry = step->from != step->to && scope_to(step) & SCOPE_END;
    if (entry) step_tested(step);
    if (entry && formula_possible(step->observer->bad, step->after)) go_bad(step);
    else go(step, 0, false);
}

/* ---- each STATE lasts at most T ---- */
static void lasts_step(Step *step) {
    const Observer *o = step->observer;
    if (!in_force(step)) {
        go(step, 0, true);
        return;
    }
    for (int holds = 1; holds >= 0; holds--) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, o->state, step->after, holds, &parts, &mark);
        for (uint32_t k = 0; k < n; k++) {
            const uint64_t *part = parts + (size_t)k * step->search->slice->words;
            if (!holds) step_go(step, part, (Move){.state = 0, .least = -1, .most = -1, .reset = true});
            else if (step->state) step_go(step, part, MOVE(step->state));
            else {
                step_tested(step);
                begin_timed(step, part, -1);
            }
        }
        scratch_give(step->search, mark);
    }
}

/* ---- at most N E since the last F / rest / in any T ---- */
static void since_step(Step *step) {
    const Observer *o = step->observer;
    uint32_t state = step->kind == EDGE_BEGIN ? 0 : step->state;
    if (has(step, ROLE_TRIGGER)) {
        state += step->count;
        if (state > o->most) {
            go_bad(step);
            return;
        }
    }
    go(step, has(step, ROLE_SINCE) ? 0 : state, false);
}

/* After the event has been judged: the state is 2 * count + engaged, and engaged follows from the facts. */
static void rest_go(const Step *step, uint32_t count, int32_t least, int32_t most, bool reset) {
    const Observer *o = step->observer;
    if (!o->state || scope_to(step) & SCOPE_JOINT) {
        step_go(step, step->after, (Move){.state = 2 * count, .least = least, .most = most, .reset = reset});
        return;
    }
    for (int holds = 1; holds >= 0; holds--) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, o->state, step->after, holds, &parts, &mark);
        for (uint32_t k = 0; k < n; k++)
            step_go(step, parts + (size_t)k * step->search->slice->words,
                    (Move){.state = 2 * count + (uint32_t)holds, .least = least, .most = most, .reset = reset});
        scratch_give(step->search, mark);
    }
}

static void rest_step(Step *step) {
    const Observer *o = step->observer;
    uint32_t count = step->state / 2;
    bool engaged = step->state & 1;
    if (!has(step, ROLE_TRIGGER)) {
        rest_go(step, count, -1, -1, engaged);
        return;
    }
    int32_t rest = o->times[0], most = -1; /* how long the rest has been where it was too short */
    if (count && !engaged) {
        if (step->count > o->most) bad_between(step, step->after, rest, -1);
        else rest_go(step, step->count, rest, -1, true);
        if (rest == 0) return;
        most = rest - 1;
    }
    if (count + step->count > o->most) bad_between(step, step->after, -1, most);
    else rest_go(step, count + step->count, -1, most, true);
}

/* The observer guesses at which event a window begins that will hold too many. */
static void window_count(const Step *step, const uint64_t *after) {
    const Observer *o = step->observer;
    uint32_t count = step->state + step->count;
    if (!step->state) step_go(step, after, MOVE(0));
    step_go(step, after,
            (Move){.state = count > o->most ? step->state : count,
                   .least = -1,
                   .most = step->state ? o->times[0] : -1,
                   .reset = !step->state,
                   .bad = count > o->most});
}

void window_step(Step *step) {
    const Observer *o = step->observer;
    if (!has(step, ROLE_TRIGGER)) {
        go(step, step->state, false);
        return;
    }
    if (!o->state) {
        window_count(step, step->after);
        return;
    }
    for (int holds = 1; holds >= 0; holds--) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, o->state, step->after, holds, &parts, &mark);
        for (uint32_t k = 0; k < n; k++) {
            const uint64_t *part = parts + (size_t)k * step->search->slice->words;
            if (holds) window_count(step, part);
            else step_go(step, part, MOVE(step->state));
        }
        scratch_give(step->search, mark);
    }
}

/* ---- making them ---- */
uint32_t observer_parts(const Model *model, const GateInstance *gate) {
    if (gate->rule != RULE_DUTY || gate->duty >= model->tail->n_duties) return 1;
    return 1 + model->tail->duties[gate->duty].n_windows;
}

void observer_states(Observer *o, Arena *arena, uint32_t n) {
    o->states = ARENA_ARRAY(arena, ObserverState, n);
    o->n_states = n;
    for (uint32_t k = 0; k < n; k++) o->states[k] = (ObserverState){false, -1, -1};
}

const Formula *plan_formula(const ObserverPlan *plan, const Test *test, bool negated) {
    const Model *m = plan->slice->frame->model;
    Guard *guard = guard_from_test(plan->arena, m->facts, test, negated);
    return guard ? formula_of_guard(plan->arena, plan->slice, guard) : NULL;
}

const Formula *formula_any(Arena *arena, const Formula *const *list, uint32_t n) {
    uint32_t n_terms = 0;
    Formula *any = ARENA_NEW(arena, Formula);
    for (uint32_t k = 0; k < n; k++) n_terms += list[k] ? list[k]->n : 1;
    any->terms = ARENA_ARRAY(arena, LitTerm, n_terms + 1u);
    for (uint32_t k = 0; k < n; k++) {
        if (!list[k]) any->terms[any->n++] = (LitTerm){NULL, 0};
        for (uint32_t t = 0; list[k] && t < list[k]->n; t++) any->terms[any->n++] = list[k]->terms[t];
        any->always |= !list[k] || list[k]->always;
    }
    return any;
}

static int32_t short_ms(int64_t ms) {
    return ms > ZONE_LONGEST ? ZONE_LONGEST : (int32_t)ms;
}

static void reach_to(Observer *o, int32_t ms) {
    if (o->lower < ms) o->lower = ms;
    if (o->upper < ms) o->upper = ms;
}

/* Of a time that no wait is long enough for, the clock need not be looked at: what asks for less than it always may come. */
int32_t plan_time(Observer *o, const ObserverPlan *plan, const int64_t *time) {
    bool other = plan->other.time == time;
    int32_t ms = short_ms(other ? plan->other.ms : *time);
    if (!other || plan->other.ms != TIME_NEVER_ENOUGH) reach_to(o, ms + 1);
    return ms;
}

void plan_times(Observer *o, const ObserverPlan *plan, const Duration *time) {
    o->n_times = time->n;
    int32_t *times = ARENA_ARRAY(plan->arena, int32_t, time->n + 1u);
    o->cases = ARENA_ARRAY(plan->arena, const Formula *, time->n + 1u);
    for (uint32_t k = 0; k < time->n; k++) {
        times[k] = plan_time(o, plan, &time->cases[k].ms);
        o->cases[k] = plan_formula(plan, time->cases[k].when, false);
    }
    o->times = times;
    for (uint32_t k = 1; k < o->n_times; k++)
        if (times[k] < times[o->shortest]) o->shortest = k;
    o->any_case = formula_any(plan->arena, o->cases, o->n_times);
}

const int64_t *plan_longest(const Duration *time) {
    const int64_t *most = NULL;
    for (uint32_t k = 0; k < time->n; k++)
        if (!most || time->cases[k].ms > *most) most = &time->cases[k].ms;
    return most;
}

static void make_chain(Observer *o, const ObserverPlan *plan) {
    const GateInstance *gate = plan->gate;
    int32_t *lo = ARENA_ARRAY(plan->arena, int32_t, gate->n_steps + 1u),
            *hi = ARENA_ARRAY(plan->arena, int32_t, gate->n_steps + 1u);
    RoleList lists[ROLE_MOST] = {{gate->trigger, ROLE_TRIGGER, false}, {gate->since, ROLE_SINCE, false}};
    uint32_t n_lists = 2;
    for (uint32_t k = 0; k <= gate->n_steps; k++) lo[k] = hi[k] = -1;
    for (uint32_t k = 0; k < gate->n_steps; k++) {
        const GateStep *one = &gate->steps[k];
        if (one->event) {
            lists[n_lists++] = (RoleList){one->event, ROLE_STEP + o->n_steps++, false};
            continue;
        }
        lo[o->n_steps] = one->least_ms < 0 ? 0 : plan_time(o, plan, &one->least_ms);
        hi[o->n_steps] = one->most_ms < 0 ? -1 : plan_time(o, plan, &one->most_ms);
    }
    o->pause_lo = lo;
    o->pause_hi = hi;
    o->first_only = gate->rule == RULE_BEFORE_FIRST;
    o->step = chain_step;
    o->scoped = ROLE_BIT(ROLE_TRIGGER);
    observer_states(o, plan->arena, o->n_steps + 2);
    for (uint32_t k = 0; k <= o->n_steps; k++) o->states[k].clocked = lo[k] >= 0;
    events_find(o, plan, lists, n_lists);
}

static void make_timed(Observer *o, const ObserverPlan *plan, bool limits) {
    plan_times(o, plan, &plan->gate->time);
    observer_states(o, plan->arena, o->n_times + 2);
    for (uint32_t k = 0; k < o->n_times; k++) {
        o->states[1 + k].clocked = true;
        if (limits) o->states[1 + k].limit = o->times[k];
    }
}

static void find_all(Observer *o, const ObserverPlan *plan, bool counts) {
    const GateInstance *gate = plan->gate;
    RoleList lists[4] = {{gate->trigger, ROLE_TRIGGER, counts},
                         {gate->since, ROLE_SINCE, false},
                         {gate->events, ROLE_EVENT, false},
                         {gate->before, ROLE_BEFORE, false}};
    events_find(o, plan, lists, 4);
}

/* The counted event stands in `events` or in `trigger`, whichever the gate fills; `from … until` ends with `since` or `events`. */
static void find_counted(Observer *o, const ObserverPlan *plan) {
    const GateInstance *gate = plan->gate;
    RoleList lists[2] = {{gate->events ? gate->events : gate->trigger, ROLE_TRIGGER, true},
                         {gate->since, ROLE_SINCE, false}};
    events_find(o, plan, lists, 2);
}

static void find_until(Observer *o, const ObserverPlan *plan) {
    const GateInstance *gate = plan->gate;
    RoleList lists[3] = {
        {gate->trigger, ROLE_TRIGGER, false}, {gate->since, ROLE_EVENT, false}, {gate->events, ROLE_EVENT, false}};
    events_find(o, plan, lists, 3);
}

static void make_counted(Observer *o, const ObserverPlan *plan) {
    const GateInstance *gate = plan->gate;
    o->most = gate->count;
    o->scoped = ROLE_BIT(ROLE_TRIGGER);
    if (gate->rule == RULE_AT_MOST_SINCE) {
        o->step = since_step;
        observer_states(o, plan->arena, o->most + 1);
    } else {
        plan_times(o, plan, &gate->time);
        int32_t *time = ARENA_NEW(plan->arena, int32_t);
        if (gate->time.n)
            *time = plan_time(o, plan, plan_longest(&gate->time)); /* of several, the one that asks for more */
        o->times = time;
        if (gate->rule == RULE_WINDOW) o->window = time;
    }
    if (gate->rule == RULE_AT_MOST_REST) {
        const Trigger *held = held_trigger(gate);
        o->step = rest_step;
        observer_states(o, plan->arena, 2 * (o->most + 1));
        for (uint32_t k = 2; k < o->n_states; k++) o->states[k].clocked = true;
        if (held) {
            Test test = {.kind = TEST_FACT, .fact = held->fact, .mask = held->mask};
            o->state = plan_formula(plan, &test, false);
        }
    }
    if (gate->rule == RULE_WINDOW) {
        o->step = window_step;
        observer_states(o, plan->arena, o->most + 1);
        for (uint32_t k = 1; k < o->n_states; k++) o->states[k] = (ObserverState){true, -1, o->times[0]};
    }
    find_counted(o, plan);
}

static void make_moment(Observer *o, const ObserverPlan *plan, void (*step)(Step *)) {
    o->step = step;
    o->scoped = ROLE_BIT(ROLE_TRIGGER);
    observer_states(o, plan->arena, 2);
    o->bad = plan_formula(plan, plan->gate->cond, true);
}

static void make_while(Observer *o, const ObserverPlan *plan) {
    const Model *m = plan->slice->frame->model;
    make_moment(o, plan, while_step);
    Guard *state = guard_from_test(plan->arena, m->facts, plan->gate->state, false);
    Guard *fails = guard_from_test(plan->arena, m->facts, plan->gate->cond, true);
    Guard *both = state && fails ? guard_and(plan->arena, state, fails) : NULL;
    o->state = state ? formula_of_guard(plan->arena, plan->slice, state) : NULL;
    o->bad = both ? formula_of_guard(plan->arena, plan->slice, both) : NULL;
}

static bool complete(const Observer *o, const GateInstance *gate, Str *why) {
    bool needs_bad = gate->cond != NULL;
    bool missing = needs_bad && !o->bad;
    bool timed = gate->rule == RULE_RESPONSE || gate->rule == RULE_LASTS || gate->rule == RULE_AT_MOST_REST ||
                 gate->rule == RULE_WINDOW;
    if ((timed && !o->n_times) || gate->time.missing) {
        *why = STR("the time it asks for is not given");
        return false;
    }
    if (gate->rule == RULE_WHILE || gate->rule == RULE_LASTS) missing |= !o->state;
    for (uint32_t k = 0; o->n_times > 1 && o->cases && k < o->n_times; k++) missing |= !o->cases[k];
    if (missing) *why = STR("its condition leans on something that is not decided or has too many alternatives");
    return !missing;
}

bool rule_has_search(RuleKind rule) {
    return rule != RULE_CAN_REACH && rule != RULE_CASES;
}

static void make_rule(Observer *o, const ObserverPlan *plan, Str *why) {
    switch (plan->gate->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: make_chain(o, plan); return;
    case RULE_RESPONSE:
        o->step = response_step;
        o->scoped = ROLE_BIT(ROLE_TRIGGER);
        make_timed(o, plan, true);
        find_all(o, plan, false);
        return;
    case RULE_NEVER_AFTER:
        o->step = never_step;
        o->scoped = ROLE_BIT(ROLE_TRIGGER) | ROLE_BIT(ROLE_EVENT);
        make_timed(o, plan, false);
        find_all(o, plan, false);
        return;
    case RULE_ORDER:
        o->step = order_step;
        o->scoped = ROLE_BIT(ROLE_TRIGGER);
        observer_states(o, plan->arena, 2);
        find_all(o, plan, false);
        return;
    case RULE_AT_EACH:
        make_moment(o, plan, at_each_step);
        find_all(o, plan, false);
        return;
    case RULE_FROM_UNTIL:
        make_moment(o, plan, until_step);
        find_until(o, plan);
        return;
    case RULE_WHILE:
        make_while(o, plan);
        events_find(o, plan, NULL, 0);
        return;
    case RULE_LASTS:
        o->step = lasts_step;
        o->state = plan_formula(plan, plan->gate->state, false);
        make_timed(o, plan, true);
        events_find(o, plan, NULL, 0);
        return;
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST:
    case RULE_WINDOW: make_counted(o, plan); return;
    case RULE_EVERY_END:
    case RULE_END_OF:
        make_moment(o, plan, end_step);
        events_find(o, plan, NULL, 0);
        return;
    case RULE_DUTY: duty_observer(plan, o, why); return;
    case RULE_CAN_REACH:
    case RULE_CASES: return;
    }
}

/* ---- where nothing that the rule waits for can come any more ---- */
static uint8_t ahead_of(const Observer *o, const Frame *f, const uint8_t *ahead, uint32_t place) {
    uint8_t found = 0;
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1] && found != (AHEAD_EVER | AHEAD_SOON); k++) {
        uint32_t e = f->out[k];
        const Edge *edge = &f->model->edges[e];
        if (o->event_of[e]) found = AHEAD_EVER | AHEAD_SOON;
        else if (edge->kind == EDGE_BEGIN) found |= ahead[edge_target(edge, place)] & AHEAD_EVER;
        else found |= ahead[edge_target(edge, place)];
    }
    return found;
}

static void look_ahead(Observer *o, const ObserverPlan *plan) {
    const Frame *f = plan->slice->frame;
    uint8_t *ahead = ARENA_ARRAY(plan->arena, uint8_t, f->model->n_places + 1u);
    for (bool changed = true; changed;) {
        changed = false;
        for (uint32_t p = f->model->n_places; p-- > 0;) {
            uint8_t now = ahead_of(o, f, ahead, p);
            changed |= now != ahead[p];
            ahead[p] = now;
        }
    }
    o->ahead = ahead;
}

static bool broken_by_events(RuleKind rule) {
    return rule != RULE_WHILE && rule != RULE_FROM_UNTIL && rule != RULE_LASTS && rule != RULE_EVERY_END &&
           rule != RULE_END_OF;
}

Observer *observer_make(const ObserverPlan *plan, Str *why) {
    const GateInstance *gate = plan->gate;
    if (gate->n_steps + ROLE_STEP > ROLE_MOST) {
        *why = STR("its chain has more than 28 steps");
        return NULL;
    }
    Observer *o = ARENA_NEW(plan->arena, Observer);
    uint8_t *scope = ARENA_ARRAY(plan->arena, uint8_t, plan->slice->frame->model->n_places + 1u);
    scope_mark(plan->slice->frame->model, gate, scope);
    o->scope = scope;
    o->lower = o->upper = -1;
    make_rule(o, plan, why);
    if (!o->step || why->len || !complete(o, gate, why)) return NULL;
    o->begins_anew =
        gate->rule == RULE_BEFORE_EACH || gate->rule == RULE_BEFORE_FIRST || gate->rule == RULE_AT_MOST_SINCE;
    if (!plan->slice->frame->untimed && broken_by_events(gate->rule)) look_ahead(o, plan);
    return o;
}
