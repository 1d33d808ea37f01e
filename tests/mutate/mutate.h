/* The mutation campaign: a text that is known to be good, changed in one place after the other; what drops a safeguard must be told.

   Words: a *subject* is a good text; a *mutant* is its formatted text with one change; its *fate* is what the checker says of it. A *line* is one
   statement. A line is a *safeguard* of a gate that applies where it brings about what the gate demands (safeguard.c). A mutant that
   is not told about is a *survivor*; a survivor on a safeguard must be shown *equal* to the good text (equal.c). */
#ifndef MUTATE_H
#define MUTATE_H
#include "../oracle/rules.h"
#include "../oracle/sample.h"
#include "../oracle/texts.h"

enum { TAILS_MOST = 8 };
typedef struct {
    char main_path[200]; /* what is compiled */
    char *main_text;
    char path[200]; /* what is changed: the main file, or one that it uses */
    char *text;     /* formatted */
    Compiled good;
    const File *file; /* of `path` */
    const Model *models[TAILS_MOST];
    uint32_t n_tails;
    Arena arena; /* of the models */
    struct Equal *equal;
} Subject;

typedef struct {
    uint32_t lo, hi; /* bytes of the subject's text */
    char text[400];
} Cut;

/* `words`: a .start file, a .case file (its good twin), or FILE@MAIN: FILE is changed, and MAIN, which uses it, is checked. False: it is not
   good as it stands. `equal` is left to the caller. */
bool subject_open(Subject *subject, const char *words);
void subject_close(Subject *subject);

enum { CUTS_MOST = 40, LINES_MOST = 2 };
typedef struct {
    const char *operator;
    const Stmt *lines[LINES_MOST]; /* whose safeguards are at stake; NULL: none */
    const Word *drill;             /* a drill that is at stake as a whole; NULL: none */
    Name turned_from, turned_to;   /* drills; 0: no outcome is turned elsewhere */
    bool outcome;                  /* only what the lines lead to is at stake, if they are not as they should be */
    bool by_time;                  /* only what gates say about times is at stake */
    Span at;
    Cut cuts[CUTS_MOST];
    uint32_t n_cuts;
    char gates[1200]; /* the gates that its lines are safeguards of, with blanks between, and around all of them */
    /* a time that is loosened step by step; least_ms == most_ms: no such mutant */
    int64_t time_ms;
    bool longer;
} Mutant;

/* Moves the time of the mutant. */
void mutant_loosen(Mutant *mutant, int64_t by_ms);
/* The changed text; by malloc. */
char *subject_mutated(const Subject *subject, const Mutant *mutant);

typedef struct Campaign Campaign;
/* Gives every mutant of the subject's text to campaign_take. */
void mutants_make(Campaign *campaign, const Subject *subject);
void campaign_take(Campaign *campaign, const Subject *subject, const Mutant *mutant);

/* Finds the gates that the mutant's lines are safeguards of. */
void safeguard_gates(const Subject *subject, Mutant *mutant);
bool gate_at_stake(const Mutant *mutant, Str gate); /* after safeguard_gates: is it one of them? */
/* The values of the fact that the gate's condition has among those that it asks for. */
uint64_t gate_demands(const Model *model, const GateInstance *gate, uint32_t fact);
/* By fact of the tail: whether the mutant's lines have to do with it. */
void facts_at_stake(const Subject *subject, const Mutant *mutant, uint32_t tail, bool *facts);

/* The comparison with the good text, by independent means. NULL: equal; else what differs, in `why`. */
struct Equal *equal_open(const Subject *subject);
void equal_close(struct Equal *equal);
const char *equal_differs(struct Equal *equal, const Mutant *mutant, const Compiled *compiled, char *why, size_t room);
#endif
