/* Broken: each counterexample is run by an interpreter that shares nothing with the explorer, step by step at its times, and breaks
   the rule by the rule's meaning. Proved: random runs keep the rule. REPLAY_MODELS: how many random models
   (3,000). SAMPLE_ALL: at least how many runs together (1,000 of each model). */
#include "check/nearest.h"
#include "check/tell.h"
#include "unit.h"
/* check.c once more, so that every break passes by here before it is told. */
static Finding *noted_finding(Job *job, const Broken *broken, Arena *scratch);
static Finding *noted_giving_up(Job *job, const Broken *broken);
#define tell_finding noted_finding
#define tell_giving_up noted_giving_up
#include "check/check.c"
#undef tell_finding
#undef tell_giving_up
#include "../oracle/random.c"
#include "../oracle/replay.c"
#include "../oracle/retell.c"
#include "../oracle/rules.c"
#include "../oracle/sample.c"
#include "../oracle/texts.c"
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>

/* ---- counterexamples ---- */
static struct {
    const char *where;
    uint32_t told, given_up, wrong, longer, nearest,
        none; /* longer: than need be; nearest: paths that keep the rule; none: there is none */
} replay;

static void dump_path(const Broken *b, const Told *told) {
    for (uint32_t k = 0; k < told->n; k++) {
        const Edge *edge = &b->model->edges[told->edges[k]];
        print_error("    %lld ms: edge %u, kind %d, to place %d\n", (long long)told->at_ms[k], told->edges[k],
                    (int)edge->kind, (int)edge->to);
    }
    if (told->by_time) print_error("    %lld ms: too long\n", (long long)told->at_ms[told->n]);
}

static void replay_path(const Job *job, const Broken *b, bool kept) {
    const Path *path = b->path;
    uint32_t *edges = calloc(path->n + 1u, sizeof *edges);
    for (uint32_t k = 1; k < path->n; k++) edges[k - 1] = b->search->store->nodes[path->nodes[k]].edge;
    Told told = {b->model, b->gate, edges, path->at_ms + 1, path->n - 1, path->by_time, kept};
    bool earlier = false;
    const char *wrong = path->timed ? retell(&told, 7, &earlier) : "its times could not be found";
    replay.longer += earlier;
    if (wrong && !earlier) {
        Str gate = name_text(job->names, b->gate->name);
        if (replay.wrong++ < 3) {
            print_error("%s, gate %.*s (form %d)%s: %s\n", replay.where, (int)gate.len, gate.ptr, (int)b->gate->rule,
                        kept ? ", the nearest path that keeps it" : "", wrong);
            dump_path(b, &told);
        }
    }
    free(edges);
}

/* The path that is said to keep the rule can be gone, too, and keeps it. */
static void replay_nearest(const Job *job, const Broken *b, Arena *scratch) {
    Trace trace = {.nearest = STR("")};
    Path path = {0};
    if (rule_has_search(b->gate->rule)) nearest_tell(b, scratch, &trace, &path);
    replay.none += !path.n && trace.nearest.len;
    if (!path.n) return;
    Broken kept = *b;
    kept.path = &path;
    replay.nearest++;
    replay_path(job, &kept, true);
}

static Finding *noted_finding(Job *job, const Broken *broken, Arena *scratch) {
    replay.told++;
    replay_path(job, broken, false);
    replay_nearest(job, broken, scratch);
    return tell_finding(job, broken, scratch);
}

static Finding *noted_giving_up(Job *job, const Broken *broken) {
    replay.given_up++;
    replay_path(job, broken, false);
    return tell_giving_up(job, broken);
}

/* ---- models of sources ---- */
/* `text` is given over. */
static void compile(Compiled *s, const char *path, char *text) {
    assert_non_null(text);
    replay.where = path;
    assert_true(text_compile(s, path, text, NULL, NULL));
}

