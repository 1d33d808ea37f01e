/* Inside back: the sheets of a workbook and who fills them. Each part takes one tail at a time.
   takes   tails with their verdicts, one after the other
   gives   rows of typed cells
   never   holds on to a tail: what is kept is in the book */
#ifndef BACK_WORKBOOK_H
#define BACK_WORKBOOK_H
#include "back/book.h"
#include "back/card.h"
#include "back/lines.h"
#include "back/reasons.h"

typedef enum {
    SHEET_OVERVIEW,
    SHEET_TAILS,
    SHEET_ITEMS,
    SHEET_LIMITS,
    SHEET_GATES,
    SHEET_PATHS,
    SHEET_ASSUMPTIONS,
    SHEET_SPARE,
    SHEET_COMPARE,
    SHEET_DEVIATIONS,
    SHEET_DRILLS,
    SHEET_CHANGES,
    SHEET_SIGN,
    SHEET_REGISTER,
    SHEET_DISTRIBUTION,
    SHEETS
} SheetKind;

typedef struct {
    const BackDocument *document;
    Book book;
    BookSheet *sheets[SHEETS]; /* NULL: not in this workbook */
    size_t added;              /* tails */
    Str title;                 /* of the first of them */
    bool draft, not_proved;
    uint32_t verdicts[VERDICT_NOT_DECIDED + 1];
} Workbook;

/* One tail at hand. */
typedef struct {
    Workbook *workbook;
    Book *book;
    const BackInput *input;
    Arena *arena; /* of the tail: for words that are copied into cells */
    CardSet cards;
    uint32_t *pages; /* by sheet of the cards: the page on which it begins; 0: they cannot be set */
    Str card_file;   /* where they are; empty: the document does not issue them */
    Str tail;        /* its id, "qm-1" */
} TailBook;

/* ---- words and cells ---- */
#define TAIL_WORDS(t, ...) format_text((t)->arena, (t)->input->job->names, __VA_ARGS__)
/* "Marram handbook, rev 5; 4-7 line 3"; empty: none is named. */
Str why_source(const TailBook *t, const Why *why, bool with_line);
Str why_because(const TailBook *t, const Why *why, uint32_t engine);
Str text_filled(const TailBook *t, Text text);
Str engine_of(const TailBook *t, uint32_t engine); /* empty on a single */
Str words_place(const TailBook *t, Span span);     /* "marram.start:97" */
void put_quantity_cells(const TailBook *t, BookCell *number, BookCell *unit, const Measure *measure, Rational base);
void put_ms(const TailBook *t, BookCell *number, int64_t ms); /* in seconds */
/* The names of rows that other sheets lead to. */
Str row_of_drill(const TailBook *t, uint32_t drill);
Str row_of_gate(const TailBook *t, uint32_t gate);
Str row_of_path(const TailBook *t, uint32_t gate);
Str row_of_assumption(const TailBook *t, AssumptionKind kind);
BookSheet *workbook_sheet(Workbook *workbook, SheetKind kind, const char *name, const char *title, const char *about,
                          const char *none);

Str row_of_procedure(const TailBook *t, uint32_t procedure);
/* On which page of the cards it begins; 0: on none. */
uint32_t page_of_procedure(const TailBook *t, uint32_t procedure);
uint32_t page_of_drill(const TailBook *t, uint32_t drill);
/* Of a cell with a text or a number. */
void cell_link_page(const TailBook *t, BookCell *cell, uint32_t page);
/* Columns for whoever signs: behind the others. */
extern const char *const sign_choices[];
BookColumn sign_column(FillKind fill, const char *title, uint32_t width);

/* ---- the parts ---- */
void items_columns(Workbook *workbook);
void items_add(TailBook *t);
void limits_columns(Workbook *workbook);
void limits_add(TailBook *t);
void limit_of_item(TailBook *t, Str where, Str what, int64_t ms, bool at_most, const Why *why, Str row);
void gates_columns(Workbook *workbook);
void gates_add(TailBook *t);
void records_columns(Workbook *workbook); /* Compare, Deviations, Changes */
void records_add(TailBook *t);
void drills_columns(Workbook *workbook);
void drills_add(TailBook *t);
void papers_columns(Workbook *workbook); /* Sign-off, Register, Distribution */
void papers_add(TailBook *t);
void papers_end(Workbook *workbook);
void overview_columns(Workbook *workbook);
void overview_add(TailBook *t);
void overview_end(Workbook *workbook);
#endif
