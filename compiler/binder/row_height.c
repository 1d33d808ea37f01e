#include "binder/row_height.h"
#include "base/utf8.h"

enum {
    EM = 1000,
    /* A column's unit is a digit of the workbook's face at 11 points (7 of 96ths of an inch), set in thousandths of the type of 10 points. */
    COLUMN_UNIT = 525,
    COLUMN_EDGES = 375, /* a column is so much wider than its characters: 5 of those 96ths */
    WIDEST = 1015,
    FIRST_WIDE = 0x2E80, /* from here on characters are as wide as high */
    UNLISTED = 620,      /* letters with marks, dashes */
    BOLD_MORE = 8        /* in 100 */
};

/* Widths of the characters from the blank to '~', in thousandths of the type. */
static const uint16_t WIDTHS[] = {
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333,  278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667,  611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278,  556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,  500, 334, 260, 334, 584,
};

static uint32_t width_of(uint32_t code) {
    if (code >= ' ' && code <= '~') return WIDTHS[code - ' '];
    return code >= FIRST_WIDE ? EM : UNLISTED;
}

typedef struct {
    uint32_t room, lines, used, word; /* used: of the line, with the word at hand; word: that word alone */
} Wrap;

/* A word that does not fit goes to the next line; one that is longer than a line is broken. */
static void add(Wrap *wrap, uint32_t width, bool blank) {
    if (blank) {
        wrap->used += width;
        wrap->word = 0;
        return;
    }
    wrap->used += width;
    wrap->word += width;
    if (wrap->used <= wrap->room) return;
    wrap->lines++;
    if (wrap->word > wrap->room) wrap->word = width;
    wrap->used = wrap->word;
}

uint32_t lines_in_width(Str text, uint32_t width, bool bold) {
    enum { EDGES = 2 * 160 }; /* left free beside the text */
    uint32_t room = width * COLUMN_UNIT + COLUMN_EDGES;
    Wrap wrap = {room > EDGES + WIDEST ? room - EDGES : WIDEST, 1, 0, 0};
    for (size_t i = 0; i < text.len;) {
        Utf8 code = utf8_decode(text, i);
        i += code.size;
        uint32_t wide = width_of(code.code);
        if (code.code == '\n') wrap.lines++, wrap.used = wrap.word = 0;
        else add(&wrap, bold ? wide * (100 + BOLD_MORE) / 100 : wide, code.code == ' ');
    }
    return wrap.lines;
}

double row_height(uint32_t lines) {
    static const double LINE = 12.75, EDGES = 2.5, MOST = 409; /* no row of such a file can be higher */
    double height = LINE * lines + EDGES;
    return height < MOST ? height : MOST;
}
