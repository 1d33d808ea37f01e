/* The list of deviations: each difference between a tail and its aircraft by the aircraft's own text, with reason, source and who answers
   for it. Made for somebody who holds the handbook in the other hand. */
#include "back/deviations.h"
#include "back/reasons.h"
#include "back/record.h"
#include "back/words.h"
#include "base/limits.h"
#include "front/front.h"
#include "sema/handbook.h"

typedef struct {
    const BackInput *input, *base;
    Side from, to;
    Differences found;
    Record *record;
    uint32_t number;
    VEC(const SideLine *) follows; /* lines that read otherwise because of numbers, print texts or equipment */
    VEC(Str) brief;                /* a line for each row of the tables */
    uint32_t looser, unjustified;
} Deviations;

/* The row's number stands before it. */
static void add_brief(Deviations *d, const char *letter, Str words) {
    vec_push(d->record->arena, &d->brief,
             format_text(d->record->arena, NULL, "%s%u  %S", letter, (uint64_t)d->number, words));
}

static Str counted(Deviations *d, const char *letter) {
    return format_text(d->record->arena, NULL, "%s%u", letter, (uint64_t)++d->number);
}

static void note_reason(Deviations *d, const Reason *reason) {
    d->unjustified += !reason->given;
}

/* ---- numbers ---- */

static const char *room_words(NumberChange room) {
    switch (room) {
    case NUMBER_LOOSER: return "LOOSER";
    case NUMBER_TIGHTER: return "tighter";
    case NUMBER_SAME: return "same";
    case NUMBER_OTHER: return "other";
    }
    return "";
}

static const CraftLine *held_line(const Tail *tail, const Craft *craft) {
    for (uint32_t i = 0; i < tail->n_held; i++)
        if (tail->held[i].craft == craft) return &tail->held[i];
    return NULL;
}

/* "10 s (Marram 160 handbook, rev 5; 2-4)" */
static Str number_cell(const BackInput *input, const SideNumber *number) {
    if (!number) return STR("-");
    Reason reason =
        reason_of_craft(input, number->number->craft ? held_line(input->tail, number->number->craft) : NULL);
    return reason.source.len ? format_text(input->job->arena, NULL, "%S (%S)", number->shown, reason.source)
                             : number->shown;
}

static RecordNumber number_of(const SideNumber *number) {
    return number ? (RecordNumber){true, number->amount, number->measure} : (RecordNumber){0};
}

static void number_row(Deviations *d, const Difference *found) {
    const SideNumber *from = found->number_from, *to = found->number_to;
    if (to && from && from->number->craft == to->number->craft)
        return; /* one line, read in two ways: none of the tail's */
    const CraftLine *line = to && to->number->craft ? held_line(d->input->tail, to->number->craft) : NULL;
    Reason reason = reason_of_craft(d->input, line);
    if (!to) reason = (Reason){.reason = STR("not given for this tail"), .given = true};
    note_reason(d, &reason);
    d->looser += found->room == NUMBER_LOOSER;
    Str cells[] = {counted(d, "N"),
                   to ? to->what : from->what,
                   number_cell(d->base, from),
                   to ? to->shown : STR("-"),
                   str_of(!to    ? "gone"
                          : from ? room_words(found->room)
                                 : "new"),
                   reason_cell(d->input, &reason),
                   who_cell(d->input, &reason)};
    record_row(d->record, cells);
    record_numbers(d->record, number_of(from), number_of(to));
    add_brief(d, "N",
              format_text(d->record->arena, NULL, from && to ? "%S: %S, aircraft %S, %S" : "%S: %S, aircraft %S",
                          spoken(d->record->arena, to ? to->what : from->what), to ? to->shown : STR("none"),
                          from ? from->shown : STR("none"), cells[4]));
}

static void numbers_part(Deviations *d) {
    static const RecordColumn columns[] = {{"No", 4},   {"Number", 24},          {"Aircraft", 24}, {"This tail", 12},
                                           {"Room", 8}, {"Reason (source)", 26}, {"Who", 14}};
    record_head(d->record, STR("Numbers"));
    record_table(d->record,
                 STR("\"Looser\": it lets more happen than the aircraft's number does. \"Other\": nothing in the text "
                     "says which way is looser."),
                 columns, sizeof columns / sizeof *columns);
    d->number = 0;
    for (size_t i = 0; i < d->found.n; i++)
        if (d->found.at[i].kind == DIFFERS_NUMBER) number_row(d, &d->found.at[i]);
    if (!record_has_rows(d->record)) record_words(d->record, STR("No number differs."));
}

