/* Limits: NASA CR-177605 (1992) on the type of flight-deck documents, read in secondary accounts; the ratio of a character's height to
   its distance from an abstract of a human-factors handbook; contrast from W3C's WCAG, not read; what is called house is ours. */
#include "back/legible.h"
#include "back/type.h"
#include "base/utf8.h"
#include <math.h>

enum {
    SMALL_LETTERS = 254,  /* hundredths of a millimetre at REFERENCE: 0.10 in */
    REFERENCE = 600,      /* millimetres */
    DISTANCE_SHARE = 200, /* a character is at least so small a part of the distance */
    LEAST_GAP = 25,       /* per cent of the type */
    MOST_IN_LINE = 75,    /* characters */
    MOST_CAPITALS = 50,   /* characters: one line of the length that cards are designed for */
    LEAST_UNLIKE = 20,    /* per cent of what two glyphs cover together */
    BLAMED = 8,           /* characters that are named */
    TEXT_CONTRAST = 70,   /* tenths */
    MARK_CONTRAST = 30
};

/* The worst of something, and how often it is beyond its limit. */
typedef struct {
    int64_t value;
    size_t page, times;
    bool any;
} Worst;

typedef struct {
    const Drawing *drawing;
    const Press *press;
    size_t page;
    bool foot, grounded; /* in a page's foot; something pale lies across the page */
    Length type, foot_type;
    Worst gap, line, foot_line, capitals, lone_red, lone_amber;
    size_t red, amber, coloured_text;
    /* of the line, the run of capitals and the paragraph being read */
    Length last_y, last_height;
    int64_t in_line, run, run_to_capital;
    bool says_warning, says_caution, has_red, has_amber;
    /* words that do not stand in the cards' own typeface, and the characters that are to blame, each once */
    Worst others;
    uint32_t blamed[BLAMED];
    size_t n_blamed;
    /* drills, and those that go on over more than one page; of the card being read: its mark, and its pages */
    size_t drills;
    Worst broken;
    Str mark;
    size_t card_pages;
} Scan;

static void least(Worst *worst, int64_t value, int64_t limit, size_t page) {
    if (value < limit) worst->times++;
    if (worst->any && worst->value <= value) return;
    worst->value = value, worst->page = page, worst->any = true;
}

static void most(Worst *worst, int64_t value, int64_t limit, size_t page) {
    if (value > limit) worst->times++;
    if (worst->any && worst->value >= value) return;
    worst->value = value, worst->page = page, worst->any = true;
}

/* ---- reading the drawing ---- */

static bool is_small_letter(uint32_t code) {
    return (code >= 'a' && code <= 'z') || (code >= 0xdf && code <= 0xff && code != 0xf7);
}

static bool is_capital(uint32_t code) {
    return (code >= 'A' && code <= 'Z') || (code >= 0xc0 && code <= 0xde && code != 0xd7);
}

static void close_line(Scan *scan) {
    if (scan->in_line) most(scan->foot ? &scan->foot_line : &scan->line, scan->in_line, MOST_IN_LINE, scan->page);
    scan->in_line = 0;
}

static void close_capitals(Scan *scan) {
    if (scan->run_to_capital) most(&scan->capitals, scan->run_to_capital, MOST_CAPITALS, scan->page);
    scan->run = scan->run_to_capital = 0;
}

static void close_paragraph(Scan *scan) {
    close_line(scan);
    close_capitals(scan);
    if (scan->has_red && !scan->says_warning) most(&scan->lone_red, 1, 0, scan->page);
    if (scan->has_amber && !scan->says_caution) most(&scan->lone_amber, 1, 0, scan->page);
    scan->has_red = scan->has_amber = scan->says_warning = scan->says_caution = false;
}

static void read_capitals(Scan *scan, Str text) {
    for (size_t at = 0; at < text.len;) {
        Utf8 code = utf8_decode(text, at);
        at += code.size;
        if (is_small_letter(code.code)) close_capitals(scan);
        else if (scan->run || is_capital(code.code)) scan->run++;
        if (is_capital(code.code)) scan->run_to_capital = scan->run;
    }
    if (scan->run) scan->run++; /* the blank at the line's end */
}

