#include "check/tell.h"
#include "check/nearest.h"
#include "check/steps.h"
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

/* "line 97 (0:02)"; without a line, "0:02". */
static Str place_at(const Broken *b, const Item *item, int64_t ms) {
    Str line = steps_line(b->job, item), clock = words_clock(b->job, ms);
    return line.len ? say(b, "%S (%S)%S", line, clock, STR("")) : clock;
}

static Str move_place(const Broken *b, uint32_t move) {
    return place_at(b, move ? steps_item(b, b->path, move) : NULL, b->path->at_ms[move]);
}

static Str end_place(const Broken *b) {
    return place_at(b, witness_item(b->search, b->path), b->path->at_ms[b->path->n - !b->path->by_time]);
}

/* The lines that do what is missing, or that none does: whoever only has the path must find it. */
static void put_doers(const Broken *b, uint32_t roles, Buf *buf) {
    enum { TOLD = 3 };
    const Item *told[TOLD];
    uint32_t n = 0;
    for (uint32_t e = 0; e < b->model->n_edges && n < TOLD; e++) {
        const Item *item = b->model->edges[e].item;
        if (!item || !item->span.hi || !edge_carries(b->search->observer, e, roles)) continue;
        bool again = false;
        for (uint32_t k = 0; k < n; k++) again |= told[k]->span.lo == item->span.lo;
        if (!again) told[n++] = item;
    }
    if (!n) buf_text(buf, "; no line does that");
    for (uint32_t k = 0; k < n; k++)
        buf_format(buf, NULL, k ? ", %S" : "; it is done at %S", steps_line(b->job, told[k]));
}

/* The move since which the chain stands where it stands. */
static uint32_t chain_since(const Broken *b) {
    uint32_t since = 0;
    for (uint32_t k = 1; k + 1 < b->path->n; k++) {
        const Node *node = &b->search->store->nodes[b->path->nodes[k]];
        uint32_t was = node_bucket(b->search, b->path->nodes[k - 1])->state,
                 is = node_bucket(b->search, b->path->nodes[k])->state;
        if (was != is || node->reset) since = k;
    }
    return since;
}

static Str want_missing(const Broken *b, uint32_t done) {
    uint32_t since = chain_since(b);
    Buf buf = {.arena = b->job->arena};
    buf_str(&buf, event(b, chain_step_at(b, done)->event));
    if (since && steps_item(b, b->path, since)) buf_format(&buf, NULL, " after %S and", move_place(b, since));
    buf_format(&buf, NULL, " before %S", end_place(b));
    put_doers(b, ROLE_BIT(ROLE_STEP + done), &buf);
    return buf_view(&buf);
}

