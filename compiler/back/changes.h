/* What differs between two states of one procedure set, by meaning and not by lines of text: a tail and the aircraft by its own
   text, or two revisions of a tail.
   takes   two sides: lines in order, numbers, verdicts
   gives   differences: procedures first in their order, line by line; then numbers, then verdicts
   owns    all in the arena; the sides must live as long
   never   looks at places in a source: moving a text changes nothing */
#ifndef BACK_CHANGES_H
#define BACK_CHANGES_H
#include "back/lines.h"
#include "sema/numbers.h"

typedef struct {
    Str of; /* the procedure or drill, of an engine's own drill with it: "starter-stuck.left" */
    Str title, phase, id, words;
    int64_t most_ms,
        least_ms;         /* within, up to; the least time waited; of several cases the one with most room; -1: none */
    bool remark;          /* a note, caution or warning */
    const TailLine *line; /* NULL: of a table */
    size_t parent;        /* the line it stands in, + 1; 0: none */
} SideLine;
typedef struct {
    Str key, what, shown;
    NumberRoom room;
    Rational amount;
    const Measure *measure;
    const TailNumber *number; /* NULL: of a table */
} SideNumber;
typedef struct {
    Str gate, title, verdict; /* gate: with its engine; verdict: "provedAsWritten" … */
} SideVerdict;

typedef struct {
    SideLine *lines;
    SideNumber *numbers;
    SideVerdict *verdicts;
    size_t n_lines, n_numbers, n_verdicts;
} Side;

typedef enum {
    DIFFERS_NEW_PROCEDURE, /* to: its first line */
    DIFFERS_NO_PROCEDURE,  /* from: its first line */
    DIFFERS_ADDED,
    DIFFERS_DROPPED,
    DIFFERS_MOVED,
    DIFFERS_CHANGED, /* other words, other times; perhaps moved as well */
    DIFFERS_NUMBER,  /* one of the two may be missing */
    DIFFERS_VERDICT  /* likewise */
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

/* Of a tail; verdicts where the input has a result. */
Side side_of(const BackInput *input);
/* pair: a line that went and one that came in its place, about the same thing, are one changed line. */
Differences differences(Arena *arena, const Side *from, const Side *to, bool pair);
#endif
