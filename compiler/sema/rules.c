/* Gates as one tail has them: whether they apply, and their rules resolved, once for each engine where they speak of one. */
#include "sema/rules.h"
#include <string.h>

typedef struct {
    Resolver *r;
    GateInstance *gate;
    const Rule *rule;
    Scene scene;
    bool again; /* another engine's instance of a gate: what is missing has been noted */
} Making;

/* ---- standing ---- */

static void not_applicable(Making *m, Span at, Str why) {
    if (m->gate->standing == GATE_NOT_APPLICABLE) return;
    m->gate->standing = GATE_NOT_APPLICABLE;
    m->gate->why_not = why;
    m->gate->why_span = at;
}

static bool says(Str all, Str one) {
    for (size_t at = 0; at + one.len <= all.len; at++)
        if (!memcmp(all.ptr + at, one.ptr, one.len)) return true;
    return false;
}

/* All that is lacking is said, in the order in which the rule asks for it. */
static void not_decided(Making *m, Span at, Str why) {
    if (m->gate->standing == GATE_NOT_DECIDED && !says(m->gate->why_not, why))
        m->gate->why_not = format_text(m->r->job->arena, NULL, "%S; %S", m->gate->why_not, why);
    if (m->gate->standing != GATE_APPLIES) return;
    m->gate->standing = GATE_NOT_DECIDED;
    m->gate->why_not = why;
    m->gate->why_span = at;
}

static void wait_for(Making *m, MissingKind kind, Name name, Span at) {
    if (!m->again) missing_add(m->r, kind, name, at, m->gate->name);
}

static Str lower_title(const Resolver *r, Name name) {
    const uint32_t *at = map_get(&r->things, name);
    Str title = at ? r->tail->things[*at - 1].title : name_text(r->job->names, name);
    if (title.len < 2 || title.ptr[0] < 'A' || title.ptr[0] > 'Z' || title.ptr[1] < 'a' || title.ptr[1] > 'z')
        return title;
    char *lower = arena_copy(r->job->arena, title.ptr, title.len);
    lower[0] = (char)(lower[0] - 'A' + 'a');
    return (Str){lower, title.len};
}

static Str words1(const Resolver *r, const char *format, Str text) {
    return format_text(r->job->arena, r->job->names, format, text);
}

static void no_equipment(Making *m, Span at) {
    Resolver *r = m->r;
    not_applicable(m, at, words1(r, "no %S", lower_title(r, r->unfitted)));
}

static void no_decision(Making *m, Span at) {
    Resolver *r = m->r;
    Name name = r->undecided;
    const uint32_t *thing = map_get(&r->things, name);
    MissingKind kind = missing_kind(r, name);
    wait_for(m, kind, name, at);
    if (thing && r->tail->things[*thing - 1].inoperative)
        not_decided(m, at, words1(r, "%S inoperative", lower_title(r, name)));
    else if (kind == MISSING_FITTED)
        not_decided(m, at, words1(r, "it is not said whether %S is fitted", lower_title(r, name)));
    else not_decided(m, at, format_text(r->job->arena, r->job->names, "the aircraft gives no value %N", name));
}

static void ask_begin(Making *m) {
    m->r->undecided = m->r->unfitted = 0;
}

static void ask_end(Making *m, Span at) {
    if (m->r->unfitted) no_equipment(m, at);
    if (m->r->undecided) no_decision(m, at);
}

/* ---- conditions, events, times ---- */

/* A kind that a rule asks for and the aircraft has not makes the rule pointless, not broken. */
static void ask_kinds(Making *m, const Cond *cond) {
    Resolver *r = m->r;
    if (cond->kind == COND_NAME && program_find(r->program, DECL_KIND, cond->ref.name) &&
        !map_get(&r->kinds, cond->ref.name))
        not_applicable(m, cond->span, format_text(r->job->arena, r->job->names, "not of the kind %N", cond->ref.name));
    bool joint = cond->kind == COND_AND || cond->kind == COND_OR || cond->kind == COND_FOR;
    bool spared = cond->kind == COND_OR && cond_by_kind(r, cond) != 0; /* another alternative is left */
    for (const Cond *part = joint ? cond->parts : NULL; part; part = part->next)
        if (!spared || cond_by_kind(r, part) != 0) ask_kinds(m, part);
}

