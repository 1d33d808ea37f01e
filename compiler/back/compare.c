/* The comparison with the handbook's own lines, in the handbook's order: its line, ours, how they stand to one another, why, and
   room for the initials of whoever compared them. */
#include "back/reasons.h"
#include "back/record.h"
#include "base/limits.h"
#include "front/front.h"
#include "sema/handbook.h"

typedef struct {
    const BackInput *input;
    TailLines lines;
    Record *record;
    const Decl *list; /* the source's lines that are compared */
    const Decl *of;   /* the procedure that is that section; NULL: whatever names one of its lines */
    size_t *order;    /* by line of the list: the last of ours that takes it over, + 1 */
    uint32_t same, changed, left, added, open;
} Collation;

static Str number_words(const Collation *c, uint64_t number) {
    return format_text(c->record->arena, NULL, "%u", number);
}

/* ---- which of ours take a line over ---- */

static bool names_list(const Collation *c, const Why *why) {
    return why && why->source.name == c->list->more->ref.name && why->section.name == c->list->more->ref2.name;
}

static uint32_t number_of(const Collation *c, const Why *why) {
    return names_list(c, why) ? number_written(c->input->job, why->line) : 0;
}

static bool stmt_names(const Collation *c, const Stmt *stmt, uint32_t number, uint32_t depth) {
    if (!stmt || depth > 4 * LIMIT_NESTING) return false;
    if (number_of(c, stmt->why) == number) return true;
    const Stmt *inside[] = {stmt->more->block ? stmt->more->block->first : NULL,
                            stmt->more->between ? stmt->more->between->first : NULL, stmt->more->parts};
    for (size_t i = 0; i < sizeof inside / sizeof *inside; i++)
        for (const Stmt *at = inside[i]; at; at = at->next)
            if (stmt_names(c, at, number, depth + 1)) return true;
    return false;
}

/* The adaptation that took the line's statement out or put others in its place; the line itself where it leaves it out by number. */
static const TailEdit *ended_by(const Collation *c, uint32_t number) {
    for (uint32_t i = 0; i < c->input->tail->n_edits; i++) {
        const TailEdit *made = &c->input->tail->edits[i];
        const Edit *edit = made->edit;
        if (c->of && made->of != c->of) continue;
        if (edit->kind == EDIT_OMIT_LINE) {
            Why named = {.source = edit->ref, .section = edit->to, .line = edit->line};
            if (number_of(c, &named) == number) return made;
        }
        if ((edit->kind == EDIT_OMIT || edit->kind == EDIT_REPLACE) && stmt_names(c, made->stmt, number, 0))
            return made;
    }
    return NULL;
}

static bool of_comparison(const Collation *c, const TailLine *line) {
    return !c->of || line->of == c->of;
}

static bool takes_over(const Collation *c, const TailLine *line, uint32_t number, const TailEdit *ended) {
    if (!of_comparison(c, line) || (line->engine != NO_INDEX && line->engine > 0)) return false;
    if (line->own && number_of(c, line->why) == number) return true;
    bool silent = !line->own || !number_of(c, line->why);
    return silent && ended && ended->edit->kind == EDIT_REPLACE && line->item->brought == ended;
}

/* ---- how it stands ---- */

static bool has_word(Str words, Str word) {
    for (size_t i = 0; i + word.len <= words.len; i++)
        if (str_eq(str_slice(words, i, i + word.len), word)) return true;
    return false;
}

static bool is_capital(char c) {
    return c >= 'A' && c <= 'Z';
}
static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* A key may repeat the position or a number; then ours says the same. */
static bool key_kept(Str key, Str words) {
    for (size_t i = 0; i < key.len;) {
        size_t lo = i;
        while (i < key.len && key.ptr[i] != ' ') i++;
        Str word = str_slice(key, lo, i);
        while (i < key.len && key.ptr[i] == ' ') i++;
        bool position = word.len > 1 && is_capital(word.ptr[0]) && is_capital(word.ptr[1]),
             number = word.len && is_digit(word.ptr[0]);
        if ((position || number) && !has_word(words, word)) return false;
    }
    return true;
}

typedef struct {
    const char *standing;
    Reason reason;
    Buf ours;
    bool conditional, inoperative, dropped;
    const TailLine *first;
} Found;

static void add_ours(Collation *c, Found *found, const TailLine *line) {
    if (found->first) buf_char(&found->ours, '\n');
    if (!c->of) buf_format(&found->ours, c->input->job->names, "%N: ", line->of->name.name);
    buf_str(&found->ours, line->words);
    if (!found->first) found->first = line;
    found->conditional |= line->conditional;
    found->inoperative |= line->item->inoperative;
    found->dropped |= line->dropped;
}

