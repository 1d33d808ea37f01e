#include "check/events.h"

/* The duty of a control: one observer, whose clock is the on-time while the control is engaged and the rest while it is not.
   Its state holds the line that judges the last engagement, which engagement it is since the last long rest, whether it goes
   on, and whether it is exempt. */
DutyState duty_state(const DutyRule *duty, uint32_t state) {
    uint32_t pair = state / 4;
    return (DutyState){pair / (duty->top + 1), pair % (duty->top + 1), state & 2, state & 1};
}

static uint32_t packed(const DutyRule *duty, DutyState s) {
    return (s.line * (duty->top + 1) + s.count) * 4 + (s.engaged ? 2u : 0u) + (s.exempt ? 1u : 0u);
}

static uint32_t series_at(const DutyShape *line, uint32_t count) {
    return count < line->n_series ? count - 1 : line->n_series - 1;
}

static int32_t on_limit(const DutyShape *line, uint32_t count) {
    if (!line->n_series || !count) return -1;
    int32_t on = line->on_ms[series_at(line, count)];
    return on > 0 ? on : -1;
}

/* The rest owed after the count-th engagement; ZONE_INF: no rest will do. */
static int32_t rest_owed(const DutyShape *line, uint32_t count) {
    bool used_up = (line->tries && count >= line->tries) ||
                   (line->n_series > 1 && !line->tries && count >= line->n_series && line->long_rest_ms);
    if (used_up) return line->long_rest_ms ? line->long_rest_ms : ZONE_INF;
    return line->n_series ? line->rest_ms[series_at(line, count)] : 0;
}

static void move_to(const Step *step, const uint64_t *after, DutyState next, int32_t least, int32_t most) {
    if (most >= 0 && least > most) return;
    step_go(step, after,
            (Move){.state = packed(step->observer->duty, next), .least = least, .most = most, .reset = true});
}

static void fail_at(const Step *step, const uint64_t *after, int32_t most) {
    step_go(step, after, (Move){.state = step->state, .least = -1, .most = most, .bad = true});
}

/* An engagement under line `chosen`, after `last`. */
static void engage(const Step *step, const uint64_t *after, DutyState last, uint32_t chosen) {
    const DutyRule *duty = step->observer->duty;
    const DutyShape *line = &duty->lines[last.line];
    DutyState next = {chosen, 1, true, step->over_duty};
    if (!last.count) {
        move_to(step, after, next, -1, -1);
        return;
    }
    int32_t longer = line->long_rest_ms, most = -1;
    if (longer) {
        move_to(step, after, next, longer, -1);
        most = longer - 1;
    }
    next.count = last.count < duty->top ? last.count + 1 : duty->top;
    int32_t owed = step->over_duty ? 0 : rest_owed(line, last.count);
    if (owed >= ZONE_INF || (most >= 0 && owed > most)) {
        fail_at(step, after, most);
        return;
    }
    if (owed > 0) fail_at(step, after, owed - 1);
    move_to(step, after, next, owed > 0 ? owed : -1, most);
}

static void engage_lines(const Step *step, DutyState last) {
    const DutyRule *duty = step->observer->duty;
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        if (!duty->lines[k].when) {
            engage(step, step->after, last, k);
            continue;
        }
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(step, duty->lines[k].when, step->after, true, &parts, &mark);
        for (uint32_t i = 0; i < n; i++) engage(step, parts + (size_t)i * step->search->slice->words, last, k);
        scratch_give(step->search, mark);
    }
    uint64_t *parts; /* where no line holds (reported where the duty stands), nothing is asked for */
    size_t mark;
    uint32_t n = step_parts(step, duty->any, step->after, false, &parts, &mark);
    for (uint32_t i = 0; i < n; i++) step_go(step, parts + (size_t)i * step->search->slice->words, MOVE(step->state));
    scratch_give(step->search, mark);
}

void duty_step(Step *step) {
    const DutyRule *duty = step->observer->duty;
    DutyState now = duty_state(duty, step->state);
    bool engages = step->roles & ROLE_BIT(ROLE_TRIGGER), releases = step->roles & ROLE_BIT(ROLE_EVENT);
    if (engages && !now.engaged) {
        engage_lines(step, now);
        return;
    }
    if (releases && now.engaged) {
        now.engaged = now.exempt = false;
        move_to(step, step->after, now, -1, -1);
        return;
    }
    bool enters = step->kind == EDGE_ENTER_DRILL && step->observer->scope[step->to] & SCOPE_EXEMPT;
    if (now.engaged && (step->over_duty || enters)) now.exempt = true;
    step_go(step, step->after, MOVE(packed(duty, now)));
}