static Str want_chain(const Broken *b) {
    const Observer *o = b->search->observer;
    uint32_t done = chain_done(b);
    if (chain_step_at(b, done)) return want_missing(b, done);
    uint32_t reset = witness_reset(b->search, b->path);
    int64_t since = b->path->at_ms[reset];
    Str trigger =
        say(b, "%S at %S%S", event(b, b->gate->trigger), steps_line(b->job, witness_item(b->search, b->path)), STR(""));
    if (bad_node(b)->most >= 0)
        return say(b, "%S not before %S, that is %S", trigger, words_clock(b->job, since + o->pause_lo[o->n_steps]),
                   say(b, "%S after %S%S", time_words(b, o->pause_lo[o->n_steps]), move_place(b, reset), STR("")));
    return say(b, "%S by %S, or what is done at %S once more before it", trigger,
               words_clock(b->job, since + o->pause_hi[o->n_steps]), move_place(b, reset));
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

/* By when, and where the path stands then. */
static Str by_when(const Broken *b, int64_t limit) {
    return words_clock(b->job, b->path->at_ms[witness_reset(b->search, b->path)] + limit);
}

/* The times of the text that run where the path waits: each is too long for the rule, or none is there. */
static void put_running(const Broken *b, Buf *buf) {
    const Place *place = &b->model->places[witness_place(b->search, b->path, b->path->n - 1)];
    if (place->kind != PLACE_ITEM) return;
    Buf lines = {.arena = b->job->arena};
    for (uint32_t d = 0; d < place->n_deadlines; d++) {
        const Deadline *due = &b->model->deadlines[place->first_deadline + d];
        const Item *item = due->lapse == NO_INDEX ? NULL : b->model->edges[due->lapse].item;
        Str line = steps_line(b->job, item);
        if (!line.len) return; /* several ways on, or the engine's own time: not the text's to shorten */
        buf_format(&lines, NULL, lines.len ? ", %S at %S" : "%S at %S", words_time(b->job, due->ms), line);
    }
    if (lines.len) buf_format(buf, NULL, "; the time that runs there is %S", buf_view(&lines));
    else buf_text(buf, "; no time of the text runs there");
}

static Str want_by(const Broken *b, Str what) {
    Str line = steps_line(b->job, witness_item(b->search, b->path));
    Buf buf = {.arena = b->job->arena};
    buf_str(&buf, say(b, line.len ? "%S by %S, while the path stands at %S" : "%S by %S%S", what,
                      by_when(b, timed_limit(b)), line));
    if (line.len) put_running(b, &buf);
    return buf_view(&buf);
}

/* Of a window: once it is over. */
static Str want_later(const Broken *b, Str what) {
    return say(b, "no %S at %S before %S", what, steps_line(b->job, witness_item(b->search, b->path)),
               by_when(b, b->search->observer->states[state_before(b)].cap + 1));
}

static Str want_duty(const Broken *b) {
    if (b->path->by_time) return want_by(b, STR("let go of"));
    if (b->part) return want_later(b, STR("engagement"));
    if (bad_node(b)->most < 0)
        return say(b, "a longer rest before %S, or no engagement there%S%S", end_place(b), STR(""), STR(""));
    return say(b, "not engaged before %S at %S%S", by_when(b, bad_node(b)->most + 1),
               steps_line(b->job, witness_item(b->search, b->path)), STR(""));
}

/* Of a conjunction, the parts that the facts at the break leave open; of a part that is no single fact, all its facts. */
typedef struct {
    const Test *at[8];
    uint32_t n;
    bool loose; /* some part is no single fact */
} Open;

static void put_open(Open *open, const Test *test) {
    for (uint32_t k = 0; k < open->n; k++)
        if (open->at[k]->fact == test->fact) return;
    if (open->n < sizeof open->at / sizeof *open->at) open->at[open->n++] = test;
}

static bool in_slice(const Broken *b, const Test *test) {
    return test->kind == TEST_FACT && b->search->slice->fields[test->fact].word != NO_WORD;
}

static bool is_open(const Broken *b, const Test *test, const uint64_t *masks) {
    Lit lit = slice_literal(b->search->slice, test->fact, test->mask);
    return masks[lit.word] & lit.field & ~lit.bits;
}

static void find_facts(const Broken *b, const Test *test, Open *open, uint32_t depth) {
    enum { DEEPEST = 64 };
    if (in_slice(b, test)) put_open(open, test);
    for (const Test *part = test->parts; part && depth < DEEPEST; part = part->next)
        find_facts(b, part, open, depth + 1);
}

static void find_open(const Broken *b, const Test *test, const uint64_t *masks, Open *open) {
    const Guard *fails = NULL;
    switch (test->kind) {
    case TEST_AND:
        for (const Test *part = test->parts; part; part = part->next) find_open(b, part, masks, open);
        return;
    case TEST_FACT:
        if (in_slice(b, test) && is_open(b, test, masks)) put_open(open, test);
        return;
    case TEST_OR:
    case TEST_NOT:
        fails = guard_from_test(b->job->arena, b->model->facts, test, true);
        if (!fails || !formula_possible(formula_of_guard(b->job->arena, b->search->slice, fails), masks)) return;
        open->loose = true;
        find_facts(b, test, open, 0);
        return;
    case TEST_TRUE:
    case TEST_FALSE:
    case TEST_FOR:
    case TEST_SAID:
    case TEST_UNDECIDED: return;
    }
}

/* The node whose facts the rule looks at. */
static uint32_t judged_node(const Broken *b) {
    return b->gate->rule == RULE_AT_EACH ? bad_node(b)->parent : b->search->bad;
}

static Open open_parts(const Broken *b) {
    Open open = {.n = 0};
    if (b->gate->cond && judged_node(b) != NO_INDEX)
        find_open(b, b->gate->cond, node_masks(b->search, judged_node(b)), &open);
    return open;
}

static Str want_condition(const Broken *b, const char *when) {
    Open open = open_parts(b);
    Buf buf = {.arena = b->job->arena};
    for (uint32_t k = 0; k < open.n && !open.loose; k++)
        buf_format(&buf, NULL, k ? " and %S %S" : "%S %S", words_fact(b->job, b->model, open.at[k]->fact),
                   words_values(b->job, b->model, open.at[k]->fact, open.at[k]->mask));
    if (!open.n || open.loose) buf_str(&buf, test(b, b->gate->cond));
    buf_format(&buf, NULL, when, end_place(b));
    return buf_view(&buf);
}

/* Either the one comes first, or what it should come before does not come: where starts follow each other, the end between them may allow no next one. */
static Str want_order(const Broken *b) {
    Str first = say(b, "%S before %S%S", event(b, b->gate->events), end_place(b), STR(""));
    for (uint32_t k = b->path->n - 1; k > chain_since(b); k--)
        if (b->model->places[witness_place(b->search, b->path, k)].kind == PLACE_END)
            return say(b, "%S, or no next start after the end at %S%S", first, move_place(b, k), STR(""));
    return first;
}

Str tell_wanted(const Broken *b) {
    const GateInstance *g = b->gate;
    switch (g->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: return want_chain(b);
    case RULE_RESPONSE: return want_by(b, event(b, g->events));
    case RULE_NEVER_AFTER:
        if (bad_node(b)->most < 0)
            return say(b, "no %S after %S: not at %S", event(b, g->events), event(b, g->trigger), end_place(b));
        return say(b, "no %S before %S, so not yet at %S", event(b, g->events), by_when(b, bad_node(b)->most + 1),
                   steps_line(b->job, witness_item(b->search, b->path)));
    case RULE_ORDER: return want_order(b);
    case RULE_AT_EACH:
    case RULE_EVERY_END:
    case RULE_END_OF: return want_condition(b, " before %S, set or seen");
    case RULE_FROM_UNTIL:
    case RULE_WHILE: return want_condition(b, " from %S on, set or seen before");
    case RULE_LASTS: return want_by(b, STR("its end"));
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST: return say(b, "no further %S at %S%S", counted(b), end_place(b), STR(""));
    case RULE_WINDOW: return want_later(b, counted(b));
    case RULE_DUTY: return want_duty(b);
    case RULE_CAN_REACH: return want_reach(b);
    case RULE_CASES: break;
    }
    return STR("");
}

/* Where the path last moved the fact, or that it never did. */
static Str moved_words(const Broken *b, uint32_t fact) {
    const Path *path = b->path;
    for (uint32_t k = path->n - 1; k > 0; k--) {
        const Edge *edge = witness_edge(b->search, path, k);
        bool changes = false;
        for (uint32_t c = 0; c < edge->n_changes; c++) changes |= edge->changes[c].fact == fact;
        if (changes && (edge->kind == EDGE_JOIN || edge->kind == EDGE_BEGIN)) break;
        if (changes) return say(b, "since %S%S%S", move_place(b, k), STR(""), STR(""));
    }
    return STR("since the beginning: no line of this path has set it or looked at it");
}

static void note_open(const Broken *b, Finding *finding) {
    Open open = open_parts(b);
    Buf buf = {.arena = b->job->arena};
    for (uint32_t k = 0; k < open.n; k++) {
        const Test *one = open.at[k];
        Lit lit = slice_literal(b->search->slice, one->fact, one->mask);
        uint64_t have = node_masks(b->search, judged_node(b))[lit.word] & lit.field;
        bool sure = !(have & (have - 1)) || !(have & lit.bits);
        if (!open.loose) have &= ~lit.bits;
        buf_format(&buf, NULL, buf.len ? "; %S %s %S" : "%S %s %S", words_fact(b->job, b->model, one->fact),
                   sure ? "is" : "may be",
                   words_values(b->job, b->model, one->fact, have >> b->search->slice->fields[one->fact].shift));
        buf_format(&buf, NULL, ", %S", moved_words(b, one->fact));
    }
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

/* Where the last move, or the waiting, is: its line is one of that procedure's or drill's. */
static Str home_of(const Broken *b, const Path *path) {
    uint32_t at = path->by_time || path->n < 2 ? path->n - 1 : path->n - 2;
    const Place *place = &b->model->places[witness_place(b->search, path, at)];
    const Tail *tail = b->model->tail;
    const Names *names = b->job->names;
    if (place->drill != NO_INDEX) return name_text(names, tail->drills[place->drill].name);
    return place->procedure == NO_INDEX ? STR("") : name_text(names, tail->procedures[place->procedure].name);
}

static Trace *trace_of(const Broken *b) {
    const Path *path = b->path;
    Arena *arena = b->job->arena;
    Trace *trace = ARENA_NEW(arena, Trace);
    trace->tail = b->model->tail->name;
    trace->home = home_of(b, path);
    trace->steps = steps_tell(b, path, 0);
    trace->wanted = tell_wanted(b);
    trace->nearest = STR("");
    trace->n_moves = path->n - 1;
    trace->moves = ARENA_ARRAY(arena, TraceMove, path->n);
    for (uint32_t k = 1; k < path->n; k++)
        trace->moves[k - 1] = (TraceMove){b->search->store->nodes[path->nodes[k]].edge, path->at_ms[k]};
    return trace;
}

Finding *tell_finding(Job *job, const Broken *b, Arena *scratch) {
    const Item *item = witness_item(b->search, b->path);
    Span span = item ? item->span : gate_span(b->gate);
    Finding *finding =
        finding_add(job->findings, FINDING_BROKEN, span, "%S: %S", gate_title(job, b->gate), tell_broken(b));
    finding->severity = b->gate->severity;
    finding->gate = name_text(job->names, b->gate->name);
    note_open(b, finding);
    note_reason(job, b->gate->gate, finding);
    finding->trace = trace_of(b);
    if (rule_has_search(b->gate->rule)) nearest_tell(b, scratch, finding->trace, NULL);
    return finding;
}

Finding *tell_giving_up(Job *job, const Broken *b) {
    const Item *item = NULL;
    for (uint32_t k = b->path->n - 1; k > 0 && !item; k--)
        if (witness_edge(b->search, b->path, k)->kind == EDGE_GIVE_UP) item = witness_line(b->search, b->path, k);
    Finding *finding = finding_add(job->findings, FINDING_GIVEN_UP, item ? item->span : gate_span(b->gate),
                                   "if the start is given up here, [%S] is not kept: %S",
                                   name_text(job->names, b->gate->name), tell_broken(b));
    note_open(b, finding);
    note_reason(job, b->gate->gate, finding);
    finding->trace = trace_of(b);
    return finding;
}
