/* What follows a line: its `if`s and its `otherwise`, also the one that a phase gives all its lines; ends, drills, going back. */
#include "sema/items.h"

static const char *const known_ends[] = {"RUNNING", "SECURED", "ABANDONED", "READY"};
enum { KNOWN_ENDS = sizeof known_ends / sizeof *known_ends };

/* ---- ends ---- */

static bool gate_names_end(const Gate *gate, Name outcome) {
    for (const WordList *word = gate->rule.outcomes; word; word = word->next)
        if (word->word.name == outcome) return true;
    return false;
}

static bool end_known(Resolver *r, Name outcome) {
    Str text = name_text(r->job->names, outcome);
    for (size_t i = 0; i < KNOWN_ENDS; i++)
        if (str_eq(text, str_of(known_ends[i]))) return true;
    const Decl **gates;
    size_t n = program_all(r->program, DECL_GATE, &gates);
    for (size_t i = 0; i < n; i++)
        if (gate_names_end(gates[i]->u.gate, outcome)) return true;
    n = program_all(r->program, DECL_STANDARD, &gates);
    for (size_t i = 0; i < n; i++)
        for (const Standing *standing = gates[i]->u.standing; standing; standing = standing->next)
            if (standing->kind == STANDING_GATE && standing->gate && gate_names_end(standing->gate->u.gate, outcome))
                return true;
    return false;
}

static void check_end(Resolver *r, Word outcome) {
    if (!outcome.name || end_known(r, outcome.name) || !first_report(r, FINDING_END_UNKNOWN, outcome.span)) return;
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, outcome.name));
    for (size_t i = 0; i < KNOWN_ENDS; i++)
        suggestion_offer(&suggestion, name_intern(r->job->names, str_of(known_ends[i])));
    Finding *finding =
        suggestion.best ? finding_add(r->job->findings, FINDING_END_UNKNOWN, outcome.span,
                                      "no rule speaks of the end %N; did you mean %N?", outcome.name, suggestion.best)
                        : finding_add(r->job->findings, FINDING_END_UNKNOWN, outcome.span,
                                      "no rule speaks of the end %N, so nothing would hold it to a safe state; use "
                                      "RUNNING, SECURED, ABANDONED or READY, or write a gate "
                                      "`every end %N: …`",
                                      outcome.name, outcome.name);
    if (suggestion.best) finding_fix(r->job->findings, finding, FIX_REVIEW, outcome.span, "%N", suggestion.best);
}

static void report_tail_twice(Resolver *r, const EndTail *tail) {
    if (first_report(r, FINDING_CLAUSE_TWICE, tail->span))
        finding_add(r->job->findings, FINDING_CLAUSE_TWICE, tail->span,
                    "this end says it already; keep one of the two");
}

static void check_phase_here(Walk *w, Word phase) {
    if (w->in_drill || !phase.name) return; /* of a drill: checked for each procedure that reaches it */
    for (const Stmt *part = parts_of(w->r, w->decl); part; part = part->next)
        if (part->kind == STMT_PHASE && part->ref.name == phase.name) return;
    if (!first_report(w->r, FINDING_PHASE_UNKNOWN, phase.span)) return;
    Suggestion suggestion = suggestion_begin(w->r->program, name_text(w->r->job->names, phase.name));
    for (const Stmt *part = parts_of(w->r, w->decl); part; part = part->next)
        if (part->kind == STMT_PHASE) suggestion_offer(&suggestion, part->ref.name);
    if (suggestion.best)
        finding_fix(w->r->job->findings,
                    finding_add(w->r->job->findings, FINDING_PHASE_UNKNOWN, phase.span,
                                "%N has no phase %N; did you mean %N?", w->decl->name.name, phase.name,
                                suggestion.best),
                    FIX_REVIEW, phase.span, "%N", suggestion.best);
    else
        finding_add(w->r->job->findings, FINDING_PHASE_UNKNOWN, phase.span, "%N has no phase %N", w->decl->name.name,
                    phase.name);
}

