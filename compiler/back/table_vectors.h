/* Runs of a state table with the trace that every reader of it must give.
   takes   a table
   gives   input and trace of each run, line by line; the same table gives the same runs */
#ifndef BACK_TABLE_VECTORS_H
#define BACK_TABLE_VECTORS_H
#include "back/table_run.h"
#include "base/vec.h"

typedef VEC(Str) VectorLines;
/* A run: the first `lines` lines of the input of another vector, of which `traced` lines of trace come, then its own. */
typedef struct {
    size_t after; /* index of that vector, which stands before this one, + 1; 0: all lines are its own */
    uint32_t lines, traced;
    VectorLines input, trace;
} Vector;
typedef VEC(Vector) Vectors;

const Vectors *table_vectors(Arena *arena, const RunTable *table);
/* Runs all its lines; `vector` need not be in the list. */
void vector_run(const Vectors *list, const Vector *vector, Run *run, Buf *trace);
#endif