/* ---- words in the other typeface ---- */

static void blame(Scan *scan, uint32_t code) {
    for (size_t i = 0; i < scan->n_blamed; i++)
        if (scan->blamed[i] == code) return;
    if (scan->n_blamed < BLAMED) scan->blamed[scan->n_blamed++] = code;
}

static void read_other(Scan *scan, Str text) {
    bool in_word = false;
    for (size_t at = 0; at < text.len;) {
        Utf8 code = utf8_decode(text, at);
        at += code.size;
        if (code.code != ' ' && !in_word) most(&scan->others, 1, 0, scan->page);
        in_word = code.code != ' ';
        if (!is_own(scan->press, code.code)) blame(scan, code.code);
    }
}

/* ---- drills ---- */

/* "D3" of "D3 STARTER STAYS ENGAGED"; empty: no drill. */
static Str drill_mark(Str title) {
    size_t end = 1;
    while (end < title.len && title.ptr[end] >= '0' && title.ptr[end] <= '9') end++;
    bool is = title.len && title.ptr[0] == 'D' && end > 1 && end < title.len && title.ptr[end] == ' ';
    return is ? str_slice(title, 0, end) : STR("");
}

static void close_card(Scan *scan) {
    if (!scan->mark.len) return;
    scan->drills++;
    if (scan->card_pages > 1) most(&scan->broken, (int64_t)scan->card_pages, 1, scan->page - scan->card_pages + 1);
    scan->mark = STR("");
}

/* The card begins on a page that was counted to the one before it. */
static void open_card(Scan *scan, Str title) {
    if (scan->card_pages) scan->card_pages--, scan->page--;
    close_card(scan);
    scan->page++, scan->card_pages = 1;
    scan->mark = drill_mark(title);
}

static void read_text(Scan *scan, const Draw *draw) {
    if (!face_is_own(draw->face)) read_other(scan, draw->text);
    Length *type = scan->foot ? &scan->foot_type : &scan->type;
    if (!*type || draw->height < *type) *type = draw->height;
    if (draw->y != scan->last_y) close_line(scan);
    if (draw->y > scan->last_y && draw->height > 0 && draw->height == scan->last_height)
        least(&scan->gap, (int64_t)(draw->y - scan->last_y - draw->height) * 100 / draw->height, LEAST_GAP, scan->page);
    scan->last_y = draw->y, scan->last_height = draw->height;
    for (size_t at = 0; at < draw->text.len; scan->in_line++) at += utf8_decode(draw->text, at).size;
    if (!scan->foot) read_capitals(scan, draw->text);
    scan->coloured_text += draw->ink != INK_BLACK;
    scan->says_warning |= str_starts(draw->text, STR("WARNING:"));
    scan->says_caution |= str_starts(draw->text, STR("CAUTION:"));
}

static void read_bar(Scan *scan, const Draw *draw) {
    if (draw->ink == INK_RED) scan->red++, scan->has_red = true;
    if (draw->ink == INK_AMBER) scan->amber++, scan->has_amber = true;
}

static void read_mark(Scan *scan, const Draw *draw) {
    switch (draw->kind) {
    case DRAW_PAGE:
        close_paragraph(scan);
        scan->page++, scan->card_pages++;
        scan->last_y = scan->last_height = 0;
        return;
    case DRAW_OPEN:
        close_paragraph(scan);
        scan->foot = str_eq(draw->target, STR("foot"));
        return;
    case DRAW_CLOSE: close_paragraph(scan); return;
    case DRAW_TEXT: read_text(scan, draw); return;
    case DRAW_ACROSS: scan->grounded = true; return;
    case DRAW_BAR:
    case DRAW_FRAME: read_bar(scan, draw); return;
    case DRAW_OUTLINE: open_card(scan, draw->text); return;
    case DRAW_PLACE:
    case DRAW_LINK: return;
    }
}

/* ---- light ---- */

static double luminance(Ink ink) {
    static const double share[] = {0.2126, 0.7152, 0.0722};
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        double level = ink_levels(ink)[i] / 1000.0;
        sum += share[i] * (level <= 0.04045 ? level / 12.92 : pow((level + 0.055) / 1.055, 2.4));
    }
    return sum;
}

