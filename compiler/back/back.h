/* Outputs for people and for other tools.
   takes   one tail's tail, model and verdicts, and the edition (which document, which revision, approved or not)
   gives   bytes to a sink; the same input gives the same bytes everywhere
   owns    nothing beyond the call
   never   asks for anything else: no clock, no files, no locale; never calls a rule kept more than "proved as written" */
#ifndef BACK_BACK_H
#define BACK_BACK_H
#include "back/book.h"
#include "back/draw.h"
#include "base/sha256.h"
#include "base/sink.h"
#include "check/check.h"
#include "sema/program.h"

typedef struct {
    const char *name; /* as documents name it: "a5" */
    Length width, height;
} Paper;
extern const Paper papers[]; /* from the smallest on */
extern const size_t paper_count;
const Paper *paper_find(Str name); /* NULL: none */

/* What stands in the head and the foot of every page and table. Empty texts: not stated. */
typedef struct {
    Str document; /* its id: "qm-1-lists"; the file's name where the source has no document */
    Str title;
    uint32_t revision;
    Str effective, review_by; /* YYYY-MM-DD */
    Str changes;
    bool follows; /* an earlier revision: */
    uint32_t since;
    Str earlier; /* what was issued of the tail then, a table as text; empty: nothing */
    Str *distribution;
    size_t n_distribution;
    Str prepared_by, approved_by, approved_on, approved_code;
    const Paper *paper;     /* of the cards */
    Length type;            /* their least size of type; 0: what the distance asks for */
    int64_t read_at_mm;     /* how far from the eye they are read */
    const Measure *also[4]; /* units in which limits are printed as well */
    size_t n_also;
    bool all_procedures; /* a source without a document */
    const Decl *decl;    /* NULL: none */
    Name *contains;      /* procedures and drills to print, in order; drills of the procedures come after them */
    uint32_t n_contains;
    bool all_drills;
    bool draft;           /* not approved, or approved for other content: DRAFT on every page */
    bool not_proved;      /* open errors: NOT PROVED on every page */
    const Decl **waivers; /* DECL_WAIVE that hold for this tail */
    uint32_t n_waivers;
    char code[10]; /* the check code, "K7QM-2DX": set by edition_code() */
} Edition;

typedef struct {
    const Job *job;
    const Tail *tail;
    const Model *model;
    const CheckResult *result;
    const Edition *edition;
    const Press *press;     /* NULL unless what is made is drawn */
    const Program *program; /* NULL: nobody can say what a source is called */
    bool
        turns_away; /* what is put into words is a cue or leads to a way out: converted numbers come sooner, not later */
    Str *why_not;   /* set where something cannot be made for another reason than memory */
} BackInput;

/* For what is made once of all tails of a document: each is added while it is at hand, in their order; what is kept of it is copied. */
typedef struct {
    Arena *arena;         /* lasts until the end */
    size_t n_tails;       /* to be added */
    const Str *held_back; /* names of the document's other tails: of these there is nothing */
    size_t n_held_back;
    const Binder *binder;
    Str *why_not; /* as in BackInput; where it was made, a line about it for the terminal, or empty */
} BackDocument;
typedef struct {
    void *(*begin)(const BackDocument *document);
    void (*add)(void *made, const BackInput *tail);
    bool (*end)(void *made, Sink sink);
    bool of_several; /* there is none of a document of one tail */
} BackWhole;

/* One line an entry: the registry of outputs. */
typedef enum {
    BY_ITSELF,
    BY_PRESS,
    BY_BINDER
} BackMeans; /* the module that it needs; the binder's also want the press, for the cards' pages */
typedef struct {
    const char *kind;   /* as in `issue cards` and --only: "cards", "tables" */
    const char *suffix; /* of the file: "card.txt", "table.json" */
    BackMeans means;
    bool on_request; /* made only where it is asked for by name */
    bool (*emit)(const BackInput *input, Sink sink);
    const BackWhole *whole; /* in place of emit: one for all tails of a document */
} BackEnd;
extern const BackEnd back_ends[];
extern const size_t back_end_count;
/* "cards, tables and pictures": the kinds there are, each once. */
Str back_kinds(Arena *arena);

/* Every card as plain text on the spine, pages divided by form feeds. */
bool card_emit(const BackInput *input, Sink sink);
/* The same cards as marks on paper. False: *input->why_not says why they cannot be set. */
bool card_draw(const BackInput *input, Drawing *drawing);
/* The same cards drawn; all pages in one picture; the drawing as text. */
bool card_pdf(const BackInput *input, Sink sink);
bool card_png(const BackInput *input, Sink sink);
bool card_html(const BackInput *input, Sink sink); /* for screens */
bool card_svg(const BackInput *input, Sink sink);
bool card_drawing(const BackInput *input, Sink sink);
/* The same pages on sheets of twice the size, to be folded (back/impose.h). *why_not is set where there is no such paper. */
bool card_sheets(const BackInput *input, Sink sink);
/* How well they can be read (back/legible.h), as text. *why_not is set where something falls short; it is written all the same. */
bool card_legibility(const BackInput *input, Sink sink);
bool card_legibility_json(const BackInput *input, Sink sink);
/* The state table as canonical JSON (back/table.schema.json). */
bool table_emit(const BackInput *input, Sink sink);
/* What changed since the revision that the document follows. */
bool changes_text(const BackInput *input, Sink sink);
bool changes_html(const BackInput *input, Sink sink);
/* What is said, line by line, the numbers and the verdicts, as canonical JSON (back/lines.schema.json). */
bool lines_emit(const BackInput *input, Sink sink);
/* The list of deviations from the aircraft by its own text, and the comparison with the handbook's own lines. */
bool deviations_text(const BackInput *input, Sink sink);
bool deviations_html(const BackInput *input, Sink sink);
bool compare_text(const BackInput *input, Sink sink);
bool compare_html(const BackInput *input, Sink sink);
/* All tails of a document in one workbook (back/workbook.h). */
extern const BackWhole workbook_whole;
/* All tails of a document against one another, item by item. */
extern const BackWhole fleet_text_whole, fleet_html_whole, fleet_json_whole;
/* The same table as a C header for a small controller. */
bool table_c_emit(const BackInput *input, Sink sink);
/* The same as CSV: as it is, and so that no cell becomes a formula in a spreadsheet. */
bool table_csv(const BackInput *input, Sink sink);
bool table_csv_sheet(const BackInput *input, Sink sink);
/* The same as pictures, one for each procedure, in the language dot. */
bool table_dot(const BackInput *input, Sink sink);
/* The same as a state chart. */
bool table_scxml(const BackInput *input, Sink sink);
/* Over all words of the pages but the last, without heads and feet. */
Sha256Digest card_words_digest(const BackInput *input);
/* Sets edition->code: a code over the model, the verdicts, the words printed and all that the document says but who approved it and when;
   it begins with a letter. */
void edition_code(const BackInput *input, Edition *edition);

/* "Office; QM-1, in the aircraft" */
Str edition_distribution(const BackInput *input);
/* "provedAsWritten", "draft", "open": as tables say it. */
const char *edition_status(const Edition *edition);

/* ---- cautions and the scope of what is claimed: the same words on every output ---- */
extern const char *const caution_lines[]; /* NULL ends the list */
extern const char *const caution_line;    /* the one line of every page; %S-free, the tail's title is put before it */
extern const char *const scope_of_claim;
#endif
