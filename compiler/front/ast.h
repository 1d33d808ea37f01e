/* The syntax tree: what the text says, before anything is known about its meaning.
   takes   nothing: these are shapes
   gives   one node for each thing written, each with its span
   owns    nodes live in the job's arena; lists are linked by `next`, in the order of the text
   never   resolves a name, converts a unit or drops a comment */
#ifndef FRONT_AST_H
#define FRONT_AST_H
#include "base/job.h"

/* A word where it stands: a name, a position (POS), a unit, a section, a reference ("left.mixture" is one Word).
   name == 0: not written. */
typedef struct {
    Name name;
    Span span;
} Word;

typedef struct WordList WordList;
struct WordList {
    Word word;
    WordList *next;
};

/* A text with its quotes; span.hi == 0: not written. Contents are parsed by text_parse() (front/text.h) when asked. */
typedef struct {
    Span span;
} Text;

typedef struct TextList TextList;
struct TextList {
    Text text;
    TextList *next;
};

/* "10 s": the digits are read from the span later, exactly. number.hi == 0: absent. unit.name == 0: a bare number. */
typedef struct {
    Span span, number;
    Word unit;
} Amount;

/* A time or a count: an amount, or the name of a value. */
typedef struct {
    Amount amount; /* span.hi == 0 when a name stands instead */
    Word name;
} Measured;

/* "5..15 s": lo.unit may be absent, then it is hi's. One-sided: the other has span.hi == 0. */
typedef struct {
    Amount lo, hi;
} Range;

/* The clauses of a statement: from SOURCE SECTION [line N], because, as, by (a person of the crew, or in a text who answers for it). NULL
   where none is written. */
typedef struct {
    Word source, section; /* section's name is its text as written */
    Amount line;
    Text because, as;
    Word by;
    Text by_text;
    Span span;
} Why;

typedef enum {
    COND_BAD,      /* already reported */
    COND_AND,      /* parts: two or more */
    COND_OR,       /* parts: two or more */
    COND_NOT,      /* parts: one */
    COND_FOR,      /* parts: one; for `time` */
    COND_NAME,     /* ref alone: a state, a kind, a label */
    COND_IS,       /* ref word: a position or a band, rising, steady, falling; `is` written or not; maybe negated */
    COND_COMPARE,  /* ref at least | at most | below | above (amount or name) */
    COND_RANGE,    /* ref 800..1000 rpm */
    COND_FITTED,   /* fitted ref */
    COND_WATCHING, /* watching ref */
    COND_TEXT      /* only in a cue */
} CondKind;
typedef enum { COMPARE_AT_LEAST, COMPARE_AT_MOST, COMPARE_BELOW, COMPARE_ABOVE } Comparison;

typedef struct Cond Cond;
struct Cond {
    uint8_t kind;          /* CondKind */
    uint8_t comparison;    /* Comparison */
    bool says_is, negated; /* COND_IS: "is" was written; "is not" */
    Span span;
    Word ref;
    union {                 /* by kind */
        Word word;          /* COND_IS */
        Measured *measured; /* COND_COMPARE */
        Range *range;       /* COND_RANGE */
        Text text;          /* COND_TEXT */
        struct {
            Cond *parts;    /* COND_AND, COND_OR, COND_NOT, COND_FOR: the first child */
            Measured *time; /* COND_FOR */
        };
    };
    Cond *next; /* sibling */
};
/* NULL: it has none. */
static inline const Cond *cond_parts(const Cond *cond) {
    return cond->kind >= COND_AND && cond->kind <= COND_FOR ? cond->parts : NULL;
}

typedef enum {
    EVENT_BAD,
    EVENT_NAME,    /* a named event, a label, a call, a procedure, a drill */
    EVENT_BECOMES, /* ref [becomes] pos */
    EVENT_LEAVES,
    EVENT_SEEN, /* pos: a position or a band's name */
    EVENT_ANSWERED,
    EVENT_SET,
    EVENT_LOOK,
    EVENT_CALL,
    EVENT_BRIEF
} EventKind;
typedef struct Event Event;
struct Event {
    uint8_t kind;
    bool says_becomes;
    Span span;
    Word ref, pos;
    Event *next; /* the next of "A or B" */
};

/* ---- items ---- */
typedef struct Stmt Stmt;
typedef struct Block {
    Span span;   /* with its braces */
    Stmt *first; /* NULL: empty */
} Block;