/* In tenths; the paper is white where nothing pale lies on it. */
static int64_t contrast(Ink ink, double ground) {
    double a = luminance(ink), dark = a < ground ? a : ground, light = a < ground ? ground : a;
    return (int64_t)((light + 0.05) / (dark + 0.05) * 10);
}

/* ---- what is told ---- */

typedef struct {
    Arena *arena;
    LegibleList list;
} Telling;

static void buf_parts(Buf *buf, int64_t value, int64_t parts) {
    buf_int(buf, value / parts);
    buf_char(buf, '.');
    for (int64_t digit = parts / 10; digit; digit /= 10) buf_char(buf, (char)('0' + value / digit % 10));
}

static void tell(Telling *telling, const char *what, const Buf *found, const char *wanted, const char *source,
                 LegibleGrade grade, const Worst *worst) {
    LegibleMeasure one = {.what = what, .found = buf_view(found), .wanted = wanted, .source = source, .grade = grade};
    if (worst) one.page = worst->page, one.times = worst->times;
    vec_push(telling->arena, &telling->list, one);
}

static const char review[] = "NASA CR-177605 (1992), by secondary accounts";
static const char handbook[] = "abstract of a human-factors handbook";
static const char wcag[] = "W3C WCAG, not read";
static const char house[] = "house";

static int64_t hundredths_of_mm(int64_t length) {
    return length * 2540 / 72000;
}

/* In tenths, as the eye sees it from there. */
static int64_t minutes_of_arc(int64_t length, int64_t from_mm) {
    return length * 121276 / (10000 * from_mm);
}

static void buf_height(Buf *buf, int64_t length, int64_t from_mm) {
    buf_parts(buf, hundredths_of_mm(length), 100);
    buf_text(buf, " mm, ");
    buf_parts(buf, minutes_of_arc(length, from_mm), 10);
    buf_text(buf, " minutes of arc at ");
    buf_int(buf, from_mm / 10);
    buf_text(buf, " cm");
}

static void tell_heights(Telling *telling, const Scan *scan, Length type, int64_t from_mm, bool foot) {
    const Press *press = scan->press;
    int64_t small = (int64_t)type * press->x_height / press->em,
            capital = (int64_t)type * press->cap_height / press->em;
    Buf x_height = {telling->arena, NULL, 0, 0}, height = x_height;
    buf_height(&x_height, small, from_mm);
    buf_height(&height, capital, from_mm);
    bool read = hundredths_of_mm(small) * REFERENCE >= SMALL_LETTERS * from_mm;
    bool tall = hundredths_of_mm(capital) * DISTANCE_SHARE >= from_mm * 100;
    tell(telling, foot ? "small letters of the foot, held in the hand" : "small letters", &x_height,
         "at least 2.54 mm at 60 cm, in proportion elsewhere", review, read ? LEGIBLE_KEPT : LEGIBLE_SHORT, NULL);
    tell(telling, foot ? "capitals of the foot, held in the hand" : "capitals", &height,
         "at least 1/200 of the distance; 20 minutes of arc are good, 16 marginal", handbook,
         !tall                                    ? LEGIBLE_SHORT
         : minutes_of_arc(capital, from_mm) < 160 ? LEGIBLE_MARGINAL
                                                  : LEGIBLE_KEPT,
         NULL);
}

static void tell_lines(Telling *telling, const Scan *scan) {
    Buf gap = {telling->arena, NULL, 0, 0}, line = gap, foot_line = gap, capitals = gap;
    buf_int(&gap, scan->gap.any ? scan->gap.value : 100), buf_text(&gap, " % of the type");
    tell(telling, "gap between lines", &gap, "at least 25 %", review, scan->gap.times ? LEGIBLE_SHORT : LEGIBLE_KEPT,
         &scan->gap);
    buf_int(&line, scan->line.value), buf_text(&line, " characters");
    tell(telling, "longest line", &line, "at most 75 characters", "custom of typographers",
         scan->line.times ? LEGIBLE_MARGINAL : LEGIBLE_KEPT, &scan->line);
    buf_int(&foot_line, scan->foot_line.value), buf_text(&foot_line, " characters");
    tell(telling, "longest line of the foot", &foot_line, "at most 75 characters", "custom of typographers",
         scan->foot_line.times ? LEGIBLE_MARGINAL : LEGIBLE_KEPT, &scan->foot_line);
    buf_int(&capitals, scan->capitals.value), buf_text(&capitals, " characters");
    tell(telling, "longest run of capitals", &capitals, "short: at most a line of 50 characters",
         "NASA CR-177605 (1992), by secondary accounts; the number is the house's",
         scan->capitals.times ? LEGIBLE_MARGINAL : LEGIBLE_KEPT, &scan->capitals);
}

