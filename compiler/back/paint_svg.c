/* A drawing as SVG with real text: it can be searched, copied, enlarged and edited. All pages in one picture, in rows. */
#include "back/type.h"
#include "back/web.h"
#include "base/utf8.h"
#include <math.h>

enum { ALL_PAGES_GAP = 12 * POINT };

typedef struct {
    const Drawing *drawing;
    const Press *press;
    Buf *out;
    size_t page, columns;
} Easel;

static void put(Easel *easel, const char *name, Length length) {
    buf_char(easel->out, ' ');
    buf_text(easel->out, name);
    buf_text(easel->out, "=\"");
    buf_points(easel->out, length);
    buf_char(easel->out, '"');
}

static void put_class(Easel *easel, const Draw *draw) {
    static const char *const inks[] = {[INK_BLACK] = "k", [INK_RED] = "r", [INK_AMBER] = "a", [INK_PALE] = "p"};
    bool text = draw->kind == DRAW_TEXT || draw->kind == DRAW_ACROSS, bold = text && face_is_bold(draw->face);
    bool other = text && !face_is_own(draw->face);
    if (!bold && !other && draw->ink == INK_BLACK) return;
    buf_text(easel->out, " class=\"");
    if (draw->ink != INK_BLACK) buf_text(easel->out, inks[draw->ink]);
    if (draw->kind == DRAW_FRAME) buf_char(easel->out, 'f');
    if (bold) buf_text(easel->out, draw->ink != INK_BLACK ? " b" : "b");
    if (other) buf_text(easel->out, draw->ink != INK_BLACK || bold ? " o" : "o");
    buf_char(easel->out, '"');
}

static void paint_text(Easel *easel, const Draw *draw) {
    int64_t width = run_units(easel->press, draw->face, draw->text) * draw->height / easel->press->em;
    Length size = draw->height;
    if (!face_is_own(draw->face)) size = (Length)((int64_t)size * easel->press->other_size / WHOLE_SIZE);
    buf_text(easel->out, "<text");
    put_class(easel, draw);
    put(easel, "x", draw->x), put(easel, "y", draw->y), put(easel, "font-size", size);
    put(easel, "textLength", (Length)width);
    buf_char(easel->out, '>');
    buf_escaped(easel->out, draw->text);
    buf_text(easel->out, "</text>\n");
}

static void put_factor(Easel *easel, double factor) {
    buf_points(easel->out, (Length)lround(factor * POINT));
    buf_char(easel->out, ' ');
}

static void paint_across(Easel *easel, const Draw *draw) {
    int64_t units = run_units(easel->press, draw->face, draw->text);
    Length size = (Length)((int64_t)draw->width * easel->press->em / (units ? units : 1));
    double width = easel->drawing->page_width, height = easel->drawing->height,
           diagonal = sqrt(width * width + height * height);
    buf_text(easel->out, "<text aria-hidden=\"true\"");
    put_class(easel, draw);
    put(easel, "x", -draw->width / 2);
    put(easel, "y", (Length)((int64_t)size * easel->press->cap_height / easel->press->em / 2));
    put(easel, "font-size", size);
    buf_text(easel->out, " transform=\"matrix(");
    put_factor(easel, width / diagonal), put_factor(easel, -height / diagonal);
    put_factor(easel, height / diagonal), put_factor(easel, width / diagonal);
    buf_points(easel->out, draw->x), buf_char(easel->out, ' '), buf_points(easel->out, draw->y);
    buf_text(easel->out, ")\">");
    buf_escaped(easel->out, draw->text);
    buf_text(easel->out, "</text>\n");
}

static void paint_bar(Easel *easel, const Draw *draw) {
    Length inset = draw->kind == DRAW_FRAME ? POINT / 2 : 0;
    buf_text(easel->out, "<rect");
    put_class(easel, draw);
    put(easel, "x", draw->x + inset), put(easel, "y", draw->y + inset);
    put(easel, "width", draw->width - 2 * inset), put(easel, "height", draw->height - 2 * inset);
    buf_text(easel->out, "/>\n");
}

static void paint_place(Easel *easel, const Draw *draw) {
    buf_text(easel->out, "<rect class=\"n\" id=\"");
    buf_escaped(easel->out, draw->text);
    buf_char(easel->out, '"');
    put(easel, "width", easel->drawing->width), put(easel, "height", easel->drawing->height);
    buf_text(easel->out, "/>\n");
}

static void paint_link(Easel *easel, const Draw *draw) {
    buf_text(easel->out, "<a href=\"#");
    buf_escaped(easel->out, draw->text);
    buf_text(easel->out, "\"><rect class=\"l\"");
    put(easel, "x", draw->x), put(easel, "y", draw->y), put(easel, "width", draw->width),
        put(easel, "height", draw->height);
    buf_text(easel->out, "/></a>\n");
}

