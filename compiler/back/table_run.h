/* A state table, read back and run: the interpreter that examples/readers/GUIDE.md describes.
   takes   table.json as text; then a script, line by line
   gives   the trace of the run as text, the same bytes as every other interpreter of these tables
   owns    all in the arena it is given
   never   asks for a clock; never runs a table that it does not know to the last reference */
#ifndef BACK_TABLE_RUN_H
#define BACK_TABLE_RUN_H
#include "back/table_names.h"

#define RUN_TIME_END (INT64_C(1) << 53) /* times are smaller than this */

typedef struct {
    Str id, name;
    Str *values;
    uint32_t n_values;
    uint64_t initial; /* a mask; the lowest value is the one a run begins with unless it says otherwise */
} RunFact;

typedef struct {
    Str id, label, by;
    bool by_time;
    uint32_t from, scope, to; /* from or scope is NO_INDEX; to NO_INDEX: the place stays */
    const Guard *when;        /* NULL: always */
    Bound *bounds;
    uint32_t n_bounds;
    Change *changes; /* what is set, then what is counted */
    uint32_t n_changes;
    uint32_t *resets;
    uint32_t n_resets;
} RunEdge;

typedef struct {
    const Guard *when;
    uint32_t clock;
    int64_t ms;
    EdgeList lapses;
} RunDeadline;

typedef struct {
    RunDeadline *at;
    uint32_t n;
} RunDeadlines;

typedef struct {
    Str id, kind, outcome, words;
    RunDeadlines deadlines;
    EdgeList edges; /* all that leave it, in the order of the table */
} RunPlace;

typedef struct {
    Str document, tail, tail_title, check_code, status, hash;
    uint32_t revision;
    const Str *cautions;
    uint32_t n_cautions;
    RunFact *facts;
    uint32_t n_facts;
    Str *clocks, *clock_words;
    uint32_t n_clocks;
    RunPlace *places;
    uint32_t n_places;
    RunEdge *edges;
    uint32_t n_edges;
    RunDeadlines everywhere;
    uint32_t joint;
} RunTable;

/* NULL: *why_not says why it is refused. */
const RunTable *run_table_read(Arena *arena, Str text, Str *why_not);

typedef struct {
    uint32_t fact, value;
} RunChoice;

typedef struct {
    const RunTable *table;
    RunChoice *choices; /* of the line that is read */
    uint32_t place;
    uint8_t *values; /* by fact */
    int64_t *zero;   /* by clock: when it was zeroed */
    int64_t now;
    uint32_t line; /* of the script */
    bool begun, halted;
    uint32_t last_edge; /* taken last; NO_INDEX: none */
} Run;

void run_begin(Run *run, Arena *arena, const RunTable *table);
void run_restart(Run *run); /* the same run from its beginning */
/* One line of a script, without its end. What comes after a halt is ignored. */
void run_line(Run *run, Str line, Buf *trace);

/* What an edge that leaves the place wants besides its label. */
typedef enum { RUN_OPEN, RUN_SHUT, RUN_EARLY, RUN_LATE } RunStanding;
/* SHUT: `when` does not hold. EARLY: *wait_ms is what is missing. */
RunStanding run_standing(const Run *run, const RunEdge *edge, int64_t at, int64_t *wait_ms);
/* When the next deadline comes that holds now; RUN_TIME_END: none. */
int64_t run_next_due(const Run *run);
bool run_guard_holds(const Run *run, const Guard *guard);
/* Takes an edge at a moment: what the caller has seen to be open. */
void run_take(Run *run, uint32_t edge, int64_t at);
#endif