static void tell_glyphs(Telling *telling, const Press *press) {
    static const char pairs[][2] = {{'0', 'O'}, {'1', 'l'}, {'1', 'I'}, {'l', 'I'}, {'5', 'S'},
                                    {'8', 'B'}, {'2', 'Z'}, {'6', 'b'}, {'9', 'g'}, {'u', 'v'}};
    int32_t lowest = 100;
    size_t which = 0;
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        for (int face = 0; face < OWN_FACES; face++) {
            int32_t unlike = press->unlike((Face)face, (uint32_t)pairs[i][0], (uint32_t)pairs[i][1]);
            if (unlike < lowest) lowest = unlike, which = i;
        }
    Buf found = {telling->arena, NULL, 0, 0};
    buf_char(&found, pairs[which][0]), buf_text(&found, " and "), buf_char(&found, pairs[which][1]);
    buf_text(&found, " differ in "), buf_int(&found, lowest), buf_text(&found, " % of what they cover");
    tell(telling, "characters most alike, of 10 pairs that are taken for each other", &found, "at least 20 %",
         "NASA CR-177605 (1992), by secondary accounts; the number is the house's",
         lowest < LEAST_UNLIKE ? LEGIBLE_SHORT : LEGIBLE_KEPT, NULL);
}

static void tell_others(Telling *telling, const Scan *scan) {
    Buf found = {telling->arena, NULL, 0, 0}, broken = found;
    buf_uint(&found, scan->others.times), buf_text(&found, scan->others.times == 1 ? " word" : " words");
    for (size_t i = 0; i < scan->n_blamed; i++)
        buf_text(&found, i ? ", \"" : ", for \""), buf_utf8(&found, scan->blamed[i]), buf_char(&found, '"');
    tell(telling, "words in another typeface", &found, "none: it was not made to be read in cockpits", house,
         scan->others.times ? LEGIBLE_MARGINAL : LEGIBLE_KEPT, &scan->others);
    buf_uint(&broken, scan->broken.times), buf_text(&broken, " of "), buf_uint(&broken, scan->drills);
    tell(telling, "drills that go on on another page", &broken, "none: larger paper, or fewer lines", house,
         scan->broken.times ? LEGIBLE_MARGINAL : LEGIBLE_KEPT, &scan->broken);
}

static void tell_colours(Telling *telling, const Scan *scan) {
    Buf text = {telling->arena, NULL, 0, 0}, ink = text, bars = text, grey = text;
    int64_t found = contrast(INK_BLACK, scan->grounded ? luminance(INK_PALE) : 1);
    buf_parts(&text, found, 10), buf_text(&text, scan->grounded ? " to 1, on the pale word across the page" : " to 1");
    tell(telling, "contrast of text", &text, "at least 7 to 1", wcag,
         found < TEXT_CONTRAST ? LEGIBLE_SHORT : LEGIBLE_KEPT, NULL);
    buf_uint(&ink, scan->coloured_text), buf_text(&ink, " texts");
    tell(telling, "text that is not black", &ink, "none: red ink vanishes under a red lamp", house,
         scan->coloured_text ? LEGIBLE_SHORT : LEGIBLE_KEPT, NULL);
    Worst lone = scan->lone_red.times ? scan->lone_red : scan->lone_amber;
    lone.times = scan->lone_red.times + scan->lone_amber.times;
    buf_uint(&bars, scan->red), buf_text(&bars, " lines red, "), buf_uint(&bars, scan->amber);
    buf_text(&bars, " amber; "), buf_uint(&bars, lone.times), buf_text(&bars, " without their word");
    tell(telling, "red and amber", &bars, "red beside WARNING only, amber beside CAUTION only, never colour alone",
         "14 CFR 25.1322, by its meaning of colours", lone.times ? LEGIBLE_SHORT : LEGIBLE_KEPT, &lone);
    int64_t red = contrast(INK_RED, 1), amber = contrast(INK_AMBER, 1);
    buf_text(&grey, "red "), buf_parts(&grey, red, 10), buf_text(&grey, " to 1, filled; amber ");
    buf_parts(&grey, amber, 10), buf_text(&grey, " to 1, hollow");
    tell(telling, "what is left of them in a grey copy", &grey, "at least 3 to 1 on paper, each in a shape of its own",
         wcag, red < MARK_CONTRAST || amber < MARK_CONTRAST ? LEGIBLE_SHORT : LEGIBLE_KEPT, NULL);
}

