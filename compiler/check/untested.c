#include "check/untested.h"
#include "check/observers.h"
#include "check/words.h"

typedef struct {
    const FirstPass *first;
    const Job *job;
    const Model *m;
    const GateInstance *gate;
} Asked;

static Str say(const Asked *w, const char *format, Str one, Str two) {
    return format_text(w->job->arena, w->job->names, format, one, two);
}

static Str named(const Asked *w, const char *format, Name name) {
    return format_text(w->job->arena, w->job->names, format, name);
}

static Str none(void) {
    return STR("");
}

/* ---- drills and procedures by name ---- */
/* Empty: there is none of that name. */
static Str title_of(const Asked *w, Name name) {
    const Tail *tail = w->m->tail;
    for (uint32_t d = 0; d < tail->n_drills; d++)
        if (tail->drills[d].name == name) return tail->drills[d].title;
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        if (tail->procedures[p].name == name) return tail->procedures[p].title;
    return none();
}

/* A gate of the library may speak of a drill that nobody wrote for this aircraft; anything else of that name is a thing not fitted. */
static Str not_here(const Asked *w, const Trigger *t) {
    const Tail *tail = w->m->tail;
    bool drill = t->written && t->written->kind == EVENT_NAME;
    for (uint32_t k = 0; drill && k < tail->n_things; k++) drill = tail->things[k].name != t->name;
    return named(w, drill ? "there is no drill %N on this aircraft" : "there is no %N on this aircraft", t->name);
}

static Str no_place(const Asked *w, Name name) {
    Str title = title_of(w, name);
    return title.len ? say(w, "no path comes to \"%S\"%S", title, none())
                     : named(w, "there is no drill %N on this aircraft", name);
}

/* ---- one event ---- */
/* Could the edge be the event, whatever is so before it? */
static bool alike(const Asked *w, const Edge *edge, const Trigger *t) {
    if (t->kind == ON_BECOMES || t->kind == ON_LEAVES) {
        bool forgets = edge->kind == EDGE_BEGIN || edge->kind == EDGE_JOIN; /* between starts nobody moves anything */
        if (forgets && w->m->facts[t->fact].kind != FACT_ENGINE) return false;
        for (uint32_t c = 0; c < edge->n_changes; c++) {
            const Change *change = &edge->changes[c];
            if (change->fact != t->fact || change->kind != CHANGE_TO) continue;
            if (change->mask & (t->kind == ON_BECOMES ? t->mask : ~t->mask)) return true;
        }
        return false;
    }
    for (uint32_t k = 0; k < edge->n_marks; k++)
        if (mark_matches(w->m, &edge->marks[k], t)) return true;
    return false;
}

static Str no_change(const Asked *w, const Trigger *t) {
    Str what = words_fact(w->job, w->m, t->fact), values = words_values(w->job, w->m, t->fact, t->mask);
    if (t->kind == ON_LEAVES) return say(w, "nothing takes %S away from %S", what, values);
    FactKind kind = w->m->facts[t->fact].kind;
    const char *format = kind == FACT_CONTROL  ? "no line sets %S %S"
                         : kind == FACT_ENGINE ? "nothing makes %S %S"
                                               : "no line looks for %S %S";
    return say(w, format, what, values);
}

/* Moved, but never from where it would have to come. */
static Str no_other(const Asked *w, const Trigger *t) {
    Str what = words_fact(w->job, w->m, t->fact), values = words_values(w->job, w->m, t->fact, t->mask);
    return say(w, t->kind == ON_LEAVES ? "%S never comes to %S" : "%S never comes to anything but %S", what, values);
}

static Str no_event(const Asked *w, const Trigger *t) {
    Trigger alone = *t;
    alone.next = NULL;
    switch (t->kind) {
    case ON_BECOMES:
    case ON_LEAVES: return no_change(w, t);
    case ON_SET:
        return say(w, "no line sets %S %S", words_fact(w->job, w->m, t->fact),
                   words_values(w->job, w->m, t->fact, t->mask));
    case ON_SEEN:
        return say(w, "no line looks for %S %S", words_fact(w->job, w->m, t->fact),
                   words_values(w->job, w->m, t->fact, t->mask));
    case ON_LOOK: return say(w, "no line looks at %S%S", words_fact(w->job, w->m, t->fact), none());
    case ON_TURN: return STR("nothing turns the engine");
    case ON_ENTER: return no_place(w, t->name);
    case ON_NOTHING: return t->name ? not_here(w, t) : none();
    case ON_CALL:
    case ON_BRIEF:
    case ON_ANSWERED:
    case ON_LABEL: return say(w, "no line does `%S`%S", words_trigger(w->job, w->m, &alone), none());
    }
    return none();
}

