#include "check/assumed.h"
#include "check/slice.h"
#include "check/words.h"

const char *const assumption_ids[] = {"as-written", "beginnings", "engine", "frozen", "over-duty", "pace", "run-down"};

typedef struct {
    const Job *job;
    const Model *model;
    VEC(Assumption) list;
} Lister;

static void add(Lister *l, AssumptionKind kind, bool every_rule, int64_t ms, const char *format, Str some) {
    Assumption one = {kind, every_rule, format_text(l->job->arena, l->job->names, format, some), ms};
    vec_push(l->job->arena, &l->list, one);
}

static void add_beginnings(Lister *l) {
    const Tail *tail = l->model->tail;
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        if (!tail->procedures[p].begins && !tail->procedures[p].applies) continue;
        add(l, ASSUMED_BEGINNINGS, true, 0,
            "Each procedure begins as its `begins with` and `applies when` say; of all else nothing is known then.%S",
            STR(""));
        return;
    }
}

/* A thing of several facts (a gauge and its trend) is named once. */
static bool named_before(const Model *model, uint32_t fact) {
    for (uint32_t f = 0; f < fact; f++)
        if (model->facts[f].frozen && model->facts[f].thing == model->facts[fact].thing) return true;
    return false;
}

static void add_frozen(Lister *l) {
    Buf buf = {.arena = l->job->arena};
    for (uint32_t f = 0; f < l->model->n_facts; f++) {
        const Fact *fact = &l->model->facts[f];
        if (!fact->frozen || fact->kind == FACT_CONTROL || named_before(l->model, f)) continue;
        buf_format(&buf, l->job->names, buf.len ? ", %S (%N)" : "%S (%N)", words_fact(l->job, l->model, f), fact->name);
    }
    if (buf.len)
        add(l, ASSUMED_FROZEN, true, 0,
            "These stay as they are through one run of a procedure, but where a line waits for them to change: %S.",
            buf_view(&buf));
}

static Str home_title(const Model *model, uint32_t place) {
    const Place *p = &model->places[place];
    if (p->drill != NO_INDEX) return model->tail->drills[p->drill].title;
    return p->procedure == NO_INDEX ? STR("") : model->tail->procedures[p->procedure].title;
}

/* The drills and procedures that have such a line, each once. */
static void add_over_duty(Lister *l) {
    Buf buf = {.arena = l->job->arena};
    VEC(Str) seen = {NULL, 0, 0};
    for (uint32_t e = 0; e < l->model->first_ambient; e++) {
        const Edge *edge = &l->model->edges[e];
        Str title = edge->over_duty ? home_title(l->model, edge->from) : STR("");
        bool again = !title.len;
        for (size_t k = 0; k < seen.n; k++) again |= str_eq(seen.at[k], title);
        if (again) continue;
        vec_push(l->job->arena, &seen, title);
        buf_format(&buf, NULL, buf.len ? ", “%S”" : "“%S”", title);
    }
    if (buf.len)
        add(l, ASSUMED_OVER_DUTY, false, 0,
            "What is written `over duty` (in %S) is allowed: the on-time of that engagement and the rest before it are "
            "not judged; it counts all the same.",
            buf_view(&buf));
}

static void add_run_down(Lister *l) {
    const Tail *tail = l->model->tail;
    Buf buf = {.arena = l->job->arena};
    int64_t longest = -1;
    for (uint32_t e = 0; tail->run_down_ms && e < tail->n_engines; e++) {
        int64_t ms = tail->run_down_ms[e];
        if (ms < 0) continue;
        if (buf.len) buf_text(&buf, ", ");
        if (tail->n_engines > 1) buf_format(&buf, l->job->names, "%N: ", tail->engines[e]);
        buf_str(&buf, words_time(l->job, ms));
        if (ms > longest) longest = ms;
    }
    if (longest >= 0 && l->model->n_ambient_deadlines)
        add(l, ASSUMED_RUN_DOWN, false, longest,
            "Once nothing turns it any more, or it is cut off, an engine stands still within its run-down (%S).",
            buf_view(&buf));
}

void assumed_list(const Job *job, const Model *model, CheckResult *result) {
    Lister l = {.job = job, .model = model};
    add(&l, ASSUMED_AS_WRITTEN, true, 0,
        "The text is followed as written: line after line, its waits and limits kept, and nobody stops half way. A "
        "line "
        "may take any time.%S",
        STR(""));
    add_beginnings(&l);
    add(&l, ASSUMED_ENGINE, true, 0,
        "An engine fires only while something turns it; once it runs, only a line of the text stops it.%S", STR(""));
    add_frozen(&l);
    add_over_duty(&l);
    int64_t pace = model->tail->pace_ms;
    if (pace > 0)
        add(&l, ASSUMED_PACE, false, pace, "Each item is done within %S of becoming possible.", words_time(job, pace));
    add_run_down(&l);
    result->assumptions = l.list.at;
    result->n_assumptions = (uint32_t)l.list.n;
}

bool assumed_over_duty(const Model *model, const GateInstance *gate) {
    const Tail *tail = model->tail;
    if (gate->rule != RULE_DUTY || gate->duty >= tail->n_duties) return false;
    uint32_t engine = model->facts[tail->duties[gate->duty].fact].engine;
    for (uint32_t e = 0; e < model->n_edges; e++) {
        const Edge *edge = &model->edges[e];
        uint32_t of = edge->item ? edge->item->engine : NO_INDEX;
        if (edge->over_duty && (of == engine || of == NO_INDEX || engine == NO_INDEX)) return true;
    }
    return false;
}
