/* `startwright outline … --from LIST`: today's checklist, a thing and its state a line, as items. */
#ifndef TOOL_OUTLINE_LIST_H
#define TOOL_OUTLINE_LIST_H
#include "tool/outline.h"

typedef struct {
    size_t items;    /* lines whose words the vocabulary knows */
    size_t proposed; /* plain lines with a proposal */
    size_t plain;    /* plain lines without */
    Str fitted;      /* what an aircraft may have and may not have, and an item names: "avionics, boost-pump" */
} ListCounts;

/* Writes a procedure for the aircraft `name`; the vocabulary is that of the files that the skeleton uses. A line of the list is a thing and its
   state, parted by a tab, a semicolon, a colon, a dash, dots or wide blanks, in CSV (`csv`) also by a comma; one without a state is a heading.
   Nothing of the list is left out. */
ListCounts outline_list(Arena *arena, const Skeleton *skeleton, Str list, bool csv, Str name, Buf *out);
#endif
