#include "front/build.h"

const StmtMore stmt_no_more = {0};
const DeclMore decl_no_more = {0};

/* ---- values on their way ---- */
static unsigned spare_slot(Parser *p) {
    p->spare = (p->spare + 1) % SPARES;
    return p->spare;
}

Amount *amount_make(Parser *p, Span span, Span number, Word unit) {
    Amount *amount = &p->amounts[spare_slot(p)];
    *amount = (Amount){span, number, unit};
    return amount;
}

Measured *measured_make(Parser *p, const Amount *amount, Word name) {
    Measured *measured = &p->measured[spare_slot(p)];
    *measured = (Measured){.name = name};
    if (amount != NULL) measured->amount = *amount;
    return measured;
}

Range *range_make(Parser *p, const Amount *lo, const Amount *hi) {
    Range *range = &p->ranges[spare_slot(p)];
    *range = (Range){*lo, *hi};
    return range;
}

Action *action_make(Parser *p, Action fields) {
    Action *action = &p->actions[spare_slot(p)];
    *action = fields;
    return action;
}

Measured *measured_keep(Parser *p, const Measured *measured) {
    return arena_copy(p->job->arena, measured, sizeof *measured);
}

Range *range_keep(Parser *p, const Range *range) {
    return arena_copy(p->job->arena, range, sizeof *range);
}

Action *action_keep(Parser *p, const Action *action) {
    return arena_copy(p->job->arena, action, sizeof *action);
}

Timing *timing_make(Parser *p, const Measured *time, Event *after) {
    Timing *timing = ARENA_NEW(p->job->arena, Timing);
    timing->time = *time;
    timing->after = after;
    return timing;
}

Timing *wait_make(Parser *p, const Measured *least, const Measured *most) {
    Timing *timing = ARENA_NEW(p->job->arena, Timing);
    if (least != NULL) {
        timing->span.lo = least->amount;
        timing->lo_name = least->name;
    }
    if (most != NULL) {
        timing->span.hi = most->amount;
        timing->hi_name = most->name;
    }
    return timing;
}

/* ---- words ---- */
Word word_text(Parser *p, Span span) {
    Str text = parser_text(p, span);
    if (text.len >= 2 && text.ptr[0] == '"') text = str_slice(text, 1, text.len - (text.ptr[text.len - 1] == '"'));
    return (Word){name_intern(p->job->names, text), span};
}

WordList *word_node(Parser *p, Word word) {
    WordList *node = ARENA_NEW(p->job->arena, WordList);
    node->word = word;
    return node;
}

void words_append(WordList **list, WordList *node) {
    while (*list != NULL) list = &(*list)->next;
    *list = node;
}

void texts_append(TextList **list, TextList *node) {
    while (*list != NULL) list = &(*list)->next;
    *list = node;
}

/* ---- clauses and statements ---- */
Clause *clause_new(Parser *p, ClauseKind kind, Span span) {
    Clause *clause = p->spare_clauses;
    if (clause != NULL) p->spare_clauses = clause->next;
    else clause = ARENA_NEW(&p->scratch, Clause);
    *clause = (Clause){.kind = (uint8_t)kind, .span = span};
    return clause;
}

static void clauses_done(Parser *p, Clauses clauses) {
    if (clauses.first == NULL) return;
    clauses.last->next = p->spare_clauses;
    p->spare_clauses = clauses.first;
}

static void told_twice(Parser *p, const Clause *clause, const char *word) {
    REPORT(p, FINDING_TWICE, clause->span, "\"%s\" stands twice on this item: keep one.", word);
}

static void why_text(Parser *p, Text *into, const Clause *clause, const char *word) {
    if (into->span.hi != 0) told_twice(p, clause, word);
    else *into = clause->text;
}