/* What follows an end, or stands alone after its comma. */
typedef enum { TAIL_NO_MORE_STARTS, TAIL_NEXT_START_AFTER, TAIL_START_AGAIN_AT } EndTailKind;
typedef struct EndTail EndTail;
struct EndTail {
    uint8_t kind;
    Span span;
    Measured after;
    Word phase;
    EndTail *next;
};

typedef enum { ACTION_NONE, ACTION_TURN_TO, ACTION_END, ACTION_AGAIN, ACTION_BLOCK } ActionKind;
typedef struct {
    uint8_t kind;
    Span span;
    Word target;    /* TURN_TO: the drill; END: the outcome */
    Measured after; /* AGAIN */
    EndTail *tails; /* END */
    Block *block;   /* BLOCK */
} Action;

/* ", if COND ACTION" (cond != NULL) or "otherwise ACTION" (cond == NULL, the last). */
typedef struct Outcome Outcome;
struct Outcome {
    Span span;
    Cond *cond;
    Action action;
    Outcome *next;
};

typedef enum {
    STMT_BAD,    /* already reported */
    STMT_SET,    /* ref [amount = N] pos [within time [after event]] */
    STMT_CHECK,  /* cond */
    STMT_EXPECT, /* cond within time [after event] */
    STMT_LOOK,   /* ref pos */
    STMT_CALL,   /* ref [answered pos [within time]] */
    STMT_BRIEF,  /* ref */
    STMT_WAIT,   /* span_min, span_max [after event] [text] */
    STMT_CRANK,  /* [up to time] [over duty because text2] [block] [until cond] */
    STMT_TRY,    /* [up to count times] block until cond [between] */
    STMT_HOLD,   /* ref [pos] */
    STMT_RELEASE,
    STMT_WATCH,
    STMT_PLAIN, /* text [text2] */
    STMT_NOTE,  /* text */
    STMT_CAUTION,
    STMT_WARNING,
    STMT_WHEN,  /* cond block [otherwise: outcomes->action] */
    STMT_CASES, /* parts: STMT_CASE …; the last may be the otherwise (cond NULL) */
    STMT_CASE,  /* cond block */
    STMT_FOR,   /* ref (name 0: each engine) block */
    STMT_DO,    /* ref: a group */
    STMT_GO,    /* action: turn to, end, again */
    /* parts of a procedure, drill or group that are not items */
    STMT_PHASE,   /* ref text block [otherwise: outcomes->action] */
    STMT_BEGINS,  /* cond */
    STMT_APPLIES, /* cond */
    STMT_DRILLS,  /* words: drills, or paths of files of drills */
    STMT_CUE,     /* cond */
    STMT_ARMED,   /* cond */
    STMT_KEEPS_CRANKING,
    STMT_MEMORY /* block */
} StmtKind;

typedef struct Timing {    /* set, expect, wait, crank, try, call */
    Measured time;         /* within, up to, answered within; the count of a try */
    Range span;            /* wait: at least = lo, up to = hi (units each their own); names in span_name */
    Word lo_name, hi_name; /* wait: a value's name instead of lo or hi */
    Event *after;
} Timing;

/* What only some statements have. Most lines have none of it and share stmt_no_more, so that a line costs little. */
typedef struct {
    bool over_duty;
    Amount amount;  /* set THING N POS */
    Timing *timing; /* NULL: none */
    Text text, text2;
    Block *block, *between;
    Action *action; /* STMT_GO */
    Stmt *parts;    /* STMT_CASES */
    WordList *words;
} StmtMore;
extern const StmtMore stmt_no_more; /* all empty */

struct Stmt {
    uint8_t kind;
    Span span; /* from the label or verb to the last clause */
    Word label;
    Word ref, pos;
    Cond *cond;
    Outcome *outcomes;
    const StmtMore *more; /* never NULL: stmt->more->block */
    Why *why;
    Stmt *next;
};

/* ---- declarations ---- */
typedef enum { EFFECT_STOPS, EFFECT_TURNS, EFFECT_POWERS } EffectKind;
typedef struct Effect Effect;
struct Effect {
    uint8_t kind;
    Span span;
    Word ref;
    Effect *next;
};
typedef struct PositionDecl PositionDecl;
struct PositionDecl {
    Word word;
    Text print;
    bool counted;
    Effect *effects;
    PositionDecl *next;
};

