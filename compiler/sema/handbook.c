#include "sema/handbook.h"
#include "base/limits.h"
#include "front/front.h"
#include "sema/numbers.h"
#include "sema/program_parts.h"

/* ---- declared lines ---- */

const Decl *program_lines(const Program *program, Name source, Name section) {
    const Decls *all = &program->all[DECL_LINES];
    for (size_t i = 0; i < all->n; i++)
        if (all->at[i]->more->ref.name == source && all->at[i]->more->ref2.name == section) return all->at[i];
    return NULL;
}

uint32_t number_written(const Job *job, Amount amount) {
    Str text = amount.number.hi ? span_text(job->sources, amount.number) : STR("");
    uint32_t n = 0;
    for (size_t i = 0; i < text.len && n < 100000000; i++)
        if (text.ptr[i] >= '0' && text.ptr[i] <= '9') n = n * 10 + (uint32_t)(text.ptr[i] - '0');
    return n;
}

const LineDecl *line_find(const Job *job, const Decl *lines, uint32_t number) {
    for (const LineDecl *line = lines ? lines->u.lines : NULL; line; line = line->next)
        if (number_written(job, line->number) == number) return line;
    return NULL;
}

const LineDecl *line_named(const Job *job, const Program *program, const Why *why) {
    if (!why || !why->source.name || !why->line.number.hi) return NULL;
    const Decl *lines = program_lines(program, why->source.name, why->section.name);
    return line_find(job, lines, number_written(job, why->line));
}

bool heads_section(const Decl *of, const Decl *lines) {
    const Why *why = of->more->why;
    return why && why->source.name == lines->more->ref.name && why->section.name == lines->more->ref2.name;
}

/* ---- what the aircraft says of a thing ---- */

const CraftLine *craft_about(const Tail *tail, CraftKind kind, Name thing) {
    const CraftLine *found = NULL;
    for (uint32_t i = 0; i < tail->n_held; i++)
        for (const WordList *word = tail->held[i].craft->kind == kind ? tail->held[i].craft->words : NULL; word;
             word = word->next)
            if (word->word.name == thing) found = &tail->held[i];
    return found;
}

static bool unfitted(const Tail *tail, Name name) {
    for (uint32_t i = 0; i < tail->n_things; i++)
        if (tail->things[i].name == name) return tail->things[i].fitted == FITTED_NO;
    return false;
}

static Name dropped_in(const Tail *tail, const Cond *cond, uint32_t depth) {
    if (!cond || depth > 2 * LIMIT_NESTING) return 0;
    if (cond->ref.name && unfitted(tail, cond->ref.name)) return cond->ref.name;
    Name found = 0;
    for (const Cond *part = cond_parts(cond); part && !found; part = part->next)
        found = dropped_in(tail, part, depth + 1);
    return found;
}

Name dropped_thing(const Tail *tail, const Stmt *stmt) {
    if (!stmt) return 0;
    return stmt->ref.name && unfitted(tail, stmt->ref.name) ? stmt->ref.name : dropped_in(tail, stmt->cond, 0);
}

/* ---- is every declared line taken over? ---- */

typedef struct {
    Job *job;
    Program *program;
    const Tail *tail;
    const Decl *lines; /* the list looked at */
    bool *taken;       /* by its lines, in their order */
    bool any;
} Taking;

static void take(Taking *t, const Why *why) {
    if (!why || why->source.name != t->lines->more->ref.name || why->section.name != t->lines->more->ref2.name) return;
    uint32_t number = number_written(t->job, why->line), i = 0;
    for (const LineDecl *line = t->lines->u.lines; line && number; line = line->next, i++)
        if (number_written(t->job, line->number) == number) t->taken[i] = t->any = true;
}

static void take_items(Taking *t, const Item *items, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        if (item->stmt && !item->implied) take(t, item->stmt->why);
        take_items(t, item->body, depth + 1);
        take_items(t, item->between, depth + 1);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            take_items(t, outcome->action.block, depth + 1);
    }
}

static void take_stmts(Taking *t, const Stmt *stmt, uint32_t depth) {
    if (depth > 4 * LIMIT_NESTING) return;
    for (; stmt; stmt = stmt->next) {
        take(t, stmt->why);
        if (stmt->more->block) take_stmts(t, stmt->more->block->first, depth + 1);
        if (stmt->more->between) take_stmts(t, stmt->more->between->first, depth + 1);
        take_stmts(t, stmt->more->parts, depth + 1);
        for (const Outcome *outcome = stmt->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.block) take_stmts(t, outcome->action.block->first, depth + 1);
    }
}

