/* What can be said of the declarations before any aircraft is looked at: positions, effects, sources, names in lists, circles. */
#include "base/limits.h"
#include "sema/craft.h"
#include "sema/handbook.h"
#include "sema/ranks.h"

static bool one_of(const Program *program, Name name, const DeclKind *kinds, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (map_get(&program->by_kind[kinds[i]], name)) return true;
    return false;
}

static void check_words(Program *program, const WordList *words, const DeclKind *kinds, size_t n, const char *what) {
    for (; words; words = words->next)
        if (words->word.name && !one_of(program, words->word.name, kinds, n))
            (void)report_unknown(program, words->word, words->word.name, kinds, n, what);
}

static const DeclKind source_kinds[] = {DECL_SOURCE};
static const DeclKind craft_kinds[] = {DECL_AIRCRAFT, DECL_TAIL};
static const DeclKind start_kinds[] = {DECL_PROCEDURE, DECL_DRILL};
static const DeclKind standard_kinds[] = {DECL_STANDARD};
static const DeclKind gate_kinds[] = {DECL_GATE};

/* ---- positions and their effects ---- */

static void check_effect(Program *program, const Decl *decl, const Effect *effect) {
    static const DeclKind controls[] = {DECL_CONTROL};
    Findings *findings = program->job->findings;
    bool engine = str_eq(name_text(program->job->names, effect->ref.name), STR("engine"));
    if (!effect->ref.name) return;
    if (decl->kind != DECL_CONTROL)
        finding_add(findings, FINDING_EFFECT_WRONG, effect->span,
                    "only a control can do something to an engine or a starter; %N is %s", decl->name.name,
                    decl_kind_words(decl->kind));
    else if (effect->kind != EFFECT_POWERS && !engine)
        finding_add(findings, FINDING_EFFECT_WRONG, effect->ref.span,
                    "only `engine` is stopped or turned; %N is not the engine", effect->ref.name);
    else if (effect->kind == EFFECT_POWERS && engine)
        finding_add(findings, FINDING_EFFECT_WRONG, effect->ref.span,
                    "what is powered is the control that turns the engine, such as the starter, not the engine");
    else if (effect->kind == EFFECT_POWERS && !map_get(&program->by_kind[DECL_CONTROL], effect->ref.name))
        (void)report_unknown(program, effect->ref, effect->ref.name, controls, 1, "the control that is powered");
}

/* The earlier entry of the same word. Most things have few positions, and need no map for it. */
static const PositionDecl *earlier_position(const Decl *decl, const PositionDecl *position, NameMap *seen, uint32_t n) {
    enum { FEW = 8 };
    if (!position->word.name) return NULL;
    if (n < FEW) {
        for (const PositionDecl *at = decl->positions; at != position; at = at->next)
            if (at->word.name == position->word.name) return at;
        return NULL;
    }
    if (n == FEW)
        for (const PositionDecl *at = decl->positions; at != position; at = at->next)
            if (at->word.name) map_put(seen, at->word.name, (void *)(uintptr_t)at);
    const PositionDecl *first = map_get(seen, position->word.name);
    if (!first) map_put(seen, position->word.name, (void *)(uintptr_t)position);
    return first;
}

static void check_positions(Program *program, const Decl *decl) {
    Findings *findings = program->job->findings;
    NameMap seen = {.arena = program->job->arena};
    uint32_t n = 0;
    for (const PositionDecl *position = decl->positions; position; position = position->next, n++) {
        const PositionDecl *first = earlier_position(decl, position, &seen, n);
        if (first) {
            Finding *finding = finding_add(findings, FINDING_POSITION_TWICE, position->word.span,
                                           "%N of %N is listed twice", position->word.name, decl->name.name);
            finding_note(findings, finding, first->word.span, "the first %N stands here", position->word.name);
        }
        for (const Effect *effect = position->effects; effect; effect = effect->next)
            check_effect(program, decl, effect);
    }
    bool needs = decl->kind == DECL_CONTROL || decl->kind == DECL_SCENE;
    const ProgramFile *file = program_file_of(program, decl->span);
    if (needs && !n && file && !file->file->broken)
        finding_add(findings, FINDING_NO_POSITIONS, decl->name.span,
                    "%N has no positions: list where it can stand, as in { OFF, ON }", decl->name.name);
    if (n >= LIMIT_FACT_VALUES)
        finding_add(findings, FINDING_POSITIONS_MANY, decl->name.span, "%N has %u positions; at most %u are read",
                    decl->name.name, (uint64_t)n, (uint64_t)LIMIT_FACT_VALUES - 1);
}

