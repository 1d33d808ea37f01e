/* Cards as plain text: 76 cells wide, pages divided by form feeds. */
#include "back/card.h"
#include "base/utf8.h"

enum { CARD_WIDTH = 76, CARD_THING = 28, CARD_STATE = 31, CARD_LINES = 58 };

typedef struct {
    Str title, lines;
} Page;

typedef struct {
    const CardSet *set;
    Arena *arena;
    VEC(Page) pages;
    Buf out;        /* of the page being set */
    uint32_t lines; /* on it */
} TextCard;

/* ---- rows ---- */

/* Words of a text broken at blanks into lines of at most `width` cells; returns the next line's start. */
static size_t wrap_line(Str text, size_t at, size_t width, Str *line) {
    while (at < text.len && text.ptr[at] == ' ') at++;
    size_t end = at, last_blank = 0, cells = 0;
    while (end < text.len) {
        Utf8 code = utf8_decode(text, end);
        if (code.code == ' ') last_blank = end;
        cells += utf8_width(code.code);
        if (cells > width) break;
        end += code.size;
    }
    if (end < text.len && last_blank > at) end = last_blank;
    *line = str_slice(text, at, end);
    return end;
}

static void pad(Buf *buf, size_t used, size_t width) {
    if (used < width) buf_repeat(buf, ' ', width - used);
}

/* A bar before what is new or otherwise; cards that follow no revision need no room for it. */
static void change_bar(TextCard *card, const Row *row) {
    if (card->set->changes) buf_text(&card->out, row->changed ? "▌" : " ");
}

static void edge(Buf *out, const Row *row) {
    buf_text(out, row->retry ? "┃" : " ");
    buf_text(out, row->inset > 1 ? "::" : row->inset ? ": " : "  ");
}

static void row_head(TextCard *card, const Row *row, bool first) {
    Buf *out = &card->out;
    change_bar(card, row);
    edge(out, row);
    Str mark = str_of(first ? row->gutter : "");
    buf_str(out, mark);
    pad(out, utf8_text_width(mark), 8);
    Buf digits = {card->arena, NULL, 0, 0};
    if (first && row->number && row->memory) buf_char(&digits, 'M');
    if (first && row->number) buf_uint(&digits, row->number);
    pad(out, digits.len, 3);
    buf_str(out, buf_view(&digits));
}

static void set_on_spine(TextCard *card, const Row *row) {
    size_t thing_at = 0, state_at = 0;
    bool first = true;
    while (first || thing_at < row->thing.len || state_at < row->state.len) {
        Str thing_line, state_line;
        thing_at = wrap_line(row->thing, thing_at, CARD_THING - 1, &thing_line); /* parted from the number */
        state_at = wrap_line(row->state, state_at, CARD_STATE, &state_line);
        row_head(card, row, first);
        pad(&card->out, utf8_text_width(thing_line), CARD_THING);
        buf_str(&card->out, thing_line);
        buf_text(&card->out, row->memory ? " █ " : " │ ");
        buf_str(&card->out, state_line);
        buf_char(&card->out, '\n');
        card->lines++;
        first = false;
    }
}

static Str words_across(TextCard *card, const Row *row) {
    if (!row->thing.len && row->kind != ROW_PHASE_DONE) return row->state;
    Buf buf = {card->arena, NULL, 0, 0};
    bool done = row->kind == ROW_PHASE_DONE;
    buf_str(&buf, done ? STR("--") : row->thing);
    buf_char(&buf, ' ');
    buf_str(&buf, row->state);
    if (done) buf_text(&buf, " --");
    return buf_view(&buf);
}

static void set_across(TextCard *card, const Row *row) {
    Str text = words_across(card, row);
    for (size_t at = 0; at < text.len;) {
        Str line;
        at = wrap_line(text, at, CARD_WIDTH - 4, &line);
        change_bar(card, row);
        edge(&card->out, row);
        buf_str(&card->out, line);
        buf_char(&card->out, '\n');
        card->lines++;
    }
}

static void set_row(TextCard *card, const Row *row) {
    if (row->kind == ROW_ITEM || row->kind == ROW_STATE || row->kind == ROW_REASON) {
        set_on_spine(card, row);
    } else if (row->kind == ROW_BLANK) {
        if (row->retry) change_bar(card, row);
        buf_text(&card->out, row->retry ? "┃\n" : "\n");
        card->lines++;
    } else {
        set_across(card, row);
    }
}

/* ---- pages ---- */