static bool somewhere(const Asked *w, const Trigger *t, bool taken) {
    for (uint32_t e = 0; e < w->m->n_edges; e++)
        if (alike(w, &w->m->edges[e], t) && (!taken || pass_edge(w->first, e))) return true;
    return false;
}

static Str event_why(const Asked *w, const Trigger *t) {
    Trigger alone = *t, back = *t;
    alone.next = NULL;
    if (!somewhere(w, t, false)) return no_event(w, t);
    if (!w->first->complete) return none();
    if (!somewhere(w, t, true) && t->kind == ON_ENTER) return no_place(w, t->name);
    if (!somewhere(w, t, true))
        return say(w, "no path comes to a line with `%S`%S", words_trigger(w->job, w->m, &alone), none());
    back.kind = t->kind == ON_LEAVES ? ON_BECOMES : ON_LEAVES;
    bool changes = t->kind == ON_LEAVES || t->kind == ON_BECOMES;
    return changes && !somewhere(w, &back, true) ? no_other(w, t) : none();
}

/* ---- the form's beginning ---- */
/* All of "A or B" must be explained, and a long list explains nothing. */
static Str events_why(const Asked *w, const Trigger *list) {
    enum { MOST = 3 };
    Buf buf = {.arena = w->job->arena};
    Str last = none();
    uint32_t n = 0;
    for (const Trigger *t = list; t; t = t->next) {
        Str one = event_why(w, t);
        if (!one.len || n == MOST) return none();
        if (str_eq(one, last)) continue;
        buf_format(&buf, w->job->names, n++ ? ", %S" : "%S", one);
        last = one;
    }
    return buf_view(&buf);
}

static Str ends_why(const Asked *w) {
    const GateInstance *g = w->gate;
    if (g->rule == RULE_END_OF) return g->end_any_drill ? STR("no drill is entered") : no_place(w, g->end_drill);
    Buf buf = {.arena = w->job->arena};
    for (uint32_t k = 0; k < g->n_ends; k++)
        buf_format(&buf, w->job->names, k ? " or %N" : "nothing ends %N", g->ends[k]);
    return buf_view(&buf);
}

static Str within_why(const Asked *w) {
    const GateInstance *g = w->gate;
    for (uint32_t k = 0; k < g->n_within; k++)
        if (title_of(w, g->within[k]).len) return none();
    return g->n_within ? no_place(w, g->within[0]) : none();
}

/* The drill it begins with is one that the aircraft was told to have. */
bool untested_is_told(const Model *m, const GateInstance *gate) {
    if (gate->told) return true;
    const Trigger *t = gate->trigger;
    if (!t || t->next || t->kind != ON_NOTHING || !t->name) return false;
    for (uint32_t g = 0; g < m->tail->n_gates; g++) {
        const GateInstance *other = &m->tail->gates[g];
        if (other->told && other->gate->rule.target.name == t->name) return true;
    }
    return false;
}

Str untested_why(const FirstPass *first, const GateInstance *gate) {
    Asked w = {first, first->job, first->model, gate};
    if (gate->why_not.len) return gate->why_not;
    Str within = within_why(&w);
    if (within.len) return within;
    switch (gate->rule) {
    case RULE_EVERY_END:
    case RULE_END_OF: return ends_why(&w);
    case RULE_WHILE:
    case RULE_LASTS:
        return gate->state ? say(&w, "no path comes to `%S`%S", words_test(w.job, w.m, gate->state), none()) : none();
    case RULE_DUTY:
        if (gate->duty >= w.m->tail->n_duties) return none();
        return say(&w, "nothing engages %S%S", words_fact(w.job, w.m, w.m->tail->duties[gate->duty].fact), none());
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST:
    case RULE_RESPONSE:
    case RULE_NEVER_AFTER:
    case RULE_ORDER:
    case RULE_AT_EACH:
    case RULE_FROM_UNTIL:
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST:
    case RULE_WINDOW: return events_why(&w, gate->trigger ? gate->trigger : gate->events);
    case RULE_CAN_REACH:
    case RULE_CASES: return none();
    }
    return none();
}
