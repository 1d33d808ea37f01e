/* The cards for screens: one file that asks for nothing from elsewhere, read by eye at any width, by ear, and by keyboard, and printed
   on the paper of the document. */
#include "back/layout.h"
#include "back/web.h"
#include <string.h>

extern const char card_style[];

typedef struct {
    const CardSet *set;
    Buf *out;
    bool in_list, in_item, in_phase, in_retry;
} Page;

static void put(Page *page, const char *markup) {
    buf_text(page->out, markup);
}

static void put_text(Page *page, Str text) {
    buf_escaped(page->out, text);
}

/* ---- text with its link ---- */

static size_t find(Str text, Str words) {
    for (size_t at = 0; words.len && at + words.len <= text.len; at++)
        if (!memcmp(text.ptr + at, words.ptr, words.len)) return at;
    return text.len;
}

static void put_id(Page *page, const Sheet *sheet) {
    put(page, "card-");
    buf_uint(page->out, (size_t)(sheet - page->set->sheets.at) + 1);
}

/* The drill's mark and name, where the text has them, lead to it; otherwise all of the text does. */
static void put_linked(Page *page, const Row *row, Str text) {
    const Sheet *to = NULL;
    for (size_t i = 0; row->turns_to != NO_INDEX && i < page->set->sheets.n; i++)
        if (page->set->sheets.at[i].drill == row->turns_to) to = &page->set->sheets.at[i];
    if (!to || !text.len) {
        put_text(page, text);
        return;
    }
    size_t at = find(text, to->title), end = at + to->title.len;
    if (at == text.len) at = 0, end = text.len;
    put_text(page, str_slice(text, 0, at));
    put(page, "<a href=\"#"), put_id(page, to), put(page, "\">");
    put_text(page, str_slice(text, at, end));
    put(page, "</a>");
    put_text(page, str_slice(text, end, text.len));
}

/* ---- rows ---- */

static void put_class(Page *page, const Row *row, const char *own) {
    put(page, " class=\""), put(page, own);
    if (row->memory) put(page, " m");
    if (row->retry) put(page, " r");
    if (row->changed) put(page, " changed");
    if (row->inset) put(page, " i"), buf_uint(page->out, row->inset < 3 ? row->inset : 3);
    put(page, "\">");
}

/* What the bar says to those who have the page read to them. */
static void put_changed(Page *page, const Row *row) {
    if (row->changed) put(page, "<span class=\"ear\">Changed: </span>");
}

static void close_item(Page *page) {
    if (page->in_item) put(page, "</span></li>\n");
    page->in_item = false;
}

static void close_list(Page *page) {
    close_item(page);
    if (page->in_list) put(page, "</ol>\n");
    page->in_list = false;
}

static void put_item(Page *page, const Row *row) {
    close_item(page);
    if (!page->in_list) put(page, "<ol class=\"spine\" role=\"list\">\n");
    page->in_list = page->in_item = true;
    put(page, "<li"), put_class(page, row, "item");
    put_changed(page, row);
    put(page, "<span class=\"n\">");
    if (row->number) buf_row_number(page->out, row);
    put(page, "</span> <span class=\"t\">");
    if (*row->gutter) put(page, "<span class=\"g\">"), put(page, row->gutter), put(page, "</span> ");
    put(page, "<span class=\"d\">"), put_text(page, row->thing), put(page, "</span></span> <span class=\"s\">");
    put_linked(page, row, row->state);
}

static void put_below(Page *page, const Row *row) {
    if (!page->in_item) put_item(page, &(Row){.gutter = "", .retry = row->retry, .inset = row->inset});
    put(page, " <span class=\"w\">");
    if (*row->gutter) put(page, row->gutter), put(page, " ");
    put_linked(page, row, row->state);
    put(page, "</span>");
}

static const char *const row_classes[] = {
    [ROW_LINE] = "line",       [ROW_LIST] = "line",       [ROW_CUE] = "cue",
    [ROW_NOTE] = "note",       [ROW_IF] = "if",           [ROW_IF_NOT] = "if",
    [ROW_PHASE_DONE] = "done", [ROW_CAUTION] = "caution", [ROW_AGAIN] = "again-rule",
    [ROW_READ_ON] = "on",      [ROW_END] = "end",         [ROW_LEFT] = "left",
    [ROW_WARNING] = "warning"};

