/* Paths in the public shape: what is routine is counted, and results that one path breaks share it. */
#include "workspace/publish.h"
#include <stdlib.h>

/* ---- steps ---- */
static SwStep public_step(Unit *unit, const TraceStep *step, uint32_t folded) {
    return (SwStep){.item = text_out(step->item),
                    .text = text_out(step->text),
                    .facts = text_out(step->facts),
                    .breaks = text_out(STR("")),
                    .place = publish_place(unit, step->span),
                    .actor = (SwActor)step->actor,
                    .at_ms = step->at_ms,
                    .folded = folded};
}

/* `move`: the one before the first; `breaks`: NULL, or one text for each. */
static SwSteps public_steps(Unit *unit, const TraceSteps *steps, uint32_t move, const Str *breaks) {
    SwStep *out = ARENA_ARRAY(unit->job.arena, SwStep, steps->n + 1);
    uint32_t silent = 0;
    for (size_t i = 0; i < steps->n; i++) {
        const TraceStep *step = &steps->at[i];
        uint32_t moves = step->move - move, shown_or_silent = step->silent - silent + 1;
        out[i] = public_step(unit, step, moves > shown_or_silent ? moves - shown_or_silent : 0);
        if (breaks) out[i].breaks = text_out(breaks[i]);
        move = step->move;
        silent = step->silent;
    }
    return (SwSteps){out, steps->n};
}

void publish_trace(Unit *unit, const Trace *trace, SwFinding *out) {
    out->path = public_steps(unit, &trace->steps, 0, NULL);
    out->wanted = text_out(trace->wanted);
    out->nearest = text_out(trace->nearest);
    out->instead = public_steps(unit, &trace->instead, trace->parting, NULL);
}

/* ---- paths that are one ---- */
enum { GOES_ON_MOST = 6 }; /* moves by which one may go on beyond the other */

static int compare_numbers(int64_t a, int64_t b) {
    return a < b ? -1 : a > b;
}

static bool ends_waiting(const Trace *trace) {
    return trace->steps.n && trace->steps.at[trace->steps.n - 1].part == PART_WAIT;
}

/* One that waits at its end comes behind one that does not, since nothing can go on from it. */
static int by_moves(const void *left, const void *right) {
    const SharedPath *x = left, *y = right;
    const Trace *a = x->finding->trace, *b = y->finding->trace;
    int order = compare_numbers(a->tail, b->tail);
    for (uint32_t k = 0; !order && k < a->n_moves && k < b->n_moves; k++) {
        order = compare_numbers(a->moves[k].at_ms, b->moves[k].at_ms);
        if (!order) order = compare_numbers(a->moves[k].edge, b->moves[k].edge);
    }
    if (!order) order = compare_numbers(a->n_moves, b->n_moves);
    if (!order) order = compare_numbers(ends_waiting(a), ends_waiting(b));
    return order ? order : compare_numbers((int64_t)x->index, (int64_t)y->index);
}

static bool begins(const Trace *a, const Trace *b) {
    if (a->tail != b->tail || a->n_moves > b->n_moves || b->n_moves - a->n_moves > GOES_ON_MOST) return false;
    if (ends_waiting(a) && a->n_moves < b->n_moves) return false;
    for (uint32_t k = 0; k < a->n_moves; k++)
        if (a->moves[k].edge != b->moves[k].edge || a->moves[k].at_ms != b->moves[k].at_ms) return false;
    return true;
}

typedef struct {
    const TraceStep *step;
    const Finding *finding;
    bool last; /* there its rule is broken */
} Merged;

static int by_step(const void *left, const void *right) {
    const Merged *a = left, *b = right;
    int order = compare_numbers(a->step->move, b->step->move);
    if (!order) order = compare_numbers((int64_t)a->step->part, (int64_t)b->step->part);
    if (!order) order = compare_numbers(a->step->at_ms, b->step->at_ms);
    if (!order) order = compare_numbers(a->step->span.lo, b->step->span.lo);
    if (!order) order = str_cmp(a->step->text, b->step->text);
    return order ? order : str_cmp(a->finding->gate, b->finding->gate);
}

static SwSteps merge(Unit *unit, const SharedPath *group, size_t n) {
    size_t n_all = 0, kept = 0;
    for (size_t g = 0; g < n; g++) n_all += group[g].finding->trace->steps.n;
    Merged *all = ARENA_ARRAY(unit->job.arena, Merged, n_all + 1);
    n_all = 0;
    for (size_t g = 0; g < n; g++) {
        const TraceSteps *steps = &group[g].finding->trace->steps;
        for (size_t i = 0; i < steps->n; i++)
            all[n_all++] = (Merged){&steps->at[i], group[g].finding, i + 1 == steps->n};
    }
    if (n_all) qsort(all, n_all, sizeof *all, by_step);
    TraceStep *steps = ARENA_ARRAY(unit->job.arena, TraceStep, n_all + 1);
    Str *breaks = ARENA_ARRAY(unit->job.arena, Str, n_all + 1);
    for (size_t i = 0; i < n_all; i++) {
        const TraceStep *step = all[i].step;
        bool again = kept && steps[kept - 1].move == step->move && steps[kept - 1].part == step->part &&
                     str_eq(steps[kept - 1].text, step->text) && steps[kept - 1].span.lo == step->span.lo;
        if (!again) steps[kept++] = *step;
        if (!all[i].last) continue;
        Str *here = &breaks[kept - 1], gate = all[i].finding->gate;
        *here = here->len ? format_text(unit->job.arena, NULL, "%S, %S", *here, gate) : gate;
    }
    const TraceSteps whole = {steps, kept};
    return public_steps(unit, &whole, 0, breaks);
}

void publish_shared(Unit *unit, SharedPath *all, size_t n, SwFinding *out) {
    uint32_t shared = 0;
    if (n) qsort(all, n, sizeof *all, by_moves);
    for (size_t from = 0, to; from < n; from = to) {
        for (to = from + 1; to < n && begins(all[to - 1].finding->trace, all[to].finding->trace);) to++;
        if (to - from < 2) continue;
        shared++;
        SwSteps steps = merge(unit, all + from, to - from);
        for (size_t i = from; i < to; i++) {
            out[all[i].index].shared = shared;
            out[all[i].index].shared_path = steps;
        }
    }
}