/* A line that an adaptation omits or replaces has its reason there; so have the lines inside it. */
static void take_edits(Taking *t, const Decl *of) {
    for (uint32_t i = 0; i < t->tail->n_edits; i++) {
        const TailEdit *made = &t->tail->edits[i];
        if (made->of != of) continue;
        if (made->edit->kind == EDIT_OMIT_LINE) {
            Why named = {.source = made->edit->ref, .section = made->edit->to, .line = made->edit->line};
            take(t, &named);
        }
        if (!made->stmt || (made->edit->kind != EDIT_OMIT && made->edit->kind != EDIT_REPLACE)) continue;
        Stmt alone = *made->stmt;
        alone.next = NULL;
        take_stmts(t, &alone, 0);
    }
}

static void take_dropped(Taking *t, Item *const *dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++)
        if (dropped[i]->stmt) take(t, dropped[i]->stmt->why);
}

static void take_procedure(Taking *t, const Procedure *procedure) {
    take_items(t, procedure->items, 0);
    take_dropped(t, procedure->dropped, procedure->n_dropped);
    take_edits(t, procedure->decl);
}

static void take_drill(Taking *t, const Drill *drill) {
    take_items(t, drill->items, 0);
    take_dropped(t, drill->dropped, drill->n_dropped);
    take_edits(t, drill->decl);
}

static void report_left(Taking *t, Name by) {
    uint32_t i = 0;
    Word source = t->lines->more->ref, section = t->lines->more->ref2;
    for (const LineDecl *line = t->lines->u.lines; line; line = line->next, i++) {
        if (t->taken[i]) continue;
        uint64_t number = number_written(t->job, line->number);
        Finding *finding = finding_add(
            t->job->findings, FINDING_HANDBOOK_LINE_LEFT, span_join(line->number.span, line->text.span),
            "no line of %N takes over line %u of %N %N; end the one that does with `from %N %N line %u`, or say in an "
            "adaptation why it is left out: `omit from %N %N line %u because \"…\"`",
            by ? by : t->tail->name, number, source.name, section.name, source.name, section.name, number, source.name,
            section.name, number);
        finding->tail = name_text(t->job->names, t->tail->name);
    }
}

static void taking_open(Taking *t, const Decl *lines) {
    size_t n = 0;
    for (const LineDecl *line = lines->u.lines; line; line = line->next) n++;
    t->lines = lines;
    t->taken = ARENA_ARRAY(t->job->arena, bool, n + 1);
    t->any = false;
}

/* Each procedure that is that section answers for all of its lines; where none is, whatever names one of them. */
static void check_list(Taking *t, const Decl *lines) {
    bool headed = false;
    for (uint32_t p = 0; p < t->tail->n_procedures; p++) {
        if (!heads_section(t->tail->procedures[p].decl, lines)) continue;
        taking_open(t, lines);
        take_procedure(t, &t->tail->procedures[p]);
        report_left(t, t->tail->procedures[p].name);
        headed = true;
    }
    for (uint32_t d = 0; d < t->tail->n_drills; d++) {
        const Drill *drill = &t->tail->drills[d];
        if (!heads_section(drill->decl, lines) || (d && t->tail->drills[d - 1].decl == drill->decl)) continue;
        taking_open(t, lines);
        take_drill(t, drill);
        report_left(t, drill->name);
        headed = true;
    }
    if (headed) return;
    taking_open(t, lines);
    for (uint32_t p = 0; p < t->tail->n_procedures; p++) take_procedure(t, &t->tail->procedures[p]);
    for (uint32_t d = 0; d < t->tail->n_drills; d++) take_drill(t, &t->tail->drills[d]);
    for (uint32_t i = 0; i < t->tail->n_held; i++) take(t, t->tail->held[i].craft->why);
    if (t->any) report_left(t, 0);
}

/* ---- lines that are named and not declared ---- */

static void check_named(Taking *t, const Why *why) {
    if (!why || !why->source.name || !why->line.number.hi) return;
    const Decl *lines = program_lines(t->program, why->source.name, why->section.name);
    uint32_t number = number_written(t->job, why->line);
    if (!lines || line_find(t->job, lines, number) ||
        !program_first(t->program, FINDING_HANDBOOK_LINE_UNKNOWN, why->line.span))
        return;
    Finding *finding =
        finding_add(t->job->findings, FINDING_HANDBOOK_LINE_UNKNOWN, why->line.span,
                    "the list of %N %N has no line %u; name one of its lines, or add this one to the list",
                    why->source.name, why->section.name, (uint64_t)number);
    finding_note(t->job->findings, finding, lines->more->ref.span, "the list stands here");
}