typedef enum { LIMIT_UP_TO_ON, LIMIT_REST, LIMIT_TRIES, LIMIT_THEN_REST, LIMIT_AT_MOST_IN } DutyLimitKind;
typedef struct DutyLimit DutyLimit;
struct DutyLimit {
    uint8_t kind;
    Span span;
    Measured time; /* on, rest, then rest, "in" */
    Amount count;  /* tries, at most N */
    DutyLimit *next;
};
typedef struct BandPart BandPart;
struct BandPart {
    Word name;
    Range range;
    BandPart *next;
};

typedef enum {
    CRAFT_ENGINES,
    CRAFT_KIND,
    CRAFT_FITTED,
    CRAFT_NOT_FITTED,  /* words */
    CRAFT_INOPERATIVE, /* words until date because by(text) */
    CRAFT_DUTY,        /* ref limits [when cond] */
    CRAFT_BAND,        /* ref bands [when cond] */
    CRAFT_VALUE,       /* ref amount (unit absent: a count) [when cond] */
    CRAFT_PRINT,       /* ref [pos] text */
    CRAFT_PACE,        /* time */
    CRAFT_DRILLS       /* words: drills, or paths of files of drills */
} CraftKind;
typedef struct Craft Craft;
struct Craft {
    uint8_t kind;
    Span span;
    WordList *words;
    Word ref, pos;
    DutyLimit *limits;
    BandPart *bands;
    Amount amount;
    Measured time;
    Text text, because, by;
    Span until; /* a date */
    Cond *when;
    Why *why;
    Craft *next;
};

typedef enum {
    RULE_BEFORE_EACH,
    RULE_BEFORE_FIRST,  /* trigger [since] : steps */
    RULE_RESPONSE,      /* after [each] E within T : A or B */
    RULE_NEVER_AFTER,   /* after [each] E : no F [for at least T] */
    RULE_ORDER,         /* after [each] E : F before G */
    RULE_AT_EACH,       /* at each E : cond */
    RULE_FROM_UNTIL,    /* from each E until F or G : cond */
    RULE_WHILE,         /* while C : cond */
    RULE_LASTS,         /* each STATE lasts at most T */
    RULE_CAN_REACH,     /* each STATE can reach STATE or drill */
    RULE_AT_MOST_SINCE, /* at most N E since the last F */
    RULE_AT_MOST_REST,  /* at most N E since the last rest of at least T */
    RULE_WINDOW,        /* in any T : at most N E */
    RULE_EVERY_END,     /* every end [OUTCOME or …] : cond */
    RULE_END_OF,        /* every end of DRILL | any drill : cond */
    RULE_DUTY,          /* duty of REF kept */
    RULE_CASES          /* every case has exactly one procedure */
} RuleKind;
typedef struct RuleStep RuleStep;
struct RuleStep {
    Span span;
    Event *event; /* NULL: a pause */
    Range pause;
    Word pause_name; /* a value's name as the least pause */
    RuleStep *next;
};
typedef struct {
    uint8_t kind;
    bool says_each;
    Span span;
    Event *trigger, *since, *events; /* since: also "until" of from..until; events: responses, F */
    Event *before;                   /* RULE_ORDER: G */
    RuleStep *steps;
    Measured time, count;
    Cond *state, *cond; /* RULE_WHILE: state; cond: what must hold */
    Word ref, target;   /* lasts, can reach, end of, duty of */
    bool any_drill;     /* every end of any drill */
    WordList *outcomes; /* every end X or Y */
    WordList *except;
    bool except_any, except_written;
} Rule;

typedef struct Gate {
    Word within; /* "in NAME," */
    bool in_any_drill;
    Rule rule;
    Word severity;
    Cond *applies;
    bool never_waived;
    Why *why; /* because, from of the gate as a whole */
    Why *severity_why, *applies_why, *rule_why;
} Gate;

typedef enum { STANDING_HOLDS, STANDING_RANK, STANDING_GATE } StandingKind;
typedef struct Decl Decl;
typedef struct Standing Standing;
struct Standing {
    uint8_t kind;
    Span span;
    WordList *words; /* paths; gates' or checks' ids */
    Word rank;
    Decl *gate;
    Why *why;
    Standing *next;
};

