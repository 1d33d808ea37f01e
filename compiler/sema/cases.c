/* Do alternatives cover every case exactly once? The facts they read are cut into classes that no alternative tells apart;
   all combinations of classes are tried, up to a limit. */
#include "sema/items.h"

enum { COMBINATIONS = 1 << 16, CASE_FACTS = 24 };

typedef struct {
    uint32_t fact;
    uint64_t *masks; /* as the tests ask for them */
    size_t n_masks, cap;
    uint8_t first[LIMIT_FACT_VALUES]; /* of each class, its first value */
    uint32_t n_classes, now;
} Column;

typedef struct {
    Resolver *r;
    Column columns[CASE_FACTS];
    uint32_t n;
    bool beyond; /* more facts than columns, or a test that cannot be decided */
} Grid;

/* ---- the grid ---- */

static void grid_fact(Grid *grid, uint32_t fact, uint64_t mask) {
    uint32_t at = 0;
    while (at < grid->n && grid->columns[at].fact != fact) at++;
    if (at == CASE_FACTS) {
        grid->beyond = true;
        return;
    }
    Column *column = &grid->columns[at];
    if (at == grid->n) {
        *column = (Column){.fact = fact};
        grid->n++;
    }
    if (column->n_masks == column->cap)
        column->masks =
            vec_grow(grid->r->job->arena, column->masks, column->n_masks, &column->cap, sizeof *column->masks);
    column->masks[column->n_masks++] = mask;
}

static void grid_test(Grid *grid, const Test *test) {
    if (test->kind == TEST_FACT) grid_fact(grid, test->fact, test->mask);
    if (test->kind == TEST_UNDECIDED || test->kind == TEST_SAID || test->kind == TEST_FOR) grid->beyond = true;
    for (const Test *part = test->parts; part; part = part->next) grid_test(grid, part);
}

static bool same_class(const Column *column, uint32_t a, uint32_t b) {
    for (size_t i = 0; i < column->n_masks; i++)
        if ((column->masks[i] >> a & 1) != (column->masks[i] >> b & 1)) return false;
    return true;
}

static void column_classes(Column *column, uint32_t n_values) {
    for (uint32_t value = 0; value < n_values && value < LIMIT_FACT_VALUES; value++) {
        uint32_t k = 0;
        while (k < column->n_classes && !same_class(column, column->first[k], value)) k++;
        if (k == column->n_classes) column->first[column->n_classes++] = (uint8_t)value;
    }
}

/* False where there are too many combinations. */
static bool grid_cut(Grid *grid) {
    uint64_t combinations = 1;
    for (uint32_t i = 0; i < grid->n; i++) {
        column_classes(&grid->columns[i], grid->r->facts.at[grid->columns[i].fact].n_values);
        combinations *= grid->columns[i].n_classes ? grid->columns[i].n_classes : 1;
        if (combinations > COMBINATIONS) return false;
    }
    return true;
}

static bool grid_next(Grid *grid) {
    for (uint32_t i = 0; i < grid->n; i++) {
        if (++grid->columns[i].now < grid->columns[i].n_classes) return true;
        grid->columns[i].now = 0;
    }
    return false;
}

static bool holds(const Grid *grid, const Test *test) {
    bool all = true, any = false;
    switch (test->kind) {
    case TEST_TRUE: return true;
    case TEST_FALSE:
    case TEST_UNDECIDED:
    case TEST_SAID:
    case TEST_FOR: return false;
    case TEST_FACT:
        for (uint32_t i = 0; i < grid->n; i++)
            if (grid->columns[i].fact == test->fact)
                return test->mask >> grid->columns[i].first[grid->columns[i].now] & 1;
        return false;
    case TEST_NOT: return !holds(grid, test->parts);
    case TEST_AND:
    case TEST_OR: break;
    }
    for (const Test *part = test->parts; part; part = part->next) {
        bool value = holds(grid, part);
        all &= value;
        any |= value;
    }
    return test->kind == TEST_AND ? all : any;
}

/* ---- findings ---- */

/* "oat 4 degC and daylight NIGHT" */
static Str example(const Grid *grid) {
    const Resolver *r = grid->r;
    Buf buf = {.arena = r->job->arena};
    for (uint32_t i = 0; i < grid->n; i++) {
        const Fact *fact = &r->facts.at[grid->columns[i].fact];
        uint32_t value = grid->columns[i].first[grid->columns[i].now];
        if (grid->columns[i].n_classes < 2) continue;
        buf_format(&buf, r->job->names, buf.len ? " and %N %S" : "%N %S", fact->name,
                   fact->value_names ? fact->value_names[value] : STR("?"));
    }
    return buf.len ? buf_view(&buf) : STR("any state");
}

static void report_gap(Grid *grid, const Item *cases) {
    Span head = {cases->span.lo, cases->span.lo + 5};
    if (!first_report(grid->r, FINDING_CASES_GAP, head)) return;
    finding_add(grid->r->job->findings, FINDING_CASES_GAP, head,
                "with %S none of these cases applies, and nobody knows what to do; add a case, or an `otherwise { … }`",
                example(grid));
}

static void report_overlap(Grid *grid, const Item *first, const Item *second) {
    if (!second->stmt->cond || !first_report(grid->r, FINDING_CASES_OVERLAP, second->stmt->cond->span)) return;
    Finding *finding = finding_add(
        grid->r->job->findings, FINDING_CASES_OVERLAP, second->stmt->cond->span,
        "with %S this case and an earlier one both apply, so it is open which is done; make them exclude one another",
        example(grid));
    if (first->stmt->cond) finding_note(grid->r->job->findings, finding, first->stmt->cond->span, "the earlier case");
}

static void try_combination(Grid *grid, const CasesWork *work, bool *gap) {
    if (work->assume && !holds(grid, work->assume)) return;
    const Item *found = NULL;
    for (const Item *part = work->cases->body; part; part = part->next) {
        if (!part->stmt->cond || !holds(grid, part->cond)) continue;
        if (found) {
            report_overlap(grid, found, part);
            return;
        }
        found = part;
    }
    if (found || work->has_otherwise || *gap) return;
    *gap = true;
    report_gap(grid, work->cases);
}

void cases_check(Resolver *r, const CasesWork *work) {
    Grid *grid = ARENA_NEW(r->job->arena, Grid);
    grid->r = r;
    for (const Item *part = work->cases->body; part; part = part->next)
        if (part->stmt->cond) grid_test(grid, part->cond);
    if (work->assume) grid_test(grid, work->assume);
    bool undecided = grid->beyond && grid->n < CASE_FACTS;
    if (undecided) return; /* what is missing has been reported */
    if (grid->beyond || !grid_cut(grid)) {
        Span head = {work->cases->span.lo, work->cases->span.lo + 5};
        if (first_report(r, FINDING_CASES_MANY, head))
            finding_add(r->job->findings, FINDING_CASES_MANY, head,
                        "these cases ask for too many things at once to compare all of them (more than %u "
                        "combinations); whether they leave something out is "
                        "not known; split them",
                        (uint64_t)COMBINATIONS);
        return;
    }
    bool gap = false;
    do try_combination(grid, work, &gap);
    while (grid_next(grid));
}
