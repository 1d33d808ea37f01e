#include "back/web.h"
#include "base/utf8.h"

enum { PLANE = 0x10000 };

void glyphs_add(Glyphs *glyphs, Face face, Str text) {
    for (size_t at = 0; at < text.len;) {
        Utf8 code = utf8_decode(text, at);
        if (code.code < PLANE) glyphs->used[face][code.code / 8] |= (uint8_t)(1u << code.code % 8);
        at += code.size;
    }
}

void glyphs_settle(Glyphs *glyphs, const Press *press) {
    for (int face = 0; face < OWN_FACES; face++)
        for (uint32_t code = 0x80; code < PLANE; code++) {
            uint8_t bit = (uint8_t)(1u << code % 8);
            if (!(glyphs->used[face][code / 8] & bit) || press->advance((Face)face, code) >= 0) continue;
            glyphs->used[face][code / 8] &= (uint8_t)~bit;
            glyphs->used[other_face((Face)face)][code / 8] |= bit;
        }
}

static void buf_base64(Buf *buf, Str bytes) {
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t i = 0; i < bytes.len; i += 3) {
        uint32_t group = 0;
        for (size_t k = 0; k < 3; k++) group = group << 8 | (i + k < bytes.len ? (unsigned char)bytes.ptr[i + k] : 0u);
        for (size_t k = 0; k < 4; k++) buf_char(buf, i + k <= bytes.len ? digits[group >> (18 - 6 * k) & 63] : '=');
    }
}

static bool buf_face(Buf *buf, Arena *arena, const Press *press, const Glyphs *glyphs, Face face) {
    uint32_t *codes = ARENA_ARRAY(arena, uint32_t, PLANE);
    size_t n = 0;
    for (uint32_t code = ' '; code < PLANE; code++)
        if (glyphs->used[face][code / 8] >> code % 8 & 1) codes[n++] = code;
    if (!n) return true;
    Buf bytes = {arena, NULL, 0, 0};
    if (!press->subset(face, codes, n, sink_to_buf(&bytes))) return false;
    bool own = face_is_own(face);
    buf_text(buf, own ? "@font-face{font-family:card;font-weight:" : "@font-face{font-family:more;font-weight:");
    buf_text(buf, face_is_bold(face) ? "700" : "400");
    buf_text(buf, own ? ";src:url(data:font/otf;base64," : ";src:url(data:font/ttf;base64,");
    buf_base64(buf, buf_view(&bytes));
    buf_text(buf, own ? ") format(\"opentype\")}\n" : ") format(\"truetype\")}\n");
    return true;
}

bool buf_faces(Buf *buf, Arena *arena, const Press *press, const Glyphs *glyphs) {
    for (int face = 0; face < FACES; face++)
        if (!buf_face(buf, arena, press, glyphs, (Face)face)) return false;
    return true;
}

void buf_escaped(Buf *buf, Str text) {
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (c == '&') buf_text(buf, "&amp;");
        else if (c == '<') buf_text(buf, "&lt;");
        else if (c == '>') buf_text(buf, "&gt;");
        else if (c == '"') buf_text(buf, "&quot;");
        else buf_char(buf, c);
    }
}

void buf_points(Buf *buf, Length length) {
    uint32_t n = length < 0 ? 0u - (uint32_t)length : (uint32_t)length, rest = n % POINT;
    if (length < 0) buf_char(buf, '-');
    buf_uint(buf, n / POINT);
    if (rest) buf_char(buf, '.');
    for (uint32_t digit = POINT / 10; rest; rest %= digit, digit /= 10) buf_char(buf, (char)('0' + rest / digit % 10));
}
