#include "check/tell.h"
#include "check/words.h"
#include "front/front.h"

Span gate_span(const GateInstance *gate) {
    return gate->decl ? (gate->decl->name.span.hi ? gate->decl->name.span : gate->decl->span) : (Span){0, 0};
}

Str gate_title(const Job *job, const GateInstance *gate) {
    return gate->title.len ? gate->title : name_text(job->names, gate->name);
}

static Str say(const Broken *b, const char *format, Str one, Str two, Str three) {
    return format_text(b->job->arena, b->job->names, format, one, two, three);
}

static Str event(const Broken *b, const Trigger *trigger) {
    return words_trigger(b->job, b->model, trigger);
}

static Str test(const Broken *b, const Test *t) {
    return words_test(b->job, b->model, t);
}

static const Node *bad_node(const Broken *b) {
    return &b->search->store->nodes[b->search->bad];
}

static uint32_t state_before(const Broken *b) {
    const Node *bad = bad_node(b);
    return bad->parent == NO_INDEX ? 0 : node_bucket(b->search, bad->parent)->state;
}

static int32_t timed_limit(const Broken *b) {
    uint32_t state = node_bucket(b->search, b->search->bad)->state;
    return b->search->observer->states[state].limit;
}

static Str time_words(const Broken *b, int32_t ms) {
    return words_time(b->job, ms < 0 ? 0 : ms);
}

/* ---- before each / the first ---- */
static const GateStep *chain_step_at(const Broken *b, uint32_t done) {
    for (uint32_t k = 0; k < b->gate->n_steps; k++)
        if (b->gate->steps[k].event && !done--) return &b->gate->steps[k];
    return NULL;
}

static uint32_t chain_done(const Broken *b) {
    const Node *bad = bad_node(b);
    bool begins = bad->edge != NO_INDEX && b->model->edges[bad->edge].kind == EDGE_BEGIN;
    return begins ? 0 : state_before(b);
}

static Str tell_chain(const Broken *b) {
    const Observer *o = b->search->observer;
    uint32_t done = chain_done(b);
    const GateStep *missing = chain_step_at(b, done);
    if (missing && done)
        return say(b, "%S comes where %S has not followed %S", event(b, b->gate->trigger), event(b, missing->event),
                   event(b, chain_step_at(b, done - 1)->event));
    if (missing)
        return say(b, "%S comes without %S before it", event(b, b->gate->trigger), event(b, missing->event), STR(""));
    const GateStep *last = done ? chain_step_at(b, done - 1) : NULL;
    Str what = last ? event(b, last->event) : STR("the beginning");
    if (bad_node(b)->most >= 0)
        return say(b, "%S can come less than %S after %S", event(b, b->gate->trigger),
                   time_words(b, o->pause_lo[o->n_steps]), what);
    return say(b, "%S can come more than %S after %S", event(b, b->gate->trigger),
               time_words(b, o->pause_hi[o->n_steps]), what);
}

static Str want_chain(const Broken *b) {
    const Observer *o = b->search->observer;
    uint32_t done = chain_done(b);
    const GateStep *missing = chain_step_at(b, done);
    Str at = words_clock(b->job, b->path->at_ms[b->path->n - 1]);
    if (missing)
        return say(b, "%S before %S, at the latest at %S", event(b, missing->event), event(b, b->gate->trigger), at);
    int64_t since = b->path->at_ms[witness_reset(b->search, b->path)];
    if (bad_node(b)->most >= 0)
        return say(b, "%S not before %S%S", event(b, b->gate->trigger),
                   words_clock(b->job, since + o->pause_lo[o->n_steps]), STR(""));
    return say(b, "%S by %S, or the call repeated before it%S", event(b, b->gate->trigger),
               words_clock(b->job, since + o->pause_hi[o->n_steps]), STR(""));
}

/* ---- duty ---- */
static const Duty *duty_of(const Broken *b) {
    return &b->model->tail->duties[b->gate->duty];
}

static Str tell_duty(const Broken *b) {
    const Duty *duty = duty_of(b);
    Str what = words_fact(b->job, b->model, duty->fact);
    if (b->part) {
        const DutyWindow *window = &duty->windows[b->part - 1];
        return format_text(b->job->arena, b->job->names, "%S can be engaged more than %u times within %S", what,
                           (uint64_t)window->most, words_time(b->job, window->in_ms));
    }
    DutyState state = duty_state(b->search->observer->duty,
                                 b->path->by_time ? node_bucket(b->search, b->search->bad)->state : state_before(b));
    const DutyShape *line = &b->search->observer->duty->lines[state.line];
    if (b->path->by_time)
        return format_text(b->job->arena, b->job->names,
                           "%S can be on for longer than %S (engagement %u since the long rest)", what,
                           time_words(b, timed_limit(b)), (uint64_t)state.count);
    if (line->tries && state.count >= line->tries)
        return format_text(b->job->arena, b->job->names,
                           "%S can be engaged again after %u tries without the rest of %S", what, (uint64_t)line->tries,
                           time_words(b, line->long_rest_ms));
    return format_text(b->job->arena, b->job->names, "%S can be engaged again less than %S after it was let go", what,
                       time_words(b, bad_node(b)->most + 1));
}

