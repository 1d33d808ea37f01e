#include "press/press.h"
#include "base/utf8.h"
#include "press/faces.h"
#include <cairo-pdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- painting ---- */

typedef struct {
    const Drawing *drawing;
    cairo_t *cr;
    cairo_surface_t *surface;
    bool pdf;
    char *words; /* room for one NUL-terminated text */
    size_t room;
    bool failed;
} Easel;

static double points(Length length) {
    return (double)length / POINT;
}

static const char *c_text(Easel *easel, Str text) {
    if (text.len + 1 > easel->room) {
        char *more = realloc(easel->words, text.len + 1);
        if (!more) {
            easel->failed = true;
            return "";
        }
        easel->words = more;
        easel->room = text.len + 1;
    }
    if (text.len) memcpy(easel->words, text.ptr, text.len);
    easel->words[text.len] = 0;
    return easel->words;
}

static void set_ink(Easel *easel, Ink ink) {
    const int *levels = ink_levels(ink);
    cairo_set_source_rgb(easel->cr, levels[0] / 1000.0, levels[1] / 1000.0, levels[2] / 1000.0);
}

static void set_face(Easel *easel, Face face, double size) {
    cairo_set_font_face(easel->cr, face_font(face));
    cairo_set_font_size(easel->cr, size * face_size(face));
}

/* Each character where the layout measured it. One cluster a character lets the text be read back. */
static void paint_text(Easel *easel, const Draw *draw) {
    size_t n = draw->text.len;
    cairo_glyph_t *glyphs = calloc(n + 1, sizeof *glyphs);
    cairo_text_cluster_t *clusters = calloc(n + 1, sizeof *clusters);
    int count = 0;
    int64_t pen = 0;
    double em = startwright_press()->em;
    const char *words = c_text(easel, draw->text);
    easel->failed |= !glyphs || !clusters;
    for (size_t at = 0; !easel->failed && at < n;) {
        Utf8 code = utf8_decode(draw->text, at);
        double x = points(draw->x) + (double)pen * points(draw->height) / em;
        glyphs[count] = (cairo_glyph_t){face_glyph(draw->face, code.code), x, points(draw->y)};
        clusters[count++] = (cairo_text_cluster_t){(int)code.size, 1};
        int32_t step = face_advance(draw->face, code.code);
        pen += step > 0 ? step : 0;
        at += code.size;
    }
    set_ink(easel, draw->ink);
    set_face(easel, draw->face, points(draw->height));
    if (!easel->failed) cairo_show_text_glyphs(easel->cr, words, (int)n, glyphs, count, clusters, count, 0);
    free(clusters);
    free(glyphs);
}

static void paint_across(Easel *easel, const Draw *draw) {
    int64_t units = 0;
    for (size_t at = 0; at < draw->text.len;) {
        Utf8 code = utf8_decode(draw->text, at);
        int32_t step = face_advance(draw->face, code.code);
        units += step > 0 ? step : 0;
        at += code.size;
    }
    const Press *press = startwright_press();
    double width = points(draw->width), size = width * press->em / (double)(units ? units : 1);
    double page_width = points(easel->drawing->page_width), page_height = points(easel->drawing->height);
    double diagonal = sqrt(page_width * page_width + page_height * page_height);
    double cosine = page_width / diagonal, sine = page_height / diagonal;
    cairo_save(easel->cr);
    cairo_matrix_t turned = {cosine, -sine, sine, cosine, points(draw->x), points(draw->y)};
    cairo_transform(easel->cr, &turned);
    set_face(easel, draw->face, size);
    cairo_move_to(easel->cr, -width / 2, size * press->cap_height / press->em / 2);
    cairo_text_path(easel->cr, c_text(easel, draw->text));
    set_ink(easel, draw->ink);
    cairo_fill(easel->cr);
    cairo_restore(easel->cr);
}

static void paint_bar(Easel *easel, const Draw *draw, bool frame) {
    double inset = frame ? 0.5 : 0;
    set_ink(easel, draw->ink);
    cairo_rectangle(easel->cr, points(draw->x) + inset, points(draw->y) + inset, points(draw->width) - 2 * inset,
                    points(draw->height) - 2 * inset);
    if (!frame) {
        cairo_fill(easel->cr);
        return;
    }
    cairo_set_line_width(easel->cr, 1);
    cairo_stroke(easel->cr);
}