static void check_gauge(Program *program, const Decl *decl) {
    Resolver r = {.job = program->job, .program = program};
    if (decl->more->unit.name) (void)resolve_unit(&r, decl->more->unit);
}

/* ---- sources of statements ---- */

static void check_source(Program *program, Word source) {
    if (source.name && !map_get(&program->by_kind[DECL_SOURCE], source.name))
        (void)report_unknown(program, source, source.name, source_kinds, 1, "a source");
}

static void check_why(Program *program, const Why *why) {
    if (why) check_source(program, why->source);
}

static void check_stmts(Program *program, const Stmt *stmt, uint32_t depth);

static void check_action(Program *program, const Action *action, uint32_t depth) {
    if (action && action->block) check_stmts(program, action->block->first, depth + 1);
}

static void check_stmts(Program *program, const Stmt *stmt, uint32_t depth) {
    if (depth > 2 * LIMIT_NESTING) return; /* the parser has reported it */
    for (; stmt; stmt = stmt->next) {
        check_why(program, stmt->why);
        if (stmt->label.name) map_put(&program->labels, stmt->label.name, program);
        for (const Outcome *outcome = stmt->outcomes; outcome; outcome = outcome->next)
            check_action(program, &outcome->action, depth);
        if (stmt->more->block) check_stmts(program, stmt->more->block->first, depth + 1);
        if (stmt->more->between) check_stmts(program, stmt->more->between->first, depth + 1);
        check_action(program, stmt->more->action, depth);
        check_stmts(program, stmt->more->parts, depth + 1);
    }
}

static void check_craft(Program *program, const Decl *decl) {
    for (const Craft *craft = decl->u.craft; craft; craft = craft->next) check_why(program, craft->why);
    if (decl->kind == DECL_TAIL && decl->more->ref.name && !one_of(program, decl->more->ref.name, craft_kinds, 2))
        (void)report_unknown(program, decl->more->ref, decl->more->ref.name, craft_kinds, 2, "an aircraft or a tail");
}

static void check_gate(Program *program, const Decl *decl) {
    const Gate *gate = decl->u.gate;
    check_why(program, decl->more->why);
    if (!gate) return;
    check_why(program, gate->why);
    check_why(program, gate->severity_why);
    check_why(program, gate->applies_why);
    check_why(program, gate->rule_why);
}

/* ---- lists of names ---- */

static bool is_finding_id(const Program *program, Name name) {
    Str text = name_text(program->job->names, name);
    for (int i = 1; i < FINDING_COUNT; i++)
        if (str_eq(text, str_of(finding_info[i].id))) return true;
    return false;
}

static void check_path(Program *program, Word word) {
    Str path = name_text(program->job->names, word.name);
    if (program_find(program, DECL_STANDARD, word.name)) return; /* it builds on another standard */
    for (size_t i = 0; i < program->order.n; i++)
        if (str_eq(program->order.at[i]->file->source->path, path)) return;
    if (program_first(program, FINDING_NAME_UNKNOWN, word.span))
        finding_add(program->job->findings, FINDING_NAME_UNKNOWN, word.span,
                    "%N is no file of gates that is read here; bring it in with `use %N`", word.name, word.name);
}

static void check_rank(Program *program, const Standing *standing) {
    static const char *const ranks[] = {"must", "should", "note"};
    for (const WordList *word = standing->words; word; word = word->next)
        if (word->word.name && !one_of(program, word->word.name, gate_kinds, 1) &&
            !is_finding_id(program, word->word.name))
            (void)report_unknown(program, word->word, word->word.name, gate_kinds, 1, "a gate or a check");
    Str rank = name_text(program->job->names, standing->rank.name);
    for (size_t i = 0; i < 3; i++)
        if (str_eq(rank, str_of(ranks[i]))) return;
    if (rank.len)
        finding_add(program->job->findings, FINDING_NAME_UNKNOWN, standing->rank.span,
                    "%S is no rank; it is must, should or note", rank);
}

static void check_standard(Program *program, const Decl *decl) {
    ranks_check(program, decl);
    for (const Standing *standing = decl->u.standing; standing; standing = standing->next) {
        check_why(program, standing->why);
        switch ((StandingKind)standing->kind) {
        case STANDING_HOLDS:
            for (const WordList *word = standing->words; word; word = word->next)
                if (word->word.name) check_path(program, word->word);
            break;
        case STANDING_RANK: check_rank(program, standing); break;
        case STANDING_GATE:
            if (standing->gate) check_gate(program, standing->gate);
            break;
        }
    }
}

