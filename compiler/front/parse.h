/* Inside the parser: what scanner, filter, grammar and messages share. Nobody outside front/ includes this.
   takes   one Source
   gives   tokens, then nodes
   owns    a scratch arena of its own for the tokens; it goes when the file is read
   never   keeps anything of one file for the next */
#ifndef FRONT_PARSE_H
#define FRONT_PARSE_H
#include "base/limits.h"
#include "front/front.h"

/* ---- tokens ---- */
typedef enum {
    TOKEN_FIRST = 1, /* first on its line */
    TOKEN_GLUED = 2  /* no blank before it */
} TokenFlags;
typedef struct {
    uint32_t lo, hi; /* in the workspace's space */
    Name name;       /* words only */
    uint16_t kind;   /* T_… */
    uint8_t flags;
} Token;

#define TOKEN_PAGE 256u /* small: a page is cleared before it is used, and given back once it is read */
typedef struct {
    Token **pages;
    uint32_t n, n_pages, cap_pages;
} Tokens;

/* A brace that the repair puts in before a token or takes away, by order of tokens. */
typedef enum { REPAIR_CLOSE, REPAIR_OPEN, REPAIR_DROP } RepairKind;
typedef struct {
    uint32_t at;
    RepairKind kind;
} Repair;

/* ---- values of the grammar ---- */
typedef enum {
    CLAUSE_FROM,
    CLAUSE_BECAUSE,
    CLAUSE_AS,
    CLAUSE_BY,
    CLAUSE_UNTIL,
    CLAUSE_IF,
    CLAUSE_OTHERWISE,
    CLAUSE_TAIL,
    CLAUSE_ANSWERED,
    CLAUSE_BETWEEN
} ClauseKind;
/* One thing of the comma list after a statement; given back once the statement is built. */
typedef struct Clause Clause;
struct Clause {
    uint8_t kind;
    Span span;
    Word word, section;
    Amount line;
    Text text;
    Cond *cond;
    Action action;
    EndTail *tail;
    Measured within;
    Block *block;
    Clause *next;
};

#define LIST(Type)          \
    struct {                \
        Type *first, *last; \
    }
typedef LIST(Clause) Clauses;
typedef LIST(Stmt) Stmts;
typedef LIST(Decl) Decls;
typedef LIST(WordList) Words;
typedef LIST(TextList) Texts;
typedef LIST(PositionDecl) Positions;
typedef LIST(Effect) Effects;
typedef LIST(Craft) Crafts;
typedef LIST(DutyLimit) Limits;
typedef LIST(BandPart) BandParts;
typedef LIST(Cond) Conds;
typedef LIST(Event) Events;
typedef LIST(RuleStep) Steps;
typedef LIST(Standing) Standings;
typedef LIST(Edit) Edits;
typedef LIST(DocLine) DocLines;
typedef LIST(WordingEntry) Wordings;
typedef LIST(LineDecl) Lines;
#define list_add(list, node)                                              \
    ((list)->last == NULL ? (void)((list)->first = (list)->last = (node)) \
                          : (void)((list)->last = (list)->last->next = (node)))

#define SPARES 16 /* values on their way from one reduction to the next; never more than a few at once */

typedef struct Parser {
    Job *job;
    const Source *source;
    Arena scratch;
    File *file;
    VEC(Comment) comments;

    /* scanner */
    const char *text; /* the source's */
    uint32_t size, fed, offset, base;
    bool line_start;
    Token scanned; /* the last token */
    Tokens tokens;
    const uint16_t *kind_of;  /* token by Name, for names below n_kinds; 0: an ordinary word */
    const uint8_t *phrase_of; /* first phrase that begins with this word, plus one */
    const Name *phrase_names; /* the words of the phrases */
    uint32_t n_kinds;

    /* filter */
    uint32_t next;      /* the next token */
    Token last, before; /* delivered last, and before that; line ends too */
    Token real;         /* delivered last and not a line end */
    Token first;        /* the first of the line; kind 0 behind a block */
    uint32_t depth;     /* braces and brackets open */
    bool held;          /* a token waits behind the line end just delivered */
    Token waiting;
    VEC(Repair) repairs;
    uint32_t next_repair;

    /* reports */
    VEC(uint32_t) lines; /* where lines begin; made with the first report */
    uint8_t *told;       /* one bit a line */
    size_t n_told;
    bool unopened; /* the last token is a "}" without its "{" */
    bool astray;   /* outside all braces, among lines of something whose heading is lost; told once */
    bool stopped;  /* nested too deeply: nothing more is said */

    Clause *spare_clauses;
    Amount amounts[SPARES];
    Measured measured[SPARES];
    Range ranges[SPARES];
    Action actions[SPARES];
    unsigned spare;
} Parser;

/* scan.c: from the text to tokens */
bool scan_file(Parser *p); /* false: no text at all, reported */
void scan_token(Parser *p, int kind, uint32_t length);
static inline Token *token_at(const Tokens *tokens, uint32_t i) {
    return &tokens->pages[i / TOKEN_PAGE][i % TOKEN_PAGE];
}
/* Whether a page of tokens is given back once the parser is past it. */
static inline bool tokens_are_given(const Parser *p) {
    return p->size > 256 * TOKEN_PAGE;
}
Str parser_text(const Parser *p, Span span);

/* words.c: which word is which keyword, which words make a phrase */
const char *token_word(int kind); /* the word, phrase or sign of a token, NULL for classes */
bool token_is_name(int kind);     /* NAME, or a free word: fit for a name */
bool token_is_reserved(int kind);
void words_open(Parser *p);
void phrases_merge(Parser *p);

/* lexer.l */
void lexer_run(Parser *p);

/* repair.c */
void repair_braces(Parser *p);
bool token_begins_decl(const Parser *p, uint32_t i);

/* report.c: at most one message a line, whoever finds it. NULL: this line has had its message. */
bool report_open(Parser *p, Span span);
uint32_t report_line(Parser *p, uint32_t offset); /* from 0 */
#define REPORT(p, kind, span, ...) \
    (report_open((p), (span)) ? finding_add((p)->job->findings, (kind), (span), __VA_ARGS__) : NULL)
/* Both pass over a finding that is NULL. */
#define FIX(p, finding, grade, span, ...)                                                        \
    do {                                                                                         \
        Finding *fixed = (finding);                                                              \
        if (fixed != NULL) finding_fix((p)->job->findings, fixed, (grade), (span), __VA_ARGS__); \
    } while (0)
#define NOTE(p, finding, span, ...)                                                      \
    do {                                                                                 \
        Finding *noted = (finding);                                                      \
        if (noted != NULL) finding_note((p)->job->findings, noted, (span), __VA_ARGS__); \
    } while (0)

/* syntax_error.c */
typedef struct {
    int token; /* T_…: what stood there */
    Span span;
    const int *expected; /* tokens */
    size_t n_expected;
} SyntaxError;
void syntax_error(Parser *p, const SyntaxError *error);
void parser_too_deep(Parser *p, Span span);

#endif