/* Puts one clause of a reason where it belongs; makes the Why at the first. */
static void why_add(Parser *p, Why **why, const Clause *clause) {
    if (*why == NULL) *why = ARENA_NEW(p->job->arena, Why);
    (*why)->span = span_join((*why)->span, clause->span);
    if (clause->kind == CLAUSE_BECAUSE) why_text(p, &(*why)->because, clause, "because");
    else if (clause->kind == CLAUSE_AS) why_text(p, &(*why)->as, clause, "as");
    else if (clause->kind == CLAUSE_BY) {
        if ((*why)->by.name != 0 || (*why)->by_text.span.hi != 0) told_twice(p, clause, "by");
        else (*why)->by = clause->word, (*why)->by_text = clause->text;
    } else if ((*why)->source.name != 0) {
        told_twice(p, clause, "from");
    } else {
        (*why)->source = clause->word;
        (*why)->section = clause->section;
        (*why)->line = clause->line;
    }
}

Why *why_make(Parser *p, Clauses clauses) {
    Why *why = NULL;
    for (const Clause *clause = clauses.first; clause != NULL; clause = clause->next) why_add(p, &why, clause);
    clauses_done(p, clauses);
    return why;
}

/* What may follow an item, by its kind. */
enum { HAS_IF = 1, HAS_OTHERWISE = 2, HAS_ANSWERED = 4, HAS_BETWEEN = 8 };
static const struct {
    uint8_t has;
    const char *word;
} stmt_clauses[] = {
    [STMT_BAD] = {HAS_IF | HAS_OTHERWISE | HAS_ANSWERED | HAS_BETWEEN, ""},
    [STMT_SET] = {0, "set"},
    [STMT_CHECK] = {HAS_IF | HAS_OTHERWISE, "check"},
    [STMT_EXPECT] = {HAS_IF | HAS_OTHERWISE, "expect"},
    [STMT_LOOK] = {HAS_IF | HAS_OTHERWISE, "look"},
    [STMT_CALL] = {HAS_IF | HAS_OTHERWISE | HAS_ANSWERED, "call"},
    [STMT_BRIEF] = {0, "brief"},
    [STMT_WAIT] = {HAS_IF | HAS_OTHERWISE, "wait"},
    [STMT_CRANK] = {HAS_IF | HAS_OTHERWISE, "crank"},
    [STMT_TRY] = {HAS_IF | HAS_OTHERWISE | HAS_BETWEEN, "try"},
    [STMT_HOLD] = {0, "hold"},
    [STMT_RELEASE] = {0, "release"},
    [STMT_WATCH] = {0, "watch"},
    [STMT_PLAIN] = {0, "plain"},
    [STMT_NOTE] = {0, "note"},
    [STMT_CAUTION] = {0, "caution"},
    [STMT_WARNING] = {0, "warning"},
    [STMT_WHEN] = {HAS_OTHERWISE, "when"},
    [STMT_CASES] = {0, "cases"},
    [STMT_CASE] = {HAS_OTHERWISE, "case"},
    [STMT_FOR] = {0, "for"},
    [STMT_DO] = {0, "do"},
    [STMT_GO] = {0, "end"},
    [STMT_PHASE] = {HAS_OTHERWISE, "phase"},
    [STMT_MEMORY] = {0, "memory"},
};

/* What an item's clauses give, while its list is read. */
typedef struct {
    Stmt *stmt;
    StmtMore *more; /* NULL: nothing yet */
    LIST(Outcome) outcomes;
    EndTail **tails; /* where the next tail goes; NULL: no end before */
    bool otherwise;
} Following;

static StmtMore *more_of(Parser *p, Following *f) {
    if (f->more == NULL) f->more = arena_copy(p->job->arena, f->stmt->more, sizeof *f->more);
    f->stmt->more = f->more;
    return f->more;
}

static void no_otherwise(Parser *p, const Following *f, const Clause *clause) {
    const char *word = stmt_clauses[f->stmt->kind].word;
    bool conditional = clause->kind == CLAUSE_IF;
    REPORT(p, FINDING_OTHERWISE, clause->span,
           "\"%s\" has no outcome to tell apart, so %s cannot follow it. It follows what looks at something: check, "
           "expect, look, call, wait, crank, try%s.",
           word, conditional ? "\"if\"" : "\"otherwise\"", conditional ? "" : ", and when");
}

