#include "base/utf8.h"

static const Utf8 INVALID = {0xFFFD, 1, false};

static bool is_tail(unsigned char byte) {
    return (byte & 0xC0) == 0x80;
}

/* The least code that needs so many bytes: anything below it is an overlong spelling. */
static const uint32_t least_code[] = {0, 0, 0x80, 0x800, 0x10000};

Utf8 utf8_decode(Str text, size_t at) {
    unsigned char first = (unsigned char)text.ptr[at];
    if (first < 0x80) return (Utf8){first, 1, true};
    uint32_t size = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
    if (first < 0xC2 || first > 0xF4 || size > text.len - at) return INVALID;
    uint32_t code = first & (0x7Fu >> size);
    for (uint32_t i = 1; i < size; i++) {
        unsigned char byte = (unsigned char)text.ptr[at + i];
        if (!is_tail(byte)) return INVALID;
        code = code << 6 | (byte & 0x3Fu);
    }
    bool surrogate = code >= 0xD800 && code <= 0xDFFF;
    if (code < least_code[size] || surrogate || code > 0x10FFFF) return INVALID;
    return (Utf8){code, size, true};
}

typedef struct {
    uint32_t lo, hi;
} Codes;

/* Characters that turn the direction of writing, and others that show nothing at all: not the joiners (U+200C, U+200D), which letters of some
   scripts need. */
static const Codes turning[] = {{0x061C, 0x061C}, {0x200E, 0x200F}, {0x202A, 0x202E}, {0x2066, 0x2069}};
static const Codes hidden[] = {
    {0x0000, 0x0008}, {0x000B, 0x000C}, {0x000E, 0x001F}, {0x007F, 0x009F},   {0x00AD, 0x00AD}, {0x115F, 0x1160},
    {0x180E, 0x180E}, {0x200B, 0x200B}, {0x2028, 0x2029}, {0x2060, 0x2064},   {0x206A, 0x206F}, {0x3164, 0x3164},
    {0xFEFF, 0xFEFF}, {0xFFA0, 0xFFA0}, {0xFFF9, 0xFFFB}, {0xE0000, 0xE007F},
};
/* Marks that stand on the letter before them, and formatting characters without a shape. */
static const Codes no_cell[] = {
    {0x0000, 0x001F}, {0x007F, 0x009F}, {0x00AD, 0x00AD}, {0x0300, 0x036F},   {0x0483, 0x0489}, {0x0591, 0x05BD},
    {0x0610, 0x061A}, {0x061C, 0x061C}, {0x064B, 0x065F}, {0x0E31, 0x0E31},   {0x0E34, 0x0E3A}, {0x0E47, 0x0E4E},
    {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x200B, 0x200F}, {0x202A, 0x202E},   {0x2060, 0x2069}, {0x20D0, 0x20F0},
    {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}, {0xE0100, 0xE01EF},
};
static const Codes two_cells[] = {
    {0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0x33FF},   {0x3400, 0x4DBF},
    {0x4E00, 0x9FFF},   {0xA000, 0xA4CF},   {0xAC00, 0xD7A3},   {0xF900, 0xFAFF},
    {0xFE30, 0xFE6F},   {0xFF00, 0xFF60},   {0xFFE0, 0xFFE6},   {0x1F300, 0x1F64F},
    {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF}, {0x20000, 0x2FFFD}, {0x30000, 0x3FFFD},
};

static bool among(const Codes *table, size_t n, uint32_t code) {
    size_t lo = 0, hi = n;
    while (lo < hi) {
        size_t middle = (lo + hi) / 2;
        if (code > table[middle].hi) lo = middle + 1;
        else hi = middle;
    }
    return lo < n && code >= table[lo].lo;
}

#define AMONG(table, code) among(table, sizeof(table) / sizeof *(table), code)

bool utf8_turns(uint32_t code) {
    return AMONG(turning, code);
}

bool utf8_hides(uint32_t code) {
    return AMONG(hidden, code);
}

uint32_t utf8_width(uint32_t code) {
    if (code >= 0x20 && code < 0x7F) return 1;
    if (AMONG(no_cell, code)) return 0;
    return AMONG(two_cells, code) ? 2 : 1;
}

size_t utf8_text_width(Str text) {
    size_t cells = 0;
    for (size_t at = 0; at < text.len;) {
        Utf8 one = utf8_decode(text, at);
        cells += one.code == '\t' ? 1 : utf8_width(one.code);
        at += one.size;
    }
    return cells;
}

size_t utf8_count(Str text) {
    size_t codes = 0;
    for (size_t at = 0; at < text.len; codes++) at += utf8_decode(text, at).size;
    return codes;
}

void buf_utf8(Buf *buf, uint32_t code) {
    if (code < 0x80) {
        buf_char(buf, (char)code);
        return;
    }
    int tails = code < 0x800 ? 1 : code < 0x10000 ? 2 : 3;
    static const unsigned char lead[] = {0, 0xC0, 0xE0, 0xF0};
    buf_char(buf, (char)(lead[tails] | code >> (6 * tails)));
    while (tails--) buf_char(buf, (char)(0x80 | (code >> (6 * tails) & 0x3F)));
}