static void paint_page(Easel *easel) {
    const Drawing *drawing = easel->drawing;
    if (easel->page) buf_text(easel->out, "</svg>\n");
    size_t column = easel->page % easel->columns, row = easel->page / easel->columns;
    buf_text(easel->out, "<svg");
    put(easel, "x", (Length)column * (drawing->width + ALL_PAGES_GAP));
    put(easel, "y", (Length)row * (drawing->height + ALL_PAGES_GAP));
    put(easel, "width", drawing->width), put(easel, "height", drawing->height);
    buf_text(easel->out, ">\n<rect class=\"w\"");
    put(easel, "width", drawing->width), put(easel, "height", drawing->height);
    buf_text(easel->out, "/>\n");
    easel->page++;
}

static void paint_mark(Easel *easel, const Draw *draw) {
    switch (draw->kind) {
    case DRAW_PAGE: paint_page(easel); return;
    case DRAW_TEXT: paint_text(easel, draw); return;
    case DRAW_ACROSS: paint_across(easel, draw); return;
    case DRAW_BAR:
    case DRAW_FRAME: paint_bar(easel, draw); return;
    case DRAW_PLACE: paint_place(easel, draw); return;
    case DRAW_LINK: paint_link(easel, draw); return;
    case DRAW_OPEN: buf_text(easel->out, "<g>\n"); return;
    case DRAW_CLOSE: buf_text(easel->out, "</g>\n"); return;
    case DRAW_OUTLINE: return;
    }
}

static void put_ink(Easel *easel, const char *name, Ink ink) {
    const int *levels = ink_levels(ink);
    buf_text(easel->out, name);
    for (int i = 0; i < 3; i++) {
        buf_text(easel->out, i ? "," : "rgb(");
        buf_uint(easel->out, (uint64_t)(levels[i] * 255 + 500) / 1000);
    }
    buf_text(easel->out, ")}\n");
}

static bool put_style(Easel *easel, Arena *arena) {
    Glyphs *glyphs = ARENA_NEW(arena, Glyphs);
    for (size_t i = 0; i < easel->drawing->n; i++) {
        const Draw *draw = &easel->drawing->draws[i];
        if (draw->kind == DRAW_TEXT || draw->kind == DRAW_ACROSS) glyphs_add(glyphs, draw->face, draw->text);
    }
    buf_text(easel->out, "<style>\n");
    if (!buf_faces(easel->out, arena, easel->press, glyphs)) return false;
    buf_text(easel->out,
             "text{font-family:card,sans-serif;white-space:pre;font-kerning:none;font-variant-ligatures:none}\n"
             ".b{font-weight:700}\n.o{font-family:more,sans-serif}\n.n{fill:none}\n.l{fill:none;pointer-events:all}\n."
             "w{fill:#fff}\n");
    put_ink(easel, ".r{fill:", INK_RED), put_ink(easel, ".a{fill:", INK_AMBER), put_ink(easel, ".p{fill:", INK_PALE);
    put_ink(easel, ".kf,.rf,.af{fill:none;stroke:", INK_BLACK);
    put_ink(easel, ".rf{stroke:", INK_RED), put_ink(easel, ".af{stroke:", INK_AMBER);
    buf_text(easel->out, "</style>\n");
    return true;
}

bool buf_svg(Buf *out, Arena *arena, const Drawing *drawing, const Press *press) {
    Easel easel = {.drawing = drawing, .press = press, .out = out, .columns = 1};
    while (easel.columns * easel.columns < drawing->pages) easel.columns++;
    size_t rows = (drawing->pages + easel.columns - 1) / easel.columns;
    Length width = (Length)easel.columns * (drawing->width + ALL_PAGES_GAP) - ALL_PAGES_GAP;
    Length height = (Length)rows * (drawing->height + ALL_PAGES_GAP) - ALL_PAGES_GAP;
    buf_text(out, "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    put(&easel, "width", width), put(&easel, "height", height);
    buf_text(out, " viewBox=\"0 0 ");
    buf_points(out, width), buf_char(out, ' '), buf_points(out, height);
    buf_text(out, "\">\n<title>");
    buf_escaped(out, drawing->title);
    buf_text(out, "</title>\n<desc>");
    buf_escaped(out, drawing->subject);
    buf_text(out, "</desc>\n");
    if (!put_style(&easel, arena)) return false;
    for (size_t i = 0; i < drawing->n; i++) paint_mark(&easel, &drawing->draws[i]);
    buf_text(out, easel.page ? "</svg>\n</svg>\n" : "</svg>\n");
    return true;
}