static char *edited(const char *edit) {
    char command[600]; /* of the example that its line "# of: NAME" names */
    snprintf(command, sizeof command,
             "of=$(sed -n 's/^# of: //p' '%s'); sed -f '%s' examples/saltmarsh/${of:-marram}.start", edit, edit);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    char *text = text_read(pipe);
    assert_int_equal(pclose(pipe), 0);
    return text;
}

/* ---- replays ---- */
static void replays_begin(void) {
    replay.told = replay.given_up = replay.wrong = replay.longer = replay.nearest = replay.none = 0;
}

static void random_break(RuleKind form, uint64_t seed) {
    RandomDesk desk;
    random_desk_open(&desk, seed * UINT64_C(0x9e3779b97f4a7c15) + (uint64_t)form);
    char where[80];
    snprintf(where, sizeof where, "random model, form %d, seed %llu", (int)form, (unsigned long long)seed);
    replay.where = where;
    check_model(&desk.job, random_model(&desk.dice, form), (CheckBudget){0, NULL, NULL});
    arena_free(&desk.arena);
}

static void random_breaks_are_replayed(void **state) {
    (void)state;
    enum { MODELS = 3000 };
    static const RuleKind forms[] = {RULE_BEFORE_EACH, RULE_BEFORE_FIRST,  RULE_RESPONSE,     RULE_NEVER_AFTER,
                                     RULE_ORDER,       RULE_AT_EACH,       RULE_FROM_UNTIL,   RULE_WHILE,
                                     RULE_LASTS,       RULE_AT_MOST_SINCE, RULE_AT_MOST_REST, RULE_WINDOW,
                                     RULE_EVERY_END,   RULE_END_OF,        RULE_DUTY};
    const char *more = getenv("REPLAY_MODELS");
    uint64_t each = (more ? strtoull(more, NULL, 10) : MODELS) / (sizeof forms / sizeof *forms);
    static const struct {
        RuleKind form;
        uint64_t seed;
    } known[] = {
        /* were told wrongly once: the earliest times of a path that keeps the rule came too late for it */
        {RULE_RESPONSE, 658},
        {RULE_RESPONSE, 1345},
        {RULE_NEVER_AFTER, 530}, /* one step that is the event and the trigger did not ask for the time between */
    };
    replays_begin();
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) random_break(known[k].form, known[k].seed);
    for (size_t f = 0; f < sizeof forms / sizeof *forms; f++)
        for (uint64_t seed = 1; seed <= each; seed++) random_break(forms[f], seed);
    print_message(
        "# %u counterexamples of random models replayed, %u longer than need be; %u nearest paths that keep the rule, "
        "%u without\n",
        replay.told, replay.longer, replay.nearest, replay.none);
    assert_int_equal(replay.wrong, 0);
    assert_int_equal(replay.longer, 0);
    assert_true(replay.told > each);
    assert_true(replay.nearest * 4 > replay.told);
}

/* The breaks that are told by a run: not those decided on the graph. */
static uint32_t runs_told(const Compiled *s, uint32_t *on_graph) {
    uint32_t n = 0;
    for (size_t t = 0; t < s->unit->n_tails; t++) {
        const CheckResult *result = s->unit->tails[t].result;
        for (uint32_t v = 0; result && v < result->n_verdicts; v++) {
            if (result->verdicts[v].kind != VERDICT_BROKEN) continue;
            if (rule_speaks_of_runs(result->verdicts[v].gate->rule)) n++;
            else ++*on_graph;
        }
    }
    return n;
}

