/* What tables call the places and edges of a model, by which labels runs of a table name edges, and which edges a deadline takes. */
#ifndef BACK_TABLE_NAMES_H
#define BACK_TABLE_NAMES_H
#include "back/back.h"

typedef struct {
    uint32_t *edges;
    uint32_t n;
} EdgeList;

typedef struct {
    Str *places; /* by place: "cold-start.set-mixture-rich" */
    Str *edges;  /* by edge: "cold-start.set-mixture-rich/1" */
    /* By edge: "set-mixture-rich", "crank=otherwise", "drill fire". Of two edges that leave one place, have one label and can be open at
       the same moment the later one has "~2" behind it, unless time takes it. */
    Str *labels;
    EdgeList *lapses; /* by deadline of places: the first of them that is open is taken; n 0: time stands there */
    EdgeList *ambient_lapses; /* by ambient deadline */
} TableNames;

/* In the input's arena. */
const TableNames *table_names(const BackInput *input);
/* "pilot", "engine", "world", "time". Which procedure begins, and when the next start comes, is the pilot's. */
const char *edge_by(const Edge *edge);
#endif
