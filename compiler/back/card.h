/* Inside the cards: what stands on them, row by row, before anything is set on a page. The text card and the drawn card are both
   set from these rows. */
#ifndef BACK_CARD_H
#define BACK_CARD_H
#include "back/words.h"

typedef enum {
    ROW_ITEM,   /* on the spine: the thing before the bar, its state behind it; number 0: goes on with the item above */
    ROW_STATE,  /* behind the bar, below its item: a deadline, a way out, an answer */
    ROW_REASON, /* likewise: why */
    ROW_LINE,   /* all others run across the spine */
    ROW_LIST,   /* one of many short ones */
    ROW_CUE,    /* of a drill: when, from when */
    ROW_NOTE,   /* before its item, as a caution and a warning are */
    ROW_CAUTION,
    ROW_WARNING,
    ROW_IF,         /* the lines set in below it hold only then */
    ROW_IF_NOT,     /* the same, for the item above */
    ROW_PHASE,      /* a head */
    ROW_PHASE_DONE, /* its completion line */
    ROW_AGAIN,      /* the foot of a retry */
    ROW_READ_ON,    /* memory lines are over */
    ROW_END,        /* how it ends */
    ROW_LEFT,       /* how the controls are left */
    ROW_BLANK
} RowKind;

typedef struct {
    RowKind kind;
    const char *gutter; /* "look", "say"…; "" */
    uint32_t number;    /* 0: none */
    bool memory;        /* one of the lines known by heart */
    uint32_t retry;     /* depth of retries */
    uint32_t inset;     /* depth of `if` lines */
    uint32_t block;     /* rows of one item of the procedure's first level have the same */
    uint32_t turns_to;  /* the drill it sends to; NO_INDEX: none */
    bool changed;       /* new or otherwise since the revision that the document follows */
    Str thing, state;   /* of a row across: its first words ("WARNING:"), the rest */
} Row;
typedef VEC(Row) Rows;

typedef struct CardChanges CardChanges; /* card_changes.h */

typedef struct {
    const Item *item;
    uint32_t number;
} Numbered;

/* One card: a procedure, a drill, the briefings, or the last page. */
typedef struct {
    Str title;                 /* "ENGINE START, COLD OR WARM"; a drill's with its mark: "D3 STARTER STAYS ENGAGED" */
    uint32_t procedure, drill; /* NO_INDEX: neither */
    Rows rows;
} Sheet;

typedef struct {
    const BackInput *input;
    Arena *arena;
    uint32_t *marks; /* by drill of the tail: n of its mark Dn; 0: not on these cards */
    uint32_t n_marks;
    uint32_t *drills; /* in the order of their marks */
    VEC(Sheet) sheets;
    const CardChanges *changes; /* NULL: the document follows no revision */
} CardSet;

/* All but the last page, which lists the pages that were made of the others and of itself. */
CardSet card_set(const BackInput *input);
/* n is 0 where there are no pages: on screens. */
void card_set_last(CardSet *set, const Str *page_titles, size_t n);
/* The lines that leave the controls as they are at the end of a drill, one a control; 0: that depends on the way through it. */
size_t drill_left_as(const CardSet *set, const Drill *drill, const Item ***last);
Str card_last_title(bool pages);
bool card_prints_procedure(const CardSet *set, const Procedure *procedure);
/* "DRAFT", "NOT PROVED", or "" */
const char *card_standing(const Edition *edition);
/* "qm-1-cards, revision 1, effective 2031-05-01, review by 2032-05-01" */
Str card_identity(const CardSet *set);
/* The tail's title and the caution of every page. */
Str card_caution(const CardSet *set);

/* ---- making the rows ---- */

/* One card being made. */
typedef struct {
    const BackInput *input;
    Arena *arena;
    const uint32_t *marks;
    Rows rows;
    VEC(Numbered) numbers;
    uint32_t next_number, memory_number;
    uint32_t retry, inset, block;
    uint32_t turns_to; /* of the row being made */
    bool in_memory;
    const Item *retry_head; /* the first line that a retry goes back to */
    const Test *applies;    /* of the procedure; NULL: nothing stated, or a drill, which several may come to */
    const CardChanges *changes;
    bool changed; /* the item whose rows are made is */
} Card;

Card card_open(CardSet *set);
void card_add_sheet(CardSet *set, Str title, const Card *card, uint32_t procedure, uint32_t drill);
void card_items(Card *card, const Item *items);
void card_item(Card *card, const Item *item);                 /* without those behind it */
void card_line(Card *card, RowKind kind, Str lead, Str text); /* across the spine */
void card_blank(Card *card);
void card_number_items(Card *card, const Item *items);
/* What comes next, in the card's words; of lines of its own nothing. Sets card->turns_to. */
void buf_action(Buf *buf, Card *card, const ItemAction *action);
/* False for a line of a duty whose `when` the procedure's `applies when` shuts out. */
bool card_duty_counts(const Card *card, const DutyLine *line);
/* "D3 STARTER STAYS ENGAGED" */
void buf_mark(Buf *buf, const Card *card, uint32_t drill);
#endif
