/* Adaptations: what a type, a variant and a tail change in a procedure or drill, put into its tree before anything is made of it.
   First come those of the type, then of what is derived from it, last those of the tail itself; of one aircraft in the order
   of the text. Each works on what those before it left. */
#include "sema/adapt.h"

enum { CANDIDATES = 8 };

typedef VEC(Line *) FoundLines;

typedef struct {
    LineTree *tree;
    const Decl *adapt;
    const Edit *edit;
    uint32_t level; /* how far above the tail the aircraft stands that it is for */
} Editing;

static Finding *report(const Editing *e, FindingKind kind, Span span, Str text) {
    return finding_add(e->tree->r->job->findings, kind, span, "%S", text);
}

#define TEXT(e, ...) format_text((e)->tree->r->job->arena, (e)->tree->r->job->names, __VA_ARGS__)

static void keep_edit(const Editing *e, const Line *line) {
    TailEdit made = {.edit = e->edit, .adapt = e->adapt, .of = e->tree->decl};
    if (line) made.stmt = line->stmt, made.id = line->id, made.phase = line_phase(line);
    vec_push(e->tree->r->job->arena, &e->tree->r->items->edits, made);
}

/* ---- which line is meant ---- */

/* "start", "cold-start" or "cold-start.start" before the id. */
static bool qualified(const Editing *e, const Line *line, Str before) {
    const Names *names = e->tree->r->job->names;
    Str procedure = name_text(names, e->tree->decl->name.name), phase = name_text(names, line_phase(line));
    if (str_eq(before, procedure)) return true;
    if (!phase.len) return false;
    if (str_eq(before, phase)) return true;
    return before.len == procedure.len + 1 + phase.len && str_starts(before, procedure) &&
           before.ptr[procedure.len] == '.' && str_ends(before, phase);
}

static void add_found(const Editing *e, FoundLines *found, Name id, Str before, bool gone) {
    for (Line *line = id ? map_get(&e->tree->by_id, id) : NULL; line; line = line->same)
        if (line->gone == gone && (!before.len || qualified(e, line, before)))
            vec_push(e->tree->r->job->arena, found, line);
}

/* What this tail has goes before what drops out. */
static FoundLines fitted_first(FoundLines found) {
    size_t n = 0;
    for (size_t i = 0; i < found.n; i++)
        if (!found.at[i]->dropped) found.at[n++] = found.at[i];
    if (n) found.n = n;
    return found;
}

static FoundLines find(const Editing *e, Name ref, bool gone) {
    const Names *names = e->tree->r->job->names;
    Str text = name_text(names, ref);
    FoundLines found = {0};
    add_found(e, &found, ref, STR(""), gone);
    for (size_t i = 0; i < text.len; i++)
        if (text.ptr[i] == '.')
            add_found(e, &found, name_find(names, str_slice(text, i + 1, text.len)), str_slice(text, 0, i), gone);
    return fitted_first(found);
}

static Name nearest(const Editing *e, Name ref) {
    Suggestion suggestion = suggestion_begin(e->tree->r->program, name_text(e->tree->r->job->names, ref));
    suggestion.distance = 6; /* ids are long */
    for (size_t i = 0; i < e->tree->lists.n; i++)
        for (const Line *line = e->tree->lists.at[i]->first; line; line = line->next)
            if (line->id) suggestion_offer(&suggestion, line->id);
    return suggestion.best;
}

static const char *ended_how(const Line *line) {
    return line->ended->kind == EDIT_OMIT ? "omitted" : "replaced";
}

static void report_gone(const Editing *e, Word ref, const Line *line) {
    bool odds = line->ended_level == e->level;
    Finding *finding = report(
        e, odds ? FINDING_ADAPT_ODDS : FINDING_ADAPT_UNKNOWN, ref.span,
        odds ? TEXT(e, "%N is %s already, so this cannot be done with it as well; one line is changed in one way",
                    ref.name, ended_how(line))
             : TEXT(e, "%N has no line %N any more: it was %s for the aircraft that this one is derived from",
                    e->tree->decl->name.name, ref.name, ended_how(line)));
    finding_note(e->tree->r->job->findings, finding, line->ended->span, "it is %s here", ended_how(line));
}