/* ---- lines ---- */

/* "Marram handbook; 4-8 line 3"; empty: none of its own. */
static Str source_cell(const BackInput *input, const SideLine *line) {
    const Why *why = line->line->why;
    if (!why) return STR("");
    Str title = name_text(input->job->names, why->source.name),
        section = name_text(input->job->names, why->section.name);
    uint32_t number = line->line->own ? number_written(input->job, why->line) : 0;
    return number ? format_text(input->job->arena, NULL, "%S %S line %u", title, section, (uint64_t)number)
                  : format_text(input->job->arena, NULL, "%S %S", title, section);
}

static Str from_cell(Deviations *d, const SideLine *line) {
    if (!line) return STR("-");
    Str source = source_cell(d->base, line);
    return source.len ? format_text(d->record->arena, NULL, "%S [%S]", line->words, source) : line->words;
}

static void line_row(Deviations *d, const SideLine *at, const char *what, Str from, Str to, Reason reason) {
    note_reason(d, &reason);
    Str cells[] = {counted(d, "L"),
                   at->phase.len ? format_text(d->record->arena, NULL, "%S, %S", at->of, at->phase) : at->of,
                   str_of(what),
                   from,
                   to,
                   reason_cell(d->input, &reason),
                   who_cell(d->input, &reason)};
    record_row(d->record, cells);
    add_brief(d, "L",
              format_text(d->record->arena, NULL, "%S: %s: %S", spoken(d->record->arena, cells[1]), what, at->words));
}

/* What one `replace` put there, in one cell. */
static Str brought_cell(Deviations *d, const TailEdit *made) {
    Buf buf = {d->record->arena, NULL, 0, 0};
    for (size_t i = 0; i < d->to.n_lines; i++) {
        if (!d->to.lines[i].line || d->to.lines[i].line->item->brought != made) continue;
        if (buf.len) buf_text(&buf, "\n");
        buf_str(&buf, d->to.lines[i].words);
    }
    return buf_view(&buf);
}

static bool replaces(const TailEdit *made) {
    return made && made->edit->kind == EDIT_REPLACE;
}

static Str looser_words(Deviations *d, Str words, NumberChange room) {
    return room == NUMBER_LOOSER    ? format_text(d->record->arena, NULL, "%S (LOOSER)", words)
           : room == NUMBER_TIGHTER ? format_text(d->record->arena, NULL, "%S (tighter)", words)
                                    : words;
}

static Str behind_cell(Deviations *d, const SideLine *line) {
    size_t at = (size_t)(line - d->to.lines);
    while (at-- > 0 && str_eq(d->to.lines[at].of, line->of) && !d->to.lines[at].head)
        if (d->to.lines[at].depth <= line->depth)
            return format_text(d->record->arena, NULL, "%S\n(behind: %S)", line->words, d->to.lines[at].words);
    return format_text(d->record->arena, NULL, "%S\n(first)", line->words);
}

/* Lines that drop out with equipment are told with the equipment; so are those that are only there for such lines. */
static bool drops_with_equipment(const Deviations *d, const SideLine *line) {
    StmtKind kind = line->line->item->kind;
    size_t index = (size_t)(line - d->from.lines) + 1;
    if (dropped_thing(d->input->tail, line->line->item->stmt)) return true;
    if (kind != STMT_CASES && kind != STMT_CASE) return false;
    for (size_t i = index; i < d->from.n_lines && d->from.lines[i].parent >= index; i++)
        if (dropped_thing(d->input->tail, d->from.lines[i].line->item->stmt)) return true;
    return false;
}

static void dropped_row(Deviations *d, const Difference *found) {
    const TailEdit *made = edit_that_ended(d->input, &d->from, found->from);
    if (!made && drops_with_equipment(d, found->from)) return;
    bool whole = replaces(made) && edit_about(d->input, EDIT_REPLACE, EDIT_REPLACE, found->from) == made;
    const char *what = whole                                 ? "replaced"
                       : found->from->remark                 ? "WARNING OR NOTE LEFT OUT"
                       : found->from->most_ms >= 0 && !whole ? "left out, with its time limit"
                                                             : "left out";
    line_row(d, found->from, what, from_cell(d, found->from), whole ? brought_cell(d, made) : STR("-"),
             reason_of_edit(d->input, made));
}