static bool shape_line(Observer *o, const ObserverPlan *plan, const DutyLine *line, DutyShape *shape) {
    if (line->when && line->when->kind != TEST_TRUE) {
        shape->when = plan_formula(plan, line->when, false);
        if (!shape->when) return false;
    }
    shape->n_series = line->n_series > 8 ? 8 : line->n_series;
    shape->tries = line->tries;
    shape->long_rest_ms = plan_time(o, plan, &line->long_rest_ms);
    for (uint32_t k = 0; k < shape->n_series; k++) {
        shape->on_ms[k] = plan_time(o, plan, &line->on_ms[k]);
        shape->rest_ms[k] = plan_time(o, plan, &line->rest_ms[k]);
    }
    return true;
}

static void duty_events(Observer *o, const ObserverPlan *plan, const Duty *duty) {
    const Trigger on = {.kind = ON_BECOMES, .fact = duty->fact, .mask = duty->engaged};
    const Trigger off = {.kind = ON_LEAVES, .fact = duty->fact, .mask = duty->engaged};
    RoleList lists[2] = {{&on, ROLE_TRIGGER, false}, {&off, ROLE_EVENT, false}};
    events_find(o, plan, lists, 2);
    o->scoped = ROLE_BIT(ROLE_TRIGGER);
}

static void make_series(Observer *o, const ObserverPlan *plan, const Duty *duty, Str *why) {
    DutyRule *rule = ARENA_NEW(plan->arena, DutyRule);
    rule->lines = ARENA_ARRAY(plan->arena, DutyShape, duty->n_lines + 1u);
    rule->n_lines = duty->n_lines;
    rule->top = 1;
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        DutyShape *line = &rule->lines[k];
        if (!shape_line(o, plan, &duty->lines[k], line))
            *why = STR("a line of the duty leans on something that is not decided");
        if (line->tries > rule->top) rule->top = line->tries;
        if (line->n_series > rule->top) rule->top = line->n_series;
    }
    const Formula **whens = ARENA_ARRAY(plan->arena, const Formula *, rule->n_lines + 1u);
    for (uint32_t k = 0; k < rule->n_lines; k++) whens[k] = rule->lines[k].when;
    rule->any = formula_any(plan->arena, whens, rule->n_lines);
    o->duty = rule;
    o->step = duty_step;
    observer_states(o, plan->arena, (rule->n_lines + 1) * (rule->top + 1) * 4);
    for (uint32_t k = 0; k < rule->n_lines * (rule->top + 1) * 4; k++) {
        DutyState s = duty_state(rule, k);
        if (s.engaged && !s.exempt) o->states[k].limit = on_limit(&rule->lines[s.line], s.count);
        o->states[k].clocked = s.engaged ? o->states[k].limit >= 0 : s.count > 0;
    }
}

static void make_window(Observer *o, const ObserverPlan *plan, const DutyWindow *window, Str *why) {
    int32_t *time = ARENA_NEW(plan->arena, int32_t);
    *time = plan_time(o, plan, &window->in_ms);
    o->times = o->window = time;
    o->n_times = 1;
    o->most = window->most;
    o->step = window_step;
    if (window->when && window->when->kind != TEST_TRUE) {
        o->state = plan_formula(plan, window->when, false);
        if (!o->state) *why = STR("a line of the duty leans on something that is not decided");
    }
    observer_states(o, plan->arena, o->most + 1);
    for (uint32_t k = 1; k < o->n_states; k++) o->states[k] = (ObserverState){true, -1, *time};
}

Observer *duty_observer(const ObserverPlan *plan, Observer *o, Str *why) {
    const Tail *tail = plan->slice->frame->model->tail;
    if (plan->gate->duty >= tail->n_duties) {
        *why = STR("the aircraft states no duty for it");
        return NULL;
    }
    const Duty *duty = &tail->duties[plan->gate->duty];
    if (plan->part) make_window(o, plan, &duty->windows[plan->part - 1], why);
    else make_series(o, plan, duty, why);
    duty_events(o, plan, duty);
    return o;
}