static const CraftLine *inoperative_line(const Collation *c, const TailLine *line) {
    const Tail *tail = c->input->tail;
    if (line->item->thing != NO_INDEX)
        return craft_about(tail, CRAFT_INOPERATIVE, tail->things[line->item->thing].name);
    return line->item->stmt && line->item->stmt->cond
               ? craft_about(tail, CRAFT_INOPERATIVE, line->item->stmt->cond->ref.name)
               : NULL;
}

/* Our lines go in the handbook's order as long as each stands behind those before it. */
static bool out_of_order(const Collation *c, size_t index, size_t at) {
    for (size_t i = 0; i < index; i++)
        if (c->order[i] > at + 1) return true;
    return false;
}

static void judge(Collation *c, Found *found, Str key, size_t index, const TailEdit *ended) {
    const TailEdit *worded = NULL, *moved = NULL;
    for (uint32_t i = 0; found->first && i < c->input->tail->n_edits; i++) {
        const TailEdit *made = &c->input->tail->edits[i];
        if (made->of != found->first->of || made->id != found->first->item->named) continue;
        if (made->edit->kind == EDIT_REWORD) worded = made;
        if (made->edit->kind == EDIT_MOVE_AFTER || made->edit->kind == EDIT_MOVE_BEFORE) moved = made;
    }
    if (!found->first && !ended) {
        found->standing = "NOT TAKEN OVER";
        c->open++;
        return;
    }
    if (!found->first || found->dropped) {
        found->standing = found->first ? "left out: not fitted" : "left out";
        Name thing = found->first ? dropped_thing(c->input->tail, found->first->item->stmt) : 0;
        const CraftLine *line = thing ? craft_about(c->input->tail, CRAFT_NOT_FITTED, thing) : NULL;
        found->reason = found->first ? reason_of_craft(c->input, line) : reason_of_edit(c->input, ended);
        if (found->first && !found->reason.given)
            found->reason = (Reason){.reason = STR("the aircraft has none"), .given = true};
        c->left++;
        return;
    }
    bool unlike = !key_kept(key, buf_view(&found->ours)),
         astray = out_of_order(c, index, (size_t)(found->first - c->lines.at));
    found->standing = found->inoperative                     ? "INOP"
                      : found->first->item->brought || ended ? "changed"
                      : unlike                               ? "changed: says otherwise"
                      : worded                               ? "changed: words"
                      : moved                                ? "changed: moved"
                      : astray                               ? "changed: other order"
                      : found->conditional                   ? "changed: only in some cases"
                                                             : "same";
    bool same = str_eq(str_of(found->standing), STR("same"));
    if (found->inoperative) found->reason = reason_of_craft(c->input, inoperative_line(c, found->first));
    else if (!same)
        found->reason = reason_of_edit(c->input, ended    ? ended
                                                 : worded ? worded
                                                 : moved  ? moved
                                                          : found->first->item->brought);
    c->same += same;
    c->changed += !same;
}

/* ---- rows ---- */

static void row(Collation *c, Str number, Str theirs, Str ours, const char *standing, Str reason) {
    Str cells[] = {number, theirs, ours, str_of(standing), reason, STR("")};
    record_row(c->record, cells);
}

static Str why_cell(const Collation *c, const Found *found) {
    if (found->reason.given) return reason_cell(c->input, &found->reason);
    const Stmt *stmt = found->first ? found->first->item->stmt : NULL;
    Buf buf = {c->record->arena, NULL, 0, 0};
    if (stmt && stmt->why && stmt->why->because.span.hi) buf_filled(&buf, c->input, stmt->why->because, NO_INDEX);
    return buf_view(&buf);
}

/* A line of ours that takes over none of the handbook's; those that are only there for others are told by these. */
static bool adds(const Collation *c, const TailLine *line) {
    StmtKind kind = line->item->kind;
    if (line->of != c->of || line->dropped || (line->engine != NO_INDEX && line->engine > 0)) return false;
    if (kind == STMT_PHASE || kind == STMT_CASES || kind == STMT_CASE || kind == STMT_TRY || kind == STMT_MEMORY)
        return false;
    if (line->own && number_of(c, line->why)) return false;
    for (const LineDecl *at = c->list->u.lines; at; at = at->next) {
        const TailEdit *ended = ended_by(c, number_written(c->input->job, at->number));
        if (ended && takes_over(c, line, number_written(c->input->job, at->number), ended)) return false;
    }
    return true;
}

static void added_row(Collation *c, const TailLine *line) {
    Reason reason = reason_of_edit(c->input, line->item->brought);
    Found found = {.first = line, .reason = reason};
    Str cell = why_cell(c, &found);
    if (!cell.len && line->own)
        cell = format_text(c->record->arena, c->input->job->names, "from %N %N", line->why->source.name,
                           line->why->section.name);
    row(c, STR(""), STR(""), line->words, "added", cell);
    c->added++;
}

