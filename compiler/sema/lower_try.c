/* try: passes, the rest owed before each, and the ways back. */
#include "sema/lower.h"

static const Item *crank_in(const Item *item, uint32_t depth) {
    for (; item && depth < 2 * LIMIT_NESTING; item = item->next) {
        if (item->kind == STMT_CRANK) return item;
        const Item *inner = crank_in(item->body, depth + 1);
        if (inner) return inner;
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) {
            inner = crank_in(o->action.block, depth + 1);
            if (inner) return inner;
        }
    }
    return NULL;
}

const Item *first_crank(const Item *first) {
    return crank_in(first, 0);
}

/* The values from n on. */
static uint64_t from_on(const Fact *fact, uint32_t n) {
    return n < 64 ? fact_all(fact) & ~((UINT64_C(1) << n) - 1) : 0;
}

/* ---- the rest owed ---- */
static void rest_variant(Lower *l, const Frontier *f, const Test *when, uint32_t clock, int64_t ms, Frontier *out) {
    Frontier some = frontier_when(l, f, when);
    for (size_t i = 0; i < some.n && ms > 0; i++) load_bound(l, &some.at[i].load, clock, ms, -1);
    frontier_join(l, out, &some);
}

static void rest_of_line(Lower *l, const Frontier *f, const DutyHistory *history, const DutyLine *line, Frontier *out) {
    const Fact *count = &l->facts.at[history->count];
    uint32_t n = line->n_series ? line->n_series : 1, k = 0;
    int64_t rest = 0;
    while (k < n) { /* equal rests in one */
        uint32_t first = k;
        if (line->rest_ms[k] > 0)
            rest = line->rest_ms[k]; /* with the tries used up only the short rest is waited for */
        for (k++; k < n && (line->rest_ms[k] == rest || !line->rest_ms[k]); k++) continue;
        uint64_t mask = from_on(count, first + 1) & (k < n ? ~from_on(count, k + 1) : UINT64_MAX);
        const Test *when = test_both(l->arena, test_fact(l->arena, history->count, mask), line->when);
        rest_variant(l, f, when, history->rest_clock, rest, out);
    }
}

/* The frontier with the rest that is owed from each earlier engagement. */
static Frontier rest_owed(Lower *l, uint32_t history_index, const Frontier *f) {
    Frontier out = {NULL, 0, 0};
    if (history_index == NO_INDEX) {
        frontier_join(l, &out, f);
        return out;
    }
    const DutyHistory *history = &l->histories.at[history_index];
    const Duty *duty = &l->tail->duties[history->duty];
    if (!duty->n_lines) {
        frontier_join(l, &out, f);
        return out;
    }
    rest_variant(l, f, test_fact(l->arena, history->count, 1), 0, 0, &out);
    for (uint32_t i = 0; i < duty->n_lines; i++) rest_of_line(l, f, history, &duty->lines[i], &out);
    return out;
}

static void report_no_rest(Lower *l, const Item *item, uint32_t history_index) {
    if (history_index == NO_INDEX) return;
    const Duty *duty = &l->tail->duties[l->histories.at[history_index].duty];
    bool rests = duty->n_lines > 0;
    for (uint32_t i = 0; i < duty->n_lines; i++) rests = rests && duty->lines[i].rest_ms[0] > 0;
    if (rests || !told_once(l, item->span, 5)) return;
    finding_add(l->job->findings, FINDING_RETRY_WITHOUT_REST, item->span,
                "this try cranks again without a rest: no duty line says how long the starter rests between tries");
}

/* ---- how often ---- */
static uint32_t counter_fact(Lower *l, uint32_t depth) {
    while (l->counters.n <= depth) {
        Fact fact = {.kind = FACT_COUNT, .engine = NO_INDEX, .n_values = l->most_passes + 1};
        fact.name =
            name_intern(l->job->names, format_text(l->arena, l->job->names, "passes-%u", (uint64_t)l->counters.n + 1));
        vec_push(&l->temp, &l->counters, (uint32_t)l->facts.n);
        vec_push(l->keep, &l->facts, fact);
    }
    return l->counters.at[depth];
}

static void report_no_count(Lower *l, const Item *item) {
    if (!told_once(l, item->span, 6)) return;
    finding_add(l->job->findings, FINDING_TRY_NO_COUNT, item->span,
                "neither this try nor the starter's duty says how often it may be tried; write `try up to 3 times`, "
                "with your number, or "
                "give the tries in the duty");
}

static const Test *used_up(Lower *l, const Item *item, uint32_t passes, uint32_t history_index) {
    const Test *out = test_const(false);
    bool counted = passes > 0;
    if (passes) {
        uint32_t fact = counter_fact(l, l->tries->depth);
        out = test_fact(l->arena, fact, from_on(&l->facts.at[fact], passes - 1));
    }
    if (history_index != NO_INDEX) {
        const DutyHistory *history = &l->histories.at[history_index];
        const Duty *duty = &l->tail->duties[history->duty];
        for (uint32_t i = 0; i < duty->n_lines; i++) {
            const DutyLine *line = &duty->lines[i];
            if (!line->tries) continue;
            counted = true;
            uint64_t mask = from_on(&l->facts.at[history->count], line->tries);
            out =
                test_either(l->arena, out, test_both(l->arena, line->when, test_fact(l->arena, history->count, mask)));
        }
    }
    if (!counted) report_no_count(l, item);
    return out;
}

