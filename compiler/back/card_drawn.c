/* The drawn cards, as each of the outputs that is made of a drawing. */
#include "back/impose.h"
#include "back/layout.h"
#include "back/legible.h"

static bool painted(const BackInput *input, PaintKind kind, Sink sink) {
    Drawing drawing;
    const char *because = "";
    if (!card_draw(input, &drawing)) return false;
    if (input->press->paint(&drawing, kind, sink, &because)) return true;
    *input->why_not = str_of(because);
    return false;
}

bool card_pdf(const BackInput *input, Sink sink) {
    return painted(input, PAINT_PDF, sink);
}

bool card_png(const BackInput *input, Sink sink) {
    return painted(input, PAINT_PNG, sink);
}

bool card_svg(const BackInput *input, Sink sink) {
    Drawing drawing;
    Arena *arena = input->job->arena;
    if (!card_draw(input, &drawing)) return false;
    Buf out = {arena, NULL, 0, 0};
    return buf_svg(&out, arena, &drawing, input->press) && sink.write(sink.context, out.ptr, out.len);
}

bool card_drawing(const BackInput *input, Sink sink) {
    Drawing drawing;
    if (!card_draw(input, &drawing)) return false;
    Buf out = {input->job->arena, NULL, 0, 0};
    buf_drawing(&out, &drawing);
    return sink.write(sink.context, out.ptr, out.len);
}

bool card_sheets(const BackInput *input, Sink sink) {
    Drawing drawing, sheets;
    Arena *arena = input->job->arena;
    const char *because = "";
    const Paper *page = input->edition->paper, *sheet = paper_sheet(page);
    if (!sheet) {
        *input->why_not = format_text(
            arena, NULL, "no paper is twice as large as %s; a5, a6 and half-letter are folded", str_of(page->name));
        return false;
    }
    if (!card_draw(input, &drawing)) return false;
    sheets = impose(arena, &drawing, sheet);
    if (input->press->paint(&sheets, PAINT_PDF, sink, &because)) return true;
    *input->why_not = str_of(because);
    return false;
}

/* ---- how well they can be read ---- */

static bool told(const BackInput *input, Sink sink, const Buf *out, bool good) {
    if (!sink.write(sink.context, out->ptr, out->len)) return false;
    if (!good) *input->why_not = STR("something on the cards cannot be relied on to be read");
    return good;
}

static bool measured(const BackInput *input, Drawing *drawing, LegibleList *list) {
    if (!card_draw(input, drawing)) return false;
    *list = legible_measure(input->job->arena, drawing, input->press, input->edition->read_at_mm);
    return true;
}

bool card_legibility(const BackInput *input, Sink sink) {
    Drawing drawing;
    LegibleList list;
    if (!measured(input, &drawing, &list)) return false;
    const Edition *edition = input->edition;
    Buf out = {input->job->arena, NULL, 0, 0};
    buf_format(&out, input->job->names, "%S of %S, on ", edition->document, input->tail->title);
    buf_text(&out, edition->paper->name);
    buf_text(&out, ":\n");
    bool good = buf_legible(&out, &list);
    return told(input, sink, &out, good);
}

bool card_legibility_json(const BackInput *input, Sink sink) {
    Drawing drawing;
    LegibleList list;
    if (!measured(input, &drawing, &list)) return false;
    const Edition *edition = input->edition;
    Buf out = {input->job->arena, NULL, 0, 0};
    Json json;
    json_open(&json, sink_to_buf(&out));
    json_object(&json);
    json_key(&json, "document"), json_str(&json, edition->document);
    json_key(&json, "measures");
    bool good = json_legible(&json, &list);
    json_key(&json, "pages"), json_int(&json, (int64_t)drawing.pages);
    json_key(&json, "paper"), json_text(&json, edition->paper->name);
    json_key(&json, "readAtMm"), json_int(&json, edition->read_at_mm);
    json_key(&json, "tail"), json_str(&json, input->tail->title);
    json_end(&json);
    return json_close(&json) && told(input, sink, &out, good);
}