LegibleList legible_measure(Arena *arena, const Drawing *drawing, const Press *press, int64_t read_at_mm) {
    Scan scan = {.drawing = drawing, .press = press};
    Telling telling = {.arena = arena};
    for (size_t i = 0; i < drawing->n; i++) read_mark(&scan, &drawing->draws[i]);
    close_paragraph(&scan);
    close_card(&scan);
    tell_heights(&telling, &scan, scan.type, read_at_mm, false);
    /* a foot is not read in use: the card is brought nearer */
    tell_heights(&telling, &scan, scan.foot_type, read_at_mm < REFERENCE / 2 ? read_at_mm : REFERENCE / 2, true);
    tell_lines(&telling, &scan);
    tell_glyphs(&telling, press);
    tell_others(&telling, &scan);
    tell_colours(&telling, &scan);
    return telling.list;
}

bool buf_legible(Buf *buf, const LegibleList *list) {
    static const char *const words[] = {
        [LEGIBLE_KEPT] = "  kept      ", [LEGIBLE_MARGINAL] = "  marginal  ", [LEGIBLE_SHORT] = "  SHORT     "};
    size_t counts[3] = {0};
    for (size_t i = 0; i < list->n; i++) {
        const LegibleMeasure *one = &list->at[i];
        counts[one->grade]++;
        buf_text(buf, words[one->grade]);
        buf_text(buf, one->what), buf_text(buf, ": "), buf_str(buf, one->found);
        if (one->page && one->grade != LEGIBLE_KEPT)
            buf_text(buf, " (page "), buf_uint(buf, one->page), buf_text(buf, "; "), buf_uint(buf, one->times),
                buf_text(buf, one->times == 1 ? " place)" : " places)");
        buf_text(buf, "\n            wanted: "), buf_text(buf, one->wanted);
        buf_text(buf, " ["), buf_text(buf, one->source), buf_text(buf, "]\n");
    }
    buf_text(buf, "  "), buf_uint(buf, counts[LEGIBLE_KEPT]), buf_text(buf, " kept, ");
    buf_uint(buf, counts[LEGIBLE_MARGINAL]), buf_text(buf, " marginal, ");
    buf_uint(buf, counts[LEGIBLE_SHORT]), buf_text(buf, " short.\n");
    return !counts[LEGIBLE_SHORT];
}

bool json_legible(Json *json, const LegibleList *list) {
    static const char *const words[] = {
        [LEGIBLE_KEPT] = "kept", [LEGIBLE_MARGINAL] = "marginal", [LEGIBLE_SHORT] = "short"};
    bool good = true;
    json_array(json);
    for (size_t i = 0; i < list->n; i++) {
        const LegibleMeasure *one = &list->at[i];
        good = good && one->grade != LEGIBLE_SHORT;
        json_object(json);
        json_key(json, "found"), json_str(json, one->found);
        json_key(json, "grade"), json_text(json, words[one->grade]);
        if (one->page) json_key(json, "page"), json_int(json, (int64_t)one->page);
        json_key(json, "source"), json_text(json, one->source);
        if (one->page) json_key(json, "times"), json_int(json, (int64_t)one->times);
        json_key(json, "wanted"), json_text(json, one->wanted);
        json_key(json, "what"), json_text(json, one->what);
        json_end(json);
    }
    json_end(json);
    return good;
}
