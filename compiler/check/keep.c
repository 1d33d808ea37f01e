/* Copies of what was found, for when the model is gone. */
#include "check/check.h"

static TraceSteps keep_steps(Arena *arena, TraceSteps steps) {
    steps.at = arena_copy(arena, steps.at, steps.n * sizeof *steps.at);
    for (size_t i = 0; i < steps.n; i++) {
        TraceStep *step = &steps.at[i];
        step->item = str_copy(arena, step->item);
        step->text = str_copy(arena, step->text);
        step->facts = str_copy(arena, step->facts);
    }
    return steps;
}

Trace *trace_keep(Arena *arena, const Trace *trace) {
    Trace *copy = arena_copy(arena, trace, sizeof *trace);
    copy->steps = keep_steps(arena, trace->steps);
    copy->instead = keep_steps(arena, trace->instead);
    copy->moves = arena_copy(arena, trace->moves, trace->n_moves * sizeof *trace->moves);
    copy->home = str_copy(arena, trace->home);
    copy->wanted = str_copy(arena, trace->wanted);
    copy->nearest = str_copy(arena, trace->nearest);
    return copy;
}

static void keep_limits(Arena *arena, Verdict *verdict) {
    TimeLimit *limits = arena_copy(arena, verdict->limits, verdict->n_limits * sizeof *limits);
    for (uint32_t i = 0; i < verdict->n_limits; i++) limits[i].what = str_copy(arena, limits[i].what);
    verdict->limits = limits;
}

static void keep_tests(Arena *arena, Verdict *verdict) {
    TestedBy *tests = arena_copy(arena, verdict->tests, verdict->n_tests * sizeof *tests);
    for (uint32_t i = 0; i < verdict->n_tests; i++) {
        tests[i].what = str_copy(arena, tests[i].what);
        tests[i].lines = arena_copy(arena, tests[i].lines, tests[i].n_lines * sizeof *tests[i].lines);
    }
    verdict->tests = tests;
}

CheckResult *check_result_keep(Arena *arena, const CheckResult *result) {
    CheckResult *kept = arena_copy(arena, result, sizeof *result);
    kept->verdicts = arena_copy(arena, result->verdicts, result->n_verdicts * sizeof *kept->verdicts);
    for (uint32_t i = 0; i < kept->n_verdicts; i++) {
        Verdict *verdict = &kept->verdicts[i];
        verdict->gate = NULL;
        verdict->finding = NULL;
        verdict->why = str_copy(arena, verdict->why);
        if (verdict->witness) verdict->witness = trace_keep(arena, verdict->witness);
        keep_limits(arena, verdict);
        keep_tests(arena, verdict);
    }
    Assumption *assumptions = arena_copy(arena, result->assumptions, result->n_assumptions * sizeof *assumptions);
    for (uint32_t i = 0; i < result->n_assumptions; i++) assumptions[i].text = str_copy(arena, assumptions[i].text);
    kept->assumptions = assumptions;
    kept->n_text_times = 0;
    return kept;
}

CheckResult *check_result_for(Arena *arena, const CheckResult *kept, const Tail *tail) {
    CheckResult *result = arena_copy(arena, kept, sizeof *kept);
    result->verdicts = arena_copy(arena, kept->verdicts, kept->n_verdicts * sizeof *kept->verdicts);
    for (uint32_t i = 0; i < kept->n_verdicts; i++) result->verdicts[i].gate = &tail->gates[i];
    return result;
}
