/* Inside back: every line of one tail in the words of its card, one after the other, with what it rests on. Lists of ids and of
   sources, comparisons with the handbook and change lists are all made from these.
   takes   a tail; no model, no verdicts
   gives   lines in the order in which they are read; what drops out of a procedure behind its lines
   owns    all in the job's arena
   never   says a line's number on a card: that is the card's */
#ifndef BACK_LINES_H
#define BACK_LINES_H
#include "back/card.h"

typedef struct {
    const Item *item;
    const Decl *of;   /* the procedure or drill */
    uint32_t engine;  /* of a drill that exists once for each engine; NO_INDEX */
    Str title;        /* of the procedure or drill */
    Str words;        /* "Mixture: RICH"; of a phase its title */
    const Why *why;   /* where its source stands: its own clauses, else those of what is around it; NULL: nowhere */
    bool own;         /* its own */
    bool dropped;     /* about what is not fitted */
    bool conditional; /* stands under an `if` */
    uint32_t depth;   /* of lines within lines */
    uint32_t times, in_phase; /* lines of this name in the procedure, and in its phase */
} TailLine;
typedef VEC(TailLine) TailLines;

/* The input's edition, model and verdicts may be NULL. */
TailLines tail_lines(const BackInput *input);
/* "Marram 160 handbook, rev 5"; the name itself where nobody declares it. */
Str source_title(const BackInput *input, Name source);
/* One item in words, without what stands inside it. */
Str item_words(const BackInput *input, const Item *item);
#endif