static void report_none(const Editing *e, Word ref) {
    FoundLines gone = find(e, ref.name, true);
    if (gone.n) {
        report_gone(e, ref, gone.at[0]);
        return;
    }
    Name near = nearest(e, ref.name);
    Findings *findings = e->tree->r->job->findings;
    Name of = e->tree->decl->name.name;
    Finding *finding =
        report(e, FINDING_ADAPT_UNKNOWN, ref.span,
               near ? TEXT(e, "%N has no line %N; did you mean %N?", of, ref.name, near)
                    : TEXT(e, "%N has no line %N; `startwright ids FILE %N` lists its lines", of, ref.name, of));
    if (near) finding_fix(findings, finding, FIX_REVIEW, ref.span, "%N", near);
}

static bool alone_in_phase(const FoundLines *found, size_t at) {
    Name phase = line_phase(found->at[at]);
    for (size_t i = 0; i < found->n; i++)
        if (i != at && line_phase(found->at[i]) == phase) return false;
    return phase != 0;
}

/* Lines are found newest first; the reader goes down the text. */
static void report_several(const Editing *e, Word ref, const FoundLines *found) {
    Findings *findings = e->tree->r->job->findings;
    Finding *finding = report(e, FINDING_ADAPT_UNCLEAR, ref.span,
                              TEXT(e, "%u lines of %N are called %N, so it is open which is meant", (uint64_t)found->n,
                                   e->tree->decl->name.name, ref.name));
    for (size_t i = found->n; i-- > 0 && found->n - i <= CANDIDATES;) {
        const Line *line = found->at[i];
        if (line->stmt->label.name == line->id)
            finding_note(findings, finding, line->stmt->span, "this one has the label, and is not alone with it");
        else if (alone_in_phase(found, i))
            finding_note(findings, finding, line->stmt->span, "this one is %N.%N", line_phase(line), line->id);
        else finding_note(findings, finding, line->stmt->span, "this one can be named once it has a label");
    }
}

static Line *line_find(const Editing *e, Word ref) {
    if (!ref.name) return NULL;
    FoundLines found = find(e, ref.name, false);
    if (found.n == 1) return found.at[0];
    if (found.n) report_several(e, ref, &found);
    else report_none(e, ref);
    return NULL;
}

/* ---- where lines may go ---- */

static Line *first_of_run(Line *line) {
    while (line->prev && line_is_remark(line->prev)) line = line->prev;
    return line;
}

static bool only_remarks(const Stmt *stmt) {
    for (; stmt; stmt = stmt->next)
        if (stmt->kind != STMT_NOTE && stmt->kind != STMT_CAUTION && stmt->kind != STMT_WARNING) return false;
    return true;
}

static const char *remark_word(const Line *line) {
    return line->stmt->kind == STMT_NOTE ? "note" : line->stmt->kind == STMT_CAUTION ? "caution" : "warning";
}

static bool report_place(const Editing *e, Word ref, const Line *line, Str text) {
    Finding *finding = report(e, FINDING_ADAPT_PLACE, ref.span, text);
    finding_note(e->tree->r->job->findings, finding, line->stmt->span, "the line stands here");
    return false;
}

static bool may_change(const Editing *e, Word ref, const Line *line) {
    if (line->stmt->kind != STMT_CASE) return true;
    return report_place(e, ref, line,
                        TEXT(e,
                             "%N is one case of several, which cover all there are; change lines inside it, or "
                             "replace all of the cases",
                             ref.name));
}