/* ---- all forms ---- */
static Str count_words(const Broken *b) {
    return format_text(b->job->arena, b->job->names, "%u", (uint64_t)b->gate->count);
}

static Str counted(const Broken *b) {
    return event(b, b->gate->events ? b->gate->events : b->gate->trigger);
}

static Str outcome_here(const Broken *b) {
    const Place *place = &b->model->places[node_bucket(b->search, b->search->bad)->place];
    return name_text(b->job->names, place->outcome);
}

static Str tell_never(const Broken *b) {
    const GateInstance *g = b->gate;
    const Observer *o = b->search->observer;
    if (!o->n_times) return say(b, "%S comes after %S%S", event(b, g->events), event(b, g->trigger), STR(""));
    return say(b, "%S can come less than %S after %S", event(b, g->events),
               time_words(b, o->times[state_before(b) - 1]), event(b, g->trigger));
}

/* ---- each STATE can reach ---- */
static Str state_called(const Broken *b, bool target) {
    const Gate *gate = b->gate->gate;
    Name name = !gate ? 0 : target ? gate->rule.target.name : gate->rule.ref.name;
    return name ? name_text(b->job->names, name) : test(b, target ? b->gate->target : b->gate->state);
}

static Str drill_called(const Broken *b) {
    return b->model->tail->drills[b->gate->target_drill].title;
}

/* Of a drill, part 1: it is not armed. */
static Str tell_reach(const Broken *b) {
    if (b->gate->target)
        return say(b, "from %S the way to %S can be barred by what the engine or the world does%S",
                   state_called(b, false), state_called(b, true), STR(""));
    if (b->part)
        return say(b, "%S holds here, and \"%S\" is not armed%S", state_called(b, false), drill_called(b), STR(""));
    return say(b, "\"%S\", entered here, need not come to an end%S%S", drill_called(b), STR(""), STR(""));
}

static Str want_reach(const Broken *b) {
    if (b->gate->target)
        return say(b, "lines by which the pilot comes to %S, or to the end RUNNING, whatever happens%S%S",
                   state_called(b, true), STR(""), STR(""));
    if (b->part)
        return say(b, "\"%S\" armed here, and named in the procedure's `drills` line%S%S", drill_called(b), STR(""),
                   STR(""));
    return say(b, "lines that come to an end whatever happens%S%S%S", STR(""), STR(""), STR(""));
}

Str tell_broken(const Broken *b) {
    const GateInstance *g = b->gate;
    switch (g->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: return tell_chain(b);
    case RULE_RESPONSE:
        return say(b, "more than %S can pass after %S without %S", time_words(b, timed_limit(b)), event(b, g->trigger),
                   event(b, g->events));
    case RULE_NEVER_AFTER: return tell_never(b);
    case RULE_ORDER:
        return say(b, "after %S comes %S before %S", event(b, g->trigger), event(b, g->before), event(b, g->events));
    case RULE_AT_EACH: return say(b, "at %S it is not sure that %S%S", event(b, g->trigger), test(b, g->cond), STR(""));
    case RULE_FROM_UNTIL:
        return say(b, "from %S until %S it is not sure that %S", event(b, g->trigger),
                   event(b, g->since ? g->since : g->events), test(b, g->cond));
    case RULE_WHILE: return say(b, "while %S it is not sure that %S%S", test(b, g->state), test(b, g->cond), STR(""));
    case RULE_LASTS:
        return say(b, "%S can last longer than %S%S", test(b, g->state), time_words(b, timed_limit(b)), STR(""));
    case RULE_AT_MOST_SINCE:
        return say(b, "%S can come more often than %S times since %S", counted(b), count_words(b), event(b, g->since));
    case RULE_AT_MOST_REST:
        return say(b, "%S can come more often than %S times without a rest of %S", counted(b), count_words(b),
                   words_duration(b->job, &g->time));
    case RULE_WINDOW:
        return say(b, "%S can come more often than %S times within %S", counted(b), count_words(b),
                   words_duration(b->job, &g->time));
    case RULE_EVERY_END:
    case RULE_END_OF:
        return say(b, "the end %S is reached where it is not sure that %S%S", outcome_here(b), test(b, g->cond),
                   STR(""));
    case RULE_DUTY: return tell_duty(b);
    case RULE_CAN_REACH: return tell_reach(b);
    case RULE_CASES: break;
    }
    return STR("the rule is broken");
}

static Str by_when(const Broken *b, int64_t limit) {
    return words_clock(b->job, b->path->at_ms[witness_reset(b->search, b->path)] + limit);
}

