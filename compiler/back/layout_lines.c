/* Rows broken into lines, with the space they need and where a page may break between them. */
#include "back/layout.h"
#include "back/type.h"
#include "base/utf8.h"

static Length scaled(const Form *form, int64_t units, Length type) {
    return (Length)((units * type + form->press->em - 1) / form->press->em);
}

Length text_width(const Form *form, Face face, Length type, Str text) {
    return scaled(form, text_units(form->press, face, text), type);
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* A number is not parted from its unit: "10 s", "0 °C". */
static bool breaks_at(Str text, size_t at) {
    if (text.ptr[at] != ' ') return false;
    if (!at || !is_digit(text.ptr[at - 1])) return true;
    size_t end = at + 1;
    while (end < text.len && text.ptr[end] != ' ' && text.ptr[end] != ',' && text.ptr[end] != ':') end++;
    return end - at > 5 || is_digit(at + 1 < text.len ? text.ptr[at + 1] : ' ');
}

size_t text_line(const Form *form, Face face, Length type, Length width, Str text, size_t at, Str *line, Str *wide) {
    while (at < text.len && text.ptr[at] == ' ') at++;
    size_t end = at, blank = 0, word_end = at;
    int64_t units = 0;
    Face word = face;
    while (end < text.len) {
        Utf8 code = utf8_decode(text, end);
        if (breaks_at(text, end)) blank = end;
        if (end >= word_end) word = word_face(form->press, face, text, end, &word_end);
        int32_t step = form->press->advance(word, code.code);
        units += step > 0 ? step : 0;
        if (code.code != ' ' && scaled(form, units, type) > width) break;
        end += code.size;
    }
    if (end < text.len && blank > at) end = blank;
    else if (end < text.len) {
        size_t stop = end;
        while (stop < text.len && text.ptr[stop] != ' ') stop++;
        *wide = str_slice(text, at, stop);
        if (end == at) end += utf8_decode(text, at).size;
    }
    *line = str_slice(text, at, end);
    while (line->len && line->ptr[line->len - 1] == ' ') line->len--;
    return end;
}

bool row_on_spine(const Row *row) {
    return row->kind == ROW_ITEM || row->kind == ROW_STATE || row->kind == ROW_REASON;
}

/* Of what stands behind the spine, or of a line across it. */
Face row_face(const Row *row) {
    switch (row->kind) {
    case ROW_ITEM:
    case ROW_IF:
    case ROW_IF_NOT:
    case ROW_PHASE:
    case ROW_READ_ON:
    case ROW_END:
    case ROW_WARNING: return FACE_BOLD;
    case ROW_STATE:
    case ROW_REASON:
    case ROW_LINE:
    case ROW_LIST:
    case ROW_CUE:
    case ROW_NOTE:
    case ROW_CAUTION:
    case ROW_PHASE_DONE:
    case ROW_AGAIN:
    case ROW_LEFT:
    case ROW_BLANK: return FACE_PLAIN;
    }
    return FACE_PLAIN;
}

Length form_title_type(const Form *form, const Sheet *sheet) {
    return form->type / 100 * (sheet->drill != NO_INDEX ? 135 : 115);
}

Length form_title_room(const Form *form) {
    return form->right - form->left - text_width(form, FACE_PLAIN, form->type, STR("  8 of 8"));
}

void buf_row_number(Buf *buf, const Row *row) {
    if (row->memory) buf_char(buf, 'M');
    buf_uint(buf, row->number);
}

/* ---- space and breaks ---- */

/* Per cent of the type above a row. */
static int gap_above(const Row *row) {
    switch (row->kind) {
    case ROW_ITEM: return !row->number ? 15 : row->memory ? 80 : 40;
    case ROW_STATE:
    case ROW_REASON: return 0;
    case ROW_LINE:
    case ROW_CUE: return 25;
    case ROW_LIST: return 5;
    case ROW_NOTE:
    case ROW_CAUTION:
    case ROW_WARNING:
    case ROW_IF: return 50;
    case ROW_IF_NOT: return 20;
    case ROW_PHASE: return 90;
    case ROW_PHASE_DONE:
    case ROW_AGAIN:
    case ROW_LEFT: return 50;
    case ROW_READ_ON: return 100;
    case ROW_END: return 60;
    case ROW_BLANK: return 50;
    }
    return 0;
}

static bool stays_with_last(const Row *row) {
    switch (row->kind) {
    case ROW_ITEM: return !row->number;
    case ROW_STATE:
    case ROW_REASON:
    case ROW_PHASE_DONE:
    case ROW_AGAIN:
    case ROW_END:
    case ROW_LEFT: return true;
    case ROW_LINE:
    case ROW_LIST:
    case ROW_CUE:
    case ROW_NOTE:
    case ROW_CAUTION:
    case ROW_WARNING:
    case ROW_IF:
    case ROW_IF_NOT:
    case ROW_PHASE:
    case ROW_READ_ON:
    case ROW_BLANK: return false;
    }
    return false;
}

static bool keeps_next(const Row *row) {
    return row->kind == ROW_NOTE || row->kind == ROW_CAUTION || row->kind == ROW_WARNING || row->kind == ROW_IF ||
           row->kind == ROW_IF_NOT || row->kind == ROW_PHASE || row->kind == ROW_READ_ON;
}

static BreakKind break_before(const Sheet *sheet, const Row *before, const Row *row) {
    if (!before) return BREAK_AT_PHASE;
    if (keeps_next(before) || stays_with_last(row)) return BREAK_IN_ITEM;
    if (row->kind == ROW_READ_ON) return BREAK_AT_READ_ON;
    bool begins = row->kind == ROW_IF && row->inset == 1 && !before->inset; /* of lines set in */
    if (row->inset && !begins) return BREAK_IN_FORK;
    if (sheet->drill != NO_INDEX) return begins ? BREAK_AT_FORK : BREAK_IN_WHOLE;
    if (row->retry && before->retry) return BREAK_IN_WHOLE;
    if (sheet->procedure != NO_INDEX && before->kind == ROW_LINE) return BREAK_IN_WHOLE;
    return row->kind == ROW_PHASE ? BREAK_AT_PHASE : BREAK_AT_ITEM;
}

/* ---- lines ---- */

typedef struct {
    const Form *form;
    Arena *arena;
    Strips strips;
    Str *wide;
} Setting;

/* The gutter's word stands on the first line of the thing's column. */
static Length gutter_width(const Form *form, const Row *row, bool first) {
    if (!first || !row->gutter[0] || !row->thing.len) return 0;
    return text_width(form, FACE_PLAIN, form->type, str_of(row->gutter)) + form->type / 2;
}

static void add_strip(Setting *set, Strip strip) {
    strip.first = !set->strips.n || set->strips.at[set->strips.n - 1].row != strip.row;
    strip.height = form_lead(set->form->type);
    strip.state_of = strip.row;
    if (!strip.first) strip.gap = 0, strip.before = BREAK_IN_ITEM;
    vec_push(set->arena, &set->strips, strip);
}

static size_t count_lines(const Setting *set, Face face, Length width, Str text) {
    size_t n = 0;
    Str line, wide;
    for (size_t at = 0; at < text.len; n++)
        at = text_line(set->form, face, set->form->type, width, text, at, &line, &wide);
    return n;
}

/* Where the way out of a deadline begins a line of its own, so that the eye finds it: wherever that costs no line. 0: nowhere. */
static size_t way_out_at(const Setting *set, const Row *row, Length width) {
    static const char joint[] = ", else ";
    Str text = row->state;
    size_t at = 0;
    for (size_t i = 0; row->kind == ROW_STATE && i + sizeof joint < text.len; i++)
        if (str_starts(str_slice(text, i, text.len), STR(joint))) at = i + 1;
    if (!at) return 0;
    size_t whole = count_lines(set, row_face(row), width, text);
    size_t parts = count_lines(set, row_face(row), width, str_slice(text, 0, at)) +
                   count_lines(set, row_face(row), width, str_slice(text, at, text.len));
    return parts <= whole ? at : 0;
}

static size_t state_line(const Setting *set, const Row *row, Length width, size_t way_out, size_t at, Str *line) {
    Str text = at < way_out ? str_slice(row->state, 0, way_out) : row->state;
    return text_line(set->form, row_face(row), set->form->type, width, text, at, line, set->wide);
}

/* Lines of a deadline or a way out beside the rest of a long thing. Returns how far they came. */
static size_t fill_beside(Setting *set, const Row *row, Length width) {
    size_t at = 0, free = set->strips.n, way_out = way_out_at(set, row, width);
    while (free && !set->strips.at[free - 1].state.len && set->strips.at[free - 1].row->kind == ROW_ITEM) free--;
    for (; free < set->strips.n && at < row->state.len && !row->gutter[0]; free++) {
        Strip *strip = &set->strips.at[free];
        at = state_line(set, row, width, way_out, at, &strip->state);
        strip->state_of = row;
    }
    return at;
}

static void set_on_spine(Setting *set, const Row *row, Strip strip) {
    const Form *form = set->form;
    Length thing_width = form->spine - form->type / 2 - form->thing, state_width = form->right - form->state;
    size_t thing_at = 0, state_at = 0, way_out = way_out_at(set, row, state_width);
    if (row->kind != ROW_ITEM) state_at = fill_beside(set, row, state_width);
    if (row->kind != ROW_ITEM && state_at >= row->state.len) return;
    for (bool first = true; first || thing_at < row->thing.len || state_at < row->state.len; first = false) {
        thing_at = text_line(form, FACE_PLAIN, form->type, thing_width - gutter_width(form, row, first), row->thing,
                             thing_at, &strip.thing, set->wide);
        state_at = state_line(set, row, state_width, way_out, state_at, &strip.state);
        add_strip(set, strip);
    }
}

static void set_across(Setting *set, const Row *row, Strip strip) {
    const Form *form = set->form;
    Length width = form->right - form->edge;
    Length lead = row->thing.len ? text_width(form, FACE_BOLD, form->type, row->thing) + form->type / 3 : 0;
    size_t at = 0;
    for (bool first = true; first || at < row->state.len; first = false) {
        strip.thing = first ? row->thing : STR("");
        at = text_line(form, row_face(row), form->type, first ? width - lead : width, row->state, at, &strip.state,
                       set->wide);
        add_strip(set, strip);
    }
}

static bool is_item(const Row *row) {
    return row->kind == ROW_ITEM && row->number;
}

/* Breaks that would leave the first or the last item of a phase by itself. */
static void find_lone(Strips *strips) {
    size_t items = 0, last = 0; /* of the phase so far; the strip that its last item begins with */
    for (size_t i = 0; i <= strips->n; i++) {
        const Row *row = i < strips->n ? strips->at[i].row : NULL;
        if (row && !strips->at[i].first) continue;
        if (items > 1 && (!row || row->kind == ROW_PHASE) && strips->at[last].before == BREAK_AT_ITEM)
            strips->at[last].before = BREAK_AT_LONE;
        if (!row || row->kind == ROW_PHASE) items = 0;
        else if (items == 1 && strips->at[i].before == BREAK_AT_ITEM) strips->at[i].before = BREAK_AT_LONE;
        if (row && is_item(row)) items++, last = i;
    }
}

Strips layout_strips(const Form *form, Arena *arena, const Sheet *sheet, Str *wide) {
    Setting set = {.form = form, .arena = arena, .wide = wide};
    const Row *before = NULL;
    int more = 0;
    for (size_t i = 0; i < sheet->rows.n; i++) {
        const Row *row = &sheet->rows.at[i];
        if (row->kind == ROW_BLANK) {
            more = gap_above(row);
            continue;
        }
        Strip strip = {
            .row = row, .before = break_before(sheet, before, row), .gap = form->type / 100 * (gap_above(row) + more)};
        if (row_on_spine(row)) set_on_spine(&set, row, strip);
        else set_across(&set, row, strip);
        set.strips.at[set.strips.n - 1].last = true;
        before = row;
        more = 0;
    }
    if (sheet->procedure != NO_INDEX) find_lone(&set.strips);
    return set.strips;
}
