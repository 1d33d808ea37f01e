/* Gates: each form of rule printed, and its weaker places. */
#include "weakened.h"

static void put(Writer *w, const char *text) {
    buf_text(&w->out, text);
}

static void put_new_name(Writer *w, Buf *out) {
    buf_format(out, NULL, "%S-%u", w->name, (uint64_t)w->n_names);
}

/* ---- times and numbers ---- */
static bool number_of(const Writer *w, const Measured *m, bool largest, Rational *out) {
    bool found = false;
    if (m->amount.span.hi) return rational_parse(weak_text(w, m->amount.number), out);
    const Unit *unit = w->in->unit;
    for (size_t t = 0; t < unit->n_tails; t++)
        for (uint32_t k = 0; k < unit->tails[t].tail->n_values; k++) {
            const Value *v = &unit->tails[t].tail->values[k];
            if (v->name != m->name.name || (found && (rational_cmp(v->amount, *out) > 0) != largest)) continue;
            *out = v->amount;
            found = true;
        }
    return found;
}

/* The time with a second more, or less; the library writes no time of its own, so a value's is in its base unit, the second. */
static void put_time(Writer *w, const Measured *m, int by, const char *what) {
    Str text = weak_text(w, m->amount.span.hi ? m->amount.span : m->name.span);
    Rational seconds;
    if (!number_of(w, m, by > 0, &seconds) || !weak_here(w, "%s a second %s", what, by > 0 ? "longer" : "shorter")) {
        buf_str(&w->out, text);
        return;
    }
    buf_rational(&w->out, rational_add(seconds, rational_whole(by)));
    put(w, " s");
}

static void put_count(Writer *w, const Measured *m) {
    Rational n;
    Str text = weak_text(w, m->amount.span.hi ? m->amount.span : m->name.span);
    if (!number_of(w, m, true, &n) || !weak_here(w, "one more")) {
        buf_str(&w->out, text);
        return;
    }
    buf_rational(&w->out, rational_add(n, rational_whole(1)));
}

/* ---- events ---- */
/* A single event; one of the library that has alternatives is given anew without one of them. */
static void put_event(Writer *w, const Event *event, bool fewer) {
    const Decl *decl = event->kind == EVENT_NAME ? weak_library(w, DECL_EVENT, event->ref.name) : NULL;
    bool alternatives = fewer && decl && decl->u.event->next;
    for (const Event *gone = alternatives ? decl->u.event : NULL; gone; gone = gone->next) {
        if (!weak_here(w, "%S: without “%S”", w->subject, weak_text(w, gone->span))) continue;
        buf_text(&w->before, "event ");
        put_new_name(w, &w->before);
        buf_text(&w->before, " means ");
        bool first = true;
        for (const Event *e = decl->u.event; e; e = e->next) {
            if (e == gone) continue;
            buf_format(&w->before, NULL, first ? "%S" : " or %S", weak_text(w, e->span));
            first = false;
        }
        buf_char(&w->before, '\n');
        put_new_name(w, &w->out);
        w->n_names++;
        return;
    }
    buf_str(&w->out, weak_text(w, event->span));
}

/* A gate of the library may speak of a drill that the text has not; a gate of the text may not. */
static bool nothing_called(const Writer *w, Name name) {
    for (int kind = DECL_USE; kind <= DECL_WORDING; kind++)
        if (program_find(w->in->unit->program, (DeclKind)kind, name)) return false;
    return true;
}

static bool never_begins(const Writer *w, const Event *event) {
    return event->kind == EVENT_NAME && nothing_called(w, event->ref.name);
}

static uint32_t some_begin(const Writer *w, const Event *list) {
    uint32_t n = 0;
    for (const Event *e = list; e; e = e->next) n += !never_begins(w, e);
    return n;
}

static void put_events(Writer *w, const Event *list, bool fewer) {
    bool first = true;
    uint32_t n = some_begin(w, list);
    for (const Event *e = list; e; e = e->next) {
        bool drop = fewer && n > 1;
        if (never_begins(w, e)) continue;
        if (drop && weak_here(w, "%S: without “%S”", w->subject, weak_text(w, e->span))) continue;
        if (!first) put(w, " or ");
        first = false;
        put_event(w, e, fewer);
    }
}

