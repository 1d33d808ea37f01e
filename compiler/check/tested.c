#include "check/tested.h"
#include "check/words.h"
#include <stdlib.h>

/* The items at which something puts the rule to the test, by their place in the text. */
typedef struct {
    Str what;
    VEC(uint32_t) at; /* in the order of finding */
    uint32_t points;
} Group;

typedef struct {
    const Job *job;
    const Model *model;
    const GateInstance *gate;
    Arena *scratch;
    VEC(Group) groups;
} Teller;

static Str say(const Teller *t, const char *format, Str one) {
    return format_text(t->job->arena, t->job->names, format, one);
}

static Str engine_words(const Teller *t, const Edge *edge, const char *format) {
    const Tail *tail = t->model->tail;
    for (uint32_t c = 0; tail->n_engines > 1 && c < edge->n_changes; c++)
        for (uint32_t e = 0; e < tail->n_engines; e++)
            if (tail->engine_facts[e] == edge->changes[c].fact)
                return say(t, format, say(t, "the %S engine", name_text(t->job->names, tail->engines[e])));
    return say(t, format, STR("the engine"));
}

static const Item *item_at(const Teller *t, const TestPoint *point) {
    const Item *item = point->edge == NO_INDEX ? NULL : t->model->edges[point->edge].item;
    return item ? item : t->model->places[point->place].item;
}

static Str edge_words(const Teller *t, const Edge *edge, const Item *item) {
    const Tail *tail = t->model->tail;
    Str line = item ? words_item(t->job, t->model, item) : STR("");
    switch (edge->kind) {
    case EDGE_BEGIN: {
        uint32_t procedure = edge->to == NO_INDEX ? NO_INDEX : t->model->places[edge->to].procedure;
        return procedure == NO_INDEX ? STR("a start begins") : say(t, "“%S” begins", tail->procedures[procedure].title);
    }
    case EDGE_JOIN: return STR("a start after the end");
    case EDGE_ENTER_DRILL:
        return edge->drill == NO_INDEX ? STR("a drill begins")
                                       : say(t, "the cue of “%S”", tail->drills[edge->drill].title);
    case EDGE_FIRE: return engine_words(t, edge, "%S fires");
    case EDGE_RUN_DOWN: return engine_words(t, edge, "%S comes to rest");
    case EDGE_STOP: return engine_words(t, edge, "%S stops");
    case EDGE_RELEASE: return say(t, "the end of %S", line);
    case EDGE_LAPSE: return say(t, "time is up: %S", line);
    case EDGE_OTHERWISE: return say(t, "%S: not so", line);
    case EDGE_ITEM:
    case EDGE_GIVE_UP: return line;
    }
    return line;
}

static Str point_words(const Teller *t, const TestPoint *point) {
    if (point->edge != NO_INDEX) return edge_words(t, &t->model->edges[point->edge], item_at(t, point));
    const Place *place = &t->model->places[point->place];
    bool end = t->gate->rule == RULE_EVERY_END || t->gate->rule == RULE_END_OF;
    return end ? say(t, "end %S", name_text(t->job->names, place->outcome)) : STR("while it holds");
}

static Group *group_of(Teller *t, Str what) {
    for (size_t k = 0; k < t->groups.n; k++)
        if (str_eq(t->groups.at[k].what, what)) return &t->groups.at[k];
    Group group = {.what = what};
    vec_push(t->scratch, &t->groups, group);
    return &t->groups.at[t->groups.n - 1];
}

static void add_point(Teller *t, const TestPoint *point) {
    Group *group = group_of(t, point_words(t, point));
    Span span = item_span(item_at(t, point));
    group->points++;
    if (!span.hi || (group->at.n && group->at.at[group->at.n - 1] == span.lo)) return;
    vec_push(t->scratch, &group->at, span.lo);
}

static int by_place(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left, b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

/* The lines of one file from the k-th place on; several places on one line are one. */
static TestedBy file_lines(const Teller *t, const Group *group, size_t *k) {
    TestedBy test = {.what = group->what, .file = STR(""), .points = group->points};
    const Source *file = NULL;
    test.lines = ARENA_ARRAY(t->job->arena, uint32_t, group->at.n - *k + 1);
    for (; *k < group->at.n; (*k)++) {
        Position at = source_position(t->job->sources, group->at.at[*k]);
        if (file && at.source != file) break;
        file = at.source;
        test.file = file->path;
        if (!test.n_lines || test.lines[test.n_lines - 1] != at.line) test.lines[test.n_lines++] = at.line;
    }
    return test;
}

static void add_variants(Teller *t) {
    const Tail *tail = t->model->tail;
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        if (!tail->procedures[p].applies) continue;
        Group *group = group_of(t, STR("the procedures that say when they apply"));
        group->points++;
        if (tail->procedures[p].decl) vec_push(t->scratch, &group->at, tail->procedures[p].decl->name.span.lo);
    }
}

void tested_tell(const FirstPass *first, Verdict *verdict, Arena *scratch) {
    Teller t = {.job = first->job, .model = first->model, .gate = verdict->gate, .scratch = scratch};
    TestPoints points = firstpass_tests(first, verdict->gate, scratch);
    for (size_t k = 0; k < points.n; k++) add_point(&t, &points.at[k]);
    if (verdict->gate->rule == RULE_CASES) add_variants(&t);
    VEC(TestedBy) tests = {NULL, 0, 0};
    for (size_t g = 0; g < t.groups.n; g++) {
        Group *group = &t.groups.at[g];
        size_t k = 0;
        if (group->at.n) qsort(group->at.at, group->at.n, sizeof(uint32_t), by_place);
        do {
            TestedBy test = file_lines(&t, group, &k);
            vec_push(t.job->arena, &tests, test);
        } while (k < group->at.n);
    }
    verdict->tests = tests.at;
    verdict->n_tests = (uint32_t)tests.n;
}
