#include "front/equal.h"

/* A list is compared member by member, both to their ends. */
#define EQUAL_LIST(Type, name, each)                                 \
    static bool name(const Job *job, const Type *a, const Type *b) { \
        for (; a && b; a = a->next, b = b->next)                     \
            if (!each(job, a, b)) return false;                      \
        return !a && !b;                                             \
    }

static bool span_eq(const Job *job, Span a, Span b) {
    return (a.hi == 0) == (b.hi == 0) && str_eq(span_text(job->sources, a), span_text(job->sources, b));
}

static bool word_eq(Word a, Word b) {
    return a.name == b.name;
}

static bool text_eq(const Job *job, Text a, Text b) {
    return span_eq(job, a.span, b.span);
}

static bool amount_eq(const Job *job, Amount a, Amount b) {
    return span_eq(job, a.number, b.number) && word_eq(a.unit, b.unit);
}

static bool measured_eq(const Job *job, Measured a, Measured b) {
    return amount_eq(job, a.amount, b.amount) && word_eq(a.name, b.name);
}

static bool range_eq(const Job *job, Range a, Range b) {
    return amount_eq(job, a.lo, b.lo) && amount_eq(job, a.hi, b.hi);
}

static bool words_each(const Job *job, const WordList *a, const WordList *b) {
    (void)job;
    return word_eq(a->word, b->word);
}
EQUAL_LIST(WordList, words_eq, words_each)

static bool texts_each(const Job *job, const TextList *a, const TextList *b) {
    return text_eq(job, a->text, b->text);
}
EQUAL_LIST(TextList, texts_eq, texts_each)

static bool why_eq(const Job *job, const Why *a, const Why *b) {
    if (!a || !b) return !a && !b;
    return word_eq(a->source, b->source) && word_eq(a->section, b->section) && amount_eq(job, a->line, b->line) &&
           text_eq(job, a->because, b->because) && text_eq(job, a->as, b->as) && word_eq(a->by, b->by) &&
           text_eq(job, a->by_text, b->by_text);
}

/* ---- conditions and events ---- */

static bool conds_eq(const Job *job, const Cond *a, const Cond *b);

static bool cond_own_eq(const Job *job, const Cond *a, const Cond *b) {
    switch ((CondKind)a->kind) {
    case COND_IS: return word_eq(a->word, b->word);
    case COND_FOR: return measured_eq(job, *a->time, *b->time);
    case COND_COMPARE: return measured_eq(job, *a->measured, *b->measured);
    case COND_RANGE: return range_eq(job, *a->range, *b->range);
    case COND_TEXT: return text_eq(job, a->text, b->text);
    case COND_BAD:
    case COND_AND:
    case COND_OR:
    case COND_NOT:
    case COND_NAME:
    case COND_FITTED:
    case COND_WATCHING: return true;
    }
    return false;
}

static bool cond_each(const Job *job, const Cond *a, const Cond *b) {
    return a->kind == b->kind && a->comparison == b->comparison && a->says_is == b->says_is &&
           a->negated == b->negated && word_eq(a->ref, b->ref) && cond_own_eq(job, a, b) &&
           conds_eq(job, cond_parts(a), cond_parts(b));
}
EQUAL_LIST(Cond, conds_eq, cond_each)

static bool cond_eq(const Job *job, const Cond *a, const Cond *b) {
    if (!a || !b) return !a && !b;
    return cond_each(job, a, b);
}

static bool event_each(const Job *job, const Event *a, const Event *b) {
    (void)job;
    return a->kind == b->kind && a->says_becomes == b->says_becomes && word_eq(a->ref, b->ref) &&
           word_eq(a->pos, b->pos);
}
EQUAL_LIST(Event, events_eq, event_each)

/* ---- items ---- */

static bool stmts_eq(const Job *job, const Stmt *a, const Stmt *b);

static bool block_eq(const Job *job, const Block *a, const Block *b) {
    if (!a || !b) return !a && !b;
    return stmts_eq(job, a->first, b->first);
}

static bool tail_each(const Job *job, const EndTail *a, const EndTail *b) {
    return a->kind == b->kind && measured_eq(job, a->after, b->after) && word_eq(a->phase, b->phase);
}
EQUAL_LIST(EndTail, tails_eq, tail_each)

static bool action_eq(const Job *job, const Action *a, const Action *b) {
    if (!a || !b) return !a && !b;
    return a->kind == b->kind && word_eq(a->target, b->target) && measured_eq(job, a->after, b->after) &&
           tails_eq(job, a->tails, b->tails) && block_eq(job, a->block, b->block);
}

static bool outcome_each(const Job *job, const Outcome *a, const Outcome *b) {
    return cond_eq(job, a->cond, b->cond) && action_eq(job, &a->action, &b->action);
}
EQUAL_LIST(Outcome, outcomes_eq, outcome_each)

