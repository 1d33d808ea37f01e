/* One side of a comparison, as the command line names it: a source, a table that was issued, or a folder of either. */
#ifndef TOOL_SIDES_H
#define TOOL_SIDES_H
#include "back/side.h"
#include "tool/options.h"

typedef struct {
    Arena arena;
    VEC(const Side *) at; /* one for each tail: of several documents the one with the highest revision */
} Sides;

/* 0, or the exit status after a message; sides_close in either case. */
int sides_read(Sides *sides, const Options *options, const char *path);
void sides_close(Sides *sides);
#endif
