#include "check/words.h"
#include "front/front.h"
#include "sema/values.h"

Span item_span(const Item *item) {
    return item ? item->span : (Span){0, 0};
}

void buf_time(Buf *buf, int64_t ms) {
    int64_t hours = ms / 3600000, minutes = ms / 60000 % 60, seconds = ms / 1000 % 60, rest = ms % 1000;
    if (hours) buf_format(buf, NULL, "%d h ", hours);
    if (minutes) buf_format(buf, NULL, "%d min ", minutes);
    if (!seconds && !rest && (hours || minutes)) {
        buf->len--;
        return;
    }
    buf_int(buf, seconds);
    if (rest) {
        buf_char(buf, '.');
        for (int64_t unit = 100; rest; unit /= 10) {
            buf_char(buf, (char)('0' + rest / unit));
            rest %= unit;
        }
    }
    buf_text(buf, " s");
}

Str words_time(const Job *job, int64_t ms) {
    Buf buf = {.arena = job->arena};
    buf_time(&buf, ms);
    return buf_view(&buf);
}

Str words_clock(const Job *job, int64_t ms) {
    int64_t s = ms / 1000, rest = ms % 1000;
    Str clock = format_text(job->arena, job->names, s % 60 < 10 ? "%d:0%d" : "%d:%d", s / 60, s % 60);
    const char *more = rest < 10 ? "%S.00%d" : rest < 100 ? "%S.0%d" : "%S.%d";
    return rest ? format_text(job->arena, job->names, more, clock, rest) : clock;
}

Str words_duration(const Job *job, const Duration *time) {
    Buf buf = {.arena = job->arena};
    for (uint32_t k = 0; k < time->n; k++) {
        if (k) buf_text(&buf, " or ");
        buf_time(&buf, time->cases[k].ms);
    }
    return buf_view(&buf);
}

static bool engine_name(const Model *model, uint32_t engine, Name *name) {
    const Tail *tail = model->tail;
    if (engine == NO_INDEX || tail->n_engines < 2) return false;
    *name = tail->engines[engine];
    return true;
}

/* The words of a call may name its engine ("CLEAR {engine} PROP!"); the engine's name stands before them here. */
static void put_title(Buf *buf, Str title) {
    Str hole = STR("{engine} ");
    for (size_t i = 0; i < title.len; i++) {
        if (str_starts(str_slice(title, i, title.len), hole)) i += hole.len;
        if (i < title.len) buf_char(buf, title.ptr[i]);
    }
}

static void put_thing(Buf *buf, const Job *job, const Model *model, const Thing *thing) {
    Name engine;
    if (engine_name(model, thing->engine, &engine)) buf_format(buf, job->names, "%N ", engine);
    if (thing->title.len) put_title(buf, thing->title);
    else buf_format(buf, job->names, "%N", thing->name);
}

Str words_fact(const Job *job, const Model *model, uint32_t fact) {
    Buf buf = {.arena = job->arena};
    const Fact *f = &model->facts[fact];
    if (f->thing && f->kind != FACT_LABEL) put_thing(&buf, job, model, f->thing);
    else buf_format(&buf, job->names, "%N", f->name);
    return buf_view(&buf);
}

Str words_values(const Job *job, const Model *model, uint32_t fact, uint64_t mask) {
    Buf buf = {.arena = job->arena};
    buf_values(&buf, &model->facts[fact], mask);
    return buf_view(&buf);
}

static void put_test(Buf *buf, const Job *job, const Model *model, const Test *test, uint32_t depth) {
    if (!test) {
        buf_text(buf, "always");
        return;
    }
    if (test->written && test->written->span.hi) {
        print_cond(buf, job, test->written);
        return;
    }
    if (test->kind == TEST_FACT) {
        buf_format(buf, job->names, "%S %S", words_fact(job, model, test->fact),
                   words_values(job, model, test->fact, test->mask));
        return;
    }
    if (test->kind == TEST_NOT) buf_text(buf, "not ");
    for (const Test *part = test->parts; part && depth < 64; part = part->next) {
        if (part != test->parts) buf_text(buf, test->kind == TEST_OR ? " or " : " and ");
        put_test(buf, job, model, part, depth + 1);
    }
}

Str words_test(const Job *job, const Model *model, const Test *test) {
    Buf buf = {.arena = job->arena};
    put_test(&buf, job, model, test, 0);
    return buf_view(&buf);
}

static void put_trigger(Buf *buf, const Job *job, const Model *model, const Trigger *t) {
    if (t->written && t->written->span.hi) {
        Event alone = *t->written;
        alone.next = NULL; /* the other alternatives have triggers of their own */
        print_event(buf, job, &alone);
        return;
    }
    if (t->name) {
        buf_format(buf, job->names, "%N", t->name);
        return;
    }
    switch (t->kind) {
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_SEEN:
    case ON_LOOK:
    case ON_SET:
    case ON_ANSWERED: {
        static const char *const verbs[] = {
            [ON_BECOMES] = "becomes", [ON_LEAVES] = "leaves", [ON_SEEN] = "seen",
            [ON_LOOK] = "looked at:", [ON_SET] = "set",       [ON_ANSWERED] = "answered"};
        buf_format(buf, job->names, "%S %s %S", words_fact(job, model, t->fact), verbs[t->kind],
                   words_values(job, model, t->fact, t->mask));
        return;
    }
    case ON_TURN: buf_format(buf, job->names, "%S begins to turn", words_fact(job, model, t->fact)); return;
    case ON_CALL:
    case ON_BRIEF: put_thing(buf, job, model, &model->tail->things[t->thing]); return;
    case ON_LABEL: buf_str(buf, words_fact(job, model, t->fact)); return;
    case ON_ENTER:
    case ON_NOTHING: buf_text(buf, "what cannot happen on this tail"); return;
    }
}

