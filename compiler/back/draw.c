#include "back/draw.h"

static const char *const kind_words[] = {
    [DRAW_PAGE] = "page",     [DRAW_OPEN] = "open",      [DRAW_CLOSE] = "close", [DRAW_TEXT] = "text",
    [DRAW_ACROSS] = "across", [DRAW_BAR] = "bar",        [DRAW_FRAME] = "frame", [DRAW_PLACE] = "place",
    [DRAW_LINK] = "link",     [DRAW_OUTLINE] = "outline"};
static const char *const face_words[FACES] = {[FACE_PLAIN] = " plain",
                                              [FACE_BOLD] = " bold",
                                              [FACE_OTHER_PLAIN] = " plain-other",
                                              [FACE_OTHER_BOLD] = " bold-other"};
static const char *const ink_words[] = {
    [INK_BLACK] = "black", [INK_RED] = "red", [INK_AMBER] = "amber", [INK_PALE] = "pale"};

static void buf_length(Buf *buf, Length length) {
    buf_char(buf, ' ');
    if (length < 0) buf_char(buf, '-');
    uint32_t n = length < 0 ? 0u - (uint32_t)length : (uint32_t)length;
    buf_uint(buf, n / POINT);
    buf_char(buf, '.');
    for (uint32_t digit = POINT / 10; digit; digit /= 10) buf_char(buf, (char)('0' + n / digit % 10));
}

static void buf_quoted(Buf *buf, Str text) {
    buf_text(buf, " \"");
    buf_str(buf, text);
    buf_char(buf, '"');
}

static void buf_draw(Buf *buf, const Draw *draw) {
    bool inked =
        draw->kind == DRAW_TEXT || draw->kind == DRAW_ACROSS || draw->kind == DRAW_BAR || draw->kind == DRAW_FRAME;
    buf_text(buf, kind_words[draw->kind]);
    if (inked || draw->kind == DRAW_LINK) {
        buf_length(buf, draw->x);
        buf_length(buf, draw->y);
        if (draw->kind != DRAW_TEXT) buf_length(buf, draw->width);
        if (draw->kind != DRAW_ACROSS) buf_length(buf, draw->height);
    }
    if (draw->kind == DRAW_TEXT || draw->kind == DRAW_ACROSS) buf_text(buf, face_words[draw->face]);
    if (inked && draw->ink != INK_BLACK) buf_char(buf, ' '), buf_text(buf, ink_words[draw->ink]);
    if (draw->text.len) buf_quoted(buf, draw->text);
    if (draw->target.len) buf_quoted(buf, draw->target);
    buf_char(buf, '\n');
}

void buf_drawing(Buf *buf, const Drawing *drawing) {
    buf_text(buf, "drawing");
    buf_length(buf, drawing->width);
    buf_length(buf, drawing->height);
    buf_quoted(buf, drawing->title);
    buf_quoted(buf, drawing->author);
    buf_quoted(buf, drawing->subject);
    buf_quoted(buf, drawing->day);
    buf_char(buf, '\n');
    for (size_t i = 0; i < drawing->n; i++) buf_draw(buf, &drawing->draws[i]);
}
