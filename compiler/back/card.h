/* Inside the card: rows on the spine, and the pages they make. */
#ifndef BACK_CARD_H
#define BACK_CARD_H
#include "back/words.h"

typedef struct {
    const Item *item;
    uint32_t number;
} Numbered;

typedef struct {
    Str title;                 /* "ENGINE START, COLD OR WARM"; a drill's with its mark: "D3 STARTER STAYS ENGAGED" */
    Str lines;                 /* the body */
    uint32_t procedure, drill; /* NO_INDEX: the pages of cautions and briefings */
} Page;
typedef VEC(Page) Pages;

/* One card being set: a procedure's or a drill's. */
typedef struct {
    const BackInput *input;
    Arena *arena;
    const uint32_t *marks; /* by drill of the tail: n of its mark Dn; 0: not on this card */
    Buf out;
    VEC(Numbered) numbers;
    uint32_t next_number, memory_number;
    uint32_t retry; /* depth: a rule down the left edge */
    uint32_t inset; /* depth of `if` lines */
    bool in_memory;
    const Item *retry_head; /* the first line that a retry goes back to */
    uint32_t lines;         /* set so far on this page */
} Card;

enum { CARD_WIDTH = 76, CARD_THING = 28, CARD_STATE = 31, CARD_LINES = 58 };

void card_items(Card *card, const Item *items);
/* gutter: "look", "say"…; number 0: none. Long texts wrap inside their column. */
void card_row(Card *card, const char *gutter, uint32_t number, Str thing, Str state);
void card_line(Card *card, Str text); /* a line across the spine, wrapped */
void card_blank(Card *card);
void card_number_items(Card *card, const Item *items);
/* "D3 STARTER STAYS ENGAGED" */
void buf_mark(Buf *buf, const Card *card, uint32_t drill);
/* Words of a text broken at blanks into lines of at most `width` cells; returns the next line's start. */
size_t wrap_line(Str text, size_t at, size_t width, Str *line);
#endif