static bool said_before(const Trigger *list, const Trigger *t) {
    for (const Trigger *at = list; at != t; at = at->next)
        if (at->kind == t->kind && at->fact == t->fact && at->thing == t->thing && at->engine == t->engine &&
            at->mask == t->mask && at->name == t->name)
            return true;
    return false;
}

/* Alternatives that come from one word, or from several that mean the same, are said once; what cannot happen on this tail, only
   where nothing else can. */
Str words_trigger(const Job *job, const Model *model, const Trigger *trigger) {
    Buf buf = {.arena = job->arena};
    const Trigger *first = trigger;
    while (first && first->kind == ON_NOTHING) first = first->next;
    if (!first) first = trigger;
    for (const Trigger *t = first; t; t = t->next) {
        if (t != first) {
            if (t->kind == ON_NOTHING || (t->written && first->written == t->written) || said_before(first, t))
                continue;
            buf_text(&buf, " or ");
        }
        put_trigger(&buf, job, model, t);
    }
    return buf_view(&buf);
}

static const char *verb_of(StmtKind kind) {
    switch (kind) {
    case STMT_SET: return "set ";
    case STMT_CHECK: return "check ";
    case STMT_EXPECT: return "expect ";
    case STMT_LOOK: return "look ";
    case STMT_CALL: return "call ";
    case STMT_BRIEF: return "brief ";
    case STMT_WAIT: return "wait";
    case STMT_CRANK: return "crank";
    case STMT_TRY: return "try";
    case STMT_HOLD: return "hold ";
    case STMT_RELEASE: return "release ";
    case STMT_WATCH: return "watch ";
    case STMT_PLAIN: return "plain line";
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE: return "when ";
    case STMT_GO: return "go on";
    case STMT_BAD:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_FOR:
    case STMT_DO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
    case STMT_MEMORY: return "";
    }
    return "";
}

static void put_position(Buf *buf, const Job *job, const Model *model, const Item *item) {
    const Tail *tail = model->tail;
    if (item->thing != NO_INDEX && item->thing < tail->n_things && item->position != NO_INDEX &&
        item->position < tail->things[item->thing].n_positions) {
        const ThingPosition *position = &tail->things[item->thing].positions[item->position];
        if (item->count) buf_format(buf, NULL, "%u ", (uint64_t)item->count);
        if (position->print.len) buf_str(buf, position->print);
        else buf_format(buf, job->names, "%N", position->name);
    } else if (item->fact != NO_INDEX && item->mask) {
        buf_str(buf, words_values(job, model, item->fact, item->mask));
    }
}

static void put_go(Buf *buf, const Job *job, const Model *model, const ItemAction *go) {
    if (go->kind == ACTION_TURN_TO) buf_format(buf, job->names, "turn to %S", model->tail->drills[go->drill].title);
    else if (go->kind == ACTION_END) buf_format(buf, job->names, "end %N", go->outcome);
    else if (go->kind == ACTION_AGAIN) buf_text(buf, "again");
}

Str words_item(const Job *job, const Model *model, const Item *item) {
    Buf buf = {.arena = job->arena};
    if (item->kind == STMT_GO && item->go) {
        put_go(&buf, job, model, item->go);
        return buf_view(&buf);
    }
    buf_text(&buf, verb_of(item->kind));
    bool of_thing = item->kind == STMT_SET || item->kind == STMT_LOOK || item->kind == STMT_CALL ||
                    item->kind == STMT_BRIEF || item->kind == STMT_HOLD || item->kind == STMT_RELEASE ||
                    item->kind == STMT_WATCH;
    if (of_thing && item->thing != NO_INDEX && item->thing < model->tail->n_things) {
        put_thing(&buf, job, model, &model->tail->things[item->thing]);
        buf_text(&buf, item->kind == STMT_LOOK ? ": " : " ");
        put_position(&buf, job, model, item);
    } else if (item->cond && (item->kind == STMT_CHECK || item->kind == STMT_EXPECT || item->kind == STMT_CASE)) {
        buf_str(&buf, words_test(job, model, item->cond));
    } else if (item->kind == STMT_PLAIN && item->stmt && item->stmt->more) {
        Job quiet = *job;
        buf_format(&buf, NULL, " %S", text_raw(&quiet, item->stmt->more->text));
    }
    while (buf.len && buf.ptr[buf.len - 1] == ' ') buf.len--;
    if (!buf.len) buf_str(&buf, item->id);
    return buf_view(&buf);
}
