/* Startwright's public interface: five calls that compile, and seven that run a state table that was made.

     sw_open      a workspace
     sw_set_text  a file's text (from disk, or what an editor has not saved)
     sw_compile   files -> a unit: findings, verdicts, and a list of the outputs that can be made
     sw_emit      one output of a unit -> a sink
     sw_close     gives everything back

     sw_run_open  a table.json -> a run of it
     sw_run_why_not, sw_run_line, sw_run_state, sw_run_offers, sw_run_again, sw_run_close

   The library reads no file, no clock, no locale and no environment; what it needs, the caller's SwHost gives.
   Ownership: all that a workspace or a unit points to belongs to the workspace and lives until sw_close; a unit
   also ends at the workspace's next sw_compile. Texts are UTF-8, not NUL-terminated, and never NULL when len > 0.
   Units: times are whole milliseconds; lines and columns count from 1, columns in code points; 0 means none.
   Errors: a call that fails says so by its result; a broken source is not a failure but findings.
   One workspace is used by one thread at a time; separate workspaces are independent. */
#ifndef STARTWRIGHT_H
#define STARTWRIGHT_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SW_VERSION_MAJOR 0
#define SW_VERSION_MINOR 3
#define SW_VERSION_PATCH 0
#define SW_VERSION "0.3.0"

#if defined __GNUC__
#define SW_API __attribute__((visibility("default")))
#else
#define SW_API
#endif

typedef struct SwWorkspace SwWorkspace;

typedef struct {
    const char *ptr;
    size_t len;
} SwText;

typedef enum { SW_READ_OK, SW_READ_MISSING, SW_READ_FAILED } SwRead;
typedef struct {
    void *context;
    /* Reads the file of a `use`. `path` is relative to the project's root, '/' between parts. On OK *text stays valid until sw_close; on
       FAILED *text says why. NULL: there are no files but those of sw_set_text. */
    SwRead (*read)(void *context, SwText path, SwText *text);
    /* Polled during proofs; true: stop, what is left is not decided. May be NULL. */
    bool (*stop)(void *context);
    /* The press, for outputs that are drawn: what startwright_press() of the module startwright-press.so gives. Asked for each time one
       is made. NULL, with *why_not: there is none. May be NULL: nothing can be drawn. */
    const struct SwPress *(*press)(void *context, SwText *why_not);
    /* The binder, for workbooks: what startwright_binder() of the module startwright-binder.so gives; as `press`. */
    const struct SwBinder *(*binder)(void *context, SwText *why_not);
    /* How many tails may be worked on at the same time, each in a thread of its own, the caller's being one; 0 or 1: no thread is made.
       What comes out does not depend on it. `stop` may then be polled by several threads at once. */
    size_t workers;
    /* Told, by one thread at a time, how many tails of those that need a proof of their own are done. May be NULL. */
    void (*progress)(void *context, size_t done, size_t of);
} SwHost;

typedef struct {
    SwText path; /* len 0: no place */
    uint32_t line, column, end_line, end_column;
    uint32_t lo, hi;              /* byte offsets in the file */
    SwText line_text;             /* the whole line, without its end */
    uint32_t cells_before, cells; /* display cells before the place and of it, on that line; at least 1 */
} SwPlace;

typedef enum { SW_NOTE, SW_WARNING, SW_ERROR, SW_UNDECIDED } SwSeverity;
typedef enum { SW_FIX_SAFE, SW_FIX_REVIEW, SW_FIX_SHOWN } SwFixGrade;
typedef enum { SW_PILOT, SW_ENGINE, SW_WORLD, SW_TIME, SW_PERSON } SwActor;

typedef struct {
    SwPlace place;
    SwText text;
} SwNote;
typedef struct {
    SwFixGrade grade;
    SwPlace place; /* lo == hi: an insertion */
    SwText text;
} SwFix;
typedef struct {
    SwText item, text, facts;
    SwPlace place;
    SwActor actor;
    int64_t at_ms;
    uint32_t folded; /* routine steps left out before this one */
    SwText breaks;   /* in a shared path: ids of the rules that are broken here; else empty */
} SwStep;
typedef struct {
    const SwStep *at;
    size_t n;
} SwSteps;
typedef struct {
    SwText id; /* permanent: `startwright why ID`; for a gate its name */
    SwText message;
    SwText tail; /* len 0: all tails */
    SwSeverity severity;
    SwPlace place;
    const SwNote *notes;
    size_t n_notes;
    const SwFix *fixes;
    size_t n_fixes;
    SwSteps path;  /* the counterexample */
    SwText wanted; /* what would have satisfied the rule, where and by when */
    SwText
        nearest; /* where the nearest path that keeps the rule parts from this one, or that there is none; empty: not known */
    SwSteps instead;     /* how that path goes on from there; empty: the sentence says it all */
    uint32_t shared;     /* findings of one number are told by one path; 0: by its own */
    SwSteps shared_path; /* that path, with the steps that matter to any of them */
    bool waived;
    bool known; /* stands in the list of SwGoal.known */
} SwFinding;

