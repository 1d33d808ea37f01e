/* Text to syntax tree and back.
   takes   a Source already added to the job's sources
   gives   a File, also where it is broken: what could be read is there, what could not is reported once
   owns    nothing: nodes live in the job's arena
   never   looks up a name, reads a file or changes the source */
#ifndef FRONT_FRONT_H
#define FRONT_FRONT_H
#include "front/ast.h"

File *parse_file(Job *job, const Source *source);

/* The formatted text of a file that parsed without error. Printing it again after parsing gives the same bytes. */
Str print_file(Job *job, const File *file);
/* One item, condition, event or rule as the formatter writes it, on one line (for messages and outputs). */
void print_stmt_head(Buf *buf, const Job *job, const Stmt *stmt);
void print_cond(Buf *buf, const Job *job, const Cond *cond);
void print_event(Buf *buf, const Job *job, const Event *event);

/* What a text literal holds, in order. */
typedef enum { TEXT_LITERAL, TEXT_AMOUNT, TEXT_REF } TextPartKind;
typedef struct TextPart TextPart;
struct TextPart {
    uint8_t kind;
    Span span;
    Str literal;    /* escapes undone */
    Range range;    /* TEXT_AMOUNT: one amount in hi (lo absent), or both */
    Word ref, band; /* TEXT_REF: {oil-time}, {engine}, {oil-pressure normal} */
    TextPart *next;
};
/* Reports bad escapes and holes through the job. NULL for an empty text. */
TextPart *text_parse(Job *job, Text text);
/* The contents without quotes, escapes undone, holes as written. */
Str text_raw(Job *job, Text text);
#endif