static void check_document(Program *program, const Decl *decl) {
    for (const DocLine *line = decl->u.doclines; line; line = line->next) {
        if (line->kind == DOC_FOR) check_words(program, line->words, craft_kinds, 2, "an aircraft or a tail");
        if (line->kind == DOC_STANDARD) check_words(program, line->words, standard_kinds, 1, "a standard");
        if (line->kind == DOC_CONTAINS) check_words(program, line->words, start_kinds, 2, "a procedure or a drill");
    }
}

static void check_waiver(Program *program, const Decl *decl) {
    Name gate = decl->more->ref.name;
    check_words(program, decl->more->words, craft_kinds, 2, "an aircraft or a tail");
    if (gate && !one_of(program, gate, gate_kinds, 1) && !is_finding_id(program, gate))
        (void)report_unknown(program, decl->more->ref, gate, gate_kinds, 1, "a gate or a check");
}

static void check_adapt(Program *program, const Decl *decl) {
    check_words(program, decl->more->words, craft_kinds, 2, "an aircraft or a tail");
    if (decl->name.name && !one_of(program, decl->name.name, start_kinds, 2))
        (void)report_unknown(program, decl->name, decl->name.name, start_kinds, 2, "a procedure or a drill");
    for (const Edit *edit = decl->u.edits; edit; edit = edit->next) {
        check_why(program, edit->why);
        if (edit->kind == EDIT_OMIT_LINE) check_source(program, edit->ref);
        if (edit->block) check_stmts(program, edit->block->first, 0);
    }
}

/* ---- a source's own lines ---- */

static void check_lines(Program *program, const Decl *decl) {
    NameMap seen = {.arena = program->job->arena};
    if (!decl->u.lines)
        finding_add(
            program->job->findings, FINDING_HANDBOOK_LINES, decl->more->ref2.span,
            "no line is listed here, so nothing can be compared with it; list them, as in { 1 \"Parking brake\" }");
    for (const LineDecl *line = decl->u.lines; line; line = line->next) {
        uint32_t number = number_written(program->job, line->number);
        const LineDecl *first = map_get(&seen, number + 1);
        map_put(&seen, number + 1, (void *)(uintptr_t)line);
        if (!first) continue;
        Finding *finding =
            finding_add(program->job->findings, FINDING_HANDBOOK_LINES, line->number.span,
                        "line %u is listed twice; a number stands for one line of the source", (uint64_t)number);
        finding_note(program->job->findings, finding, first->number.span, "the first line %u stands here",
                     (uint64_t)number);
    }
    const Decl *first = program_lines(program, decl->more->ref.name, decl->more->ref2.name);
    if (first == decl || !first) return;
    Finding *finding =
        finding_add(program->job->findings, FINDING_HANDBOOK_LINES, decl->more->ref.span,
                    "the lines of %N %N are listed a second time; write them in one list, in the order of the source",
                    decl->more->ref.name, decl->more->ref2.name);
    finding_note(program->job->findings, finding, first->more->ref.span, "the first list stands here");
}

static void check_decl(Program *program, const Decl *decl) {
    static const DeclKind tails[] = {DECL_TAIL};
    check_why(program, decl->more->why);
    switch ((DeclKind)decl->kind) {
    case DECL_CONTROL:
    case DECL_SCENE:
    case DECL_LIGHT:
    case DECL_CALL: check_positions(program, decl); return;
    case DECL_GAUGE: check_gauge(program, decl); return;
    case DECL_AIRCRAFT:
    case DECL_TAIL: check_craft(program, decl); return;
    case DECL_PROCEDURE:
    case DECL_DRILL:
        check_words(program, decl->more->words, craft_kinds, 2, "an aircraft or a tail");
        check_stmts(program, decl->u.parts, 0);
        return;
    case DECL_GROUP: check_stmts(program, decl->u.parts, 0); return;
    case DECL_GATE: check_gate(program, decl); return;
    case DECL_STANDARD: check_standard(program, decl); return;
    case DECL_WAIVE: check_waiver(program, decl); return;
    case DECL_ADAPT: check_adapt(program, decl); return;
    case DECL_DOCUMENT: check_document(program, decl); return;
    case DECL_FLEET: check_words(program, decl->more->words, tails, 1, "a tail"); return;
    case DECL_LINES:
        check_source(program, decl->more->ref);
        check_lines(program, decl);
        return;
    case DECL_BAD:
    case DECL_USE:
    case DECL_PERSON:
    case DECL_BRIEFING:
    case DECL_KIND:
    case DECL_SOURCE:
    case DECL_EVENT:
    case DECL_STATE: return;
    case DECL_WORDING:
        finding_add(program->job->findings, FINDING_OUTPUT_LATER, decl->name.span,
                    "this edition of Startwright prints in no other words: %N is read, and no output uses it",
                    decl->name.name);
        return;
    }
}

