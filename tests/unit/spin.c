/* The explorer against an independent model checker: on small random models both say the same of every form of rule.
   SPIN_MODELS: at least how many models (150). */
#include "../oracle/promela.c"
#include "../oracle/random.c"
#include "check/check.h"
#include "unit.h"
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const RuleKind forms[] = {RULE_BEFORE_EACH, RULE_BEFORE_FIRST,  RULE_RESPONSE,     RULE_NEVER_AFTER,
                                 RULE_ORDER,       RULE_AT_EACH,       RULE_FROM_UNTIL,   RULE_WHILE,
                                 RULE_LASTS,       RULE_AT_MOST_SINCE, RULE_AT_MOST_REST, RULE_WINDOW,
                                 RULE_EVERY_END,   RULE_END_OF,        RULE_DUTY};

enum { N_FORMS = sizeof forms / sizeof *forms, MODELS = 150 };

static char folder[300]; /* a new one in the build folder */

static void run(const char *what) {
    char command[600];
    snprintf(command, sizeof command, "cd %s && %s", folder, what);
    if (system(command) != 0) fail_msg("%s failed; look into %s", what, folder);
}

/* Breadth first, so that no depth is cut off. */
static void make_checker(const Model *const *models) {
    char path[400];
    snprintf(path, sizeof path, "%s/model.pml", folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    promela_write(file, models, N_FORMS);
    assert_int_equal(fclose(file), 0);
    run("spin -a model.pml >spin.out 2>&1");
    run("gcc -O0 -w -DBFS -DSAFETY -DMEMLIM=1024 -o pan pan.c >gcc.out 2>&1");
}

/* An answer counts only when the search was whole. */
static bool checker_finds_break(uint32_t which) {
    char command[400], line[400];
    snprintf(command, sizeof command, "cd %s && PROMELA_WHICH=%u ./pan -E -w16 2>&1", folder, which);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    int errors = -1;
    unsigned long states = 0;
    bool cut = false;
    while (fgets(line, sizeof line, pipe)) {
        const char *at = strstr(line, "errors: ");
        if (at) errors = atoi(at + 8);
        if (strstr(line, "states, stored")) states = strtoul(line, NULL, 10);
        cut |= strstr(line, "too small") || strstr(line, "out of memory") || strstr(line, "-DMEMLIM");
    }
    pclose(pipe);
    if (errors < 0 || (cut && !errors) || states < 2)
        fail_msg("model %u: the model checker gave no answer; look into %s", which, folder);
    return errors > 0;
}

static const Model *desk_model(RandomDesk *desk, RuleKind form, uint64_t seed) {
    random_desk_open(desk, seed * UINT64_C(6700417) + (uint64_t)form);
    return random_model(&desk->dice, form);
}

/* One model of each form; how many are broken. */
static uint32_t same_answers(uint64_t seed) {
    RandomDesk desks[N_FORMS];
    const Model *models[N_FORMS];
    uint32_t broken = 0;
    for (uint32_t k = 0; k < N_FORMS; k++) models[k] = desk_model(&desks[k], forms[k], seed);
    make_checker(models);
    for (uint32_t k = 0; k < N_FORMS; k++) {
        bool found = checker_finds_break(k);
        VerdictKind verdict = check_model(&desks[k].job, models[k], (CheckBudget){0})->verdicts[0].kind;
        if (verdict == VERDICT_NOT_DECIDED || (verdict == VERDICT_BROKEN) != found)
            fail_msg("form %d, seed %llu: the explorer says \"%s\", the model checker %s; look into %s", (int)forms[k],
                     (unsigned long long)seed, verdict_words[verdict], found ? "broken" : "kept", folder);
        broken += found;
        arena_free(&desks[k].arena);
    }
    return broken;
}

static void the_model_checker_agrees(void **state) {
    (void)state;
    const char *more = getenv("SPIN_MODELS");
    uint64_t wanted = more ? strtoull(more, NULL, 10) : MODELS, n = 0, broken = 0;
    const char *build = getenv("BUILD");
    snprintf(folder, sizeof folder, "%s/spin-XXXXXX", build ? build : "build");
    assert_non_null(mkdtemp(folder));
    for (uint64_t seed = 1; n < wanted; seed++) {
        broken += same_answers(seed);
        n += N_FORMS;
        if (more && seed % 10 == 0)
            print_message("# %llu models, %llu broken\n", (unsigned long long)n, (unsigned long long)broken);
    }
    run("rm -f model.pml* pan* *.out _spin_nvr.tmp");
    assert_int_equal(rmdir(folder), 0);
    assert_true(broken > n / 10);
    assert_true(broken < n - n / 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_model_checker_agrees)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