static void action_end(Walk *w, const Action *action, ItemAction *out) {
    check_end(w->r, action->target);
    out->outcome = action->target.name;
    bool timed = false;
    for (const EndTail *tail = action->tails; tail; tail = tail->next) {
        switch ((EndTailKind)tail->kind) {
        case TAIL_NO_MORE_STARTS:
            if (out->no_more_starts) report_tail_twice(w->r, tail);
            out->no_more_starts = true;
            break;
        case TAIL_NEXT_START_AFTER:
            if (timed) report_tail_twice(w->r, tail);
            timed = true;
            out->next_start = item_duration(w, &tail->after);
            break;
        case TAIL_START_AGAIN_AT:
            if (out->again_at) report_tail_twice(w->r, tail);
            out->again_at = tail->phase.name;
            check_phase_here(w, tail->phase);
            break;
        }
    }
}

/* ---- going back, drills, blocks ---- */

static void action_again(Walk *w, const Action *action, ItemAction *out) {
    if (measured_written(&action->after)) out->after = item_duration(w, &action->after);
    if (w->tries) return;
    if (!first_report(w->r, FINDING_AGAIN_OUTSIDE, action->span)) return;
    Finding *finding =
        finding_add(w->r->job->findings, FINDING_AGAIN_OUTSIDE, action->span,
                    w->in_between ? "`again` cannot stand between tries: that part is done on the way back already"
                                  : "`again` goes back to the beginning of a `try`, and no try is around it here");
    if (w->n_groups)
        finding_note(w->r->job->findings, finding, w->group_at[w->n_groups - 1],
                     "the group is done here, outside a try");
}

static void action_turn(Walk *w, const Action *action, ItemAction *out) {
    const Decl *drill = drill_find(w->r, action->target);
    if (!drill) return;
    out->drill = drill_index(w->r, action->target, drill, w->scene.engine, w->decl);
    if (out->drill == NO_INDEX || !w->cranks) return;
    DrillWork *work = &w->work->drill_work.at[out->drill];
    if (work->engaged) return;
    work->engaged = true;
    work->engaged_at = action->span;
}

void action_resolve(Walk *w, const Action *action, ItemAction *out) {
    ItemList block = {0};
    out->kind = (ActionKind)action->kind;
    out->written = action;
    out->drill = NO_INDEX;
    switch (out->kind) {
    case ACTION_NONE: break;
    case ACTION_TURN_TO: action_turn(w, action, out); break;
    case ACTION_END: action_end(w, action, out); break;
    case ACTION_AGAIN: action_again(w, action, out); break;
    case ACTION_BLOCK:
        walk_block(w, action->block, &block);
        out->block = block.first;
        break;
    }
}

/* ---- outcomes ---- */

static ItemOutcome *outcome_add(Walk *w, Item *item, ItemOutcome **last) {
    ItemOutcome *outcome = ARENA_NEW(w->r->job->arena, ItemOutcome);
    if (*last) (*last)->next = outcome;
    else item->outcomes = outcome;
    *last = outcome;
    return outcome;
}

static void outcome_walk(Walk *w, Item *item, const Outcome *written, uint32_t arm, ItemOutcome *out) {
    Branch branch = {w->branch, item, arm};
    if (written->cond) {
        w->r->undecided = w->r->unfitted = 0;
        out->cond = resolve_test(w->r, written->cond, &w->scene);
        if (w->r->undecided)
            missing_add(w->r, missing_kind(w->r, w->r->undecided), w->r->undecided, written->cond->span, 0);
    }
    w->branch = arena_copy(w->r->job->arena, &branch, sizeof branch);
    action_resolve(w, &written->action, &out->action);
    w->branch = branch.up;
}