static const Test *make_test(Making *m, const Cond *cond) {
    if (!cond) return NULL;
    ask_kinds(m, cond);
    ask_begin(m);
    const Test *test = resolve_test(m->r, cond, &m->scene);
    ask_end(m, cond->span);
    return test;
}

static const Test *make_state(Making *m, Word name) {
    Cond *cond = ARENA_NEW(m->r->job->arena, Cond);
    *cond = (Cond){.kind = COND_NAME, .span = name.span, .ref = name};
    return make_test(m, cond);
}

static bool has_place(const Resolver *r, Name name) {
    return find_for_tail(r, DECL_DRILL, name) || find_for_tail(r, DECL_PROCEDURE, name);
}

/* A drill or procedure that some aircraft has, or that a gate of the library knows, but not this one: it is never entered. */
static bool never_entered(Making *m, const Event *event) {
    Resolver *r = m->r;
    Name name = event->ref.name;
    static const DeclKind others[] = {DECL_EVENT, DECL_CALL,  DECL_STATE,    DECL_CONTROL, DECL_SCENE,
                                      DECL_GAUGE, DECL_LIGHT, DECL_BRIEFING, DECL_PERSON};
    if (event->kind != EVENT_NAME || !name || has_place(r, name) || label_known(r, name)) return false;
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (program_find(r->program, others[i], name)) return false;
    for (size_t i = 0; i < name_text(r->job->names, name).len; i++)
        if (name_text(r->job->names, name).ptr[i] == '.') return false;
    return program_find(r->program, DECL_DRILL, name) || program_find(r->program, DECL_PROCEDURE, name) ||
           program_in_library(r->program, m->gate->decl);
}

static Trigger *nothing(Making *m, const Event *event) {
    Trigger *trigger = ARENA_NEW(m->r->job->arena, Trigger);
    trigger->kind = ON_NOTHING;
    trigger->fact = trigger->thing = trigger->engine = NO_INDEX;
    trigger->name = event->ref.name;
    trigger->written = event;
    return trigger;
}

/* The events of an "A or B" that can be resolved; NULL: none. */
static const Event *known_events(Making *m, const Event *event) {
    Event head = {0}, *last = &head;
    for (; event; event = event->next) {
        if (never_entered(m, event)) continue;
        last->next = arena_copy(m->r->job->arena, event, sizeof *event);
        last = last->next;
        last->next = NULL;
    }
    return head.next;
}

/* The whole "A or B". Not applicable only where nothing of it can ever happen for want of equipment. Triggers are never copied: the
   steps of a gauge are written into them later. */
static const Trigger *make_events(Making *m, const Event *event) {
    if (!event) return NULL;
    const Event *known = known_events(m, event);
    if (!known) return nothing(m, event);
    bool possible = false;
    ask_begin(m);
    const Trigger *list = resolve_trigger(m->r, known, &m->scene);
    for (const Trigger *trigger = list; trigger; trigger = trigger->next) possible |= trigger->kind != ON_NOTHING;
    if (possible) m->r->unfitted = 0;
    ask_end(m, event->span);
    return list;
}

static Duration make_time(Making *m, const Measured *measured) {
    if (!measured_written(measured)) return (Duration){0};
    Duration duration = resolve_duration(m->r, measured, &m->scene);
    if (duration.missing) {
        wait_for(m, MISSING_VALUE, duration.missing, duration.span);
        not_decided(
            m, duration.span,
            format_text(m->r->job->arena, m->r->job->names, "the aircraft gives no value %N", duration.missing));
    }
    return duration;
}

static void make_count(Making *m) {
    Name missing = 0;
    if (!measured_written(&m->rule->count) || resolve_count(m->r, &m->rule->count, &m->gate->count, &missing) ||
        !missing)
        return;
    Span at = m->rule->count.name.span;
    wait_for(m, MISSING_VALUE, missing, at);
    not_decided(m, at, format_text(m->r->job->arena, m->r->job->names, "the aircraft gives no value %N", missing));
}

/* A pause by a value that depends on the day: the longest of its cases. */
static int64_t pause_ms(Making *m, const Measured *measured) {
    Duration duration = make_time(m, measured);
    int64_t ms = 0;
    for (uint32_t i = 0; i < duration.n; i++)
        if (duration.cases[i].ms > ms) ms = duration.cases[i].ms;
    return ms;
}