static void added_row(Deviations *d, const Difference *found) {
    const TailEdit *made = found->to->line->item->brought;
    if (replaces(made)) {
        /* told where the line that it replaces is */
        for (size_t i = 0; i < d->found.n; i++)
            if (d->found.at[i].kind == DIFFERS_DROPPED &&
                edit_that_ended(d->input, &d->from, d->found.at[i].from) == made)
                return;
    }
    Reason reason = reason_of_edit(d->input, made);
    if (!made) {
        const Item *item = found->to->line->item;
        Name thing = item->thing != NO_INDEX ? d->input->tail->things[item->thing].name : 0;
        reason = reason_of_craft(d->input, thing ? craft_about(d->input->tail, CRAFT_FITTED, thing) : NULL);
    }
    line_row(d, found->to, "added", STR("-"), behind_cell(d, found->to), reason);
}

static void changed_row(Deviations *d, const Difference *found) {
    const TailEdit *brought = found->to->line->item->brought;
    const TailEdit *worded = edit_about(d->input, EDIT_REWORD, EDIT_REWORD, found->from);
    const TailEdit *moved = edit_about(d->input, EDIT_MOVE_AFTER, EDIT_MOVE_BEFORE, found->from);
    if (!brought && !worded && !moved) {
        if (!found->moved) vec_push(d->record->arena, &d->follows, found->to);
        return;
    }
    if (brought) {
        d->looser += found->room == NUMBER_LOOSER;
        line_row(d, found->from, "replaced", from_cell(d, found->from),
                 looser_words(d, brought_cell(d, brought), found->room), reason_of_edit(d->input, brought));
    }
    if (worded)
        line_row(d, found->from, "other words", from_cell(d, found->from), found->to->words,
                 reason_of_edit(d->input, worded));
    if (moved)
        line_row(d, found->from, "moved", from_cell(d, found->from), behind_cell(d, found->to),
                 reason_of_edit(d->input, moved));
}

static void moved_row(Deviations *d, const Difference *found) {
    const TailEdit *moved = edit_about(d->input, EDIT_MOVE_AFTER, EDIT_MOVE_BEFORE, found->from);
    if (moved)
        line_row(d, found->from, "moved", from_cell(d, found->from), behind_cell(d, found->to),
                 reason_of_edit(d->input, moved));
}

static Reason heading_reason(const BackInput *input, const SideLine *line) {
    if (!line->decl) return (Reason){0};
    TailEdit none = {.edit = &(Edit){.why = line->decl->more->why}, .adapt = line->decl};
    return reason_of_edit(input, &none);
}

/* Of another text for this tail; else it reads otherwise because of a number or equipment. Briefings have no adaptations. */
static void head_row(Deviations *d, const Difference *found) {
    const SideLine *at = found->to ? found->to : found->from;
    if (found->from && found->to && found->from->decl == found->to->decl) {
        vec_push(d->record->arena, &d->follows, found->to);
        return;
    }
    line_row(d, at,
             found->from && found->to ? "other heading"
             : found->to              ? "added"
                                      : "left out",
             found->from ? found->from->words : STR("-"), found->to ? found->to->words : STR("-"),
             heading_reason(d->input, at));
}

/* A line that is no item: nothing that was adapted. */
static bool is_heading(const Difference *found) {
    const SideLine *at = found->to ? found->to : found->from;
    return at && !at->line && found->kind != DIFFERS_NEW_PROCEDURE && found->kind != DIFFERS_NO_PROCEDURE;
}

static void lines_part(Deviations *d) {
    static const RecordColumn columns[] = {
        {"No", 4},         {"Procedure, phase", 16}, {"What", 10}, {"Aircraft [its source]", 26},
        {"This tail", 26}, {"Reason (source)", 20},  {"Who", 10}};
    record_head(d->record, STR("Lines of procedures and drills"));
    record_table(d->record, STR(""), columns, sizeof columns / sizeof *columns);
    d->number = 0;
    for (size_t i = 0; i < d->found.n; i++) {
        const Difference *found = &d->found.at[i];
        if (is_heading(found)) {
            head_row(d, found);
            continue;
        }
        switch (found->kind) {
        case DIFFERS_ADDED: added_row(d, found); break;
        case DIFFERS_DROPPED: dropped_row(d, found); break;
        case DIFFERS_CHANGED: changed_row(d, found); break;
        case DIFFERS_MOVED: moved_row(d, found); break;
        case DIFFERS_NEW_PROCEDURE:
            line_row(d, found->to, "whole procedure added", STR("-"), found->to->title,
                     heading_reason(d->input, found->to));
            break;
        case DIFFERS_NO_PROCEDURE:
            line_row(d, found->from, "whole procedure left out", found->from->title, STR("-"),
                     (Reason){.reason = STR("this tail does not come to it"), .given = true});
            break;
        case DIFFERS_NUMBER:
        case DIFFERS_VERDICT:
        case DIFFERS_RULE: break;
        }
    }
    if (!record_has_rows(d->record))
        record_words(d->record, STR("No line was added, left out, moved, replaced or reworded."));
}