/* Ours that follow a line which takes one over, up to the next that does. */
static void added_behind(Collation *c, size_t at) {
    for (size_t i = at; i < c->lines.n && c->lines.at[i].of == c->of; i++) {
        const TailLine *line = &c->lines.at[i];
        if (line->own && number_of(c, line->why)) return;
        if (adds(c, line)) added_row(c, line);
    }
}

static size_t first_of(const Collation *c) {
    size_t i = 0;
    while (i < c->lines.n && c->lines.at[i].of != c->of) i++;
    return i;
}

static void compare_line(Collation *c, const LineDecl *theirs, size_t index) {
    uint32_t number = number_written(c->input->job, theirs->number);
    const TailEdit *ended = ended_by(c, number);
    Found found = {.ours = {c->record->arena, NULL, 0, 0}};
    size_t last = 0;
    for (size_t i = 0; i < c->lines.n; i++)
        if (takes_over(c, &c->lines.at[i], number, ended)) add_ours(c, &found, &c->lines.at[i]), last = i + 1;
    Job job = *c->input->job;
    Str key = text_raw(&job, theirs->text);
    judge(c, &found, key, index, ended);
    c->order[index] = found.dropped ? 0 : last;
    row(c, number_words(c, number), key, found.first ? buf_view(&found.ours) : STR("-"), found.standing,
        why_cell(c, &found));
    if (c->of && last && !found.dropped) added_behind(c, last);
}

static void compare_list(Collation *c) {
    static const RecordColumn columns[] = {{"Line", 4},    {"The handbook's", 22}, {"Ours", 38},
                                           {"Stands", 14}, {"Reason", 26},         {"Initials", 8}};
    size_t n = 0, index = 0;
    for (const LineDecl *line = c->list->u.lines; line; line = line->next) n++;
    c->order = ARENA_ARRAY(c->record->arena, size_t, n + 1);
    Str section = format_text(c->record->arena, c->input->job->names, "%S; %N",
                              source_title(c->input, c->list->more->ref.name), c->list->more->ref2.name);
    Job job = *c->input->job;
    record_head(c->record,
                c->of ? format_text(c->record->arena, NULL, "%S (%S)", text_raw(&job, c->of->text), section) : section);
    record_table(c->record, STR(""), columns, sizeof columns / sizeof *columns);
    if (c->of) added_behind(c, first_of(c));
    for (const LineDecl *line = c->list->u.lines; line; line = line->next, index++) compare_line(c, line, index);
}

/* ---- which lists ---- */

static bool used(const Collation *c) {
    for (size_t i = 0; i < c->lines.n; i++)
        if (c->lines.at[i].own && number_of(c, c->lines.at[i].why)) return true;
    return false;
}

static void compare_all(Collation *c) {
    const Decl **lists;
    size_t n = c->input->program ? program_all(c->input->program, DECL_LINES, &lists) : 0;
    for (size_t i = 0; i < n; i++) {
        bool headed = false;
        c->list = lists[i];
        for (size_t k = 0; k < c->lines.n; k++) {
            c->of = c->lines.at[k].of;
            if ((k && c->lines.at[k - 1].of == c->of) || !heads_section(c->of, c->list)) continue;
            compare_list(c);
            headed = true;
        }
        c->of = NULL;
        if (!headed && used(c)) compare_list(c);
    }
}

Record compare_record(const BackInput *input) {
    Record record = record_open(
        input, format_text(input->job->arena, NULL, "%S compared with the handbook, line by line", input->tail->title));
    record_words(&record,
                 STR("\"Same\" says that a line of ours takes the handbook's over, at its place, as the aircraft's "
                     "text has it. Whether it "
                     "says the same as the handbook's is for whoever compares them: put your initials to each line."));
    Collation c = {.input = input, .lines = tail_lines(input), .record = &record};
    compare_all(&c);
    if (!c.list || !(c.same + c.changed + c.left + c.added + c.open))
        record_words(
            &record,
            STR("No lines of a handbook are declared for this tail's procedures (`lines SOURCE SECTION { … }`)."));
    else
        record_words(&record,
                     format_text(record.arena, NULL, "%u same, %u changed, %u left out, %u added, %u not taken over.",
                                 (uint64_t)c.same, (uint64_t)c.changed, (uint64_t)c.left, (uint64_t)c.added,
                                 (uint64_t)c.open));
    record_words(&record, STR("Compared by: ______________________________   Date: ____________   Signature: "
                              "______________________________"));
    return record;
}

bool compare_text(const BackInput *input, Sink sink) {
    Record record = compare_record(input);
    return record_text(&record, sink);
}

bool compare_html(const BackInput *input, Sink sink) {
    Record record = compare_record(input);
    return record_html(&record, sink);
}