static void follow_outcome(Parser *p, Following *f, const Clause *clause) {
    int wanted = clause->kind == CLAUSE_IF ? HAS_IF : HAS_OTHERWISE;
    if (!(stmt_clauses[f->stmt->kind].has & wanted)) {
        no_otherwise(p, f, clause);
    } else if (f->otherwise) {
        REPORT(p, FINDING_ORDER, clause->span,
               "\"otherwise\" is the last outcome: nothing is left for what follows it.");
    } else if (f->stmt->kind == STMT_PHASE && clause->action.kind == ACTION_BLOCK) {
        REPORT(p, FINDING_ORDER, clause->span,
               "The way out of a phase is \"turn to\" a drill, an \"end\" or \"again\", not lines of its own.");
    }
    Outcome *outcome = ARENA_NEW(p->job->arena, Outcome);
    *outcome = (Outcome){.span = clause->span, .cond = clause->cond, .action = clause->action};
    list_add(&f->outcomes, outcome);
    f->otherwise = f->otherwise || clause->kind == CLAUSE_OTHERWISE;
    f->tails = clause->action.kind == ACTION_END ? &outcome->action.tails : NULL;
}

static void follow_tail(Parser *p, Following *f, const Clause *clause) {
    if (f->tails == NULL) {
        REPORT(p, FINDING_ORDER, clause->span, "\"%S\" belongs to an end: write \"end SECURED, %S\".",
               parser_text(p, clause->span), parser_text(p, clause->span));
        return;
    }
    *f->tails = clause->tail;
    f->tails = &clause->tail->next;
    if (f->outcomes.last != NULL) f->outcomes.last->span.hi = clause->span.hi;
}

static void follow_answered(Parser *p, Following *f, const Clause *clause) {
    if (!(stmt_clauses[f->stmt->kind].has & HAS_ANSWERED)) {
        REPORT(p, FINDING_ORDER, clause->span, "\"answered\" belongs to a call.");
        return;
    }
    if (f->stmt->pos.name != 0) told_twice(p, clause, "answered");
    f->stmt->pos = clause->word;
    if (clause->within.amount.span.hi != 0 || clause->within.name.name != 0)
        more_of(p, f)->timing = timing_make(p, &clause->within, NULL);
}

static void follow_between(Parser *p, Following *f, const Clause *clause) {
    if (!(stmt_clauses[f->stmt->kind].has & HAS_BETWEEN)) {
        REPORT(p, FINDING_ORDER, clause->span, "\"between tries\" belongs to a try.");
        return;
    }
    if (f->stmt->more->between != NULL) told_twice(p, clause, "between tries");
    more_of(p, f)->between = clause->block;
}

static void follow(Parser *p, Following *f, const Clause *clause) {
    switch ((ClauseKind)clause->kind) {
    case CLAUSE_FROM:
    case CLAUSE_BECAUSE:
    case CLAUSE_AS:
    case CLAUSE_BY:
    case CLAUSE_UNTIL: why_add(p, &f->stmt->why, clause); return;
    case CLAUSE_IF:
    case CLAUSE_OTHERWISE: follow_outcome(p, f, clause); return;
    case CLAUSE_TAIL: follow_tail(p, f, clause); return;
    case CLAUSE_ANSWERED: follow_answered(p, f, clause); return;
    case CLAUSE_BETWEEN: follow_between(p, f, clause); return;
    }
}

/* An expect is a promise with a deadline. */
static void check_expect(Parser *p, const Stmt *stmt) {
    if (stmt->kind != STMT_EXPECT || stmt->more->timing != NULL) return;
    uint32_t end = stmt->cond->span.hi;
    Finding *finding = REPORT(p, FINDING_NO_WITHIN, ((Span){end, end}),
                              "\"expect\" needs a time: write \"within 5 s\" after what is expected. To look once, use "
                              "\"check\".");
    FIX(p, finding, FIX_SHOWN, ((Span){end, end}), " within 5 s");
}