static void make_pause(Making *m, const RuleStep *written, GateStep *step) {
    Amount lo = written->pause.lo;
    step->most_ms = -1;
    if (written->pause_name.name) {
        step->least_ms = pause_ms(m, &(Measured){.name = written->pause_name});
        return;
    }
    if (!lo.unit.name) lo.unit = written->pause.hi.unit;
    if (lo.span.hi) step->least_ms = pause_ms(m, &(Measured){.amount = lo});
    if (written->pause.hi.span.hi) step->most_ms = pause_ms(m, &(Measured){.amount = written->pause.hi});
    if (step->most_ms < 0 || step->most_ms >= step->least_ms || !first_report(m->r, FINDING_RULE_NUMBER, written->span))
        return;
    finding_add(m->r->job->findings, FINDING_RULE_NUMBER, written->span,
                "this pause ends before it begins; the shorter time stands first");
}

static void make_steps(Making *m) {
    uint32_t n = 0;
    for (const RuleStep *step = m->rule->steps; step; step = step->next) n++;
    if (!n) return;
    m->gate->steps = ARENA_ARRAY(m->r->job->arena, GateStep, n);
    m->gate->n_steps = n;
    GateStep *out = m->gate->steps;
    for (const RuleStep *step = m->rule->steps; step; step = step->next, out++) {
        out->span = step->span;
        out->most_ms = -1;
        if (step->event) out->event = make_events(m, step->event);
        else make_pause(m, step, out);
    }
    if (m->rule->steps->event || !first_report(m->r, FINDING_RULE_NUMBER, m->rule->steps->span)) return;
    finding_add(m->r->job->findings, FINDING_RULE_NUMBER, m->rule->steps->span,
                "a pause follows something: name first what it is counted from");
}

/* ---- drills and procedures that a gate names ---- */

static bool place_here(Making *m, Word word, bool drills_only) {
    Resolver *r = m->r;
    if (!word.name) return false;
    if (find_for_tail(r, DECL_DRILL, word.name) || (!drills_only && find_for_tail(r, DECL_PROCEDURE, word.name)))
        return true;
    bool somewhere =
        program_find(r->program, DECL_DRILL, word.name) || program_find(r->program, DECL_PROCEDURE, word.name);
    if (somewhere || program_in_library(r->program, m->gate->decl) || r->program->lost ||
        !first_report(r, FINDING_GATE_PLACE_UNKNOWN, word.span))
        return false;
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, word.name));
    for (int kind = DECL_PROCEDURE; kind <= DECL_DRILL; kind++) {
        const Decl **decls;
        size_t n = program_all(r->program, (DeclKind)kind, &decls);
        for (size_t i = 0; i < n; i++) suggestion_offer(&suggestion, decls[i]->name.name);
    }
    if (suggestion.best)
        finding_fix(r->job->findings,
                    finding_add(r->job->findings, FINDING_GATE_PLACE_UNKNOWN, word.span,
                                "no aircraft has a drill or procedure %N; did you mean %N?", word.name,
                                suggestion.best),
                    FIX_REVIEW, word.span, "%N", suggestion.best);
    else
        finding_add(r->job->findings, FINDING_GATE_PLACE_UNKNOWN, word.span, "no aircraft has a drill or procedure %N",
                    word.name);
    return false;
}

static void no_drill(Making *m, Word word) {
    const Job *job = m->r->job;
    bool procedure =
        !program_find(m->r->program, DECL_DRILL, word.name) && program_find(m->r->program, DECL_PROCEDURE, word.name);
    not_applicable(m, word.span,
                   format_text(job->arena, job->names, procedure ? "no procedure %N" : "no drill %N", word.name));
}

static void make_places(Making *m) {
    GateInstance *gate = m->gate;
    Arena *arena = m->r->job->arena;
    gate->within_any_drill = gate->gate->in_any_drill;
    if (gate->gate->within.name) {
        if (!place_here(m, gate->gate->within, false)) no_drill(m, gate->gate->within);
        gate->within = ARENA_NEW(arena, Name);
        gate->within[0] = gate->gate->within.name;
        gate->n_within = 1;
    }
    gate->except_any_drill = m->rule->except_any;
    VEC(Name) except = {0};
    for (const WordList *word = m->rule->except; word; word = word->next)
        if (place_here(m, word->word, false)) vec_push(arena, &except, word->word.name);
    gate->except = except.at;
    gate->n_except = (uint32_t)except.n;
}