static bool timing_eq(const Job *job, const Timing *a, const Timing *b) {
    if (!a || !b) return !a && !b;
    return measured_eq(job, a->time, b->time) && range_eq(job, a->span, b->span) && word_eq(a->lo_name, b->lo_name) &&
           word_eq(a->hi_name, b->hi_name) && events_eq(job, a->after, b->after);
}

static bool more_eq(const Job *job, const StmtMore *a, const StmtMore *b) {
    if (a == b) return true;
    return a->over_duty == b->over_duty && amount_eq(job, a->amount, b->amount) &&
           timing_eq(job, a->timing, b->timing) && text_eq(job, a->text, b->text) && text_eq(job, a->text2, b->text2) &&
           block_eq(job, a->block, b->block) && block_eq(job, a->between, b->between) &&
           action_eq(job, a->action, b->action) && stmts_eq(job, a->parts, b->parts) &&
           words_eq(job, a->words, b->words);
}

static bool stmt_each(const Job *job, const Stmt *a, const Stmt *b) {
    return a->kind == b->kind && word_eq(a->label, b->label) && word_eq(a->ref, b->ref) && word_eq(a->pos, b->pos) &&
           cond_eq(job, a->cond, b->cond) && outcomes_eq(job, a->outcomes, b->outcomes) &&
           more_eq(job, a->more, b->more) && why_eq(job, a->why, b->why);
}
EQUAL_LIST(Stmt, stmts_eq, stmt_each)

/* ---- things and aircraft ---- */

static bool effect_each(const Job *job, const Effect *a, const Effect *b) {
    (void)job;
    return a->kind == b->kind && word_eq(a->ref, b->ref);
}
EQUAL_LIST(Effect, effects_eq, effect_each)

static bool position_each(const Job *job, const PositionDecl *a, const PositionDecl *b) {
    return word_eq(a->word, b->word) && text_eq(job, a->print, b->print) && a->counted == b->counted &&
           effects_eq(job, a->effects, b->effects);
}
EQUAL_LIST(PositionDecl, positions_eq, position_each)

static bool limit_each(const Job *job, const DutyLimit *a, const DutyLimit *b) {
    return a->kind == b->kind && measured_eq(job, a->time, b->time) && amount_eq(job, a->count, b->count);
}
EQUAL_LIST(DutyLimit, limits_eq, limit_each)

static bool band_each(const Job *job, const BandPart *a, const BandPart *b) {
    return word_eq(a->name, b->name) && range_eq(job, a->range, b->range);
}
EQUAL_LIST(BandPart, bands_eq, band_each)

static bool craft_each(const Job *job, const Craft *a, const Craft *b) {
    return a->kind == b->kind && words_eq(job, a->words, b->words) && word_eq(a->ref, b->ref) &&
           word_eq(a->pos, b->pos) && limits_eq(job, a->limits, b->limits) && bands_eq(job, a->bands, b->bands) &&
           amount_eq(job, a->amount, b->amount) && measured_eq(job, a->time, b->time) &&
           text_eq(job, a->text, b->text) && text_eq(job, a->because, b->because) && text_eq(job, a->by, b->by) &&
           span_eq(job, a->until, b->until) && cond_eq(job, a->when, b->when) && why_eq(job, a->why, b->why);
}
EQUAL_LIST(Craft, crafts_eq, craft_each)

/* ---- gates ---- */

static bool step_each(const Job *job, const RuleStep *a, const RuleStep *b) {
    return events_eq(job, a->event, b->event) && range_eq(job, a->pause, b->pause) &&
           word_eq(a->pause_name, b->pause_name);
}
EQUAL_LIST(RuleStep, steps_eq, step_each)

static bool rule_eq(const Job *job, const Rule *a, const Rule *b) {
    if (a->kind != b->kind || a->says_each != b->says_each || a->any_drill != b->any_drill ||
        a->except_any != b->except_any || a->except_written != b->except_written)
        return false;
    return events_eq(job, a->trigger, b->trigger) && events_eq(job, a->since, b->since) &&
           events_eq(job, a->events, b->events) && events_eq(job, a->before, b->before) &&
           steps_eq(job, a->steps, b->steps) && measured_eq(job, a->time, b->time) &&
           measured_eq(job, a->count, b->count) && cond_eq(job, a->state, b->state) && cond_eq(job, a->cond, b->cond) &&
           word_eq(a->ref, b->ref) && word_eq(a->target, b->target) && words_eq(job, a->outcomes, b->outcomes) &&
           words_eq(job, a->except, b->except);
}

static bool gate_eq(const Job *job, const Gate *a, const Gate *b) {
    if (!a || !b) return !a && !b;
    return word_eq(a->within, b->within) && a->in_any_drill == b->in_any_drill && rule_eq(job, &a->rule, &b->rule) &&
           word_eq(a->severity, b->severity) && cond_eq(job, a->applies, b->applies) &&
           a->never_waived == b->never_waived && why_eq(job, a->why, b->why) &&
           why_eq(job, a->severity_why, b->severity_why) && why_eq(job, a->applies_why, b->applies_why) &&
           why_eq(job, a->rule_why, b->rule_why);
}

