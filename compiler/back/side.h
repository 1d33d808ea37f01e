/* One state of a procedure set, as two are held against each other: what is said line by line, the numbers, the verdicts. Of a tail at hand,
   or of a table that was issued.
   takes   a tail; or a table.json or lines.json
   gives   lines in the order in which they are read, procedure by procedure, each with the lines of its head first; briefings behind them
   owns    all in the arena
   never   keeps places in a source: moving a text changes nothing */
#ifndef BACK_SIDE_H
#define BACK_SIDE_H
#include "back/lines.h"
#include "sema/numbers.h"

typedef struct {
    Str of; /* the procedure or drill, of an engine's own drill with it: "starter-stuck.left"; "briefing passengers" */
    const char *set; /* what that is: "procedure", "drill", "briefing" */
    Str title, phase, id, words;
    int64_t most_ms,
        least_ms;         /* within, up to; the least time waited; of several cases the one with most room; -1: none */
    bool remark;          /* a note, caution or warning */
    bool head;            /* when it applies, how it begins, its cue: no item */
    uint32_t depth;       /* of lines within lines */
    const TailLine *line; /* NULL: of a table, of a head, of a briefing */
    const Decl *decl;     /* the procedure or drill; NULL: of a table, of a briefing */
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
    Str rule, hash;           /* the rule in words, the hash of its text */
} SideVerdict;

/* Which state it is; empty texts: not stated. */
typedef struct {
    Str document, effective, code, standing; /* standing: "provedAsWritten", "draft", "open" */
    uint32_t revision;
    Str tail, tail_title;
} SidePaper;

typedef struct {
    SidePaper paper;
    SideLine *lines;
    SideNumber *numbers;
    SideVerdict *verdicts;
    size_t n_lines, n_numbers, n_verdicts;
} Side;

/* Of a tail; verdicts where the input has a result, the paper where it has an edition. */
Side side_of(const BackInput *input);
/* The lines around each: those before it that stand less deep. */
void side_set_parents(Arena *arena, Side *side);
/* NULL: *why_not says in words why it cannot be read. */
const Side *side_read(Arena *arena, Str text, Str *why_not);
/* "6 (2031-02-01, H4K2-3AB)" */
Str side_revision(Arena *arena, const SidePaper *paper);
/* "procedure", "provedAsWritten" and their like, as tables have them. */
const char *verdict_word(VerdictKind kind);
const char *room_word(NumberRoom room);
#endif