static void put_trigger(Writer *w, const Event *list) {
    w->subject = STR("what it is asked at");
    put_events(w, list, true);
}

static void put_except(Writer *w, const Rule *r) {
    bool any = r->except_any;
    if (!any && weak_here(w, "in no drill")) any = true;
    if (any) put(w, " except in any drill");
    const char *before = " except in ";
    for (const WordList *word = any ? NULL : r->except; word; word = word->next) {
        if (nothing_called(w, word->word.name)) continue;
        put(w, before);
        buf_str(&w->out, weak_text(w, word->word.span));
        before = ", ";
    }
}

/* ---- chains ---- */
static void put_pause(Writer *w, const RuleStep *step) {
    Measured lo = {step->pause.lo, step->pause_name}, hi = {step->pause.hi, {0}};
    put(w, "a pause of ");
    if (!step->pause.hi.span.hi) {
        put(w, "at least ");
        put_time(w, &lo, -1, "the pause");
        return;
    }
    put_time(w, &lo, -1, "the least pause");
    put(w, "..");
    put_time(w, &hi, 1, "the longest pause");
}

static void put_steps(Writer *w, const Rule *r) {
    bool first = true;
    for (const RuleStep *step = r->steps; step; step = step->next) {
        bool alone = r->steps == step && !step->next, before_pause = step->next && !step->next->event;
        bool drop = !alone && !before_pause;
        if (drop && weak_here(w, "without “%S”", weak_text(w, step->span))) continue;
        if (!first) put(w, ", then ");
        first = false;
        if (step->event) buf_str(&w->out, weak_text(w, step->event->span));
        else put_pause(w, step);
    }
}

static void put_chain(Writer *w, const Rule *r) {
    bool only_first = r->kind == RULE_BEFORE_FIRST;
    if (!only_first) only_first = weak_here(w, "only before the first");
    put(w, only_first ? "before the first " : "before each ");
    put_trigger(w, r->trigger);
    if (some_begin(w, r->since) && !only_first && !weak_here(w, "at any time before")) {
        put(w, " since the last ");
        w->subject = STR("since what");
        put_events(w, r->since, true);
    }
    put_except(w, r);
    put(w, ": ");
    put_steps(w, r);
}

/* ---- states by name ---- */
static void put_state(Writer *w, Word state) {
    const Decl *decl = weak_library(w, DECL_STATE, state.name);
    Buf out = w->out;
    int before = w->n;
    if (!decl) {
        buf_str(&w->out, weak_text(w, state.span));
        return;
    }
    w->out = (Buf){.arena = w->arena};
    weak_condition(w, decl->u.cond, false);
    Str spelled = buf_view(&w->out);
    w->out = out;
    if (before > w->target || w->n <= w->target) {
        buf_str(&w->out, weak_text(w, state.span));
        return;
    }
    buf_text(&w->before, "state ");
    put_new_name(w, &w->before);
    buf_format(&w->before, NULL, " means %S\n", spelled);
    put_new_name(w, &w->out);
    w->n_names++;
}

/* ---- ends ---- */
static void put_ends(Writer *w, const Rule *r) {
    put(w, "every end");
    bool running = !r->outcomes && weak_here(w, "only RUNNING"), others = !r->outcomes && weak_here(w, "not RUNNING");
    if (running) put(w, " RUNNING");
    if (others) put(w, " SECURED or ABANDONED or READY");
    bool first = true;
    for (const WordList *word = r->outcomes; word; word = word->next) {
        Str text = weak_text(w, word->word.span);
        if (r->outcomes->next && weak_here(w, "without %S", text)) continue;
        buf_format(&w->out, NULL, first ? " %S" : " or %S", text);
        first = false;
    }
}

static void put_must_hold(Writer *w, const Rule *r) {
    put_except(w, r);
    put(w, ": ");
    weak_condition(w, r->cond, true);
}