/* A note, caution or warning and the line it belongs to are never parted. */
static bool may_follow(const Editing *e, Word ref, const Line *line, bool remarks) {
    if (!may_change(e, ref, line)) return false;
    if (!line_is_remark(line) || remarks) return true;
    return report_place(e, ref, line,
                        TEXT(e,
                             "this would stand between a %s and the line that it is read before; name that line: "
                             "`before …` puts it above both",
                             remark_word(line)));
}

/* Behind the line, and behind what adaptations have put there already. */
static Line *behind(const Line *line) {
    Line *at = line->next;
    while (at && at->anchor == line) at = at->next;
    return at;
}

static bool has_lines(const Editing *e) {
    if (e->edit->block && e->edit->block->first) return true;
    report(e, FINDING_ADAPT_PLACE, e->edit->ref.span,
           e->edit->kind == EDIT_REPLACE
               ? TEXT(e, "nothing stands in the place of %N; write `omit %N`", e->edit->ref.name, e->edit->ref.name)
               : TEXT(e, "nothing is added here"));
    return false;
}

static void put_lines(const Editing *e, LineList *list, Line *before, const Line *anchor) {
    const Line *last = before ? before->prev : list->last;
    lines_put(e->tree, list, e->edit->block->first, before);
    Line *line = last ? last->next : list->first;
    for (; line != before; line = line->next) line->anchor = anchor;
}

/* ---- edits ---- */

static void add(const Editing *e) {
    bool after = e->edit->kind == EDIT_ADD_AFTER;
    Line *line = line_find(e, e->edit->ref);
    if (!line || !has_lines(e)) return;
    bool may = after ? may_follow(e, e->edit->ref, line, only_remarks(e->edit->block->first))
                     : may_change(e, e->edit->ref, line);
    if (!may) return;
    Line *before = after ? behind(line) : first_of_run(line);
    keep_edit(e, line);
    put_lines(e, line->list, before, after ? line : before->anchor);
}

static bool at_odds(const Editing *e, const Edit *earlier, uint32_t level, const char *what) {
    if (!earlier || level != e->level) return false;
    Finding *finding =
        report(e, FINDING_ADAPT_ODDS, e->edit->ref.span,
               TEXT(e, "%N is %s already for the same aircraft; say once what becomes of it", e->edit->ref.name, what));
    finding_note(e->tree->r->job->findings, finding, earlier->span, "it is %s here", what);
    return true;
}

/* What stands inside it is gone as well; lists come after the list that their owner stands in. */
static void end_inside(const LineTree *tree) {
    for (size_t i = 0; i < tree->lists.n; i++) {
        const Line *owner = tree->lists.at[i]->owner;
        if (!owner || !owner->gone) continue;
        for (Line *line = tree->lists.at[i]->first; line; line = line->next) {
            line->gone = true;
            line->ended = owner->ended;
            line->ended_level = owner->ended_level;
        }
    }
}

static void end_line(const Editing *e, Line *line) {
    keep_edit(e, line);
    line_unlink(line);
    line->gone = true;
    line->ended = e->edit;
    line->ended_level = e->level;
    if (line->holds) end_inside(e->tree);
}

static void replace(const Editing *e) {
    Line *line = line_find(e, e->edit->ref);
    if (!line || !has_lines(e) || !may_change(e, e->edit->ref, line) ||
        at_odds(e, line->worded, line->worded_level, "reworded"))
        return;
    put_lines(e, line->list, line, line->anchor);
    end_line(e, line);
}

static void omit(const Editing *e) {
    Line *line = line_find(e, e->edit->ref);
    if (!line || !may_change(e, e->edit->ref, line) || at_odds(e, line->worded, line->worded_level, "reworded") ||
        at_odds(e, line->moved, line->moved_level, "moved"))
        return;
    if (line->prev && line_is_remark(line->prev) && !line_is_remark(line)) {
        (void)report_place(e, e->edit->ref, line->prev,
                           TEXT(e,
                                "the %s above %N belongs to it, and would be read before another line; omit or move "
                                "the %s first",
                                remark_word(line->prev), e->edit->ref.name, remark_word(line->prev)));
        return;
    }
    end_line(e, line);
}

