/* Inside back: the parts of a state table as JSON. */
#ifndef BACK_TABLE_PARTS_H
#define BACK_TABLE_PARTS_H
#include "back/side.h"
#include "back/table_names.h"
#include "back/table_vectors.h"
#include "base/json_read.h"

typedef struct {
    const Item *before; /* NULL: nothing comes after it */
    const Item *caution;
} ItemCaution;
typedef VEC(ItemCaution) TailCautions;

typedef struct {
    const BackInput *input;
    Arena *arena;
    Json *json;
    const TableNames *names;
    TailCautions *cautions; /* of the tail: filled in where places are written */
    const Vectors *vectors; /* NULL: not made yet */
    const Side *side;       /* NULL: what is said, line by line, is left out */
    /* Without what an approval itself changes, and without what says the same again: the document, the sources, the lines on which things
       stand, their words. */
    bool for_code;
} Table;

void put_name(const Table *table, const char *key, Name name);
void put_optional(const Table *table, const char *key, Str text); /* nothing where it is empty */
void put_span(const Table *table, const char *key,
              Span span); /* {"column", "endColumn", "endLine", "file", "line"}; {} where it is none */

/* The table of a tail without vectors, to be run. NULL: *input->why_not says why not. */
const RunTable *table_to_run(const BackInput *input);
/* The same as a tree: what every member says, for other forms of it. */
const JsonNode *table_tree(const BackInput *input);

/* table_model.c: members of the outermost object, each with its key. */
void put_facts(const Table *table);
void put_gauges(const Table *table);
void put_clocks(const Table *table);
void put_ambient_deadlines(const Table *table);
void put_edges(const Table *table);
void put_places(const Table *table);
void put_scopes(const Table *table);
/* table_lines.c */
void put_numbers(const Table *table);
void put_procedures(const Table *table);
/* table_verdicts.c */
void put_assumptions(const Table *table);
void put_verdicts(const Table *table);
void put_outcome(const Table *table, const Verdict *verdict); /* without how it came about */
#endif
