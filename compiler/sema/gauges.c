/* Gauges in steps: each is cut at every number it is compared with, so that a set of readings becomes a mask; and, once that is
   done, whether lines for one name cover every case exactly once. */
#include "sema/craft.h"
#include "sema/program_parts.h"
#include "sema/values.h"
#include <stdlib.h>

/* ---- steps ---- */

/* A number that a gauge is compared with. `before`: a reading of exactly this number must be told from a lower one; `after`: from a
   higher one. */
typedef struct {
    Rational at;
    const Measure *measure;
    bool before, after;
    uint32_t first_step; /* the step that holds the number itself */
} Breakpoint;

/* Bands of one gauge are in one unit nearly always, and then need no division to be compared. */
static int number_cmp(Rational a, Rational b) {
    if (a.denominator == b.denominator) return (a.numerator > b.numerator) - (a.numerator < b.numerator);
    return rational_cmp(a, b);
}

static int breakpoint_cmp(const void *a, const void *b) {
    const Breakpoint *x = a, *y = b;
    return number_cmp(x->at, y->at);
}

typedef struct {
    Breakpoint *at;
    size_t n;
    uint32_t n_steps;
} Steps;

static void breakpoints_of(const GaugeTest *test, Breakpoint *out, size_t *n) {
    if (test->has_lo) out[(*n)++] = (Breakpoint){test->lo, test->measure, !test->lo_open, test->lo_open, 0};
    if (test->has_hi) out[(*n)++] = (Breakpoint){test->hi, test->measure, test->hi_open, !test->hi_open, 0};
}

static Steps steps_make(Resolver *r, const GaugeTest *tests, size_t n_tests) {
    Steps steps = {ARENA_ARRAY(r->job->arena, Breakpoint, 2 * n_tests + 1), 0, 0};
    size_t n = 0, kept = 0;
    for (size_t i = 0; i < n_tests; i++) breakpoints_of(&tests[i], steps.at, &n);
    qsort(steps.at, n, sizeof *steps.at, breakpoint_cmp);
    for (size_t i = 0; i < n; i++) {
        bool same = kept > 0 && rational_eq(steps.at[kept - 1].at, steps.at[i].at);
        if (!same) steps.at[kept++] = steps.at[i];
        else {
            steps.at[kept - 1].before |= steps.at[i].before;
            steps.at[kept - 1].after |= steps.at[i].after;
        }
    }
    steps.n = kept;
    uint32_t step = 0;
    for (size_t i = 0; i < kept; i++) {
        if (steps.at[i].before) step++;
        steps.at[i].first_step = step;
        if (steps.at[i].after) step++;
    }
    steps.n_steps = step + 1;
    return steps;
}

static const Breakpoint *step_find(const Steps *steps, Rational at) {
    size_t lo = 0, hi = steps->n;
    while (lo < hi) {
        size_t middle = lo + (hi - lo) / 2;
        int order = number_cmp(steps->at[middle].at, at);
        if (order == 0) return &steps->at[middle];
        if (order < 0) lo = middle + 1;
        else hi = middle;
    }
    return NULL;
}

static uint64_t mask_between(uint32_t lo, uint32_t hi) {
    uint64_t mask = 0;
    for (uint32_t i = lo; i <= hi && i < LIMIT_FACT_VALUES; i++) mask |= UINT64_C(1) << i;
    return mask;
}

static uint64_t mask_of(const Steps *steps, const GaugeTest *test) {
    uint32_t lo = 0, hi = steps->n_steps - 1;
    if (test->has_lo) lo = step_find(steps, test->lo)->first_step + (test->lo_open ? 1 : 0);
    if (test->has_hi) {
        uint32_t step = step_find(steps, test->hi)->first_step;
        if (test->hi_open && step == 0) return 0;
        hi = step - (test->hi_open ? 1 : 0);
    }
    return mask_between(lo, hi);
}

/* The ends of the steps, each named by its own. */
static void steps_name(Resolver *r, const Steps *steps, Fact *fact) {
    GaugeCut *cuts = ARENA_ARRAY(r->job->arena, GaugeCut, fact->n_values);
    uint32_t n = 0;
    for (size_t i = 0; i < steps->n; i++) {
        const Breakpoint *at = &steps->at[i];
        if (at->before && n + 1 < fact->n_values) cuts[n++] = (GaugeCut){at->at, at->measure, false};
        if (at->after && n + 1 < fact->n_values) cuts[n++] = (GaugeCut){at->at, at->measure, true};
    }
    fact->cuts = cuts;
    fact->value_names = ARENA_ARRAY(r->job->arena, Str, fact->n_values);
    for (uint32_t step = 0; step < fact->n_values; step++) {
        Buf buf = {.arena = r->job->arena};
        buf_values(&buf, fact, UINT64_C(1) << step);
        fact->value_names[step] = buf_view(&buf);
    }
}