/* What proofs take for granted. */
typedef struct {
    SwText id;   /* permanent: "as-written", "pace", "run-down" … */
    SwText text; /* a sentence, with its numbers */
    SwText tail;
    bool every_rule; /* false: only of verdicts whose `assumes` names it */
    int64_t ms;      /* its number; 0: none */
} SwAssumption;

/* What puts a rule to the test ("crank", "the engine fires", "while it holds"), and on which lines of one file. */
typedef struct {
    SwText what, path;
    const uint32_t *lines; /* rising */
    size_t n_lines;
    uint32_t points; /* in all files; a line that several procedures come to is several */
} SwTest;

/* A time of a proved rule, and by how much it alone could be tightened with the rule still proved, under the same assumptions: the
   worst case over all runs. */
typedef enum { SW_AT_MOST, SW_AT_LEAST } SwTimeKind;
typedef enum {
    SW_SPARE_MEASURED, /* exactly spare_ms */
    SW_SPARE_ANY,      /* however long, or short, it were */
    SW_SPARE_UNKNOWN   /* at least spare_ms */
} SwSpare;
typedef struct {
    SwText what; /* "a pause of at least 5 s" */
    SwTimeKind kind;
    int64_t ms;
    SwSpare spare;
    int64_t spare_ms;
} SwTimeLimit;

/* A time of the text that counts from a named event, and what is left of it when its line is come to at the latest, at the stated
   pace (spare_ms 0: it may run out before). Only where a pace is stated. */
typedef struct {
    SwText line; /* "set Throttle IDLE" */
    SwPlace place;
    SwText tail;
    SwTimeLimit limit;
} SwTextTime;

typedef enum { SW_PROVED_AS_WRITTEN, SW_BROKEN, SW_NEVER_TESTED, SW_NOT_APPLICABLE, SW_NOT_DECIDED } SwVerdictKind;
typedef struct {
    SwText tail, gate, engine, title;
    SwText rule; /* the rule in words, made from the rule itself */
    SwText why;  /* of NEVER_TESTED, NOT_APPLICABLE and NOT_DECIDED */
    SwVerdictKind kind;
    SwPlace place;      /* of its finding, where it has one */
    bool waived, known; /* that finding */
    bool with_pace;     /* holds only at the stated pace */
    uint32_t triggered; /* at how many points of the procedures it is put to the test */
    /* with SwGoal.details only */
    const SwTest *tests;
    size_t n_tests;
    const SwTimeLimit *limits;
    size_t n_limits;
    const SwText *assumes; /* ids of the assumptions it needed, of those that not every rule leans on */
    size_t n_assumes;
} SwVerdict;

typedef enum { SW_GATE_APPLIES, SW_GATE_WAITS, SW_GATE_NOT_APPLICABLE } SwGateStanding;
typedef struct {
    SwText tail, gate, engine, title;
    SwText rule; /* as in SwVerdict; empty where the gate does not apply */
    SwText why;  /* of the two others: what is missing */
    SwSeverity severity;
    SwGateStanding standing;
} SwGate;

/* What stands in a tail's procedures, in its aircraft's lines and in its gates, with the place of a source that it rests on. */
typedef enum { SW_LINE_ITEM, SW_LINE_LIMIT, SW_LINE_RULE } SwLineKind;
typedef struct {
    SwLineKind kind;
    SwText tail;
    SwText of, of_title; /* of an item: its procedure or drill; of a limit: the aircraft or tail that says it */
    SwText engine;       /* of an item of a drill that exists once for each engine */
    SwText phase;        /* of an item; empty: outside phases */
    SwText id;           /* of an item: how adaptations and waivers name it; of a rule: its gate */
    SwText words;        /* an item as on the card, a limit as written, a rule's title */
    SwText source, source_title, section; /* empty: it rests on nothing that is named */
    uint32_t source_line;                 /* of the source's own lines; 0: none is named */
    bool own;                             /* its own words name the source; else those of what it stands in do */
    bool dropped, inoperative;            /* an item about what is not fitted, or does not work */
    uint32_t depth;                       /* of items within items */
    uint32_t times, in_phase;             /* items of this id in the procedure, and in its phase */
    SwPlace place;
} SwLine;

typedef struct {
    SwText kind;           /* "cards", "tables", "pictures" … */
    SwText file_name;      /* <document>-<tail>-<revision>.<suffix> */
    SwText document, tail; /* tail: empty for what is one for all tails of the document */
    bool draft, not_proved;
    bool on_request; /* made for whoever wants it by name; the document does not ask for it */
} SwOutput;

