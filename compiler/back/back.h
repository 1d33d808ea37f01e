/* Outputs for people and for other tools.
   takes   one tail's tail, model and verdicts, and the edition (which document, which revision, approved or not)
   gives   bytes to a sink; the same input gives the same bytes everywhere
   owns    nothing beyond the call
   never   asks for anything else: no clock, no files, no locale; never calls a rule kept more than "proved as written" */
#ifndef BACK_BACK_H
#define BACK_BACK_H
#include "base/sha256.h"
#include "base/sink.h"
#include "check/check.h"

/* What stands in the head and the foot of every page and table. Empty texts: not stated. */
typedef struct {
    Str document; /* its id: "qm-1-lists"; the file's name where the source has no document */
    Str title;
    uint32_t revision;
    Str effective, review_by; /* YYYY-MM-DD */
    Str changes;
    Str prepared_by, approved_by, approved_on, approved_code;
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
} BackInput;

/* One line an entry: the registry of outputs. */
typedef struct {
    const char *kind;   /* as in `issue cards` and --only: "cards", "tables" */
    const char *suffix; /* of the file: "card.txt", "table.json" */
    bool (*emit)(const BackInput *input, Sink sink);
} BackEnd;
extern const BackEnd back_ends[];
extern const size_t back_end_count;

/* Every card as plain text on the spine, pages divided by form feeds. */
bool card_emit(const BackInput *input, Sink sink);
/* The state table as canonical JSON (back/table.schema.json). */
bool table_emit(const BackInput *input, Sink sink);
/* Over all words of the pages but the last, without heads and feet. */
Sha256Digest card_words_digest(const BackInput *input);
/* Sets edition->code: a code over the model, the words printed and the verdicts, beginning with a letter; does not depend on
   who approved it or when. */
void edition_code(const BackInput *input, Edition *edition);

/* ---- cautions and the scope of what is claimed: the same words on every output ---- */
extern const char *const caution_lines[]; /* NULL ends the list */
extern const char *const caution_line;    /* the one line of every page; %S-free, the tail's title is put before it */
extern const char *const scope_of_claim;
#endif
