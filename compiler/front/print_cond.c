/* Conditions, events and the heads of items in words, on one line, for messages and outputs. */
#include "front/front.h"

#include "base/limits.h"

static void put_name(Buf *buf, const Job *job, Name name) {
    buf_str(buf, name_text(job->names, name));
}

static void put_word(Buf *buf, const Job *job, const char *before, Word word) {
    if (word.name) {
        buf_text(buf, before);
        put_name(buf, job, word.name);
    }
}

static void put_text(Buf *buf, const Job *job, const char *before, Text text) {
    if (text.span.hi) {
        buf_text(buf, before);
        buf_str(buf, span_text(job->sources, text.span));
    }
}

static void put_amount(Buf *buf, const Job *job, Amount amount) {
    buf_str(buf, span_text(job->sources, amount.number));
    put_word(buf, job, " ", amount.unit);
}

static void put_measured(Buf *buf, const Job *job, const char *before, Measured measured) {
    if (measured.amount.span.hi || measured.name.name) {
        buf_text(buf, before);
    }
    if (measured.amount.span.hi) {
        put_amount(buf, job, measured.amount);
    } else {
        put_name(buf, job, measured.name.name);
    }
}

static void put_range(Buf *buf, const Job *job, const Range *range) {
    if (range->lo.span.hi && range->hi.span.hi) {
        put_amount(buf, job, range->lo);
        buf_text(buf, "..");
        put_amount(buf, job, range->hi);
    } else if (range->lo.span.hi) {
        buf_text(buf, "at least ");
        put_amount(buf, job, range->lo);
    } else if (range->hi.span.hi) {
        buf_text(buf, "at most ");
        put_amount(buf, job, range->hi);
    }
}

/* ---- conditions ---- */

static void put_cond(Buf *buf, const Job *job, const Cond *cond, unsigned depth);

/* Brackets where the condition would read otherwise without them. */
static void put_part(Buf *buf, const Job *job, const Cond *part, bool atom_only, unsigned depth) {
    bool joined = part->kind == COND_AND || part->kind == COND_OR;
    bool brackets = joined || (atom_only && (part->kind == COND_NOT || part->kind == COND_FOR));
    buf_text(buf, brackets ? "(" : "");
    put_cond(buf, job, part, depth + 1);
    buf_text(buf, brackets ? ")" : "");
}

static void put_joined(Buf *buf, const Job *job, const Cond *cond, const char *joint, unsigned depth) {
    for (const Cond *part = cond->parts; part; part = part->next) {
        put_part(buf, job, part, false, depth);
        buf_text(buf, part->next ? joint : "");
    }
}

static void put_compare(Buf *buf, const Job *job, const Cond *cond) {
    static const char *const words[] = {" at least ", " at most ", " below ", " above "};
    put_name(buf, job, cond->ref.name);
    put_measured(buf, job, words[cond->comparison], *cond->measured);
}

static void put_is(Buf *buf, const Job *job, const Cond *cond) {
    put_name(buf, job, cond->ref.name);
    buf_text(buf, cond->negated ? " is not " : cond->says_is ? " is " : " ");
    put_name(buf, job, cond->word.name);
}

static void put_lasting(Buf *buf, const Job *job, const Cond *cond, unsigned depth) {
    put_part(buf, job, cond->parts, true, depth);
    put_measured(buf, job, " for ", *cond->time);
}

static void put_cond(Buf *buf, const Job *job, const Cond *cond, unsigned depth) {
    if (depth > LIMIT_NESTING) {
        buf_text(buf, "…");
        return;
    }
    switch ((CondKind)cond->kind) {
    case COND_AND: put_joined(buf, job, cond, " and ", depth); break;
    case COND_OR: put_joined(buf, job, cond, " or ", depth); break;
    case COND_NOT:
        buf_text(buf, "not ");
        put_part(buf, job, cond->parts, false, depth);
        break;
    case COND_FOR: put_lasting(buf, job, cond, depth); break;
    case COND_NAME: put_name(buf, job, cond->ref.name); break;
    case COND_IS: put_is(buf, job, cond); break;
    case COND_COMPARE: put_compare(buf, job, cond); break;
    case COND_RANGE:
        put_word(buf, job, "", cond->ref);
        buf_char(buf, ' ');
        put_range(buf, job, cond->range);
        break;
    case COND_FITTED: put_word(buf, job, "fitted ", cond->ref); break;
    case COND_WATCHING: put_word(buf, job, "watching ", cond->ref); break;
    case COND_TEXT: put_text(buf, job, "", cond->text); break;
    case COND_BAD: buf_str(buf, span_text(job->sources, cond->span)); break;
    }
}