static bool inside(const Line *line, const Line *of) {
    for (; line; line = line->list->owner)
        if (line == of) return true;
    return false;
}

/* The line with the notes, cautions and warnings that are read before it. */
static void move_run(Line *line, LineList *list, Line *before, const Line *anchor) {
    Line *at = line_is_remark(line) ? line : first_of_run(line);
    while (at) {
        Line *next = at == line ? NULL : at->next;
        line_unlink(at);
        line_link(at, list, before);
        at->anchor = anchor;
        at = next;
    }
}

static void move(const Editing *e) {
    bool after = e->edit->kind == EDIT_MOVE_AFTER;
    Line *line = line_find(e, e->edit->ref), *to = line_find(e, e->edit->to);
    if (!line || !to || !may_change(e, e->edit->ref, line) || at_odds(e, line->moved, line->moved_level, "moved"))
        return;
    bool own_remark =
        to->list == line->list && !line_is_remark(line) && line_is_remark(to) && first_of_run(line) == first_of_run(to);
    if (inside(to, line) || own_remark) {
        (void)report_place(e, e->edit->to, to,
                           TEXT(e, "%N cannot be moved to a place within itself", e->edit->ref.name));
        return;
    }
    if (!(after ? may_follow(e, e->edit->to, to, line_is_remark(line)) : may_change(e, e->edit->to, to))) return;
    Line *before = after ? behind(to) : first_of_run(to);
    if (before && (before == line || (!line_is_remark(line) && before == first_of_run(line))))
        before = line->next; /* it stands there already */
    keep_edit(e, line);
    move_run(line, to->list, before, after ? to : before ? before->anchor : NULL);
    line->moved = e->edit;
    line->moved_level = e->level;
}

/* Verbs whose line on a card has a name that words can take the place of. */
static bool has_words(StmtKind kind) {
    return kind == STMT_SET || kind == STMT_CHECK || kind == STMT_EXPECT || kind == STMT_LOOK || kind == STMT_CALL ||
           kind == STMT_BRIEF || kind == STMT_HOLD || kind == STMT_RELEASE || kind == STMT_WATCH;
}

static void reword(const Editing *e) {
    Line *line = line_find(e, e->edit->ref);
    if (!line || at_odds(e, line->worded, line->worded_level, "reworded")) return;
    if (!has_words((StmtKind)line->stmt->kind)) {
        (void)report_place(
            e, e->edit->ref, line,
            TEXT(e, "%N has no thing that could be printed in other words; replace the line", e->edit->ref.name));
        return;
    }
    keep_edit(e, line);
    Why *why = ARENA_NEW(e->tree->r->job->arena, Why);
    if (line->stmt->why) *why = *line->stmt->why;
    why->as = e->edit->text;
    line->stmt->why = why;
    line->worded = e->edit;
    line->worded_level = e->level;
}

static void apply(Editing *e) {
    for (e->edit = e->adapt->u.edits; e->edit; e->edit = e->edit->next) {
        switch ((EditKind)e->edit->kind) {
        case EDIT_ADD_AFTER:
        case EDIT_ADD_BEFORE: add(e); break;
        case EDIT_REPLACE: replace(e); break;
        case EDIT_MOVE_AFTER:
        case EDIT_MOVE_BEFORE: move(e); break;
        case EDIT_REWORD: reword(e); break;
        case EDIT_OMIT: omit(e); break;
        case EDIT_OMIT_LINE: keep_edit(e, NULL); break;
        }
    }
}

/* ---- all of a tail ---- */

/* Of an adaptation that names several the farthest up counts. */
static uint32_t level_of(const Resolver *r, const Decl *adapt) {
    uint32_t level = 0, up = 0;
    size_t most = r->program->all[DECL_TAIL].n + 1;
    for (const Decl *at = r->tail->decl; at && most > 0; most--, up++) {
        for (const WordList *word = adapt->more->words; word; word = word->next)
            if (word->word.name == at->name.name) level = up;
        at = at->kind == DECL_TAIL ? program_parent(r->program, at) : NULL;
    }
    return level;
}