/* ---- one gauge ---- */

static void gauge_cut(Resolver *r, uint32_t fact_index, const GaugeTest *tests, size_t n) {
    Fact *fact = &r->facts.at[fact_index];
    Steps steps = steps_make(r, tests, n);
    if (steps.n_steps > LIMIT_FACT_VALUES && fact->thing->decl &&
        first_report(r, FINDING_STEPS_MANY, fact->thing->decl->name.span))
        finding_add(r->job->findings, FINDING_STEPS_MANY, fact->thing->decl->name.span,
                    "%N is compared with so many numbers that it falls into %u steps; at most %u are kept apart",
                    fact->thing->name, (uint64_t)steps.n_steps, (uint64_t)LIMIT_FACT_VALUES);
    fact->n_values = steps.n_steps < LIMIT_FACT_VALUES ? steps.n_steps : LIMIT_FACT_VALUES;
    steps_name(r, &steps, fact);
    for (size_t i = 0; i < n; i++) *tests[i].mask = mask_of(&steps, &tests[i]);
}

/* The tests of each gauge together, in the order they were met. */
static GaugeTest *tests_by_fact(Resolver *r, size_t *begin) {
    const GaugeTest *tests = r->scratch->gauge_tests.at;
    size_t n = r->scratch->gauge_tests.n, n_facts = r->facts.n;
    GaugeTest *sorted = ARENA_ARRAY(r->job->arena, GaugeTest, n + 1);
    size_t *fill = ARENA_ARRAY(r->job->arena, size_t, n_facts + 1);
    for (size_t i = 0; i < n; i++) begin[tests[i].fact + 1]++;
    for (size_t i = 0; i < n_facts; i++) begin[i + 1] += begin[i];
    for (size_t i = 0; i < n_facts; i++) fill[i] = begin[i];
    for (size_t i = 0; i < n; i++) sorted[fill[tests[i].fact]++] = tests[i];
    return sorted;
}

/* ---- every case exactly once ---- */

enum { CASES_MOST = 20000, CASE_FACTS = 16 };

typedef struct {
    uint32_t fact[CASE_FACTS];
    uint8_t class_of[CASE_FACTS][LIMIT_FACT_VALUES]; /* values no condition tells apart share a class */
    uint8_t n_classes[CASE_FACTS];
    uint32_t n;
    bool too_many, undecided;
} CaseFacts;

static void refine(uint8_t *class_of, uint8_t *n_classes, uint32_t n_values, uint64_t mask) {
    uint8_t split[LIMIT_FACT_VALUES][2], n = 0;
    memset(split, 0xff, sizeof split);
    for (uint32_t v = 0; v < n_values; v++) {
        uint8_t *to = &split[class_of[v]][(mask >> v) & 1];
        if (*to == 0xff) *to = n++;
        class_of[v] = *to;
    }
    *n_classes = n;
}

static void case_fact(const Resolver *r, CaseFacts *facts, const Test *test) {
    uint32_t i = 0;
    while (i < facts->n && facts->fact[i] != test->fact) i++;
    if (i == CASE_FACTS) {
        facts->too_many = true;
        return;
    }
    if (i == facts->n) {
        facts->fact[facts->n++] = test->fact;
        facts->n_classes[i] = 1;
    }
    refine(facts->class_of[i], &facts->n_classes[i], r->facts.at[test->fact].n_values, test->mask);
}

static void case_facts(const Resolver *r, CaseFacts *facts, const Test *test, uint32_t depth) {
    if (test->kind == TEST_FACT) case_fact(r, facts, test);
    if (test->kind == TEST_UNDECIDED || depth > LIMIT_NESTING) facts->undecided = true;
    for (const Test *part = test->parts; part && depth <= LIMIT_NESTING; part = part->next)
        case_facts(r, facts, part, depth + 1);
}

static bool case_holds(const CaseFacts *facts, const uint8_t *values, const Test *test) {
    bool holds = test->kind == TEST_AND;
    switch (test->kind) {
    case TEST_TRUE:
    case TEST_SAID:
    case TEST_UNDECIDED: return true;
    case TEST_FALSE: return false;
    case TEST_FACT:
        for (uint32_t i = 0; i < facts->n; i++)
            if (facts->fact[i] == test->fact) return (test->mask >> values[i]) & 1;
        return false;
    case TEST_AND:
    case TEST_OR:
        for (const Test *part = test->parts; part; part = part->next) {
            if (case_holds(facts, values, part) != holds) return !holds;
        }
        return holds;
    case TEST_NOT: return !case_holds(facts, values, test->parts);
    case TEST_FOR: return case_holds(facts, values, test->parts);
    }
    return false;
}