static void replay_all(const char *pattern, char *(*text_of)(const char *), uint32_t least) {
    glob_t found;
    uint32_t on_graph = 0, broken = 0;
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    replays_begin();
    for (size_t k = 0; k < found.gl_pathc; k++) {
        Compiled s;
        uint32_t before = replay.told;
        char path[300];
        const char *name = strrchr(found.gl_pathv[k], '/') + 1;
        /* beside the files that it uses */
        snprintf(path, sizeof path, "%s/%s", strstr(found.gl_pathv[k], "broken") ? "examples/saltmarsh" : "tests/gates",
                 name);
        compile(&s, path, text_of(found.gl_pathv[k]));
        uint32_t here = runs_told(&s, &on_graph);
        if (replay.told - before != here)
            print_error("%s: %u of %u breaks are told by a run\n", name, replay.told - before, here);
        broken += here;
        text_discard(&s);
    }
    print_message(
        "# %s: %u counterexamples replayed, %u more are decided on the graph; %u nearest paths that keep the rule, %u "
        "without\n",
        pattern, replay.told, on_graph, replay.nearest, replay.none);
    assert_int_equal(replay.told, broken);
    assert_int_equal(replay.wrong, 0);
    assert_int_equal(replay.longer, 0);
    assert_true(replay.told >= least);
    assert_true(found.gl_pathc > 10);
    globfree(&found);
}

static char *bad_twin(const char *path) {
    return text_of_twin(path, true);
}

static char *good_twin(const char *path) {
    return text_of_twin(path, false);
}

static void bad_twins_are_replayed(void **state) {
    (void)state;
    replay_all("tests/gates/*.case", bad_twin, 60);
}

static void broken_examples_are_replayed(void **state) {
    (void)state;
    replay_all("tests/broken/saltmarsh/*.sed", edited, 12);
}

/* The text of the second case of the file: a drill that leans on a still engine, and an end at once. */
static void starts_given_up_are_replayed(void **state) {
    (void)state;
    FILE *file = fopen("tests/cases/lines/giving-up.case", "rb");
    assert_non_null(file);
    char *all = text_read(file), *text = strstr(strstr(all, "\n=== ") + 1, "\n=== ");
    fclose(file);
    text = strchr(text + 1, '\n') + 1;
    *strstr(text, "--- findings") = 0;
    char *given = strdup(text);
    free(all);
    replays_begin();
    Compiled s;
    compile(&s, "tests/cases/lines/giving-up.start", given);
    text_discard(&s);
    assert_int_equal(replay.told, 0);
    assert_int_equal(replay.given_up, 2);
    assert_int_equal(replay.wrong, 0);
    assert_int_equal(replay.longer, 0);
}

/* ---- samples ---- */
static struct {
    uint64_t runs, gates, tested, moments;
    uint32_t wrong;
    uint64_t each;
} samples;

typedef struct {
    Run *run;
    Sampler *sampler;
    uint8_t *chosen;
    uint64_t *tested; /* by verdict */
} Sample;

static void judge_run(const Sample *s, const Job *job, const CheckResult *result, const char *where) {
    for (uint32_t v = 0; v < result->n_verdicts; v++) {
        const Verdict *verdict = &result->verdicts[v];
        if (verdict->kind != VERDICT_PROVED || !rule_speaks_of_runs(verdict->gate->rule)) continue;
        if (verdict->with_pace && !s->run->paced) continue;
        Judgement j = rule_judge(s->run, verdict->gate);
        s->tested[v] += j.tested;
        if (!j.broken || samples.wrong++ >= 3) continue;
        Str gate = name_text(job->names, verdict->gate->name);
        print_error("%s: %.*s is proved, but a run breaks it at moment %u, %lld ms%s\n", where, (int)gate.len, gate.ptr,
                    j.moment, (long long)j.at_ms, j.by_time ? ", by time" : "");
        for (uint32_t k = 1; k <= j.moment && k < s->run->n; k++)
            print_error("    %lld ms: edge %u, to place %u\n", (long long)s->run->moments[k].at_ms,
                        s->run->moments[k].edge, s->run->moments[k].to);
    }
}

