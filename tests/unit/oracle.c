/* The explorer against the oracle: on random small models both say the same of every form of rule. ORACLE_MODELS: how many together
   (6,000), from seed ORACLE_FROM on. And what the times of proved rules have to spare: asked for so much tighter the oracle still says
   kept, and broken a tick beyond that. ORACLE_SLACK: of how many models together (2,400). And whether a proved rule leans on the
   deadlines that hold everywhere (the run-down): then, and only then, the oracle finds it broken without them. */
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
    RandomDesk desk;
    random_desk_open(&desk, seed * UINT64_C(2654435761) + (uint64_t)form);
    Model *model = random_model(&desk.dice, form);
    OracleAnswer answer = oracle_ask(model, &model->tail->gates[0]);
    CheckResult *result = check_model(&desk.job, model, (CheckBudget){0, NULL, NULL});
    VerdictKind verdict = result->verdicts[0].kind;
    if (answer == ORACLE_TOO_LARGE) tally->skipped++;
    else if (verdict == VERDICT_NOT_DECIDED || (verdict == VERDICT_BROKEN) != (answer == ORACLE_BROKEN)) {
        tally->wrong++;
        if (tally->wrong < 4)
            print_error("form %d, seed %llu: the explorer says \"%s\", the oracle %s\n", (int)form,
                        (unsigned long long)seed, verdict_words[verdict], answer == ORACLE_BROKEN ? "broken" : "kept");
    } else if (answer == ORACLE_BROKEN) tally->broken++;
    else tally->kept++;
    arena_free(&desk.arena);
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

/* ---- what the times have to spare ---- */
enum { SLACK_EACH = 300, NUMBERS = 12 };
static const RuleKind timed_forms[] = {RULE_BEFORE_EACH, RULE_BEFORE_FIRST, RULE_RESPONSE, RULE_NEVER_AFTER,
                                       RULE_LASTS,       RULE_AT_MOST_REST, RULE_WINDOW,   RULE_DUTY};

typedef struct {
    int64_t *at, least, most; /* the number, and between which it may be moved */
    bool falls;               /* less is tighter */
} Number;
typedef struct {
    Number at[NUMBERS];
    uint32_t n;
} Numbers;

static void add_number(Numbers *all, int64_t *at, int64_t least, int64_t most, bool falls) {
    assert_true(all->n < NUMBERS);
    all->at[all->n++] = (Number){at, least, most, falls};
}

static void chain_numbers(GateInstance *gate, Numbers *all) {
    for (uint32_t k = 0; k < gate->n_steps; k++) {
        GateStep *step = &gate->steps[k];
        if (step->event) continue;
        if (step->least_ms > 0)
            add_number(all, &step->least_ms, 0, step->most_ms < 0 ? ORACLE_TIME : step->most_ms, false);
        if (step->most_ms >= 0) add_number(all, &step->most_ms, step->least_ms, ORACLE_TIME, true);
    }
}

static void duty_numbers(Duty *duty, Numbers *all) {
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        DutyLine *line = &duty->lines[k];
        for (uint32_t i = 0; i < line->n_series; i++) {
            if (line->on_ms[i] > 0) add_number(all, &line->on_ms[i], 1, ORACLE_TIME, true);
            if (line->rest_ms[i] > 0) add_number(all, &line->rest_ms[i], 0, ORACLE_TIME, false);
        }
        if (line->long_rest_ms > 0) add_number(all, &line->long_rest_ms, 0, ORACLE_TIME, false);
    }
}

/* In the order in which the explorer lists them. */
static Numbers numbers_of(const Model *model) {
    Numbers all = {.n = 0};
    GateInstance *gate = &model->tail->gates[0];
    bool falls = gate->rule == RULE_RESPONSE || gate->rule == RULE_LASTS;
    if (gate->rule == RULE_DUTY) duty_numbers(&model->tail->duties[0], &all);
    else if (gate->rule == RULE_BEFORE_EACH || gate->rule == RULE_BEFORE_FIRST) chain_numbers(gate, &all);
    else
        for (uint32_t k = 0; k < gate->time.n; k++) add_number(&all, &gate->time.cases[k].ms, 0, ORACLE_TIME, falls);
    return all;
}

/* The loosest that still asks for something: then more rules are kept, and have something to spare. */
static void loosen(Numbers *all) {
    for (uint32_t k = 0; k < all->n; k++) {
        Number *number = &all->at[k];
        *number->at = number->falls ? number->most : number->least > 1 ? number->least : 1;
    }
}

typedef struct {
    uint32_t exact, wrong;
    uint32_t beyond; /* the oracle's times do not reach so far: it is only asked whether the rule is kept up to there */
    uint32_t unknown; /* a small budget ran out: what is said to be there at least must be there */
    bool small;
} SlackTally;

static OracleAnswer with_spare(const Model *model, const Number *number, int64_t spare) {
    int64_t stands = *number->at;
    *number->at = number->falls ? stands - spare : stands + spare;
    OracleAnswer answer = oracle_ask(model, &model->tail->gates[0]);
    *number->at = stands;
    return answer;
}