static void put_across(Page *page, const Row *row) {
    close_list(page);
    if (row->kind == ROW_PHASE) {
        put(page, "<h3"), put_class(page, row, "phase"), put_changed(page, row), put_text(page, row->state),
            put(page, "</h3>\n");
        return;
    }
    put(page, "<p"), put_class(page, row, row_classes[row->kind]);
    put_changed(page, row);
    if (row->thing.len) put(page, "<strong>"), put_text(page, row->thing), put(page, "</strong> ");
    put_linked(page, row, row->state);
    put(page, "</p>\n");
}

static void put_row(Page *page, const Row *row) {
    if (row->kind == ROW_ITEM) put_item(page, row);
    else if (row->kind == ROW_STATE || row->kind == ROW_REASON) put_below(page, row);
    else put_across(page, row);
}

/* Phases and retries are wholes: printed, they are broken only where no page can hold them. */
static void put_wholes(Page *page, const Row *row) {
    bool retry = row && row->retry, ends = !row || row->kind == ROW_PHASE;
    if (retry != page->in_retry || ends) close_list(page);
    if (page->in_retry && !retry) put(page, "</div>\n");
    if (page->in_phase && ends) put(page, "</section>\n"), page->in_phase = false;
    if (row && row->kind == ROW_PHASE) put(page, "<section>\n"), page->in_phase = true;
    if (retry && !page->in_retry) put(page, "<div class=\"retry\">\n");
    page->in_retry = retry;
}

/* ---- cards ---- */

static void put_standing(Page *page) {
    Str standing = str_of(card_standing(page->set->input->edition));
    if (standing.len) put(page, " <span>"), put_text(page, standing), put(page, "</span>");
}

static void put_sheet(Page *page, const Sheet *sheet) {
    put(page, "<article id=\""), put_id(page, sheet);
    put(page, sheet->drill != NO_INDEX ? "\" class=\"drill\"" : "\"");
    put(page, " aria-labelledby=\""), put_id(page, sheet), put(page, "-title\">\n<p class=\"top\"><span>");
    put_text(page, page->set->input->tail->title);
    put(page, "</span>"), put_standing(page), put(page, "</p>\n<h2 id=\""), put_id(page, sheet), put(page, "-title\">");
    put_text(page, sheet->title);
    put(page, "</h2>\n");
    for (size_t i = 0; i < sheet->rows.n; i++) {
        if (sheet->rows.at[i].kind == ROW_BLANK) continue;
        put_wholes(page, &sheet->rows.at[i]);
        put_row(page, &sheet->rows.at[i]);
    }
    put_wholes(page, NULL);
    put(page, "<footer><p>"), put_text(page, card_identity(page->set));
    put(page, "</p>\n<p>"), put_text(page, card_caution(page->set));
    put(page, "</p>\n<p>"), put(page, page->set->input->edition->code);
    put(page, " <a class=\"again\" href=\"#contents\">All cards</a></p></footer>\n</article>\n");
}

static void put_contents(Page *page) {
    put(page, "<nav id=\"contents\" aria-label=\"Cards\">\n<ol role=\"list\">\n");
    for (size_t i = 0; i < page->set->sheets.n; i++) {
        put(page, "<li><a href=\"#"), put_id(page, &page->set->sheets.at[i]), put(page, "\">");
        put_text(page, page->set->sheets.at[i].title);
        put(page, "</a></li>\n");
    }
    put(page, "</ol>\n</nav>\n");
}

/* ---- the head ---- */

/* Between double quotes in a style sheet that stands in a page. */
static void buf_css_text(Buf *buf, Str text) {
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (c == '"') buf_text(buf, "\\22 ");
        else if (c == '\\') buf_text(buf, "\\5c ");
        else if (c == '<') buf_text(buf, "\\3c ");
        else if (c == '\n') buf_text(buf, "\\a ");
        else buf_char(buf, c);
    }
}

/* A card's title on each page that it goes on to. */
static void put_page_heads(Page *page, Length type) {
    for (size_t i = 0; i < page->set->sheets.n; i++) {
        const Sheet *sheet = &page->set->sheets.at[i];
        put(page, "#"), put_id(page, sheet), put(page, "{page:"), put_id(page, sheet), put(page, "}@page ");
        put_id(page, sheet), put(page, "{@top-left{width:80%;vertical-align:bottom;padding-bottom:2pt;font:");
        buf_points(page->out, type / 100 * 64), put(page, "pt/1.28 card,more,sans-serif;white-space:pre;content:\"");
        buf_css_text(page->out, page->set->input->tail->title), put(page, "  ");
        buf_css_text(page->out, sheet->title), put(page, "\"}}\n");
    }
}