static void check_named_items(Taking *t, const Item *items, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        if (item->stmt) check_named(t, item->stmt->why);
        check_named_items(t, item->body, depth + 1);
        check_named_items(t, item->between, depth + 1);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            check_named_items(t, outcome->action.block, depth + 1);
    }
}

static void check_all_named(Taking *t) {
    for (uint32_t p = 0; p < t->tail->n_procedures; p++) check_named_items(t, t->tail->procedures[p].items, 0);
    for (uint32_t d = 0; d < t->tail->n_drills; d++) check_named_items(t, t->tail->drills[d].items, 0);
    for (uint32_t i = 0; i < t->tail->n_held; i++) check_named(t, t->tail->held[i].craft->why);
    for (uint32_t i = 0; i < t->tail->n_edits; i++) {
        const Edit *edit = t->tail->edits[i].edit;
        if (edit->kind != EDIT_OMIT_LINE) continue;
        Why named = {.source = edit->ref, .section = edit->to, .line = edit->line};
        check_named(t, &named);
    }
}

/* ---- has every loss a reason? ---- */

static bool gives_reason(const Why *why) {
    return why && (why->source.name || why->because.span.hi);
}

static Str shown(const Taking *t, const TailNumber *number) {
    Buf buf = {t->job->arena, NULL, 0, 0};
    buf_number(&buf, number->measure, number->amount);
    return buf_view(&buf);
}

static void check_number(Taking *t, const TailNumber *from, const TailNumber *to) {
    if (!to->craft || to->craft == from->craft || number_change(from, to) != NUMBER_LOOSER) return;
    bool justified = gives_reason(to->craft->why);
    Finding *finding = finding_add(
        t->job->findings, justified ? FINDING_NUMBER_LOOSER : FINDING_DIFFERENCE_NO_REASON, to->craft->span,
        justified ? "%S is %S here, which gives more room than the %S of %N; it is put into the list of deviations"
                  : "%S is %S here, which gives more room than the %S of %N, and nothing says why; end the line with "
                    "`from` a source or `because` a reason",
        to->what, shown(t, to), shown(t, from), from->given_by->name.name);
    finding_note(t->job->findings, finding, from->craft->span, "%N says so here", from->given_by->name.name);
    finding->tail = name_text(t->job->names, t->tail->name);
}

static void check_numbers(Taking *t) {
    TailNumbers own = tail_numbers(t->job, t->tail), base = tail_numbers(t->job, t->tail->handbook);
    for (size_t i = 0; i < own.n; i++) {
        const TailNumber *from = number_find(&base, own.at[i].key);
        if (from && from->craft) check_number(t, from, &own.at[i]);
    }
}

static void check_dropped(Taking *t, Item *const *dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        const Stmt *stmt = dropped[i]->stmt;
        bool matters = stmt && (stmt->kind == STMT_WARNING || (stmt->why && stmt->why->line.number.hi));
        Name thing = matters ? dropped_thing(t->tail, stmt) : 0;
        const CraftLine *line = thing ? craft_about(t->tail, CRAFT_NOT_FITTED, thing) : NULL;
        if (!line || line->decl == t->tail->aircraft || gives_reason(line->craft->why)) continue;
        Finding *finding =
            finding_add(t->job->findings, FINDING_DIFFERENCE_NO_REASON, line->craft->span,
                        "without %N a line of the handbook drops out, and nothing says why it is not fitted; "
                        "end this line with `because` a reason or `from` a source",
                        thing);
        finding_note(t->job->findings, finding, stmt->span, "this line drops out");
        finding->tail = name_text(t->job->names, t->tail->name);
    }
}

void handbook_check(Job *job, Program *program, const Tail *tail) {
    Taking t = {.job = job, .program = program, .tail = tail};
    const Decl **lists;
    size_t n = program_all(program, DECL_LINES, &lists);
    for (size_t i = 0; i < n; i++)
        if (program_lines(program, lists[i]->more->ref.name, lists[i]->more->ref2.name) == lists[i])
            check_list(&t, lists[i]);
    check_all_named(&t);
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        check_dropped(&t, tail->procedures[p].dropped, tail->procedures[p].n_dropped);
    for (uint32_t d = 0; d < tail->n_drills; d++) check_dropped(&t, tail->drills[d].dropped, tail->drills[d].n_dropped);
    if (tail->handbook) check_numbers(&t);
}