Stmt *stmt_make(Parser *p, Span span, Stmt fields, const StmtMore *more, Clauses clauses) {
    Stmt *stmt = arena_copy(p->job->arena, &fields, sizeof fields);
    stmt->span = span;
    stmt->more = &stmt_no_more;
    Following f = {.stmt = stmt};
    if (more != NULL) stmt->more = f.more = arena_copy(p->job->arena, more, sizeof *more);
    if (stmt->kind == STMT_GO && stmt->more->action->kind == ACTION_END) f.tails = &stmt->more->action->tails;
    for (const Clause *clause = clauses.first; clause != NULL; clause = clause->next) follow(p, &f, clause);
    clauses_done(p, clauses);
    stmt->outcomes = f.outcomes.first;
    check_expect(p, stmt);
    return stmt;
}

void case_add(Parser *p, Stmts *cases, Span span, Cond *cond, Block *block, Clauses clauses) {
    if (cases->last != NULL && cases->last->cond == NULL)
        REPORT(p, FINDING_ORDER, span, "\"otherwise\" is the last of the cases: nothing is left for what follows it.");
    Stmt *stmt = stmt_make(p, span_join(span, block->span), (Stmt){.kind = STMT_CASE, .cond = cond},
                           &(StmtMore){.block = block}, clauses);
    Outcome *otherwise = stmt->outcomes;
    stmt->outcomes = NULL;
    list_add(cases, stmt);
    if (otherwise == NULL) return;
    if (otherwise->action.kind != ACTION_BLOCK) {
        REPORT(p, FINDING_ORDER, otherwise->span, "The otherwise of cases is a block: put braces around it.");
        return;
    }
    Stmt *last = stmt_make(p, otherwise->span, (Stmt){.kind = STMT_CASE}, &(StmtMore){.block = otherwise->action.block},
                           (Clauses){NULL, NULL});
    list_add(cases, last);
}

Block *block_make(Parser *p, Span span, Stmts stmts) {
    Block *block = ARENA_NEW(p->job->arena, Block);
    *block = (Block){span, stmts.first};
    return block;
}

/* ---- conditions and events ---- */
Cond *cond_make(Parser *p, Cond fields) {
    return arena_copy(p->job->arena, &fields, sizeof fields);
}

Cond *cond_pair(Parser *p, CondKind kind, Cond *first, Cond *last) {
    first->next = last;
    return cond_make(
        p, (Cond){.kind = (uint8_t)kind, .span = {first->span.lo, last->span.hi}, .parts = first, .next = last});
}

Cond *cond_more(Cond *join, Cond *last) {
    join->next->next = last;
    join->next = last;
    join->span.hi = last->span.hi;
    return join;
}

Cond *cond_done(Cond *join) {
    join->next = NULL;
    return join;
}

Event *event_make(Parser *p, EventKind kind, Span span, Word ref, Word pos) {
    Event *event = ARENA_NEW(p->job->arena, Event);
    *event = (Event){.kind = (uint8_t)kind, .span = span, .ref = ref, .pos = pos};
    return event;
}

/* ---- declarations ---- */
Decl *decl_make(Parser *p, Span span, Decl fields, const DeclMore *more) {
    Decl *decl = arena_copy(p->job->arena, &fields, sizeof fields);
    decl->span = span;
    decl->more = more != NULL ? arena_copy(p->job->arena, more, sizeof *more) : &decl_no_more;
    return decl;
}

typedef struct {
    Span until;
    Text because, by;
} Tells;