/* ---- the forms ---- */
static void put_rule(Writer *w, const Rule *r) {
    switch (r->kind) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: put_chain(w, r); return;
    case RULE_RESPONSE:
        put(w, r->says_each ? "after each " : "after ");
        put_trigger(w, r->trigger);
        put(w, " within ");
        put_time(w, &r->time, 1, "its time");
        put_except(w, r);
        put(w, ": ");
        put_events(w, r->events, false);
        return;
    case RULE_NEVER_AFTER:
        put(w, r->says_each ? "after each " : "after ");
        put_trigger(w, r->trigger);
        put_except(w, r);
        put(w, ": no ");
        w->subject = STR("what must not be");
        put_events(w, r->events, true);
        if (!r->time.amount.span.hi && !r->time.name.name) return;
        put(w, " for at least ");
        put_time(w, &r->time, -1, "its time");
        return;
    case RULE_ORDER:
        put(w, r->says_each ? "after each " : "after ");
        put_trigger(w, r->trigger);
        put_except(w, r);
        put(w, ": ");
        put_events(w, r->events, false);
        put(w, " before ");
        w->subject = STR("before what");
        put_events(w, r->before, true);
        return;
    case RULE_AT_EACH:
        put(w, "at each ");
        put_trigger(w, r->trigger);
        put_must_hold(w, r);
        return;
    case RULE_FROM_UNTIL:
        put(w, "from each ");
        put_trigger(w, r->trigger);
        put(w, " until ");
        put_events(w, r->since, false);
        put_must_hold(w, r);
        return;
    case RULE_WHILE:
        put(w, "while ");
        weak_condition(w, r->state, false);
        put_must_hold(w, r);
        return;
    case RULE_LASTS:
        put(w, "each ");
        put_state(w, r->ref);
        put(w, " lasts at most ");
        put_time(w, &r->time, 1, "its time");
        return;
    case RULE_CAN_REACH:
        put(w, "each ");
        put_state(w, r->ref);
        buf_format(&w->out, NULL, " can reach %S", weak_text(w, r->target.span));
        return;
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST:
        put(w, "at most ");
        put_count(w, &r->count);
        put(w, " ");
        w->subject = STR("what is counted");
        put_events(w, r->events, true);
        put(w, r->kind == RULE_AT_MOST_REST ? " since the last rest of at least " : " since the last ");
        if (r->kind == RULE_AT_MOST_REST) put_time(w, &r->time, -1, "the rest");
        else put_events(w, r->since, false);
        return;
    case RULE_WINDOW:
        put(w, "in any ");
        put_time(w, &r->time, -1, "the window");
        put(w, ": at most ");
        put_count(w, &r->count);
        put(w, " ");
        w->subject = STR("what is counted");
        put_events(w, r->events, true);
        return;
    case RULE_EVERY_END:
        put_ends(w, r);
        put(w, ": ");
        weak_condition(w, r->cond, true);
        return;
    case RULE_END_OF:
        put(w, "every end of ");
        if (r->any_drill) put(w, "any drill");
        else buf_str(&w->out, weak_text(w, r->target.span));
        put(w, ": ");
        weak_condition(w, r->cond, true);
        return;
    case RULE_DUTY: buf_format(&w->out, NULL, "duty of %S kept", weak_text(w, r->ref.span)); return;
    case RULE_CASES: put(w, "every case has exactly one procedure"); return;
    }
}

/* "piston or turbine": for each of them it must be seen to hold. */
static void put_applies(Writer *w, const Cond *applies) {
    put(w, "\n    applies when ");
    weak_condition(w, applies, false);
}

void weak_gate(Writer *w, const Decl *decl) {
    const Gate *gate = decl->u.gate;
    buf_format(&w->out, NULL, "gate %S \"Weaker\" {\n    ", w->name);
    if (gate->in_any_drill) put(w, "in any drill, ");
    else if (gate->within.name) buf_format(&w->out, NULL, "in %S, ", weak_text(w, gate->within.span));
    put_rule(w, &gate->rule);
    if (gate->applies) put_applies(w, gate->applies);
    put(w, "\n    severity must  because \"weaker\"\n}\n");
}