static void sample_tail(Job *job, const UnitTail *tail, const char *where) {
    enum { EDGES = 90 };
    const Model *m = model_lower(job, tail->tail); /* the unit keeps none that no output needs */
    Sample s = {run_new(m, EDGES), sampler_new(m, 11), calloc(m->n_facts + 1u, 1),
                calloc(tail->result->n_verdicts + 1u, sizeof(uint64_t))};
    bool paced = false;
    for (uint32_t v = 0; v < tail->result->n_verdicts; v++) paced |= tail->result->verdicts[v].with_pace;
    for (uint64_t k = 0; k < samples.each * (paced ? 2 : 1); k++) {
        s.run->paced = k >= samples.each;
        const char *refused = sample_run(s.sampler, s.run, s.chosen);
        if (refused) fail_msg("%s: a run was refused: %s", where, refused);
        samples.runs++;
        samples.moments += s.run->n;
        judge_run(&s, job, tail->result, where);
    }
    for (uint32_t v = 0; v < tail->result->n_verdicts; v++) {
        const Verdict *verdict = &tail->result->verdicts[v];
        bool counts = verdict->kind == VERDICT_PROVED && rule_speaks_of_runs(verdict->gate->rule);
        samples.gates += counts;
        samples.tested += counts && s.tested[v];
        Str gate = name_text(job->names, verdict->gate->name);
        if (getenv("SAMPLE_WHICH") && counts && !s.tested[v])
            print_message("# %s: no run tested %.*s\n", where, (int)gate.len, gate.ptr);
    }
    run_free(s.run);
    sampler_free(s.sampler);
    free(s.chosen);
    free(s.tested);
}

static void sample_source(const char *path, char *text) {
    Compiled s;
    compile(&s, path, text);
    for (size_t t = 0; t < s.unit->n_tails; t++)
        if (s.unit->tails[t].result) sample_tail(&s.unit->job, &s.unit->tails[t], path);
    text_discard(&s);
}

static void proved_gates_are_kept_by_samples(void **state) {
    (void)state;
    enum { RUNS = 1000 };
    const char *more = getenv("SAMPLE_ALL");
    memset(&samples, 0, sizeof samples);
    glob_t found;
    assert_int_equal(glob("tests/gates/*.case", 0, NULL, &found), 0);
    samples.each = RUNS;
    if (more && strtoull(more, NULL, 10) / found.gl_pathc > RUNS)
        samples.each = strtoull(more, NULL, 10) / found.gl_pathc;
    for (size_t k = 0; k < found.gl_pathc; k++) sample_source(found.gl_pathv[k], good_twin(found.gl_pathv[k]));
    globfree(&found);
    assert_int_equal(glob("examples/saltmarsh/*.start", 0, NULL, &found), 0);
    for (size_t k = 0; k < found.gl_pathc; k++) sample_source(found.gl_pathv[k], text_of_file(found.gl_pathv[k]));
    globfree(&found);
    print_message("# %llu runs, %llu moments; %llu of %llu proved gates put to the test\n",
                  (unsigned long long)samples.runs, (unsigned long long)samples.moments,
                  (unsigned long long)samples.tested, (unsigned long long)samples.gates);
    assert_int_equal(samples.wrong, 0);
    assert_true(samples.gates > 1000);
    assert_true(samples.tested * 2 > samples.gates);
}

/* ---- times of the text at the pace ---- */
/* The case of the time that is meant holds. */
static bool guard_case(const TextDeadline *d, const Moment *at) {
    const Test *when = d->limit->when;
    return !when || when->kind != TEST_FACT || when->mask >> at->after[when->fact] & 1;
}

/* How late a recorded run has the clock where the time runs or its line is come to; -1: nowhere. */
static int64_t latest_in(const Run *run, const TextDeadline *d) {
    const Model *m = run->model;
    int64_t zero = -1, latest = -1;
    bool runs = false;
    for (uint32_t k = 1; k < run->n; k++) {
        const Moment *at = &run->moments[k];
        const Edge *edge = &m->edges[at->edge];
        if (runs && at->at_ms - zero > latest) latest = at->at_ms - zero;
        for (uint32_t r = 0; r < edge->n_resets; r++)
            if (edge->resets[r] == d->clock) zero = at->at_ms;
        runs = zero >= 0 && (runs || zero == at->at_ms) && d->way[at->to] && guard_case(d, at);
    }
    return latest;
}

