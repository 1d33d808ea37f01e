/* The explorer against the oracle: on random small models both say the same of every form of rule. ORACLE_MODELS: how many together
   (6,000), from seed ORACLE_FROM on. */
#include "../oracle/enumerate.c"
#include "../oracle/random.c"
#include "check/check.h"
#include "unit.h"
#include <stdio.h>

enum { MODELS_EACH = 400 };

static const RuleKind forms[] = {RULE_BEFORE_EACH, RULE_BEFORE_FIRST,  RULE_RESPONSE,     RULE_NEVER_AFTER,
                                 RULE_ORDER,       RULE_AT_EACH,       RULE_FROM_UNTIL,   RULE_WHILE,
                                 RULE_LASTS,       RULE_AT_MOST_SINCE, RULE_AT_MOST_REST, RULE_WINDOW,
                                 RULE_EVERY_END,   RULE_END_OF,        RULE_DUTY};

typedef struct {
    uint32_t kept, broken, skipped, wrong;
} Tally;

static void compare_one(RuleKind form, uint64_t seed, Tally *tally) {
    Arena arena = {0};
    Names names;
    names_open(&names, &arena);
    Sources sources = {.arena = &arena};
    Findings findings = {.arena = &arena, .names = &names};
    Job job = {&arena, &names, &sources, &findings};
    Dice d = {&arena, &names, seed * UINT64_C(2654435761) + (uint64_t)form};
    Model *model = random_model(&d, form);
    OracleAnswer answer = oracle_ask(model, &model->tail->gates[0]);
    CheckResult *result = check_model(&job, model, (CheckBudget){0, NULL, NULL});
    VerdictKind verdict = result->verdicts[0].kind;
    if (answer == ORACLE_TOO_LARGE) tally->skipped++;
    else if (verdict == VERDICT_NOT_DECIDED || (verdict == VERDICT_BROKEN) != (answer == ORACLE_BROKEN)) {
        tally->wrong++;
        if (tally->wrong < 4)
            print_error("form %d, seed %llu: the explorer says \"%s\", the oracle %s\n", (int)form,
                        (unsigned long long)seed, verdict_words[verdict], answer == ORACLE_BROKEN ? "broken" : "kept");
    } else if (answer == ORACLE_BROKEN) tally->broken++;
    else tally->kept++;
    arena_free(&arena);
}

static void same_verdicts(void **state) {
    (void)state;
    const char *more = getenv("ORACLE_MODELS");
    uint64_t each = more ? strtoull(more, NULL, 10) / (sizeof forms / sizeof *forms) : MODELS_EACH,
             from = getenv("ORACLE_FROM") ? strtoull(getenv("ORACLE_FROM"), NULL, 10) : 1;
    uint32_t wrong = 0;
    for (size_t f = 0; f < sizeof forms / sizeof *forms; f++) {
        Tally tally = {0};
        for (uint64_t seed = from; seed < from + each; seed++) {
            compare_one(forms[f], seed, &tally);
            if (more && (seed - from) % 10000 == 9999)
                print_message("# form %d: %llu models\n", (int)forms[f], (unsigned long long)(seed - from + 1));
        }
        if (more)
            printf("form %d: %u kept, %u broken, %u too large\n", (int)forms[f], tally.kept, tally.broken,
                   tally.skipped);
        wrong += tally.wrong;
        assert_true(tally.kept > each / 50);
        assert_true(tally.broken > each / 50);
        assert_true(tally.skipped < each / 4);
    }
    assert_int_equal(wrong, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(same_verdicts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