/* ---- circles of states and of events ---- */

enum { WALK_NEW, WALK_OPEN, WALK_DONE };

typedef struct {
    Program *program;
    uint8_t *walk; /* by Name of a state or event */
    Decls stack;
    bool events;
} Walker;

static void walk_decl(Walker *walker, const Decl *decl, Span from);

static void walk_name(Walker *walker, Word ref) {
    const Names *names = walker->program->job->names;
    Str text = name_text(names, ref.name);
    size_t dot = text.len;
    while (dot > 0 && text.ptr[dot - 1] != '.') dot--; /* left.cranking is the state cranking */
    Name name = dot ? name_find(names, str_slice(text, dot, text.len)) : ref.name;
    const Decl *decl = name ? program_find(walker->program, walker->events ? DECL_EVENT : DECL_STATE, name) : NULL;
    if (decl) walk_decl(walker, decl, ref.span);
}

static void walk_cond(Walker *walker, const Cond *cond, uint32_t depth) {
    if (!cond || depth > 2 * LIMIT_NESTING) return;
    if (cond->kind == COND_NAME) walk_name(walker, cond->ref);
    for (const Cond *part = cond_parts(cond); part; part = part->next) walk_cond(walker, part, depth + 1);
}

static void report_name_circle(Walker *walker, const Decl *decl, Span from) {
    Program *program = walker->program;
    Finding *finding = finding_add(program->job->findings, FINDING_NAME_CIRCLE, from,
                                   "%N is said in terms of itself; say it in terms of things", decl->name.name);
    size_t at = walker->stack.n;
    while (at > 0 && walker->stack.at[at - 1] != decl) at--;
    for (size_t i = at ? at - 1 : 0; i < walker->stack.n; i++)
        finding_note(program->job->findings, finding, walker->stack.at[i]->name.span,
                     i + 1 < walker->stack.n ? "%N leads to %N" : "%N leads back to %N", walker->stack.at[i]->name.name,
                     i + 1 < walker->stack.n ? walker->stack.at[i + 1]->name.name : decl->name.name);
}

static void walk_decl(Walker *walker, const Decl *decl, Span from) {
    uint8_t *walk = &walker->walk[decl->name.name];
    if (*walk == WALK_OPEN) report_name_circle(walker, decl, from);
    if (*walk != WALK_NEW) return;
    if (walker->stack.n >= LIMIT_NESTING) {
        if (program_first(walker->program, FINDING_CONDITION_DEEP, from))
            finding_add(walker->program->job->findings, FINDING_CONDITION_DEEP, from,
                        "names lead to one another more than %u deep here", (uint64_t)LIMIT_NESTING);
        return;
    }
    *walk = WALK_OPEN;
    vec_push(walker->program->job->arena, &walker->stack, decl);
    if (walker->events) {
        for (const Event *event = decl->u.event; event; event = event->next)
            if (event->kind == EVENT_NAME) walk_name(walker, event->ref);
    } else walk_cond(walker, decl->u.cond, 0);
    walker->stack.n--;
    *walk = WALK_DONE;
}

static void check_circles(Program *program) {
    Walker walker = {.program = program};
    for (int events = 0; events < 2; events++) {
        const Decls *decls = &program->all[events ? DECL_EVENT : DECL_STATE];
        walker.events = events != 0;
        walker.walk = ARENA_ARRAY(program->job->arena, uint8_t, program->job->names->n);
        for (size_t i = 0; i < decls->n; i++)
            if (decls->at[i]->name.name) walk_decl(&walker, decls->at[i], decls->at[i]->name.span);
    }
}

void program_check(Program *program) {
    for (size_t i = 0; i < program->order.n; i++)
        for (const Decl *decl = program->order.at[i]->file->first; decl; decl = decl->next) check_decl(program, decl);
    check_circles(program);
    program_check_papers(program);
}