/* ---- the ways back ---- */
static void back_edges(Lower *l, const Item *item, const Frontier *f, uint32_t head) {
    for (size_t i = 0; i < f->n; i++) edge_from(l, &f->at[i], EDGE_ITEM, item, head);
}

/* One for each length of `again after`: the between acts, then the head once the time has passed. */
static void back_again(Lower *l, const Item *item, const Try *here, const Back *back, uint32_t head) {
    static const DurationCase second = {NULL, 1000};
    uint32_t start = place_new(l), clock = back->after ? here->again_clock : here->head_clock;
    l->targets.at[back->target - TARGET] = start;
    Frontier f = frontier_at(l, start);
    lower_items(l, item->between, &f);
    const DurationCase *cases = back->after ? back->after->cases : &second;
    uint32_t n = back->after ? back->after->n : 1;
    for (uint32_t i = 0; i < n; i++) {
        Frontier one = frontier_when(l, &f, cases[i].when);
        for (size_t k = 0; k < one.n; k++) load_bound(l, &one.at[k].load, clock, cases[i].ms, -1);
        back_edges(l, item, &one, head);
    }
}

static void back_counted(Lower *l, const Item *item, uint32_t passes, uint32_t depth, Frontier f, uint32_t head) {
    for (size_t i = 0; i < f.n && passes; i++) load_count(l, &f.at[i].load, counter_fact(l, depth));
    lower_items(l, item->between, &f);
    back_edges(l, item, &f, head);
}

/* ---- the try as a whole ---- */
static uint32_t try_clock(Lower *l, uint32_t depth, uint32_t which) {
    while (l->try_clocks.n <= 2 * depth + 1) {
        vec_push(&l->temp, &l->try_clocks, clock_new(l, "since the head of the pass"));
        vec_push(&l->temp, &l->try_clocks, clock_new(l, "since going back"));
    }
    return l->try_clocks.at[2 * depth + which];
}

/* The first pass from where the frontier stands, the others from the head; all wait for the rest owed. */
static Frontier passes_begin(Lower *l, const Frontier *f, uint32_t passes, uint32_t history, uint32_t head) {
    Frontier first = {NULL, 0, 0};
    frontier_join(l, &first, f);
    for (size_t i = 0; i < first.n && passes; i++)
        load_change(l, &first.at[i].load, counter_fact(l, l->tries->depth), 1);
    frontier_add(l, &first, (Entry){.place = head});
    for (size_t i = 0; i < first.n; i++) load_reset(l, &first.at[i].load, l->tries->head_clock);
    return rest_owed(l, history, &first);
}

static void try_used_up(Lower *l, const Item *item, const Frontier *f, Frontier *after) {
    const ItemOutcome *otherwise = outcome_otherwise(item);
    if (!otherwise) return;
    Frontier left = {NULL, 0, 0};
    frontier_join(l, &left, f);
    if (otherwise->action.kind == ACTION_BLOCK) {
        lower_items(l, otherwise->action.block, &left);
        frontier_join(l, after, &left);
        return;
    }
    Way way = way_of(l, &otherwise->action, item);
    for (size_t i = 0; i < left.n; i++) way_take(l, edge_from(l, &left.at[i], EDGE_OTHERWISE, item, NO_INDEX), &way);
}

void lower_try(Lower *l, const Item *item, Frontier *f) {
    Try here = {.up = l->tries, .item = item, .depth = l->try_depth, .watched = l->watched.n};
    here.head_clock = try_clock(l, here.depth, 0);
    here.again_clock = try_clock(l, here.depth, 1);
    uint32_t passes = item->passes;
    const Item *crank = first_crank(item->body);
    uint32_t history = crank ? crank_duty(l, crank) : NO_INDEX, head = place_new(l);
    if (crank) report_no_rest(l, item, history);
    l->tries = &here;
    l->try_depth++;
    Frontier in = passes_begin(l, f, passes, history, head);
    lower_items(l, item->body, &in);
    const Test *up = used_up(l, item, passes, history);
    l->tries = here.up;

    Frontier after = frontier_when(l, &in, item->cond);
    Frontier failed = frontier_when(l, &in, item->cond ? test_inverse(l->arena, item->cond) : test_const(false));
    back_counted(l, item, passes, here.depth, frontier_when(l, &failed, test_inverse(l->arena, up)), head);
    for (size_t i = 0; i < here.backs.n; i++) back_again(l, item, &here, &here.backs.at[i], head);
    Frontier last = frontier_when(l, &failed, up);
    try_used_up(l, item, &last, &after);
    l->try_depth--;
    *f = after;
    lower_done_later(l, item, f);
}