/* ---- standards, adaptations, documents ---- */

static bool decls_eq(const Job *job, const Decl *a, const Decl *b);

static bool standing_each(const Job *job, const Standing *a, const Standing *b) {
    return a->kind == b->kind && words_eq(job, a->words, b->words) && word_eq(a->rank, b->rank) &&
           decls_eq(job, a->gate, b->gate) && why_eq(job, a->why, b->why);
}
EQUAL_LIST(Standing, standings_eq, standing_each)

static bool edit_each(const Job *job, const Edit *a, const Edit *b) {
    return a->kind == b->kind && word_eq(a->ref, b->ref) && word_eq(a->to, b->to) &&
           block_eq(job, a->block, b->block) && text_eq(job, a->text, b->text) && amount_eq(job, a->line, b->line) &&
           why_eq(job, a->why, b->why);
}
EQUAL_LIST(Edit, edits_eq, edit_each)

static bool docline_each(const Job *job, const DocLine *a, const DocLine *b) {
    return a->kind == b->kind && a->all_drills == b->all_drills && words_eq(job, a->words, b->words) &&
           word_eq(a->ref, b->ref) && amount_eq(job, a->amount, b->amount) && amount_eq(job, a->amount2, b->amount2) &&
           span_eq(job, a->date, b->date) && span_eq(job, a->date2, b->date2) && text_eq(job, a->text, b->text) &&
           text_eq(job, a->text2, b->text2) && texts_eq(job, a->texts, b->texts);
}
EQUAL_LIST(DocLine, doclines_eq, docline_each)

static bool wording_each(const Job *job, const WordingEntry *a, const WordingEntry *b) {
    return word_eq(a->ref, b->ref) && text_eq(job, a->text, b->text) && positions_eq(job, a->positions, b->positions);
}
EQUAL_LIST(WordingEntry, wordings_eq, wording_each)

static bool line_each(const Job *job, const LineDecl *a, const LineDecl *b) {
    return amount_eq(job, a->number, b->number) && text_eq(job, a->text, b->text);
}
EQUAL_LIST(LineDecl, lines_eq, line_each)

/* ---- declarations ---- */

static bool content_eq(const Job *job, const Decl *a, const Decl *b) {
    switch ((DeclKind)a->kind) {
    case DECL_LINES: return lines_eq(job, a->u.lines, b->u.lines);
    case DECL_AIRCRAFT:
    case DECL_TAIL: return crafts_eq(job, a->u.craft, b->u.craft);
    case DECL_PROCEDURE:
    case DECL_DRILL:
    case DECL_GROUP: return stmts_eq(job, a->u.parts, b->u.parts);
    case DECL_EVENT: return events_eq(job, a->u.event, b->u.event);
    case DECL_STATE: return cond_eq(job, a->u.cond, b->u.cond);
    case DECL_GATE: return gate_eq(job, a->u.gate, b->u.gate);
    case DECL_STANDARD: return standings_eq(job, a->u.standing, b->u.standing);
    case DECL_ADAPT: return edits_eq(job, a->u.edits, b->u.edits);
    case DECL_DOCUMENT: return doclines_eq(job, a->u.doclines, b->u.doclines);
    case DECL_WORDING: return wordings_eq(job, a->u.wording, b->u.wording);
    case DECL_BAD:
    case DECL_USE:
    case DECL_CONTROL:
    case DECL_SCENE:
    case DECL_GAUGE:
    case DECL_LIGHT:
    case DECL_PERSON:
    case DECL_CALL:
    case DECL_BRIEFING:
    case DECL_KIND:
    case DECL_SOURCE:
    case DECL_WAIVE:
    case DECL_FLEET: return true;
    }
    return false;
}

static bool decl_each(const Job *job, const Decl *a, const Decl *b) {
    return a->kind == b->kind && a->each_engine == b->each_engine && a->if_fitted == b->if_fitted &&
           a->path_is_text == b->path_is_text && word_eq(a->name, b->name) && text_eq(job, a->text, b->text) &&
           text_eq(job, a->more->text2, b->more->text2) && word_eq(a->more->unit, b->more->unit) &&
           words_eq(job, a->more->words, b->more->words) && positions_eq(job, a->positions, b->positions) &&
           content_eq(job, a, b) && texts_eq(job, a->more->paragraphs, b->more->paragraphs) &&
           word_eq(a->more->ref, b->more->ref) && word_eq(a->more->ref2, b->more->ref2) &&
           span_eq(job, a->more->date, b->more->date) && why_eq(job, a->more->why, b->more->why);
}
EQUAL_LIST(Decl, decls_eq, decl_each)

bool file_equal(Job *job, const File *a, const File *b) {
    return decls_eq(job, a->first, b->first);
}