static const Decl *adapted_decl(const Resolver *r, Name name) {
    const Decl *decl = find_for_tail(r, DECL_PROCEDURE, name);
    return decl ? decl : find_for_tail(r, DECL_DRILL, name);
}

static LineTree *tree_of(Resolver *r, const Decl *decl) {
    LineTree *tree = map_get(&r->items->trees, decl->span.lo + 1);
    if (!tree) {
        tree = lines_open(r, decl);
        map_put(&r->items->trees, decl->span.lo + 1, tree);
    }
    return tree;
}

/* By level, from the type down; of one level in the order of the text. */
static size_t in_order(Resolver *r, Editing **out) {
    const Decl **adapts;
    size_t n = program_all_for(r->program, DECL_ADAPT, r->tail->decl, &adapts);
    Editing *list = *out = ARENA_ARRAY(r->job->arena, Editing, n + 1);
    for (size_t i = 0; i < n; i++) {
        Editing editing = {.adapt = adapts[i], .level = level_of(r, adapts[i])};
        size_t at = i;
        for (; at > 0 && list[at - 1].level < editing.level; at--) list[at] = list[at - 1];
        list[at] = editing;
    }
    return n;
}

void adaptations_apply(Resolver *r) {
    Editing *editings;
    size_t n = r->as_written ? 0 : in_order(r, &editings);
    for (size_t i = 0; i < n; i++) {
        const Decl *decl = adapted_decl(r, editings[i].adapt->name.name);
        if (!decl) continue; /* told once the items are made */
        editings[i].tree = tree_of(r, decl);
        apply(&editings[i]);
        r->adapted = true;
    }
    r->tail->edits = r->items->edits.at;
    r->tail->n_edits = (uint32_t)r->items->edits.n;
    for (size_t i = 0; i < n; i++)
        if (editings[i].tree)
            map_put(&r->items->adapted, editings[i].tree->decl->span.lo + 1,
                    (void *)(uintptr_t)lines_close(editings[i].tree));
}

const TailEdit *edit_around(const Resolver *r, const Decl *of, Span span) {
    for (uint32_t i = 0; i < r->tail->n_edits; i++) {
        const TailEdit *made = &r->tail->edits[i];
        const Block *block = made->edit->block;
        if (made->of == of && block && span.lo >= block->span.lo && span.hi <= block->span.hi) return made;
    }
    return NULL;
}

const Stmt *parts_of(const Resolver *r, const Decl *decl) {
    const Stmt *adapted = map_get(&r->items->adapted, decl->span.lo + 1);
    return adapted ? adapted : decl->u.parts;
}

/* ---- adaptations of what the tail has not ---- */

static bool made(const Resolver *r, Name name) {
    for (size_t i = 0; i < r->items->ids.n; i++)
        if (r->items->ids.at[i].name == name) return true;
    return false;
}

void adaptations_check(Resolver *r) {
    static const DeclKind kinds[] = {DECL_PROCEDURE, DECL_DRILL};
    const Decl **adapts;
    size_t n = r->as_written ? 0 : program_all_for(r->program, DECL_ADAPT, r->tail->decl, &adapts);
    for (size_t i = 0; i < n; i++) {
        Word word = adapts[i]->name;
        if (made(r, word.name)) continue;
        const Decl *decl = resolve_decl(r, word, kinds, 2, "a procedure or a drill");
        if (!decl) continue;
        finding_add(r->job->findings, FINDING_ADAPT_UNKNOWN, word.span,
                    decl->kind == DECL_DRILL ? "no procedure of %N comes to the drill %N"
                                             : "for %N the procedure %N can never apply: it is for equipment that is "
                                               "not fitted",
                    r->tail->name, word.name);
    }
}