/* Every page that is printed says what it is, as those of the PDF do. */
static void put_paper(Page *page, Length type) {
    const Edition *edition = page->set->input->edition;
    put(page, "@page{size:");
    buf_points(page->out, edition->paper->width), put(page, "pt "), buf_points(page->out, edition->paper->height);
    put(page, "pt;margin:28pt 20pt 58pt 24pt;@bottom-left{width:73%;vertical-align:top;padding-top:4pt;font:");
    buf_points(page->out, type / 100 * 64);
    put(page, "pt/1.28 card,more,sans-serif;white-space:pre-line;content:\"");
    buf_css_text(page->out, card_identity(page->set)), put(page, "\\a ");
    buf_css_text(page->out, card_caution(page->set));
    put(page, "\"}@bottom-right{width:27%;vertical-align:top;padding-top:4pt;text-align:right;font:700 ");
    buf_points(page->out, type);
    put(page,
        "pt/1.28 card,more,sans-serif;white-space:pre;content:\"page \" counter(page) \" of \" counter(pages) \"\\a ");
    buf_css_text(page->out, str_of(edition->code));
    put(page, "\"}}\n@media print{body{font-size:"), buf_points(page->out, type), put(page, "pt}}\n");
}

static void add_glyphs(const CardSet *set, Glyphs *glyphs) {
    static const char *const own[] = {
        "All cards To the cards look say hear hold free wait see watch page of M0123456789-."};
    for (int face = 0; face < OWN_FACES; face++) {
        glyphs_add(glyphs, (Face)face, str_of(own[0]));
        glyphs_add(glyphs, (Face)face, card_identity(set));
        glyphs_add(glyphs, (Face)face, card_caution(set));
        glyphs_add(glyphs, (Face)face, str_of(set->input->edition->code));
        glyphs_add(glyphs, (Face)face, str_of(card_standing(set->input->edition)));
        for (size_t i = 0; i < set->sheets.n; i++) {
            glyphs_add(glyphs, (Face)face, set->sheets.at[i].title);
            for (size_t r = 0; r < set->sheets.at[i].rows.n; r++) {
                glyphs_add(glyphs, (Face)face, set->sheets.at[i].rows.at[r].thing);
                glyphs_add(glyphs, (Face)face, set->sheets.at[i].rows.at[r].state);
            }
        }
    }
}

static bool put_head(Page *page, const Press *press, Length type) {
    const CardSet *set = page->set;
    const Edition *edition = set->input->edition;
    Str title = edition->title.len ? edition->title : set->input->tail->title;
    Glyphs *glyphs = ARENA_NEW(set->arena, Glyphs);
    add_glyphs(set, glyphs);
    glyphs_add(glyphs, FACE_BOLD, title);
    glyphs_settle(glyphs, press);
    put(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
              "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
              "font-src data:\">\n<title>");
    put_text(page, title);
    if (*card_standing(edition)) put(page, ", "), put(page, card_standing(edition));
    put(page, "</title>\n<style>\n");
    if (!buf_faces(page->out, set->arena, press, glyphs)) return false;
    put(page, card_style);
    put_paper(page, type);
    put_page_heads(page, type);
    put(page, "</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#card-1\">To the cards</a>\n<header>\n<h1>");
    put_text(page, title);
    put(page, "</h1>\n<p class=\"top\"><span>"), put_text(page, set->input->tail->title);
    put(page, "</span>"), put_standing(page), put(page, "</p>\n<p>"), put_text(page, card_identity(set));
    put(page, "</p>\n<p>"), put_text(page, card_caution(set)), put(page, "</p>\n</header>\n");
    return true;
}

bool card_html(const BackInput *input, Sink sink) {
    CardSet set = card_set(input);
    if (!card_readable(&set, input->press, input->why_not)) return false;
    card_set_last(&set, NULL, 0);
    Buf out = {set.arena, NULL, 0, 0};
    Page page = {.set = &set, .out = &out};
    Length type = legible_type(input->press, input->edition->read_at_mm);
    if (input->edition->type > type) type = input->edition->type;
    if (!put_head(&page, input->press, type)) return false;
    put_contents(&page);
    put(&page, "<main>\n");
    for (size_t i = 0; i < set.sheets.n; i++) put_sheet(&page, &set.sheets.at[i]);
    put(&page, "</main>\n");
    if (*card_standing(input->edition))
        put(&page, "<div class=\"across\" aria-hidden=\"true\">"), put(&page, card_standing(input->edition)),
            put(&page, "</div>\n");
    put(&page, "</body>\n</html>\n");
    return sink.write(sink.context, out.ptr, out.len);
}