static Str want_duty(const Broken *b) {
    if (b->path->by_time) return say(b, "let go of by %S%S%S", by_when(b, timed_limit(b)), STR(""), STR(""));
    if (b->part || bad_node(b)->most < 0) return STR("a longer rest before this engagement, or none");
    return say(b, "not engaged before %S%S%S", by_when(b, bad_node(b)->most + 1), STR(""), STR(""));
}

Str tell_wanted(const Broken *b) {
    const GateInstance *g = b->gate;
    switch (g->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: return want_chain(b);
    case RULE_RESPONSE: return say(b, "%S by %S%S", event(b, g->events), by_when(b, timed_limit(b)), STR(""));
    case RULE_NEVER_AFTER:
        if (bad_node(b)->most < 0) return say(b, "no %S from there on%S%S", event(b, g->events), STR(""), STR(""));
        return say(b, "no %S before %S%S", event(b, g->events), by_when(b, bad_node(b)->most + 1), STR(""));
    case RULE_ORDER: return say(b, "%S before this%S%S", event(b, g->events), STR(""), STR(""));
    case RULE_AT_EACH:
    case RULE_EVERY_END:
    case RULE_END_OF: return say(b, "%S before this, set or seen%S%S", test(b, g->cond), STR(""), STR(""));
    case RULE_FROM_UNTIL:
    case RULE_WHILE: return say(b, "%S all the time%S%S", test(b, g->cond), STR(""), STR(""));
    case RULE_LASTS: return say(b, "its end by %S%S%S", by_when(b, timed_limit(b)), STR(""), STR(""));
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST:
    case RULE_WINDOW: return say(b, "no further %S here%S%S", counted(b), STR(""), STR(""));
    case RULE_DUTY: return want_duty(b);
    case RULE_CAN_REACH: return want_reach(b);
    case RULE_CASES: break;
    }
    return STR("");
}

/* Of a conjunction, the parts that the facts at the break leave open: "Alternator may be ON". */
static void put_open(const Broken *b, const Test *test, const uint64_t *masks, Buf *buf) {
    if (test->kind == TEST_AND)
        for (const Test *part = test->parts; part; part = part->next) put_open(b, part, masks, buf);
    if (test->kind != TEST_FACT || b->search->slice->fields[test->fact].word == NO_WORD) return;
    Lit lit = slice_literal(b->search->slice, test->fact, test->mask);
    uint64_t open = masks[lit.word] & lit.field & ~lit.bits;
    if (!open) return;
    buf_format(buf, b->job->names, buf->len ? "; %S %s %S" : "%S %s %S", words_fact(b->job, b->model, test->fact),
               masks[lit.word] & lit.bits ? "may be" : "is",
               words_values(b->job, b->model, test->fact, open >> b->search->slice->fields[test->fact].shift));
}

static void note_open(const Broken *b, Finding *finding) {
    const GateInstance *g = b->gate;
    bool after =
        g->rule == RULE_EVERY_END || g->rule == RULE_END_OF || g->rule == RULE_WHILE || g->rule == RULE_FROM_UNTIL;
    uint32_t node = after ? b->search->bad : b->search->store->nodes[b->search->bad].parent;
    if (!g->cond || (!after && g->rule != RULE_AT_EACH) || node == NO_INDEX) return;
    Buf buf = {.arena = b->job->arena};
    put_open(b, g->cond, node_masks(b->search, node), &buf);
    if (buf.len) finding_note(b->job->findings, finding, (Span){0, 0}, "what is open there: %S", buf_view(&buf));
}

/* The gate's `because`, behind whichever of its lines it stands. */
static void note_reason(Job *job, const Gate *gate, Finding *finding) {
    if (!gate) return;
    const Why *whys[] = {gate->why, gate->rule_why, gate->severity_why, gate->applies_why};
    for (size_t i = 0; i < sizeof whys / sizeof *whys; i++) {
        if (!whys[i] || !whys[i]->because.span.hi) continue;
        finding_note(job->findings, finding, whys[i]->because.span, "why it matters: %S",
                     text_raw(job, whys[i]->because));
        return;
    }
}

Finding *tell_gate(Job *job, const GateInstance *gate, Span span, Str what) {
    Finding *finding = finding_add(job->findings, FINDING_BROKEN, span, "%S: %S", gate_title(job, gate), what);
    finding->severity = gate->severity;
    finding->gate = name_text(job->names, gate->name);
    note_reason(job, gate->gate, finding);
    return finding;
}

Finding *tell_finding(Job *job, const Broken *b) {
    const Item *item = witness_item(b->search, b->path);
    Span span = item ? item->span : gate_span(b->gate);
    Finding *finding =
        finding_add(job->findings, FINDING_BROKEN, span, "%S: %S", gate_title(job, b->gate), tell_broken(b));
    finding->severity = b->gate->severity;
    finding->gate = name_text(job->names, b->gate->name);
    note_open(b, finding);
    note_reason(job, b->gate->gate, finding);
    finding->trace = witness_trace(job, b->search, b->path, tell_wanted(b));
    return finding;
}
