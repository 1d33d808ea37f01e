/* A change list: the differences between two states of a tail in the words of whoever reads them, on cards, in records and on a terminal.
   takes   two sides
   gives   rows in the order of the differences, and how many there are of each kind
   owns    all in the arena
   never   calls a rule more than "proved as written" */
#ifndef BACK_CHANGE_LIST_H
#define BACK_CHANGE_LIST_H
#include "back/changes.h"

typedef enum { CHANGES_OF_LINES, CHANGES_OF_NUMBERS, CHANGES_OF_RULES, CHANGE_GROUPS } ChangeGroup;
typedef struct {
    ChangeGroup group;
    Str where;        /* the procedure's title, with its phase; the number; the rule's title */
    Str id;           /* of a line "start.crank", of a number its key, of a rule its gate */
    const char *what; /* "added", "LOOSER", "proved no more" */
    Str from, to;     /* empty: there is none */
    const Difference *found;
} ChangeRow;

/* A difference may count in several: a line that was moved and has a looser time. */
typedef enum {
    COUNT_ADDED,
    COUNT_DROPPED,
    COUNT_MOVED,
    COUNT_CHANGED,
    COUNT_LOOSER,
    COUNT_TIGHTER,
    COUNT_OTHER_NUMBERS,
    COUNT_VERDICTS,
    COUNT_BROKEN, /* newly */
    COUNT_RULES,
    CHANGE_COUNTS
} ChangeCount;

typedef struct {
    VEC(ChangeRow) rows;
    size_t counts[CHANGE_COUNTS];
} ChangeList;

/* The differences point into the sides. */
ChangeList change_list(Arena *arena, const Side *from, const Side *to);
/* "2 lines added, 1 number looser, 1 rule newly broken"; "nothing changed". */
Str change_sum(Arena *arena, const size_t counts[CHANGE_COUNTS]);
/* "Engine start, cold; Engine start, hot": a change of a group's line is a change of each procedure that does the group, so that several
   rows are told as one. told: by row, those that were told so far; what is told with this one is marked. ids: with the lines' ids. */
Str change_where(Arena *arena, const ChangeList *list, size_t row, bool *told, bool ids);
const char *change_group_title(ChangeGroup group);
#endif