void print_cond(Buf *buf, const Job *job, const Cond *cond) {
    put_cond(buf, job, cond, 0);
}

/* ---- events ---- */

static void put_event(Buf *buf, const Job *job, const Event *event) {
    static const char *const before[] = {
        [EVENT_SET] = "set ", [EVENT_LOOK] = "look ", [EVENT_CALL] = "call ", [EVENT_BRIEF] = "brief "};
    static const char *const between[] = {
        [EVENT_LEAVES] = " leaves ", [EVENT_SEEN] = " seen ", [EVENT_ANSWERED] = " answered "};
    if (event->kind == EVENT_BAD) {
        buf_str(buf, span_text(job->sources, event->span));
        return;
    }
    bool verb = event->kind >= EVENT_SET && event->kind <= EVENT_BRIEF;
    put_word(buf, job, verb ? before[event->kind] : "", event->ref);
    if (event->kind == EVENT_BECOMES) {
        put_word(buf, job, event->says_becomes ? " becomes " : " ", event->pos);
    } else {
        bool joint = event->kind >= EVENT_LEAVES && event->kind <= EVENT_ANSWERED;
        put_word(buf, job, joint ? between[event->kind] : " ", event->pos);
    }
}

void print_event(Buf *buf, const Job *job, const Event *event) {
    for (; event; event = event->next) {
        put_event(buf, job, event);
        buf_text(buf, event->next ? " or " : "");
    }
}

/* ---- heads of items ---- */

static void put_after(Buf *buf, const Job *job, const Timing *timing) {
    if (timing->after) {
        buf_text(buf, " after ");
        put_event(buf, job, timing->after);
    }
}

static void put_within(Buf *buf, const Job *job, const Timing *timing) {
    if (timing) {
        put_measured(buf, job, " within ", timing->time);
        put_after(buf, job, timing);
    }
}

static void put_wait(Buf *buf, const Job *job, const Stmt *stmt) {
    const Timing *t = stmt->more->timing;
    buf_text(buf, "wait");
    if (!t) {
        return;
    }
    bool lo = t->span.lo.span.hi || t->lo_name.name, hi = t->span.hi.span.hi || t->hi_name.name;
    if (lo && hi) {
        buf_char(buf, ' ');
        put_range(buf, job, &t->span);
    } else {
        put_measured(buf, job, " at least ", (Measured){t->span.lo, t->lo_name});
        put_measured(buf, job, " up to ", (Measured){t->span.hi, t->hi_name});
    }
    put_after(buf, job, t);
    put_text(buf, job, " ", stmt->more->text);
}

static void put_crank(Buf *buf, const Job *job, const Stmt *stmt) {
    buf_text(buf, "crank");
    if (stmt->more->timing) {
        put_measured(buf, job, " up to ", stmt->more->timing->time);
    }
    if (stmt->more->over_duty) {
        buf_text(buf, " over duty");
        put_text(buf, job, " because ", stmt->more->text2);
    }
    if (stmt->cond) {
        buf_text(buf, " until ");
        print_cond(buf, job, stmt->cond);
    }
}

static void put_try(Buf *buf, const Job *job, const Stmt *stmt) {
    buf_text(buf, "try");
    if (stmt->more->timing && (stmt->more->timing->time.amount.span.hi || stmt->more->timing->time.name.name)) {
        put_measured(buf, job, " up to ", stmt->more->timing->time);
        buf_text(buf, " times");
    }
    if (stmt->cond) {
        buf_text(buf, " until ");
        print_cond(buf, job, stmt->cond);
    }
}

static void put_tail(Buf *buf, const Job *job, const EndTail *tail) {
    switch ((EndTailKind)tail->kind) {
    case TAIL_NO_MORE_STARTS: buf_text(buf, ", no more starts"); break;
    case TAIL_NEXT_START_AFTER: put_measured(buf, job, ", next start after ", tail->after); break;
    case TAIL_START_AGAIN_AT: put_word(buf, job, ", start again at ", tail->phase); break;
    }
}

static void put_action(Buf *buf, const Job *job, const Action *action) {
    switch ((ActionKind)action->kind) {
    case ACTION_TURN_TO: put_word(buf, job, "turn to ", action->target); break;
    case ACTION_END:
        put_word(buf, job, "end ", action->target);
        for (const EndTail *tail = action->tails; tail; tail = tail->next) {
            put_tail(buf, job, tail);
        }
        break;
    case ACTION_AGAIN:
        buf_text(buf, "again");
        put_measured(buf, job, " after ", action->after);
        break;
    case ACTION_NONE:
    case ACTION_BLOCK: break;
    }
}

