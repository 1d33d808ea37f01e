/* Findings: what is wrong, where, why it matters, what would satisfy it.
   Every floor emits into the job's list; nobody but a renderer in tool/ prints. */
#ifndef BASE_DIAG_H
#define BASE_DIAG_H
#include "base/names.h"
#include "base/source.h"
#include "base/vec.h"

typedef enum { SEVERITY_NOTE, SEVERITY_WARNING, SEVERITY_ERROR, SEVERITY_UNDECIDED } Severity;

/* One line an entry: base/findings.def. The id is a permanent kebab-case word. */
typedef enum {
    FINDING_NONE,
#define FINDING(symbol, id, severity, title) FINDING_##symbol,
#include "base/findings.def"
#undef FINDING
    FINDING_COUNT
} FindingKind;

typedef struct {
    const char *id;
    Severity severity;
    const char *title; /* one line, for the index */
} FindingInfo;
extern const FindingInfo finding_info[FINDING_COUNT];

typedef enum { FIX_SAFE, FIX_REVIEW, FIX_SHOWN } FixGrade;
typedef struct Fix Fix;
struct Fix {
    FixGrade grade;
    Span span; /* what is replaced; lo == hi: an insertion */
    Str text;  /* by what */
    Fix *next;
};

typedef struct Note Note;
struct Note {
    Span span; /* may be 0,0 */
    Str text;
    Note *next;
};

typedef enum { ACTOR_PILOT, ACTOR_ENGINE, ACTOR_WORLD, ACTOR_TIME, ACTOR_PERSON } Actor;

/* One line of a counterexample. */
typedef enum { PART_LEFT_OUT, PART_TIME, PART_MOVE, PART_WAIT } TracePart;
typedef struct {
    Str item; /* the item's id, "" for what is no item */
    Span span;
    Actor actor;
    Str text;        /* the step in the author's words */
    Str facts;       /* facts that changed, "" if none worth saying */
    int64_t at_ms;   /* earliest moment on this path, from its beginning */
    uint32_t move;   /* what it tells: the k-th move of the path, from 1 on; a move without a step is routine */
    TracePart part;  /* what of it, in this order */
    uint32_t silent; /* moves up to it that nobody would count */
} TraceStep;
typedef struct {
    TraceStep *at;
    size_t n;
} TraceSteps;
typedef struct {
    uint32_t edge; /* of the tail's model */
    int64_t at_ms;
} TraceMove;
typedef struct {
    TraceSteps steps;
    TraceMove *moves; /* all of them: paths with the same moves are one path */
    uint32_t n_moves;
    Name tail;  /* whose model it is */
    Str home;   /* the name of the procedure or drill in which it breaks; "": between two of them */
    Str wanted; /* what would have satisfied the rule, where and by when */
    Str nearest; /* where the nearest path that keeps the rule parts from this one, or that there is none; "": not known */
    TraceSteps instead; /* how that path goes on from there; n 0: the sentence says it all */
    uint32_t parting;   /* moves that both paths have */
} Trace;

typedef struct Finding Finding;
struct Finding {
    FindingKind kind;
    Severity severity;
    Span span;
    Str message;
    Str gate; /* the gate's name where a gate speaks (its id on output), else "" */
    Str tail; /* the tail it holds for, "" for all */
    Note *notes;
    Fix *fixes;
    Trace *trace; /* NULL: none */
    bool waived;
    bool known; /* stands in the list of known findings that was given */
};

typedef struct {
    Arena *arena;
    Names *names;
    VEC(Finding *) list;                   /* at most LIMIT_FINDINGS */
    size_t beyond[SEVERITY_UNDECIDED + 1]; /* those past the limit, by severity: counted, not kept */
    Finding *scrap;                        /* what finding_add returns for them; notes and fixes on it are dropped */
} Findings;

/* Formats: %s C text, %S Str, %N Name, %u uint64_t (cast), %d int64_t (cast), %X a character as U+200B, %% percent.
   All return the finding, so that notes and fixes can follow. */
Finding *finding_add(Findings *findings, FindingKind kind, Span span, const char *format, ...);
void finding_note(Findings *findings, Finding *finding, Span span, const char *format, ...);
void finding_fix(Findings *findings, Finding *finding, FixGrade grade, Span span, const char *format, ...);
/* The findings of another list with the same arena, behind those that are there. */
void findings_append(Findings *findings, const Findings *more);
Str format_text(Arena *arena, const Names *names, const char *format, ...);
void buf_format(Buf *buf, const Names *names, const char *format, ...);
#endif