static void make_outcomes(Making *m) {
    VEC(Name) ends = {0};
    for (const WordList *word = m->rule->outcomes; word; word = word->next)
        vec_push(m->r->job->arena, &ends, word->word.name);
    m->gate->ends = ends.at;
    m->gate->n_ends = (uint32_t)ends.n;
    m->gate->end_any_drill = m->rule->any_drill;
    if (m->rule->kind != RULE_END_OF || m->rule->any_drill) return;
    m->gate->end_drill = m->rule->target.name;
    if (!place_here(m, m->rule->target, true)) no_drill(m, m->rule->target);
}

/* ---- forms with names ---- */

static void make_reach(Making *m) {
    Resolver *r = m->r;
    Word target = m->rule->target;
    m->gate->state = make_state(m, m->rule->ref);
    if (program_find(r->program, DECL_STATE, target.name)) {
        m->gate->target = make_state(m, target);
        return;
    }
    for (uint32_t i = 0; i < r->tail->n_drills; i++) {
        const Drill *drill = &r->tail->drills[i];
        if (drill->name != target.name ||
            (drill->engine != NO_INDEX && m->gate->engine != NO_INDEX && drill->engine != m->gate->engine))
            continue;
        m->gate->target_drill = i;
        return;
    }
    bool written = place_here(m, target, true);
    bool told = !written && !program_find(r->program, DECL_DRILL, target.name) &&
                !program_in_library(r->program, m->gate->decl); /* that no aircraft has one */
    if (m->gate->standing == GATE_APPLIES && !told) wait_for(m, MISSING_DRILL, target.name, target.span);
    m->gate->told = true;
    m->gate->why_not = format_text(
        r->job->arena, r->job->names,
        written ? "no procedure comes to the drill %N" : "there is no drill %N on this aircraft", target.name);
}

static void make_duty(Making *m) {
    Resolver *r = m->r;
    ask_begin(m);
    const Thing *thing = resolve_thing(r, m->rule->ref, &m->scene);
    if (!thing) {
        not_decided(m, m->rule->ref.span, STR("it is not known whose duty is meant"));
        return;
    }
    if (thing->fitted == FITTED_NO)
        not_applicable(m, m->rule->ref.span, words1(r, "no %S", lower_title(r, thing->name)));
    for (uint32_t i = 0; i < r->tail->n_duties; i++)
        if (&r->tail->things[r->tail->duties[i].thing] == thing) m->gate->duty = i;
    if (m->gate->duty != NO_INDEX || thing->fitted == FITTED_NO) return;
    wait_for(m, MISSING_DUTY, thing->name, m->rule->ref.span);
    not_decided(m, m->rule->ref.span, words1(r, "the aircraft states no duty of the %S", lower_title(r, thing->name)));
}

static void make_rule(Making *m) {
    const Rule *rule = m->rule;
    GateInstance *gate = m->gate;
    make_places(m);
    if (gate->standing == GATE_NOT_APPLICABLE) return;
    gate->trigger = make_events(m, rule->trigger);
    gate->since = make_events(m, rule->since);
    gate->events = make_events(m, rule->events);
    gate->before = make_events(m, rule->before);
    make_steps(m);
    gate->time = make_time(m, &rule->time);
    make_count(m);
    gate->state = make_test(m, rule->state);
    gate->cond = make_test(m, rule->cond);
    make_outcomes(m);
    if (rule->kind == RULE_LASTS) gate->state = make_state(m, rule->ref);
    if (rule->kind == RULE_CAN_REACH) make_reach(m);
    if (rule->kind == RULE_DUTY) make_duty(m);
}

/* ---- applies when ---- */