static void put_words(Buf *buf, const Job *job, const char *before, const WordList *words) {
    for (; words; words = words->next) {
        put_word(buf, job, before, words->word);
        before = ", ";
    }
}

static void put_cond_after(Buf *buf, const Job *job, const char *before, const Cond *cond) {
    if (cond) {
        buf_text(buf, before);
        print_cond(buf, job, cond);
    }
}

static void put_set(Buf *buf, const Job *job, const Stmt *stmt) {
    put_word(buf, job, "set ", stmt->ref);
    if (stmt->more->amount.span.hi) {
        buf_char(buf, ' ');
        put_amount(buf, job, stmt->more->amount);
    }
    put_word(buf, job, " ", stmt->pos);
    put_within(buf, job, stmt->more->timing);
}

static void put_call(Buf *buf, const Job *job, const Stmt *stmt) {
    put_word(buf, job, "call ", stmt->ref);
    put_word(buf, job, ", answered ", stmt->pos);
    put_within(buf, job, stmt->more->timing);
}

/* Verb, thing and position, or verb and texts: the plain shapes. */
static void put_plain_shape(Buf *buf, const Job *job, const char *verb, const Stmt *stmt) {
    buf_text(buf, verb);
    put_word(buf, job, " ", stmt->ref);
    put_word(buf, job, " ", stmt->pos);
    put_text(buf, job, " ", stmt->more->text);
    put_text(buf, job, " ", stmt->more->text2);
}

void print_stmt_head(Buf *buf, const Job *job, const Stmt *stmt) {
    switch ((StmtKind)stmt->kind) {
    case STMT_SET: put_set(buf, job, stmt); break;
    case STMT_CHECK: put_cond_after(buf, job, "check ", stmt->cond); break;
    case STMT_EXPECT:
        put_cond_after(buf, job, "expect ", stmt->cond);
        put_within(buf, job, stmt->more->timing);
        break;
    case STMT_LOOK: put_plain_shape(buf, job, "look", stmt); break;
    case STMT_CALL: put_call(buf, job, stmt); break;
    case STMT_BRIEF: put_plain_shape(buf, job, "brief", stmt); break;
    case STMT_WAIT: put_wait(buf, job, stmt); break;
    case STMT_CRANK: put_crank(buf, job, stmt); break;
    case STMT_TRY: put_try(buf, job, stmt); break;
    case STMT_HOLD: put_plain_shape(buf, job, "hold", stmt); break;
    case STMT_RELEASE: put_plain_shape(buf, job, "release", stmt); break;
    case STMT_WATCH: put_plain_shape(buf, job, "watch", stmt); break;
    case STMT_PLAIN: put_plain_shape(buf, job, "plain", stmt); break;
    case STMT_NOTE: put_plain_shape(buf, job, "note", stmt); break;
    case STMT_CAUTION: put_plain_shape(buf, job, "caution", stmt); break;
    case STMT_WARNING: put_plain_shape(buf, job, "warning", stmt); break;
    case STMT_WHEN: put_cond_after(buf, job, "when ", stmt->cond); break;
    case STMT_CASES: buf_text(buf, "cases"); break;
    case STMT_CASE:
        put_cond_after(buf, job, "case ", stmt->cond);
        buf_text(buf, stmt->cond ? "" : "otherwise");
        break;
    case STMT_FOR:
        buf_text(buf, stmt->ref.name ? "for " : "for each engine");
        put_word(buf, job, "", stmt->ref);
        break;
    case STMT_DO: put_plain_shape(buf, job, "do", stmt); break;
    case STMT_GO: put_action(buf, job, stmt->more->action); break;
    case STMT_PHASE: put_plain_shape(buf, job, "phase", stmt); break;
    case STMT_BEGINS: put_cond_after(buf, job, "begins with ", stmt->cond); break;
    case STMT_APPLIES: put_cond_after(buf, job, "applies when ", stmt->cond); break;
    case STMT_DRILLS: put_words(buf, job, "drills ", stmt->more->words); break;
    case STMT_CUE: put_cond_after(buf, job, "cue ", stmt->cond); break;
    case STMT_ARMED: put_cond_after(buf, job, "armed while ", stmt->cond); break;
    case STMT_KEEPS_CRANKING: buf_text(buf, "keeps cranking"); break;
    case STMT_MEMORY: buf_text(buf, "memory"); break;
    case STMT_BAD: buf_str(buf, span_text(job->sources, stmt->span)); break;
    }
}