typedef enum {
    EDIT_ADD_AFTER,
    EDIT_ADD_BEFORE,
    EDIT_REPLACE,
    EDIT_MOVE_AFTER,
    EDIT_MOVE_BEFORE,
    EDIT_REWORD,
    EDIT_OMIT,
    EDIT_OMIT_LINE /* a declared line of a source, which no line takes over: ref is the source, to the section */
} EditKind;
typedef struct Edit Edit;
struct Edit {
    uint8_t kind;
    Span span;
    Word ref, to;
    Block *block;
    Text text;
    Amount line; /* EDIT_OMIT_LINE */
    Why *why;
    Edit *next;
};

typedef enum {
    DOC_FOR,
    DOC_STANDARD,
    DOC_ISSUE,
    DOC_CONTAINS,
    DOC_REVISION,
    DOC_CHANGES,
    DOC_PREPARED,
    DOC_DISTRIBUTION,
    DOC_APPROVED,
    DOC_CARD
} DocLineKind;
enum { DOC_KINDS = DOC_CARD + 1 };
typedef struct DocLine DocLine;
struct DocLine {
    uint8_t kind;
    bool all_drills; /* contains */
    Span span;
    WordList *words;        /* for, standard, issue, contains; card: also in units */
    Word ref;               /* card: the paper; approved: the check code */
    Amount amount, amount2; /* revision; changes: since that revision; card: type, reading distance */
    Span date, date2;       /* effective, review by; approved on */
    Text text, text2;       /* text2: the folder of the earlier revision */
    TextList *texts;        /* distribution */
    DocLine *next;
};

typedef struct WordingEntry WordingEntry;
struct WordingEntry {
    Word ref;
    Text text;
    PositionDecl *positions;
    WordingEntry *next;
};
typedef struct LineDecl LineDecl;
struct LineDecl {
    Amount number;
    Text text;
    LineDecl *next;
};

typedef enum {
    DECL_BAD,
    DECL_USE,
    DECL_CONTROL,
    DECL_SCENE,
    DECL_GAUGE,
    DECL_LIGHT,
    DECL_PERSON,
    DECL_CALL,
    DECL_BRIEFING,
    DECL_KIND,
    DECL_SOURCE,
    DECL_LINES,
    DECL_AIRCRAFT,
    DECL_TAIL,
    DECL_PROCEDURE,
    DECL_DRILL,
    DECL_GROUP,
    DECL_EVENT,
    DECL_STATE,
    DECL_GATE,
    DECL_STANDARD,
    DECL_WAIVE,
    DECL_ADAPT,
    DECL_DOCUMENT,
    DECL_FLEET,
    DECL_WORDING
} DeclKind;

/* What only some declarations have; the others share decl_no_more. */
typedef struct {
    Text text2;           /* source: edition; waive: by */
    Word unit;            /* gauge */
    WordList *words;      /* procedure, drill, adapt: for; fleet: tails; waive: on */
    TextList *paragraphs; /* briefing */
    Word ref, ref2;       /* tail: its aircraft or tail; waive: gate, item; lines: source in ref, section in ref2 */
    Span date;            /* waive: until */
    Why *why;
} DeclMore;
extern const DeclMore decl_no_more; /* all empty */

struct Decl {
    uint8_t kind;
    bool each_engine, if_fitted;
    bool path_is_text;       /* use "file" (else a name or a SLASHED path of the library) */
    Span span;               /* the whole declaration */
    Word name;               /* use: the path as written, without quotes */
    Text text;               /* title; waive: because */
    PositionDecl *positions; /* control, scene, call (answers), light (none written: OFF, ON) */
    union {
        Craft *craft; /* aircraft, tail */
        Stmt *parts;  /* procedure, drill, group */
        Event *event; /* event … means */
        Cond *cond;   /* state … means */
        Gate *gate;
        Standing *standing;
        Edit *edits; /* adapt */
        DocLine *doclines;
        WordingEntry *wording;
        LineDecl *lines; /* lines */
    } u;
    const DeclMore *more; /* never NULL: decl->more->words */
    Decl *next;
};

typedef struct {
    Span span;
    bool own_line; /* nothing but blanks before it on its line */
} Comment;

typedef struct {
    const Source *source;
    Decl *first;
    Comment *comments; /* in order */
    size_t n_comments;
    bool broken; /* at least one error was reported while parsing it */
} File;
#endif
