/* What differs between two states of one procedure set, by meaning and not by lines of text: a tail and the aircraft by its own
   text, or two revisions of a tail.
   takes   two sides: lines in order, numbers, verdicts
   gives   differences: procedures first in their order, line by line; then numbers, then verdicts and rules
   owns    all in the arena; the sides must live as long
   never   looks at places in a source: moving a text changes nothing */
#ifndef BACK_CHANGES_H
#define BACK_CHANGES_H
#include "back/side.h"

typedef enum {
    DIFFERS_NEW_PROCEDURE, /* to: its first line */
    DIFFERS_NO_PROCEDURE,  /* from: its first line */
    DIFFERS_ADDED,
    DIFFERS_DROPPED,
    DIFFERS_MOVED,
    DIFFERS_CHANGED, /* other words, other times; perhaps moved as well */
    DIFFERS_NUMBER,  /* one of the two may be missing */
    DIFFERS_VERDICT, /* likewise */
    DIFFERS_RULE     /* the rule says otherwise; perhaps with another verdict as well */
} DifferenceKind;
typedef struct {
    DifferenceKind kind;
    bool moved;
    NumberChange room; /* of a number; of a changed line: by its times, else NUMBER_OTHER */
    const SideLine *from, *to;
    const SideNumber *number_from, *number_to;
    const SideVerdict *verdict_from, *verdict_to;
} Difference;
typedef VEC(Difference) Differences;

/* pair: a line that went and one that came in its place, about the same thing, are one changed line. */
Differences differences(Arena *arena, const Side *from, const Side *to, bool pair);
#endif