/* ---- what only a PDF has: places, links, roles ---- */

enum { ATTRIBUTES = 256 };

/* Names of places are the layout's own: letters, digits, hyphens. */
static const char *place_attributes(Easel *easel, char attributes[ATTRIBUTES], const char *key, Str name) {
    size_t head = strlen(key);
    if (head + name.len + 3 > ATTRIBUTES) {
        easel->failed = true;
        return "";
    }
    memcpy(attributes, key, head);
    attributes[head] = '\'';
    memcpy(attributes + head + 1, name.ptr, name.len);
    attributes[head + name.len + 1] = '\'';
    attributes[head + name.len + 2] = 0;
    return attributes;
}

static void paint_place(Easel *easel, const Draw *draw) {
    char attributes[ATTRIBUTES];
    cairo_tag_begin(easel->cr, CAIRO_TAG_DEST, place_attributes(easel, attributes, "name=", draw->text));
    cairo_tag_end(easel->cr, CAIRO_TAG_DEST);
}

static size_t put_number(char *at, Length length) {
    uint32_t n = length < 0 ? 0 : (uint32_t)length;
    char digits[16];
    size_t count = 0, used = 0;
    uint32_t whole = n / POINT;
    do digits[count++] = (char)('0' + whole % 10), whole /= 10;
    while (whole);
    while (count) at[used++] = digits[--count];
    at[used++] = '.';
    for (uint32_t digit = POINT / 10; digit; digit /= 10) at[used++] = (char)('0' + n / digit % 10);
    at[used++] = ' ';
    return used;
}

static void paint_link(Easel *easel, const Draw *draw) {
    char attributes[ATTRIBUTES];
    place_attributes(easel, attributes, "dest=", draw->text);
    size_t used = strlen(attributes);
    if (used + 80 > ATTRIBUTES) {
        easel->failed = true;
        return;
    }
    memcpy(attributes + used, " rect=[", 7);
    used += 7;
    const Length sides[] = {draw->x, draw->y, draw->width, draw->height};
    for (size_t i = 0; i < 4; i++) used += put_number(attributes + used, sides[i]);
    attributes[used++] = ']';
    attributes[used] = 0;
    cairo_tag_begin(easel->cr, CAIRO_TAG_LINK, attributes);
    cairo_tag_end(easel->cr, CAIRO_TAG_LINK);
}

static void paint_outline(Easel *easel, const Draw *draw) {
    char attributes[ATTRIBUTES];
    place_attributes(easel, attributes, "dest=", draw->target);
    cairo_pdf_surface_add_outline(easel->surface, CAIRO_PDF_OUTLINE_ROOT, c_text(easel, draw->text), attributes,
                                  CAIRO_PDF_OUTLINE_FLAG_OPEN);
}

static void paint_for_readers(Easel *easel, const Draw *draw) {
    if (!easel->pdf) return;
    if (draw->kind == DRAW_OPEN) cairo_tag_begin(easel->cr, c_text(easel, draw->text), NULL);
    else if (draw->kind == DRAW_CLOSE) cairo_tag_end(easel->cr, c_text(easel, draw->text));
    else if (draw->kind == DRAW_PLACE) paint_place(easel, draw);
    else if (draw->kind == DRAW_LINK) paint_link(easel, draw);
    else paint_outline(easel, draw);
}

static void paint_mark(Easel *easel, const Draw *draw) {
    switch (draw->kind) {
    case DRAW_PAGE: return;
    case DRAW_TEXT: paint_text(easel, draw); return;
    case DRAW_ACROSS: paint_across(easel, draw); return;
    case DRAW_BAR: paint_bar(easel, draw, false); return;
    case DRAW_FRAME: paint_bar(easel, draw, true); return;
    case DRAW_OPEN:
    case DRAW_CLOSE:
    case DRAW_PLACE:
    case DRAW_LINK:
    case DRAW_OUTLINE: paint_for_readers(easel, draw); return;
    }
}

/* ---- PDF ---- */

typedef struct {
    Sink sink;
    bool refused;
} Out;