static void end_page(TextCard *card, Str title) {
    vec_push(card->arena, &card->pages, ((Page){title, buf_view(&card->out)}));
    card->out = (Buf){card->arena, NULL, 0, 0};
    card->lines = 0;
}

static size_t block_end(const Sheet *sheet, size_t at) {
    size_t end = at;
    while (end < sheet->rows.n && sheet->rows.at[end].block == sheet->rows.at[at].block) end++;
    return end;
}

static uint32_t measure(const TextCard *card, const Sheet *sheet, size_t at, size_t end) {
    TextCard scratch = {.set = card->set, .arena = card->arena, .out = {card->arena, NULL, 0, 0}};
    for (; at < end; at++) set_row(&scratch, &sheet->rows.at[at]);
    return scratch.lines;
}

/* A page ends before a phase that would not fit; what does not fit a page by itself runs on. */
static void set_sheet(TextCard *card, const Sheet *sheet) {
    for (size_t at = 0; at < sheet->rows.n;) {
        size_t end = block_end(sheet, at);
        uint32_t lines = measure(card, sheet, at, end);
        bool breaks = sheet->procedure != NO_INDEX && card->lines && card->lines + lines > CARD_LINES && lines > 3;
        if (breaks) end_page(card, sheet->title);
        for (; at < end; at++) set_row(card, &sheet->rows.at[at]);
    }
    end_page(card, sheet->title);
}

/* ---- heads and feet ---- */

static void buf_sides(Buf *buf, Str left, Str right) {
    size_t used = utf8_text_width(left) + utf8_text_width(right);
    buf_str(buf, left);
    if (right.len) buf_repeat(buf, ' ', used < CARD_WIDTH ? CARD_WIDTH - used : 2);
    buf_str(buf, right);
    buf_char(buf, '\n');
}

static void buf_rule(Buf *buf) {
    for (int i = 0; i < CARD_WIDTH; i++) buf_text(buf, "─");
    buf_char(buf, '\n');
}

static void buf_foot(Buf *buf, const TextCard *card, size_t index) {
    const CardSet *set = card->set;
    Buf right = {card->arena, NULL, 0, 0};
    Str foot = card_identity(set), caution = card_caution(set);
    buf_format(&right, set->input->job->names, "%s  page %u of %u", set->input->edition->code, (uint64_t)(index + 1),
               (uint64_t)card->pages.n);
    bool one_line = utf8_text_width(foot) + utf8_text_width(buf_view(&right)) + 2 <= CARD_WIDTH;
    buf_sides(buf, foot, one_line ? buf_view(&right) : STR(""));
    if (!one_line) buf_sides(buf, STR(""), buf_view(&right));
    for (size_t at = 0; at < caution.len;) {
        Str line;
        at = wrap_line(caution, at, CARD_WIDTH, &line);
        buf_str(buf, line);
        buf_char(buf, '\n');
    }
}

static void buf_page(Buf *buf, const TextCard *card, size_t index) {
    const Page *page = &card->pages.at[index];
    Buf left = {card->arena, NULL, 0, 0};
    buf_str(&left, card->set->input->tail->title);
    buf_text(&left, "   ");
    buf_str(&left, page->title);
    buf_sides(buf, buf_view(&left), str_of(card_standing(card->set->input->edition)));
    buf_rule(buf);
    buf_str(buf, page->lines);
    buf_rule(buf);
    buf_foot(buf, card, index);
    if (index + 1 < card->pages.n) buf_text(buf, "\f");
}

bool card_emit(const BackInput *input, Sink sink) {
    CardSet set = card_set(input);
    Arena *arena = set.arena;
    TextCard card = {.set = &set, .arena = arena, .out = {arena, NULL, 0, 0}};
    for (size_t i = 0; i < set.sheets.n; i++) set_sheet(&card, &set.sheets.at[i]);
    size_t n = card.pages.n;
    Str *titles = ARENA_ARRAY(arena, Str, n + 1);
    for (size_t i = 0; i < n; i++) titles[i] = card.pages.at[i].title;
    titles[n] = card_last_title(true);
    card_set_last(&set, titles, n + 1); /* it is one page of text */
    set_sheet(&card, &set.sheets.at[set.sheets.n - 1]);
    Buf out = {arena, NULL, 0, 0};
    for (size_t i = 0; i < card.pages.n; i++) buf_page(&out, &card, i);
    return sink.write(sink.context, out.ptr, out.len);
}
