/* Inside the drawn card: lines as wide as the paper lets them be, and the pages they make. */
#ifndef BACK_LAYOUT_H
#define BACK_LAYOUT_H
#include "back/card.h"
#include "back/draw.h"

/* What may come between a line and the one before it, from the best place to break a page to the worst. */
typedef enum {
    BREAK_AT_PHASE,
    BREAK_AT_ITEM,
    BREAK_AT_LONE,    /* the same, and leaves one item of its phase alone on a page */
    BREAK_AT_READ_ON, /* inside a drill, where the lines known by heart are over */
    BREAK_AT_FORK,    /* inside a drill, before an `if` */
    BREAK_IN_WHOLE,   /* inside a retry, a drill: between items */
    BREAK_IN_FORK,    /* inside an `if`: between items */
    BREAK_IN_ITEM     /* parts a warning, a deadline or a way out from its line */
} BreakKind;

/* One line across the page. */
typedef struct {
    const Row *row;
    Str thing, state;    /* what of them stands on this line */
    const Row *state_of; /* the row whose state it is: a deadline may stand beside the thing's second line */
    bool first, last;    /* of its row */
    BreakKind before;
    Length gap,
        height; /* the gap above is dropped at the top of a page, and is between the form's least share and all of this elsewhere */
} Strip;
typedef VEC(Strip) Strips;

/* Everything that follows from the paper, the size of the type and where the spine stands. */
typedef struct {
    const Press *press;
    Length width, height; /* of the paper */
    Length type, small;   /* sizes of type: what is read in use, and the foot */
    Length left, right, top, bottom;
    Length edge;          /* bars of retries, `if` and warnings stand between left and here */
    Length number, thing; /* where the number's column and the thing's begin */
    Length spine, state;  /* the bar, and where the state begins */
    int least_gap;        /* per cent of a gap that must stay */
} Form;

static inline Length form_lead(Length type) {
    return type / 100 * 128; /* a line gap of 28 % */
}

/* A page with room left has its rows farther apart. */
static inline Length least_gap(const Strip *strip, int share) {
    return (Length)((int64_t)strip->gap * share / 100);
}

/* How bad the breaks of a whole set are, worst first. */
typedef struct {
    uint32_t in_item, in_whole, pages;
    int64_t uneven; /* squares of what stays empty, and what a break between two items of a phase is worth in them */
} Badness;
int badness_cmp(const Badness *a, const Badness *b);

typedef struct {
    size_t *starts; /* the strip each page begins with */
    size_t n;
} Breaks;
/* The best breaks for strips on pages of `room`, with at least `least` per cent of each gap; a page that goes on gives `goes_on` of it to
   the line that says so. No strip is higher than a page with that line. */
typedef struct {
    Length height, goes_on;
    int least;
} Room;
Breaks layout_break(Arena *arena, const Strip *strips, size_t n, const Room *room, Badness *badness);

typedef struct {
    const Sheet *sheet;
    Form form; /* the set's, but where the spine stands and how close rows may come */
    Strips strips;
    Breaks breaks;
    Length body_top;
} SheetPages;

typedef struct {
    Form form;
    SheetPages *sheets;
    size_t n, pages;
    Badness badness;
    Str wide;   /* a word that no line can hold */
    bool tight; /* heads and feet leave no room */
} Setup;

/* The smallest type that can be read from there. */
Length legible_type(const Press *press, int64_t read_at_mm);
/* False: *why_not names a character that no typeface has, and where it stands. */
bool card_readable(const CardSet *set, const Press *press, Str *why_not);
Length form_title_type(const Form *form, const Sheet *sheet);
/* "2 of 3" stands beside the title. */
Length form_title_room(const Form *form);
static inline Length form_goes_on_height(const Form *form) {
    return form_lead(form->type) + form->type / 2;
}
/* Lines of the foot are no longer than the eye can follow: about 75 characters. */
static inline Length form_foot_width(const Form *form) {
    Length room = form->right - form->left, most = form->small * 37;
    return room < most ? room : most;
}
/* The foot: who made it, the caution, and the page's number, beside the caution's last line where both fit. */
typedef struct {
    Length top;
    bool code_beside, number_beside; /* the check code beside the first line; the page's number beside the last */
} Foot;
/* *wide: a word that no line can hold. */
Foot layout_foot(const Form *form, const CardSet *set, Str *wide);
void buf_row_number(Buf *buf, const Row *row);

/* The whole: false: *input->why_not says why not. */
bool card_draw(const BackInput *input, Drawing *drawing);

/* layout_draw.c */
Drawing layout_draw(Arena *arena, const CardSet *set, const Setup *setup);

/* layout_lines.c */
Length text_width(const Form *form, Face face, Length type, Str text);
/* The words from `at` that fit; returns where the next line's begin. *wide: a word does not fit a line and was cut. */
size_t text_line(const Form *form, Face face, Length type, Length width, Str text, size_t at, Str *line, Str *wide);
/* The lines of a card. *wide: a word that no line can hold. */
Strips layout_strips(const Form *form, Arena *arena, const Sheet *sheet, Str *wide);
Face row_face(const Row *row);
bool row_on_spine(const Row *row);
#endif