/* The part of an `applies when` that decides against the aircraft, in words. */
static Str why_false(Making *m, const Cond *cond, bool wanted) {
    Resolver *r = m->r;
    for (const Cond *part = cond->kind == COND_AND || cond->kind == COND_OR ? cond->parts : NULL; part;
         part = part->next) {
        int value = test_constant(resolve_test(r, part, &m->scene));
        if (value == !wanted) return why_false(m, part, wanted);
    }
    if (cond->kind == COND_NOT) return why_false(m, cond->parts, !wanted);
    if (cond->kind == COND_FITTED) return words1(r, wanted ? "no %S" : "it has a %S", lower_title(r, cond->ref.name));
    if (cond->kind == COND_NAME && program_find(r->program, DECL_KIND, cond->ref.name))
        return format_text(r->job->arena, r->job->names, wanted ? "not of the kind %N" : "of the kind %N",
                           cond->ref.name);
    return words1(r, "not so here: %S", span_text(r->job->sources, cond->span));
}

static void make_applies(Making *m) {
    const Cond *cond = m->gate->gate->applies;
    if (!cond) return;
    ask_begin(m);
    const Test *test = resolve_test(m->r, cond, &m->scene);
    int value = test_constant(test);
    if (value == 0) {
        not_applicable(m, cond->span, why_false(m, cond, true));
    } else if (value < 0 && m->r->undecided) {
        no_decision(m, cond->span);
    } else if (value < 0 && first_report(m->r, FINDING_APPLIES_NOT_FIXED, cond->span)) {
        finding_add(m->r->job->findings, FINDING_APPLIES_NOT_FIXED, cond->span,
                    "`applies when` asks for kinds and equipment, which one aircraft has or has not; what can change "
                    "belongs into the rule itself");
    }
}

/* ---- instances ---- */

static bool events_need(Resolver *r, const Event *event) {
    for (; event; event = event->next)
        if (event_needs_engine(r, event)) return true;
    return false;
}

static bool rule_needs_engine(Resolver *r, const Rule *rule) {
    if (events_need(r, rule->trigger) || events_need(r, rule->since) || events_need(r, rule->events) ||
        events_need(r, rule->before))
        return true;
    for (const RuleStep *step = rule->steps; step; step = step->next)
        if (events_need(r, step->event)) return true;
    if ((rule->state && cond_needs_engine(r, rule->state)) || (rule->cond && cond_needs_engine(r, rule->cond)))
        return true;
    bool refers = rule->kind == RULE_LASTS || rule->kind == RULE_CAN_REACH || rule->kind == RULE_DUTY;
    if (refers && ref_needs_engine(r, rule->ref)) return true;
    return rule->kind == RULE_CAN_REACH && ref_needs_engine(r, rule->target);
}

static GateInstance instance(const Chosen *chosen, uint32_t engine) {
    const Decl *decl = chosen->decl;
    GateInstance gate = {.decl = decl,
                         .gate = decl->u.gate,
                         .name = decl->name.name,
                         .engine = engine,
                         .severity = chosen->severity,
                         .rule = (RuleKind)decl->u.gate->rule.kind,
                         .target_drill = NO_INDEX,
                         .duty = NO_INDEX};
    return gate;
}

typedef VEC(GateInstance) GateList;

static void make_gate(Resolver *r, const Chosen *chosen, GateList *list) {
    const Rule *rule = &chosen->decl->u.gate->rule;
    bool each = r->tail->n_engines > 1 && rule_needs_engine(r, rule);
    uint32_t copies = each ? r->tail->n_engines : 1;
    for (uint32_t i = 0; i < copies; i++) {
        GateInstance gate = instance(chosen, each ? i : NO_INDEX);
        Making m = {r, &gate, rule, {.engine = gate.engine, .home = chosen->decl}, i > 0};
        gate.title = text_raw(r->job, chosen->decl->text);
        make_applies(&m);
        if (gate.standing != GATE_NOT_APPLICABLE) make_rule(&m);
        gate.in_words = rule_in_words(r, &gate);
        vec_push(r->job->arena, list, gate);
    }
}

void gates_resolve(Resolver *r, const Decl *standard) {
    ChosenGates chosen = gates_choose(r, standard);
    GateList list = {0};
    for (size_t i = 0; i < chosen.n; i++) make_gate(r, &chosen.at[i], &list);
    r->tail->gates = list.at;
    r->tail->n_gates = (uint32_t)list.n;
    waivers_check(r);
}
