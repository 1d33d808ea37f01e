/* A workbook as plain records: sheets, each with what stands above it and one table of typed cells; and the binder that knows the
   file format and sets them.
   takes   what stands in it, sheet by sheet and row by row
   gives   Book, complete: links lead to cells that are there
   owns    all texts, in the arena it is opened with: rows may be added while what they are made of goes away
   never   makes a formula of a text; knows a file format; says more than "proved as written" */
#ifndef BACK_BOOK_H
#define BACK_BOOK_H
#include "base/names.h"
#include "base/rational.h"
#include "base/sink.h"
#include "base/vec.h"

/* How a cell stands out, in print without colours, too. Text is always black. */
typedef enum {
    TONE_PLAIN,
    TONE_ALARM,   /* is wrong: bold, dark edge */
    TONE_OPEN,    /* wants a look: bold */
    TONE_CHANGED, /* differs */
    TONE_QUIET    /* nothing to look at */
} Tone;

typedef enum {
    BOOK_IS,          /* the cell's text is `text` */
    BOOK_BEGINS,      /* begins with it */
    BOOK_NEITHER_NOR, /* is not empty, and neither `text` nor `or_text` */
    BOOK_UNLIKE       /* is not empty, and is not what stands in the column `column` of its row */
} BookMarkKind;
/* A conditional format: the first that fits counts. */
typedef struct {
    BookMarkKind kind;
    Tone tone;
    const char *text, *or_text;
    uint32_t column;
} BookMark;

/* What the reader is to write into a column; all other cells are protected. */
typedef enum { FILL_NOTHING, FILL_CHOICE, FILL_INITIALS, FILL_DATE, FILL_WORDS } FillKind;

typedef struct {
    Str title;      /* not two alike in a sheet */
    uint32_t width; /* in characters */
    FillKind fill;
    const char *const *choices; /* of FILL_CHOICE, NULL behind the last */
    const BookMark *marks;
    size_t n_marks;
    const char *name; /* by which formulas of the reader's own call its cells; NULL: none */
} BookColumn;

typedef enum { CELL_EMPTY, CELL_TEXT, CELL_NUMBER } CellKind;
typedef struct {
    CellKind kind;
    uint32_t link; /* index into the book's links, + 1; 0: none */
    Str text;      /* of a number its digits: "-3.25" */
} BookCell;

/* Where a cell leads to: a row of a sheet, or another file. */
typedef struct {
    Str target; /* a row's name; of a file its name, relative to the workbook, with #page=3 behind it */
    bool file;
    bool top;            /* to the top of the sheet */
    uint32_t sheet, row; /* set when the book is closed; row counts from 0 below the head */
} BookLink;

typedef struct {
    Str name;       /* on its tab: at most 31 characters, letters and hyphens */
    Str title;      /* above the table */
    VEC(Str) lines; /* below the title: what it shows, cautions */
    Str none;       /* said in place of a table without rows */
    VEC(BookColumn) columns;
    uint32_t frozen;      /* columns that stay in sight */
    uint32_t printed;     /* columns that are printed, from the first on; 0: all */
    VEC(BookCell *) rows; /* columns.n cells each */
} BookSheet;

typedef struct {
    Str name; /* "check_code" */
    uint32_t sheet, row, column;
} BookName;

typedef struct {
    Arena *arena;
    Names names;  /* of rows */
    NameMap rows; /* name of a row -> its index in `places` + 1 */
    VEC(BookLink) places;
    VEC(BookSheet *) sheets;
    VEC(BookLink) links;
    VEC(BookName) cells;                            /* that have a name of their own */
    Str title, subject, author, standing, comments; /* properties of the document */
    Str document, revision, codes;                  /* likewise */
    Str day;                                        /* YYYY-MM-DD of its making; empty: not stated */
    Str head, foot;                                 /* of each printed page: what it is, the caution */
} Book;

void book_open(Book *book, Arena *arena);
BookSheet *book_sheet(Book *book, const char *name, Str title);
void sheet_line(Book *book, BookSheet *sheet, Str text);
/* Given whole, before the first row. */
void sheet_columns(Book *book, BookSheet *sheet, const BookColumn *columns, size_t n);
/* An empty row; its cells last as long as the book. */
BookCell *sheet_row(Book *book, BookSheet *sheet);
/* The row added last is what links to this name lead to. */
void sheet_row_name(Book *book, const BookSheet *sheet, Str name);
void cell_text(const Book *book, BookCell *cell, Str text);
void cell_number(const Book *book, BookCell *cell, Rational number);
void cell_count(const Book *book, BookCell *cell, uint64_t count);
/* Of a cell with a text. What leads nowhere when the book is closed stays a text. */
void cell_link(Book *book, BookCell *cell, Str row_name);
void cell_link_sheet(Book *book, BookCell *cell, uint32_t sheet); /* to its top */
void cell_link_file(Book *book, BookCell *cell, Str file);
/* The cell of the row added last. */
void sheet_cell_name(Book *book, const BookSheet *sheet, uint32_t column, const char *name);
/* Finds where links lead to. */
void book_close(Book *book);

/* What the binder module gives; it is opened when the first workbook is made. */
enum { BINDER_VERSION = 1 };
typedef struct SwBinder {
    uint32_t version;
    /* False: *why_not says why, in words; empty where the sink gave up. */
    bool (*bind)(const Book *book, Sink sink, const char **why_not);
} Binder;
#endif