static void follows_part(Deviations *d) {
    if (!d->follows.n) return;
    Buf buf = {d->record->arena, NULL, 0, 0};
    buf_text(&buf, "These lines read otherwise because of a number, a print text or equipment in this list: ");
    for (size_t i = 0; i < d->follows.n; i++)
        buf_format(&buf, NULL, "%s%S.%S", i ? ", " : "", d->follows.at[i]->of, d->follows.at[i]->id);
    buf_char(&buf, '.');
    record_words(d->record, buf_view(&buf));
}

/* ---- equipment ---- */

static bool cond_names(const Cond *cond, Name thing, uint32_t depth) {
    if (!cond || depth > 2 * LIMIT_NESTING) return false;
    bool names = cond->ref.name == thing;
    for (const Cond *part = cond_parts(cond); part && !names; part = part->next)
        names = cond_names(part, thing, depth + 1);
    return names;
}

/* The lines that are about it: left out, or marked INOP. */
static Str lines_about(Deviations *d, const TailLines *lines, Name thing, bool inoperative) {
    Buf buf = {d->record->arena, NULL, 0, 0};
    for (size_t i = 0; i < lines->n; i++) {
        const TailLine *line = &lines->at[i];
        const Item *item = line->item;
        bool about = inoperative
                         ? item->inoperative &&
                               ((item->thing != NO_INDEX && d->input->tail->things[item->thing].name == thing) ||
                                cond_names(item->stmt ? item->stmt->cond : NULL, thing, 0))
                         : line->dropped && dropped_thing(d->input->tail, item->stmt) == thing;
        if (about)
            buf_format(&buf, d->input->job->names, "%s%N.%N", buf.len ? ", " : "", line->of->name.name, item->named);
    }
    return buf_view(&buf);
}

static void equipment_rows(Deviations *d, const TailLines *lines, const CraftLine *line) {
    bool inoperative = line->craft->kind == CRAFT_INOPERATIVE, fitted = line->craft->kind == CRAFT_FITTED;
    if (line->decl == d->input->tail->aircraft && !inoperative) return;
    for (const WordList *word = line->craft->words; word; word = word->next) {
        if (craft_about(d->input->tail, (CraftKind)line->craft->kind, word->word.name) != line) continue;
        Reason reason = reason_of_craft(d->input, line);
        note_reason(d, &reason);
        Str stands = fitted         ? STR("fitted")
                     : !inoperative ? STR("not fitted")
                                    : format_text(d->record->arena, NULL, "INOPERATIVE until %S",
                                                  span_text(d->input->job->sources, line->craft->until));
        Str cells[] = {counted(d, "E"),
                       name_text(d->input->job->names, word->word.name),
                       stands,
                       fitted ? STR("") : lines_about(d, lines, word->word.name, inoperative),
                       reason_cell(d->input, &reason),
                       who_cell(d->input, &reason)};
        record_row(d->record, cells);
        add_brief(d, "E", format_text(d->record->arena, NULL, "%S: %S", spoken(d->record->arena, cells[1]), stands));
    }
}

static void equipment_part(Deviations *d) {
    static const RecordColumn columns[] = {
        {"No", 4},  {"Equipment", 16}, {"Stands", 16}, {"Lines left out, or INOP", 36}, {"Reason (source)", 26},
        {"Who", 14}};
    TailLines lines = tail_lines(d->input);
    record_head(d->record, STR("Equipment"));
    record_table(d->record, STR("What this tail says beyond the aircraft's own text."), columns,
                 sizeof columns / sizeof *columns);
    d->number = 0;
    for (uint32_t i = 0; i < d->input->tail->n_held; i++) {
        const CraftLine *line = &d->input->tail->held[i];
        if (line->craft->kind == CRAFT_FITTED || line->craft->kind == CRAFT_NOT_FITTED ||
            line->craft->kind == CRAFT_INOPERATIVE)
            equipment_rows(d, &lines, line);
    }
    if (!record_has_rows(d->record)) record_words(d->record, STR("The equipment is the aircraft's."));
}

/* ---- all of it ---- */