static Str case_words(const Resolver *r, const CaseFacts *facts, const uint8_t *values) {
    Buf buf = {.arena = r->job->arena};
    for (uint32_t i = 0; i < facts->n; i++) {
        const Fact *fact = &r->facts.at[facts->fact[i]];
        buf_format(&buf, r->job->names, i ? " and %N %S" : "%N %S", fact->name, fact->value_names[values[i]]);
    }
    return buf_view(&buf);
}

static void report_gap(Resolver *r, const CoverCheck *check, Str example) {
    if (!first_report(r, FINDING_CASE_MISSING, check->spans[0])) return;
    Finding *finding =
        example.len
            ? finding_add(r->job->findings, FINDING_CASE_MISSING, check->spans[0],
                          "%S has no line for %S; its lines must cover every case", check->what, example)
            : finding_add(
                  r->job->findings, FINDING_CASE_MISSING, check->spans[0],
                  "none of the lines of %S can hold on %N: they ask for what it has not; give it lines of its own",
                  check->what, r->tail->name);
    finding->tail = name_text(r->job->names, r->tail->name);
    for (uint32_t i = 1; i < check->n && i < 8; i++)
        finding_note(r->job->findings, finding, check->spans[i], "another line of it");
}

static void report_overlap(Resolver *r, const CoverCheck *check, uint32_t a, uint32_t b, Str example) {
    if (!first_report(r, FINDING_CASE_TWICE, check->spans[b])) return;
    Finding *finding = example.len ? finding_add(r->job->findings, FINDING_CASE_TWICE, check->spans[b],
                                                 "%S has two lines for %S; exactly one must hold", check->what, example)
                                   : finding_add(r->job->findings, FINDING_CASE_TWICE, check->spans[b],
                                                 "%S is given twice; one number, written once", check->what);
    finding_note(r->job->findings, finding, check->spans[a], "the other line");
}

/* Next case: values[] steps through the first value of each class. */
static bool next_case(const Resolver *r, const CaseFacts *facts, uint8_t *values) {
    for (uint32_t i = 0; i < facts->n; i++) {
        uint8_t class_now = facts->class_of[i][values[i]];
        uint32_t n = r->facts.at[facts->fact[i]].n_values;
        for (uint32_t v = values[i] + 1u; v < n; v++)
            if (facts->class_of[i][v] > class_now) {
                values[i] = (uint8_t)v;
                return true;
            }
        values[i] = 0;
    }
    return false;
}

static void judge_case(Resolver *r, const CoverCheck *check, const CaseFacts *facts, const uint8_t *values) {
    uint32_t first = NO_INDEX;
    for (uint32_t i = 0; i < check->n; i++) {
        if (check->whens[i] && !case_holds(facts, values, check->whens[i])) continue;
        if (first == NO_INDEX) first = i;
        else report_overlap(r, check, first, i, case_words(r, facts, values));
    }
    if (first == NO_INDEX) report_gap(r, check, case_words(r, facts, values));
}

static void cover_judge(Resolver *r, const CoverCheck *check) {
    CaseFacts *facts = ARENA_NEW(r->job->arena, CaseFacts);
    uint8_t values[CASE_FACTS] = {0};
    uint64_t cases = 1;
    for (uint32_t i = 0; i < check->n; i++)
        if (check->whens[i]) case_facts(r, facts, check->whens[i], 0);
    for (uint32_t i = 0; i < facts->n && cases <= CASES_MOST; i++) cases *= facts->n_classes[i];
    if (facts->undecided) return; /* told where something leans on it */
    if (facts->too_many || cases > CASES_MOST) {
        if (first_report(r, FINDING_LINES_MANY, check->spans[0]))
            finding_add(
                r->job->findings, FINDING_LINES_MANY, check->spans[0],
                "the conditions of %S ask for too many things at once to be checked case by case; make them simpler",
                check->what);
        return;
    }
    do judge_case(r, check, facts, values);
    while (next_case(r, facts, values));
}

void gauges_finish(Resolver *r) {
    size_t *begin = ARENA_ARRAY(r->job->arena, size_t, r->facts.n + 2);
    const GaugeTest *tests = tests_by_fact(r, begin);
    for (uint32_t fact = 0; fact < r->facts.n; fact++)
        if (r->facts.at[fact].kind == FACT_GAUGE)
            gauge_cut(r, fact, tests + begin[fact], begin[fact + 1] - begin[fact]);
    for (size_t i = 0; i < r->scratch->covers.n; i++) cover_judge(r, &r->scratch->covers.at[i]);
}
