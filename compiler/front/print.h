/* The formatter's own tables: the words of a text, marked with what the layout must know.
   takes   the text of a file that parsed without error
   gives   its words and comments in order, one declaration at a time
   owns    one growing array of words, reused for each declaration
   never   drops, adds or changes a word, save commas that the grammar leaves open and brackets that change nothing

   The formatter moves the words of the text itself and asks the tree nothing. So nothing it does not know can get lost,
   and a comment stays with the word it was written after. */
#ifndef FRONT_PRINT_H
#define FRONT_PRINT_H
#include "front/front.h"

#define PRINT_WIDTH 100      /* columns of an item and of a block on one line */
#define PRINT_WHY_WIDTH 120  /* columns of a line that ends in from, because, as, by */
#define PRINT_WHY_COLUMN 48  /* where because and as begin, if the item is shorter */
#define PRINT_FROM_COLUMN 80 /* where from begins, if the item is shorter */
#define PRINT_INDENT 4
#define PRINT_CONTINUE 8

typedef enum {
    PIECE_WORD,
    PIECE_TEXT,
    PIECE_COMMENT,
    PIECE_OPEN,
    PIECE_CLOSE,
    PIECE_LEFT,
    PIECE_RIGHT,
    PIECE_COMMA,
    PIECE_COLON,
    PIECE_DOTS,
    PIECE_AND,
    PIECE_OR,
    PIECE_NOT,
    PIECE_IS,
    PIECE_IF,
    PIECE_FOR,
    PIECE_OTHERWISE,
    PIECE_THEN,
    PIECE_UNTIL,
    PIECE_WITHIN,
    PIECE_BECAUSE,
    PIECE_FROM,
    PIECE_AS,
    PIECE_BY,
    PIECE_ANSWERED,
    PIECE_BETWEEN,
    PIECE_OVER
} PieceKind;

/* What a pair of braces holds. */
typedef enum {
    IN_FILE,
    IN_BODY,
    IN_CASES,
    IN_CRAFT,
    IN_DOCUMENT,
    IN_STANDARD,
    IN_ADAPT,
    IN_GATE, /* items, one a line */
    IN_POSITIONS,
    IN_ROWS,
    IN_TEXTS,
    IN_WORDING /* entries with separators */
} BlockKind;

typedef enum {
    MARK_ITEM = 1,   /* begins an item or an entry */
    MARK_SKIP = 2,   /* not printed: a separator, a needless bracket or comma */
    MARK_COMMA = 4,  /* a comma is printed after it */
    MARK_MAJOR = 8,  /* begins an outcome: the first place to break a long item */
    MARK_OWN = 16,   /* a comment on a line of its own */
    MARK_ROW = 32,   /* a block that the author wrote on one line */
    MARK_NOTES = 64, /* a block or bracket with comments inside */
    MARK_MANY = 128  /* a block with more than one item */
} Mark;

typedef struct {
    uint32_t lo, hi; /* in the text */
    uint32_t match;  /* of a brace: its partner's index */
    uint32_t width;  /* columns */
    uint8_t kind;    /* PieceKind */
    uint8_t block;   /* BlockKind: of an opening brace, what it holds; of a closing one, what it stands in */
    uint8_t marks;
    uint8_t fill;   /* blanks written after it beyond the one */
    uint8_t breaks; /* line ends before it: 0, 1, or 2 for more */
    bool ends_line; /* a line end between it and the word before means that the item before has ended */
} Piece;

/* A block being read. */
typedef struct {
    uint32_t open; /* index of the brace; UINT32_MAX: the file's own level */
    uint32_t item; /* first piece of the item being read; UINT32_MAX: none yet */
    uint32_t items;
    uint8_t kind; /* BlockKind */
    bool notes, lines;
} BlockFrame;

/* An open bracket and what has been seen directly inside it. */
typedef struct {
    uint32_t open;
    uint8_t before; /* kind of the piece before it */
    bool joined, negated, lasting, notes;
} Bracket;

/* A declaration on one line, a line of a table. Offsets in what is written; 0: it has no such cell. */
typedef struct {
    size_t start, cell[2]; /* the title; what follows it */
    size_t width[3];       /* columns up to the title, of it, of what follows */
} TableLine;

typedef struct {
    Arena *arena;
    Str text;
    size_t at;              /* read so far */
    uint32_t depth;         /* open braces at `at` */
    uint32_t broken_lines;  /* line ends since the last word that is no comment, 2 at most */
    uint8_t last;           /* kind of that word */
    bool unreadable;        /* nested too deeply, or braces that do not match */
    VEC(Piece) pieces;      /* of one declaration */
    VEC(BlockFrame) frames; /* open ones, while marking */
    VEC(Bracket) brackets;
    Buf out;
    size_t column;
    bool line_ended; /* the line bears a comment: nothing may follow on it */
    bool line_empty;
    VEC(TableLine) table; /* lines so far, of one first word */
    Str table_word;
    Buf table_text;
} Printer;

/* Reads the next declaration's pieces, and the comments after it; false at the end of the text. */
bool print_read(Printer *printer);
/* Finds items, blocks, needless brackets, commas to add or leave out. */
void print_mark(Printer *printer);
/* The next piece that is printed, from `i` on; `end` if there is none. Comments count only with `comments`. */
static inline uint32_t print_next(const Printer *printer, uint32_t i, uint32_t end, bool comments) {
    for (; i < end; i++) {
        const Piece *piece = &printer->pieces.at[i];
        if (!(piece->marks & MARK_SKIP) && (comments || piece->kind != PIECE_COMMENT)) return i;
    }
    return end;
}

/* Columns of the pieces on one line; stops counting soon past `enough`. */
size_t print_width(const Printer *printer, uint32_t first, uint32_t end, size_t enough);
bool print_has_comment(const Printer *printer, uint32_t first, uint32_t end);
void print_flat(Printer *printer, uint32_t first, uint32_t end);
void print_line_begin(Printer *printer, size_t indent, bool blank_before);
void print_comment(Printer *printer, const Piece *piece, size_t indent, bool blank_before);
void print_blanks(Printer *printer, size_t n);

/* One stretch of an item without a block of several lines in it, from `first` to `end`. */
typedef struct {
    uint32_t first, end;
    uint32_t why;   /* where the clauses at its end begin; `end` if it has none */
    uint32_t label; /* index of a label's colon, UINT32_MAX if none */
    size_t indent;
    bool after_block; /* it goes on behind a "}" */
    bool late;        /* because and as begin where from does */
    bool listed;      /* clauses that do not fit behind it stand below it, one a line: a gate's */
} Stretch;
void print_stretch(Printer *printer, const Stretch *stretch);
/* Where the clauses from, because, as, by at the item's end begin. */
uint32_t print_find_why(const Printer *printer, uint32_t item, uint32_t first, uint32_t end, BlockKind in);
bool print_is(const Printer *printer, uint32_t i, const char *word);

/* Tables of declarations: after a declaration is written; before one that does not go on; at the end. */
void print_align_add(Printer *printer, size_t start, uint32_t first, uint32_t end);
bool print_align_goes_on(const Printer *printer, uint32_t first);
void print_align_close(Printer *printer);
#endif
