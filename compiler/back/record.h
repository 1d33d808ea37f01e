/* Inside back: a record to read and to sign, as heads, paragraphs and tables; the same record as plain text and as one HTML file.
   takes   what stands in it, from above to below
   gives   text of RECORD_WIDTH columns, or HTML that needs no other file, prints in black and reads without colours
   owns    all in the job's arena
   never   knows what it is about; each bears the document's identity, what it stands at (DRAFT, NOT PROVED) and the cautions */
#ifndef BACK_RECORD_H
#define BACK_RECORD_H
#include "back/back.h"

enum { RECORD_WIDTH = 118, RECORD_COLUMNS = 8 };

typedef struct {
    const char *title;
    uint32_t width; /* columns of text; of all columns and a blank between them at most RECORD_WIDTH */
} RecordColumn;

/* A number that stands in a row's words, for those who reckon with it. */
typedef struct {
    bool given;
    Rational amount; /* base units */
    const Measure *measure;
} RecordNumber;
typedef struct {
    const Str *cells; /* as many as the table has columns */
    RecordNumber from, to;
} RecordRow;

typedef enum { RECORD_HEAD, RECORD_WORDS, RECORD_TABLE } RecordKind;
typedef struct {
    RecordKind kind;
    Str text; /* of a table what it is about */
    const RecordColumn *columns;
    size_t n_columns;
    VEC(RecordRow) rows;
} RecordPart;

typedef struct {
    const BackInput *input;
    Arena *arena;
    Str title;
    VEC(RecordPart) parts;
} Record;

Record record_open(const BackInput *input, Str title);
void record_head(Record *record, Str text);
void record_words(Record *record, Str text);
/* Rows go into the table begun last. A table without rows is left out. */
void record_table(Record *record, Str about, const RecordColumn *columns, size_t n);
void record_row(Record *record, const Str *cells);
void record_numbers(Record *record, RecordNumber from, RecordNumber to); /* of the row added last */
bool record_has_rows(const Record *record);                              /* the table begun last */
/* What deviations.c and compare.c list, for other outputs. */
Record deviations_record(const BackInput *input);
Record compare_record(const BackInput *input);
bool record_text(const Record *record, Sink sink);
bool record_html(const Record *record, Sink sink);
#endif