static void note_latest(const Run *run, const TextDeadlines *deadlines, int64_t *latest) {
    for (size_t i = 0; i < deadlines->n; i++) {
        int64_t one = latest_in(run, &deadlines->at[i]);
        if (one > latest[i]) latest[i] = one;
    }
}

/* How many of the times are seen at their latest. */
static uint32_t compare_latest(const CheckResult *result, const int64_t *latest) {
    uint32_t reached = 0;
    for (uint32_t i = 0; i < result->n_text_times; i++) {
        const TimeLimit *limit = &result->text_times[i].limit;
        int64_t most = limit->ms - limit->spare_ms;
        if (getenv("SAMPLE_WHICH"))
            print_message("# %.*s: %lld ms at most, %lld seen\n", (int)limit->what.len, limit->what.ptr,
                          (long long)most, (long long)latest[i]);
        assert_true(latest[i] <= most);
        reached += latest[i] == most;
    }
    return reached;
}

static uint32_t sample_text_times(Job *job, const Model *m) {
    enum { RUNS = 6000, EDGES = 90 };
    CheckRoom *room = check_room_new(job->arena);
    const CheckResult *result = check_model_in(room, job, m, (CheckBudget){0, NULL, NULL});
    check_text_times(room);
    TextDeadlines deadlines = deadlines_of(m, job->arena);
    assert_int_equal(result->n_text_times, deadlines.n);
    int64_t *latest = calloc(deadlines.n + 1u, sizeof *latest);
    Run *run = run_new(m, EDGES);
    Sampler *sampler = sampler_new(m, 5);
    uint8_t *chosen = calloc(m->n_facts + 1u, 1);
    for (uint32_t k = 0; k < RUNS; k++) {
        run->paced = true;
        assert_null(sample_run(sampler, run, chosen));
        note_latest(run, &deadlines, latest);
    }
    uint32_t reached = compare_latest(result, latest);
    run_free(run);
    sampler_free(sampler);
    free(latest);
    free(chosen);
    check_room_free(room);
    return reached;
}

/* Few random runs of a whole example come to a line at its very latest; of so short a text many do. */
static const char *const short_text =
    "kind bench \"Measured\"\ncontrol switch \"Switch\" { OFF, ON }\ncontrol valve \"Valve\" { SHUT, OPEN }\n"
    "control lever \"Lever\" { UP, DOWN }\naircraft marsh \"Marsh\" {\n    kind bench\n    pace each item at most 4 "
    "s\n}\n"
    "procedure run \"Run\" for marsh {\n    begins with switch OFF and valve SHUT\n    set switch ON\n    set lever "
    "DOWN\n"
    "    set valve OPEN within 10 s after switch becomes ON\n    end RUNNING\n}\n";

static uint32_t sample_times_of(const char *path, char *text) {
    Compiled s;
    uint32_t reached = 0;
    compile(&s, path, text);
    for (size_t t = 0; t < s.unit->n_tails; t++)
        reached += sample_text_times(&s.unit->job, model_lower(&s.unit->job, s.unit->tails[t].tail));
    text_discard(&s);
    return reached;
}

/* Random runs at the pace never come later to a line than is said, and to some just as late. */
static void text_times_are_kept_by_samples(void **state) {
    (void)state;
    uint32_t reached = sample_times_of("short.start", strdup(short_text));
    assert_int_equal(reached, 1);
    glob_t found;
    assert_int_equal(glob("examples/*/*.start", 0, NULL, &found), 0);
    for (size_t k = 0; k < found.gl_pathc; k++)
        reached += sample_times_of(found.gl_pathv[k], text_of_file(found.gl_pathv[k]));
    globfree(&found);
    print_message("# %u times of the text seen at their latest\n", reached);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_times_are_kept_by_samples), cmocka_unit_test(random_breaks_are_replayed),
        cmocka_unit_test(bad_twins_are_replayed),         cmocka_unit_test(broken_examples_are_replayed),
        cmocka_unit_test(starts_given_up_are_replayed),   cmocka_unit_test(proved_gates_are_kept_by_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