typedef enum {
    SW_GOAL_PARSE,
    SW_GOAL_GATES,
    SW_GOAL_LINES,
    SW_GOAL_CHECK,
    SW_GOAL_ISSUE
} SwGoalKind; /* GATES, LINES: nothing is proved */
typedef struct {
    SwGoalKind kind;
    SwText tail;  /* only this tail; len 0: all */
    SwText today; /* YYYY-MM-DD: by which waivers are judged; len 0: none has run out */
    /* Path of a list of known findings, read like other files; len 0: none. They are told as known and not counted as errors; what they
       are about stays broken or undecided, and outputs stay NOT PROVED. */
    SwText known;
    bool list_known; /* make such a list of all that is found: SwUnit.known_list */
    bool draft;      /* outputs also where errors are open, marked NOT PROVED on every page */
    bool
        details; /* what tests each rule, what its verdict leans on, what its times have to spare; takes several times as long */
} SwGoal;

typedef struct {
    const SwFinding *findings; /* sorted by place, doubles dropped */
    size_t n_findings;
    const SwVerdict *verdicts;
    size_t n_verdicts;
    const SwAssumption *assumptions;
    size_t n_assumptions;
    const SwGate *gates; /* of SW_GOAL_GATES: every gate of every tail; empty while the text has errors */
    size_t n_gates;
    const SwLine
        *lines; /* of SW_GOAL_LINES: tail by tail the items, the limits, the rules; also of a text with errors */
    size_t n_lines;
    const SwTextTime *text_times; /* with SwGoal.details only, of SW_GOAL_CHECK */
    size_t n_text_times;
    const SwOutput *outputs; /* of SW_GOAL_ISSUE; of a tail that is held back there are none */
    size_t n_outputs;
    const SwText *held_back; /* tails with open errors, or something not decided, where no draft was asked for */
    size_t n_held_back;
    size_t errors, warnings, notes, undecided, waived,
        known;            /* counts, each finding in one; findings beyond the limit are counted here, too */
    SwText known_list;    /* of SwGoal.list_known; empty while the text has errors */
    size_t n_known_list;  /* findings in it */
    const SwText *inputs; /* paths of all files that were read, main files first; the library's are none */
    size_t n_inputs;
    size_t tails, procedures; /* checked */
} SwUnit;

typedef struct {
    void *context;
    bool (*write)(void *context, const char *bytes, size_t n); /* false: give up */
} SwSink;

/* NULL: no memory. `host` is copied. */
SW_API SwWorkspace *sw_open(const SwHost *host);
/* Replaces the text of `path` for later compiles. The text is not copied and must live until sw_close. False: no memory or over 4 GiB. */
SW_API bool sw_set_text(SwWorkspace *workspace, SwText path, SwText text);
/* NULL: no memory. A file that cannot be read is a finding (id cannot-read). */
SW_API const SwUnit *sw_compile(SwWorkspace *workspace, const SwText *paths, size_t n_paths, const SwGoal *goal);
/* The output with this index of the unit. False: *why_not says why in words; empty: the sink gave up, or no memory. True: *why_not is empty, or
   has a few words on what was made, for whoever watches. */
SW_API bool sw_emit(const SwUnit *unit, size_t output, SwSink sink, SwText *why_not);
SW_API void sw_close(SwWorkspace *workspace);

/* ---- a state table, run: how is said in examples/readers/GUIDE.md. One run is used by one thread at a time. ---- */
typedef struct SwRun SwRun;

typedef enum { SW_OFFER_NOW, SW_OFFER_LATER } SwOfferKind;
typedef struct {
    SwText label; /* what a line of input names */
    SwText by;    /* "pilot", "engine", "world" */
    SwOfferKind kind;
    int64_t earliest_ms; /* from when on it can be taken; now, or later */
} SwOffer;

typedef struct {
    SwText place;   /* id of the place */
    SwText words;   /* the item as its card says it; empty where no item waits */
    SwText outcome; /* of an end; else empty */
    int64_t now_ms;
    int64_t due_ms; /* when the next deadline comes; < 0: none */
    bool halted;    /* stopped, or an error: nothing is taken any more */
} SwRunState;

/* NULL: no memory. Nothing is kept of `table`. A table that is refused gives a run of which sw_run_why_not says why. */
SW_API SwRun *sw_run_open(SwText table);
/* Empty: it can be run. Lives as long as the run. */
SW_API SwText sw_run_why_not(const SwRun *run);
/* One line of input ("1500 crank", "stop 2000"), without its end; what comes of it goes to the sink as lines of the trace. False: no
   memory, the sink gave up, or the table was refused. */
SW_API bool sw_run_line(SwRun *run, SwText line, SwSink trace);
/* Where the run stands; texts live as long as the run. */
SW_API SwRunState sw_run_state(const SwRun *run);
/* What can be taken here now, or later if nothing else changes, in the order of the table. The list lives until the next call for this
   run. False: no memory, or the table was refused. */
SW_API bool sw_run_offers(SwRun *run, const SwOffer **offers, size_t *n);
/* Back to the beginning. False: the table was refused. */
SW_API bool sw_run_again(SwRun *run);
SW_API void sw_run_close(SwRun *run);
#endif