static Str handbooks(const BackInput *input) {
    Buf buf = {input->job->arena, NULL, 0, 0};
    NameMap seen = {.arena = input->job->arena};
    const Tail *tail = input->tail->handbook ? input->tail->handbook : input->tail;
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        const Why *why = tail->procedures[p].decl->more->why;
        if (!why || !why->source.name || map_get(&seen, why->source.name)) continue;
        map_put(&seen, why->source.name, &seen);
        buf_format(&buf, NULL, "%s%S", buf.len ? "; " : "", source_title(input, why->source.name));
    }
    if (!buf.len) buf_text(&buf, "its procedures name no source");
    return buf_view(&buf);
}

static void waiver_rows(Deviations *d) {
    static const RecordColumn columns[] = {{"Rule waived", 24}, {"At", 24}, {"Until", 11}, {"Reason", 40}, {"Who", 15}};
    const Edition *edition = d->input->edition;
    if (!edition->n_waivers) return;
    record_head(d->record, STR("Waivers"));
    record_table(d->record, STR(""), columns, sizeof columns / sizeof *columns);
    for (uint32_t i = 0; i < edition->n_waivers; i++) {
        const Decl *waiver = edition->waivers[i];
        Buf because = {d->record->arena, NULL, 0, 0}, by = because;
        buf_filled(&because, d->input, waiver->text, NO_INDEX);
        buf_filled(&by, d->input, waiver->more->text2, NO_INDEX);
        Str cells[] = {name_text(d->input->job->names, waiver->more->ref.name),
                       name_text(d->input->job->names, waiver->more->ref2.name),
                       span_text(d->input->job->sources, waiver->more->date), buf_view(&because), buf_view(&by)};
        record_row(d->record, cells);
    }
}

static void sums_part(Deviations *d) {
    record_head(d->record, STR("Sum, and who compared it"));
    record_words(d->record, format_text(d->record->arena, NULL,
                                        "%u %s more room than the aircraft's. %u without a reason or a source.",
                                        (uint64_t)d->looser, d->looser == 1 ? "number gives" : "numbers give",
                                        (uint64_t)d->unjustified));
    record_words(d->record, STR("Compared with the handbook, line by line, by: ______________________________"));
    record_words(d->record, STR("Date: ____________   Signature: ______________________________"));
}

static Str aircraft_title(const BackInput *input) {
    return text_raw(&(Job){input->job->arena, input->job->names, input->job->sources, input->job->findings},
                    input->tail->aircraft->text);
}

static void compare_parts(Deviations *d, const BackInput *base) {
    d->base = base;
    d->from = side_of(base), d->to = side_of(d->input);
    d->from.n_verdicts = d->to.n_verdicts = 0;
    d->found = differences(d->record->arena, &d->from, &d->to, false);
    numbers_part(d);
    lines_part(d);
    follows_part(d);
    equipment_part(d);
}

/* The aircraft by its own text. */
static BackInput base_of(const BackInput *input) {
    BackInput base = *input;
    base.tail = input->tail->handbook;
    base.model = NULL;
    base.result = NULL;
    return base;
}

BriefDeviations deviations_brief(const BackInput *input) {
    BriefDeviations brief = {0};
    if (!input->tail->handbook) return brief;
    Record record = record_open(input, STR(""));
    BackInput base = base_of(input);
    Deviations d = {.input = input, .record = &record};
    compare_parts(&d, &base);
    brief.of = aircraft_title(input);
    for (size_t i = 0; i < d.brief.n; i++) vec_push(record.arena, &brief.lines, d.brief.at[i]);
    return brief;
}

Record deviations_record(const BackInput *input) {
    const Tail *tail = input->tail;
    Str aircraft = aircraft_title(input);
    Record record =
        record_open(input, format_text(input->job->arena, NULL, "Deviations of %S from the %S", tail->title, aircraft));
    record_words(
        &record,
        format_text(
            input->job->arena, NULL,
            "Each difference between %S and the %S by the aircraft's own text, with its reason, its source and who "
            "answers for it. The aircraft's procedures are from: %S.",
            tail->title, aircraft, handbooks(input)));
    if (!tail->handbook) {
        record_words(&record, STR("This is the aircraft by its own text: there is nothing to list."));
        return record;
    }
    BackInput base = base_of(input);
    Deviations d = {.input = input, .record = &record};
    compare_parts(&d, &base);
    waiver_rows(&d);
    sums_part(&d);
    return record;
}

bool deviations_text(const BackInput *input, Sink sink) {
    Record record = deviations_record(input);
    return record_text(&record, sink);
}

bool deviations_html(const BackInput *input, Sink sink) {
    Record record = deviations_record(input);
    return record_html(&record, sink);
}
