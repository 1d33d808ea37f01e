/* Source texts and places in them. All texts of a workspace lie in one space of offsets, so a Span alone
   names the file and the place, the library's files included. The only maker of lines and columns. */
#ifndef BASE_SOURCE_H
#define BASE_SOURCE_H
#include "base/str.h"

typedef struct {
    uint32_t lo, hi; /* [lo, hi), offsets in the workspace's space; lo == hi: a place without width; 0,0: none */
} Span;

typedef struct {
    Str path;      /* as shown to the reader: relative to the root, '/' between parts; library files: "trade/piston" */
    Str text;      /* const; owned by whoever added it, must outlive the sources */
    uint32_t base; /* offset of its first byte in the space */
    bool library;
    uint32_t *lines; /* offsets (in the text) at which lines begin; made at first use */
    uint32_t n_lines;
} Source;

typedef struct {
    Arena *arena;
    Source **at; /* by order of adding */
    uint32_t n, cap;
    uint32_t next_base;      /* the first text begins at 1: place 0 is none */
    struct SourceMemo *memo; /* where the last question ended, so that many on one long line stay linear */
} Sources;

typedef struct {
    const Source *source; /* NULL for no span */
    uint32_t line;        /* from 1 */
    uint32_t column;      /* from 1, in code points */
    uint32_t utf16;       /* from 0, in UTF-16 units, for editors */
    uint32_t width;       /* from 0, in display cells (a tab counts to the next multiple of 8) */
} Position;

/* NULL when the space (4 GiB) is full. One place past each text belongs to it, so that its end has a span. */
Source *source_add(Sources *sources, Str path, Str text, bool library);
const Source *source_at(const Sources *sources, uint32_t offset);
Position source_position(Sources *sources, uint32_t offset);
Str source_line(Sources *sources, const Source *source, uint32_t line); /* without its line end */
Str span_text(const Sources *sources, Span span);
Span span_join(Span a, Span b); /* from the first place to the last; an empty (0,0) span joins to the other */
#endif