static cairo_status_t write_out(void *closure, const unsigned char *bytes, unsigned n) {
    Out *out = closure;
    out->refused |= !out->sink.write(out->sink.context, (const char *)bytes, n);
    return out->refused ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

static void describe(Easel *easel) {
    const Drawing *drawing = easel->drawing;
    char day[] = "1970-01-01T00:00:00Z"; /* cairo would ask the clock */
    if (drawing->day.len == 10) memcpy(day, drawing->day.ptr, 10);
    cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_TITLE, c_text(easel, drawing->title));
    if (drawing->author.len)
        cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_AUTHOR, c_text(easel, drawing->author));
    cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_SUBJECT, c_text(easel, drawing->subject));
    cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_CREATOR, "Startwright");
    cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_CREATE_DATE, day);
    cairo_pdf_surface_set_metadata(easel->surface, CAIRO_PDF_METADATA_MOD_DATE, day);
}

static void fixed_type(cairo_t *cr) {
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
}

static bool paint_pdf(Easel *easel, Out *out) {
    const Drawing *drawing = easel->drawing;
    easel->surface =
        cairo_pdf_surface_create_for_stream(write_out, out, points(drawing->width), points(drawing->height));
    easel->cr = cairo_create(easel->surface);
    easel->pdf = true;
    describe(easel);
    fixed_type(easel->cr);
    cairo_tag_begin(easel->cr, "Document", NULL);
    bool page_open = false;
    for (size_t i = 0; !easel->failed && i < drawing->n; i++) {
        if (drawing->draws[i].kind == DRAW_PAGE && page_open) cairo_show_page(easel->cr);
        page_open |= drawing->draws[i].kind == DRAW_PAGE;
        paint_mark(easel, &drawing->draws[i]);
    }
    cairo_tag_end(easel->cr, "Document");
    cairo_show_page(easel->cr);
    bool good = cairo_status(easel->cr) == CAIRO_STATUS_SUCCESS;
    cairo_surface_finish(easel->surface);
    good = good && cairo_surface_status(easel->surface) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(easel->cr);
    cairo_surface_destroy(easel->surface);
    return good;
}

/* ---- PNG: all pages in one picture, in rows ---- */

enum { PIXELS_PER_INCH = 100, SIDE_LIMIT = 16000 };

static bool paint_png(Easel *easel, Out *out) {
    const Drawing *drawing = easel->drawing;
    size_t columns = 1;
    while (columns * columns < drawing->pages) columns++;
    size_t rows = (drawing->pages + columns - 1) / columns;
    double scale = PIXELS_PER_INCH / 72.0, width = points(drawing->width), height = points(drawing->height);
    double longest = width * (double)columns > height * (double)rows ? width * (double)columns : height * (double)rows;
    if (longest * scale > SIDE_LIMIT) scale = SIDE_LIMIT / longest;
    easel->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(width * (double)columns * scale),
                                                (int)(height * (double)rows * scale));
    easel->cr = cairo_create(easel->surface);
    fixed_type(easel->cr);
    cairo_set_source_rgb(easel->cr, 1, 1, 1);
    cairo_paint(easel->cr);
    size_t page = 0;
    for (size_t i = 0; !easel->failed && i < drawing->n; i++) {
        if (drawing->draws[i].kind == DRAW_PAGE) {
            cairo_identity_matrix(easel->cr);
            cairo_scale(easel->cr, scale, scale);
            cairo_translate(easel->cr, width * (double)(page % columns), height * (double)(page / columns));
            page++;
        }
        paint_mark(easel, &drawing->draws[i]);
    }
    bool good = cairo_status(easel->cr) == CAIRO_STATUS_SUCCESS &&
                cairo_surface_write_to_png_stream(easel->surface, write_out, out) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(easel->cr);
    cairo_surface_destroy(easel->surface);
    return good;
}

static bool paint(const Drawing *drawing, PaintKind kind, Sink sink, const char **why_not) {
    Easel easel = {.drawing = drawing};
    Out out = {sink, false};
    bool good = kind == PAINT_PDF ? paint_pdf(&easel, &out) : paint_png(&easel, &out);
    free(easel.words);
    if (good && !easel.failed) return true;
    *why_not = out.refused ? "what was drawn could not be written" : "there is no memory left to draw the cards";
    return false;
}

const Press *startwright_press(void) {
    static Press press = {.version = PRESS_VERSION,
                          .advance = face_advance,
                          .unlike = face_unlike,
                          .subset = face_subset,
                          .paint = paint};
    return press.em || faces_open(&press) ? &press : NULL;
}