static Tells tells_read(Parser *p, Clauses clauses) {
    Tells tells = {{0, 0}, {{0, 0}}, {{0, 0}}};
    for (const Clause *clause = clauses.first; clause != NULL; clause = clause->next) {
        if (clause->kind == CLAUSE_BECAUSE) why_text(p, &tells.because, clause, "because");
        else if (clause->kind == CLAUSE_BY) why_text(p, &tells.by, clause, "by");
        else if (tells.until.hi != 0) told_twice(p, clause, "until");
        else tells.until = clause->section.span;
    }
    clauses_done(p, clauses);
    return tells;
}

Decl *waive_make(Parser *p, Span span, Word gate, Word item, WordList *on, Clauses clauses) {
    Tells tells = tells_read(p, clauses);
    return decl_make(p, span, (Decl){.kind = DECL_WAIVE, .text = tells.because},
                     &(const DeclMore){.ref = gate, .ref2 = item, .words = on, .date = tells.until, .text2 = tells.by});
}

Craft *craft_make(Parser *p, Span span, Craft fields, Clauses clauses) {
    Craft *craft = arena_copy(p->job->arena, &fields, sizeof fields);
    craft->span = span;
    craft->why = why_make(p, clauses);
    return craft;
}

Craft *inoperative_make(Parser *p, Span span, WordList *words, Clauses clauses) {
    Tells tells = tells_read(p, clauses);
    return craft_make(
        p, span,
        (Craft){
            .kind = CRAFT_INOPERATIVE, .words = words, .until = tells.until, .because = tells.because, .by = tells.by},
        (Clauses){NULL, NULL});
}

/* ---- adaptations ---- */
Edit *edit_omit_line(Parser *p, Span span, Word source, Word section, Amount line, Clauses clauses) {
    Edit *edit = ARENA_NEW(p->job->arena, Edit);
    *edit = (Edit){.kind = EDIT_OMIT_LINE, .span = span, .ref = source, .to = section, .line = line};
    edit->why = why_make(p, clauses);
    return edit;
}

/* ---- gates ---- */
Rule *rule_new(Parser *p, Rule fields, Span span, const Rule *except) {
    Rule *rule = arena_copy(&p->scratch, &fields, sizeof fields);
    rule->span = span;
    if (except != NULL) {
        rule->except = except->except;
        rule->except_any = except->except_any;
        rule->except_written = true;
    }
    return rule;
}

Rule *rule_except(Parser *p, WordList *drills, bool any) {
    return rule_new(p, (Rule){.except = drills, .except_any = any}, (Span){0, 0}, NULL);
}

static void gate_rule(Parser *p, Gate *gate, const Gate *line, Span span) {
    if (gate->rule.span.hi != 0) {
        Finding *finding = REPORT(p, FINDING_TWO_RULES, span,
                                  "A gate has one rule, and this is its second: give it a gate of its own.");
        NOTE(p, finding, gate->rule.span, "The first rule stands here.");
        return;
    }
    gate->rule = line->rule;
    gate->rule_why = line->rule_why;
    gate->within = line->within;
    gate->in_any_drill = line->in_any_drill;
}

void gate_line(Parser *p, Gate *gate, Gate line, Span span) {
    if (line.rule.span.hi != 0) {
        gate_rule(p, gate, &line, span);
    } else if (line.never_waived) {
        gate->never_waived = true;
    } else if (line.severity.name != 0) {
        if (gate->severity.name != 0) REPORT(p, FINDING_TWICE, span, "A gate has one severity: keep one.");
        gate->severity = line.severity;
        gate->severity_why = line.severity_why;
    } else {
        if (gate->applies != NULL)
            REPORT(p, FINDING_TWICE, span, "A gate has one \"applies when\": join the two with \"and\".");
        gate->applies = line.applies;
        gate->applies_why = line.applies_why;
    }
}

void gate_why(Parser *p, Gate *gate, Clause *first, Clauses rest) {
    Clauses clauses = {first, first};
    if (rest.first != NULL) {
        first->next = rest.first;
        clauses.last = rest.last;
    }
    for (const Clause *clause = clauses.first; clause != NULL; clause = clause->next) why_add(p, &gate->why, clause);
    clauses_done(p, clauses);
}