/* Can the line fail in a way that its phase's `otherwise` stands for? A crank within a try leaves failing to the try. */
static bool inherits(const Walk *w, const Item *item) {
    switch (item->kind) {
    case STMT_CHECK:
    case STMT_EXPECT:
    case STMT_LOOK:
    case STMT_TRY: return true;
    case STMT_CALL: return item->answer != 0;
    case STMT_WAIT: return item->most.n > 0;
    case STMT_CRANK: return w->tries == 0;
    case STMT_BAD:
    case STMT_SET:
    case STMT_BRIEF:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE:
    case STMT_FOR:
    case STMT_DO:
    case STMT_GO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
    case STMT_MEMORY: break;
    }
    return false;
}

static void report_no_otherwise(Walk *w, const Item *item) {
    if (!first_report(w->r, FINDING_NO_OTHERWISE, item->span)) return;
    bool expects = item->kind == STMT_EXPECT;
    Finding *finding = finding_add(
        w->r->job->findings, FINDING_NO_OTHERWISE, item->stmt->cond ? item->stmt->cond->span : item->span,
        expects ? "what if it does not come in time? add `, otherwise turn to …`, or give the phase an `otherwise`"
                : "what if no try succeeds? add `otherwise turn to …` after the try, or give the phase an `otherwise`");
    if (w->n_groups)
        finding_note(w->r->job->findings, finding, w->group_at[w->n_groups - 1],
                     "the group is done here; the `otherwise` of a phase is not for the lines of a group");
}

/* ---- answers to a call ---- */

static bool asks(const Test *test, uint32_t fact, uint32_t depth) {
    if (!test || depth > 2 * LIMIT_NESTING) return false;
    if (test->kind == TEST_FACT) return test->fact == fact;
    for (const Test *part = test->parts; part; part = part->next)
        if (asks(part, fact, depth + 1)) return true;
    return false;
}

/* An answer that nobody waits for is lost; the one that matters is the bad one, and the good one is declared first. */
static void judge_answers(Walk *w, const Item *item) {
    const Thing *call = &w->r->tail->things[item->thing];
    if (item->answer || item->fact == NO_INDEX || call->n_positions < 2) return;
    for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
        if (asks(outcome->cond, item->fact, 0)) return;
    if (!first_report(w->r, FINDING_ANSWER_IGNORED, item->span)) return;
    Buf answers = {.arena = w->r->job->arena};
    for (uint32_t i = 1; i < call->n_positions; i++)
        buf_format(&answers, w->r->job->names, i > 1 ? " or \"%S\"" : "\"%S\"", call->positions[i].print);
    Name bad = call->decl->positions->next->word.name;
    const Scene scene = {.engine = call->engine, .home = w->scene.home};
    finding_add(w->r->job->findings, FINDING_ANSWER_IGNORED, item->stmt->ref.span,
                "%S may be answered %S, and nothing says what is done then; add `, if %N %N` and where to turn, or "
                "`again` within a try",
                resolve_text(w->r, call->text, &scene), buf_view(&answers), item->stmt->ref.name, bad);
}

void outcomes_resolve(Walk *w, Item *item) {
    ItemOutcome *last = NULL;
    uint32_t arm = 0;
    bool otherwise = false;
    for (const Outcome *written = item->stmt->outcomes; written; written = written->next) {
        if (otherwise) break; /* reported as it was read */
        outcome_walk(w, item, written, arm++, outcome_add(w, item, &last));
        otherwise = !written->cond;
    }
    if (!otherwise && w->heading && !w->dropping && inherits(w, item)) {
        ItemOutcome *outcome = outcome_add(w, item, &last);
        outcome->inherited = otherwise = true;
        outcome_walk(w, item, w->heading, arm, outcome);
    }
    if (!otherwise && (item->kind == STMT_EXPECT || item->kind == STMT_TRY)) report_no_otherwise(w, item);
    if (item->kind == STMT_CALL && !w->dropping) judge_answers(w, item);
}