static void compare_limit(const Model *model, const Number *number, const TimeLimit *limit, SlackTally *tally) {
    int64_t room = number->falls ? *number->at - number->least : number->most - *number->at;
    int64_t spare = limit->spare == SPARE_ANY || limit->spare_ms > room ? room : limit->spare_ms;
    bool unknown = limit->spare == SPARE_UNKNOWN;
    bool wrong = limit->ms != *number->at || (limit->kind == TIME_AT_MOST) != number->falls ||
                 (unknown && !tally->small) || with_spare(model, number, spare) == ORACLE_BROKEN;
    if (unknown) tally->unknown++;
    else if (spare < room) {
        wrong |= with_spare(model, number, spare + 1) == ORACLE_KEPT;
        tally->exact++;
    } else tally->beyond++;
    tally->wrong += wrong;
    if (wrong && tally->wrong < 4)
        print_error("form %d, \"%.*s\": the explorer says %lld to spare (%d)\n", (int)model->tail->gates[0].rule,
                    (int)limit->what.len, limit->what.ptr, (long long)limit->spare_ms, (int)limit->spare);
}

static void compare_slack(RuleKind form, uint64_t seed, SlackTally *tally) {
    RandomDesk desk;
    random_desk_open(&desk, seed * UINT64_C(2654435761) + (uint64_t)form);
    Model *model = seed % 2 ? random_lines(&desk.dice, form) : random_model(&desk.dice, form);
    Numbers numbers = numbers_of(model);
    if (seed % 3) loosen(&numbers);
    CheckRoom *room = check_room_new(&desk.arena);
    CheckBudget budget = {tally->small ? 4 + (uint32_t)(seed % 16) : 0, NULL, NULL};
    CheckResult *result = check_model_in(room, &desk.job, model, budget);
    if (result->verdicts[0].kind == VERDICT_PROVED) {
        check_details(room);
        assert_int_equal(result->verdicts[0].n_limits, numbers.n);
        for (uint32_t k = 0; k < numbers.n; k++)
            compare_limit(model, &numbers.at[k], &result->verdicts[0].limits[k], tally);
    }
    check_room_free(room);
    arena_free(&desk.arena);
}

static void slack_is_exact(void **state) {
    (void)state;
    const char *more = getenv("ORACLE_SLACK");
    uint64_t each = more ? strtoull(more, NULL, 10) / (sizeof timed_forms / sizeof *timed_forms) : SLACK_EACH;
    uint32_t wrong = 0;
    for (size_t f = 0; f < sizeof timed_forms / sizeof *timed_forms; f++) {
        SlackTally tally = {0};
        for (uint64_t seed = 1; seed <= each; seed++) compare_slack(timed_forms[f], seed, &tally);
        if (more)
            printf("form %d: %u times exact, %u beyond what is asked\n", (int)timed_forms[f], tally.exact,
                   tally.beyond);
        wrong += tally.wrong;
        assert_true(tally.exact > each / 100);
    }
    assert_int_equal(wrong, 0);
}

static void what_is_not_decided_is_said(void **state) {
    (void)state;
    SlackTally tally = {.small = true};
    for (size_t f = 0; f < sizeof timed_forms / sizeof *timed_forms; f++)
        for (uint64_t seed = 1; seed <= SLACK_EACH; seed++) compare_slack(timed_forms[f], seed, &tally);
    assert_int_equal(tally.wrong, 0);
    assert_true(tally.unknown > 5);
}

/* ---- what a verdict leans on ---- */
typedef struct {
    uint32_t leans, stands, wrong;
} LeanTally;

static void compare_leaning(RuleKind form, uint64_t seed, LeanTally *tally) {
    RandomDesk desk;
    random_desk_open(&desk, seed * UINT64_C(2654435761) + (uint64_t)form);
    Model *model = random_model(&desk.dice, form);
    CheckRoom *room = check_room_new(&desk.arena);
    CheckResult *result = check_model_in(room, &desk.job, model, (CheckBudget){0, NULL, NULL});
    if (model->n_ambient_deadlines && result->verdicts[0].kind == VERDICT_PROVED) {
        check_details(room);
        model->n_ambient_deadlines = 0;
        OracleAnswer answer = oracle_ask(model, &model->tail->gates[0]);
        bool leans = verdict_assumes(&result->verdicts[0], ASSUMED_RUN_DOWN);
        tally->leans += leans;
        tally->stands += !leans;
        if (answer != ORACLE_TOO_LARGE && leans != (answer == ORACLE_BROKEN)) {
            tally->wrong++;
            print_error("form %d, seed %llu: the explorer says it %s\n", (int)form, (unsigned long long)seed,
                        leans ? "leans" : "stands");
        }
    }
    check_room_free(room);
    arena_free(&desk.arena);
}

static void leaning_is_exact(void **state) {
    (void)state;
    const char *more = getenv("ORACLE_SLACK");
    uint64_t each = more ? strtoull(more, NULL, 10) / (sizeof forms / sizeof *forms) : SLACK_EACH;
    LeanTally tally = {0};
    for (size_t f = 0; f < sizeof forms / sizeof *forms; f++)
        for (uint64_t seed = 1; seed <= each; seed++) compare_leaning(forms[f], seed, &tally);
    if (more) printf("%u lean on the deadlines that hold everywhere, %u stand without\n", tally.leans, tally.stands);
    assert_int_equal(tally.wrong, 0);
    assert_true(tally.leans > 5);
    assert_true(tally.stands > 20);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(same_verdicts), cmocka_unit_test(slack_is_exact),
                                       cmocka_unit_test(what_is_not_decided_is_said),
                                       cmocka_unit_test(leaning_is_exact)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
