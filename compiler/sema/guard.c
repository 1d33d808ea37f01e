/* Conditions as disjunctions of terms. Literals of a term are sorted: engines first (they decide most variants, and an explorer
   that reads them first splits fewer unknown positions), then by fact. */
#include "base/limits.h"
#include "sema/lower.h"

typedef struct {
    Arena *arena;
    const Fact *facts; /* NULL: masks are not clipped to the fact's values */
    bool over;         /* grew beyond LIMIT_GUARD_TERMS */
} Maker;

uint64_t fact_all(const Fact *fact) {
    return fact->n_values >= 64 ? UINT64_MAX : (UINT64_C(1) << fact->n_values) - 1;
}

static uint64_t literal_key(const Maker *m, uint32_t fact) {
    bool engine = m->facts && m->facts[fact].kind == FACT_ENGINE;
    return engine ? fact : (uint64_t)fact + UINT32_MAX;
}

static Guard guard_false(void) {
    return (Guard){NULL, 0};
}

static Guard guard_true(Maker *m) {
    Term *term = ARENA_NEW(m->arena, Term);
    return (Guard){term, 1};
}

static Guard guard_literal(Maker *m, uint32_t fact, uint64_t mask) {
    if (m->facts) {
        mask &= fact_all(&m->facts[fact]);
        if (mask == fact_all(&m->facts[fact])) return guard_true(m);
    }
    if (!mask) return guard_false();
    Guard guard = guard_true(m);
    guard.terms->literals = ARENA_NEW(m->arena, Literal);
    guard.terms->literals[0] = (Literal){fact, mask};
    guard.terms->n = 1;
    return guard;
}

/* False where the two contradict each other. */
static bool term_and(Maker *m, const Term *a, const Term *b, Term *out) {
    Literal *list = ARENA_ARRAY(m->arena, Literal, (size_t)a->n + b->n + 1);
    uint32_t i = 0, k = 0, n = 0;
    while (i < a->n || k < b->n) {
        if (k == b->n) {
            list[n++] = a->literals[i++];
        } else if (i == a->n) {
            list[n++] = b->literals[k++];
        } else if (a->literals[i].fact == b->literals[k].fact) {
            uint64_t mask = a->literals[i].mask & b->literals[k].mask;
            if (!mask) return false;
            list[n++] = (Literal){a->literals[i++].fact, mask};
            k++;
        } else if (literal_key(m, a->literals[i].fact) < literal_key(m, b->literals[k].fact)) {
            list[n++] = a->literals[i++];
        } else {
            list[n++] = b->literals[k++];
        }
    }
    *out = (Term){list, n};
    return true;
}

/* Joins b into a where a disjunction of both is one term: equal, or different in one literal only. */
static bool term_merge(Maker *m, Term *a, const Term *b) {
    if (a->n != b->n) return false;
    uint32_t differs = NO_INDEX;
    for (uint32_t i = 0; i < a->n; i++) {
        if (a->literals[i].fact != b->literals[i].fact) return false;
        if (a->literals[i].mask == b->literals[i].mask) continue;
        if (differs != NO_INDEX) return false;
        differs = i;
    }
    if (differs == NO_INDEX) return true;
    Literal *list = ARENA_ARRAY(m->arena, Literal, a->n);
    memcpy(list, a->literals, a->n * sizeof *list);
    list[differs].mask |= b->literals[differs].mask;
    a->literals = list;
    const Fact *fact = m->facts ? &m->facts[list[differs].fact] : NULL;
    if (fact && list[differs].mask == fact_all(fact)) {
        memmove(list + differs, list + differs + 1, (a->n - differs - 1) * sizeof *list);
        a->n--;
    }
    return true;
}

/* Whatever meets b meets a. */
static bool term_covers(const Term *a, const Term *b) {
    uint32_t k = 0;
    for (uint32_t i = 0; i < a->n; i++) {
        while (k < b->n && b->literals[k].fact != a->literals[i].fact) k++;
        if (k == b->n || (b->literals[k].mask & ~a->literals[i].mask)) return false;
    }
    return true;
}

static void term_drop_covered(Guard *guard, const Term *by) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < guard->n; i++) {
        if (!term_covers(by, &guard->terms[i])) guard->terms[n++] = guard->terms[i];
    }
    guard->n = n;
}

void guard_absorb(Guard *guard) {
    uint32_t n = guard->n;
    guard->n = 0;
    for (uint32_t i = 0; i < n; i++) {
        Term term = guard->terms[i];
        bool covered = false;
        for (uint32_t k = 0; k < guard->n && !covered; k++) covered = term_covers(&guard->terms[k], &term);
        if (covered) continue;
        term_drop_covered(guard, &term);
        guard->terms[guard->n++] = term;
    }
}

static void guard_put(Maker *m, Guard *guard, const Term *term) {
    for (uint32_t i = 0; i < guard->n; i++) {
        if (term_covers(&guard->terms[i], term)) return;
        if (term_merge(m, &guard->terms[i], term)) return;
    }
    term_drop_covered(guard, term);
    if (guard->n == LIMIT_GUARD_TERMS) {
        m->over = true;
        return;
    }
    guard->terms[guard->n++] = *term;
}

static Guard guard_room(Maker *m, uint64_t n) {
    size_t room = n < LIMIT_GUARD_TERMS ? (size_t)n + 1 : LIMIT_GUARD_TERMS;
    return (Guard){ARENA_ARRAY(m->arena, Term, room), 0};
}

static Guard guard_or(Maker *m, Guard a, Guard b) {
    if (!a.n) return b;
    if (!b.n) return a;
    Guard out = guard_room(m, (uint64_t)a.n + b.n);
    for (uint32_t i = 0; i < a.n; i++) guard_put(m, &out, &a.terms[i]);
    for (uint32_t i = 0; i < b.n; i++) guard_put(m, &out, &b.terms[i]);
    return out;
}

static Guard guard_and(Maker *m, Guard a, Guard b) {
    if (!a.n || !b.n) return guard_false();
    if (a.n == 1 && !a.terms->n) return b;
    if (b.n == 1 && !b.terms->n) return a;
    Guard out = guard_room(m, (uint64_t)a.n * b.n);
    for (uint32_t i = 0; i < a.n && !m->over; i++) {
        for (uint32_t k = 0; k < b.n && !m->over; k++) {
            Term term;
            if (term_and(m, &a.terms[i], &b.terms[k], &term)) guard_put(m, &out, &term);
        }
    }
    return out;
}

static Guard guard_read(Maker *m, const Test *test, bool negated, uint32_t depth);

static Guard guard_parts(Maker *m, const Test *test, bool negated, uint32_t depth) {
    bool all = (test->kind == TEST_AND) != negated;
    Guard out = all ? guard_true(m) : guard_false();
    for (const Test *part = test->parts; part && !m->over; part = part->next) {
        Guard one = guard_read(m, part, negated, depth);
        out = all ? guard_and(m, out, one) : guard_or(m, out, one);
    }
    return out;
}

static Guard guard_read(Maker *m, const Test *test, bool negated, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) {
        m->over = true;
        return guard_false();
    }
    switch (test->kind) {
    case TEST_TRUE: return negated ? guard_false() : guard_true(m);
    case TEST_FALSE: return negated ? guard_true(m) : guard_false();
    case TEST_FACT: return guard_literal(m, test->fact, negated ? ~test->mask : test->mask);
    case TEST_AND:
    case TEST_OR: return guard_parts(m, test, negated, depth + 1);
    case TEST_NOT: return guard_read(m, test->parts, !negated, depth + 1);
    case TEST_FOR: return guard_read(m, test->parts, negated, depth + 1);
    case TEST_SAID:
    case TEST_UNDECIDED: return guard_true(m); /* either way is possible */
    }
    return guard_true(m);
}

Guard *guard_make(Arena *arena, const Fact *facts, const Test *test, bool negated, bool *over) {
    Maker maker = {arena, facts, false};
    Guard *guard = ARENA_NEW(arena, Guard);
    *guard = test ? guard_read(&maker, test, negated, 0) : guard_true(&maker);
    if (maker.over) *over = true;
    return guard;
}

Guard *guard_of_test(Job *job, const Test *test, bool negated) {
    bool over = false;
    Guard *guard = guard_make(job->arena, NULL, test, negated, &over);
    if (!over) return guard;
    Span span = test && test->written ? test->written->span : (Span){0, 0};
    finding_add(job->findings, FINDING_CONDITION_MANY, span,
                "this condition falls apart into more than %u alternatives; write it as several lines or gates",
                (uint64_t)LIMIT_GUARD_TERMS);
    return NULL;
}

/* ---- tests that the compiler makes ---- */
static const Test test_yes = {.kind = TEST_TRUE}, test_no = {.kind = TEST_FALSE}, test_open = {.kind = TEST_UNDECIDED};

const Test *test_const(bool value) {
    return value ? &test_yes : &test_no;
}

const Test *test_fact(Arena *arena, uint32_t fact, uint64_t mask) {
    Test *test = ARENA_NEW(arena, Test);
    test->kind = TEST_FACT;
    test->fact = fact;
    test->mask = mask;
    return test;
}

static const Test *test_two(Arena *arena, TestKind kind, const Test *a, const Test *b) {
    Test *test = ARENA_NEW(arena, Test), *left = ARENA_NEW(arena, Test), *right = ARENA_NEW(arena, Test);
    *left = *a;
    *right = *b;
    left->next = right;
    right->next = NULL;
    *test = (Test){.kind = kind, .parts = left};
    return test;
}

bool test_always(const Test *test) {
    return !test || test->kind == TEST_TRUE;
}

bool test_never(const Test *test) {
    return test && test->kind == TEST_FALSE;
}

const Test *test_both(Arena *arena, const Test *a, const Test *b) {
    if (test_always(a)) return b ? b : &test_yes;
    if (test_always(b)) return a;
    if (test_never(a) || test_never(b)) return &test_no;
    return test_two(arena, TEST_AND, a, b);
}

const Test *test_either(Arena *arena, const Test *a, const Test *b) {
    if (test_never(a)) return b ? b : &test_yes;
    if (test_never(b)) return a ? a : &test_yes;
    if (test_always(a) || test_always(b)) return &test_yes;
    return test_two(arena, TEST_OR, a, b);
}

const Test *test_inverse(Arena *arena, const Test *a) {
    if (test_always(a)) return &test_no;
    if (test_never(a)) return &test_yes;
    if (a->kind == TEST_NOT) return a->parts;
    Test *test = ARENA_NEW(arena, Test), *part = ARENA_NEW(arena, Test);
    *part = *a;
    part->next = NULL;
    *test = (Test){.kind = TEST_NOT, .parts = part};
    return test;
}

/* The last mask known of the fact decides. What an edge changes to several values may be either way. */
static const Test *fold_fact(const Test *test, const Known *known) {
    for (size_t i = known->n; i-- > 0;) {
        if (known->at[i].fact != test->fact) continue;
        if (!(known->at[i].mask & ~test->mask)) return &test_yes;
        if (!(known->at[i].mask & test->mask)) return &test_no;
        return i < known->before ? test : &test_open;
    }
    return test;
}

const Test *test_fold(Arena *arena, const Test *test, const Known *known) {
    if (!test) return &test_yes;
    switch (test->kind) {
    case TEST_FACT: return fold_fact(test, known);
    case TEST_NOT: return test_inverse(arena, test_fold(arena, test->parts, known));
    case TEST_FOR: return test_fold(arena, test->parts, known);
    case TEST_AND:
    case TEST_OR: {
        const Test *out = test_const(test->kind == TEST_AND);
        for (const Test *part = test->parts; part; part = part->next) {
            const Test *one = test_fold(arena, part, known);
            out = test->kind == TEST_AND ? test_both(arena, out, one) : test_either(arena, out, one);
        }
        return out;
    }
    case TEST_TRUE:
    case TEST_FALSE:
    case TEST_SAID:
    case TEST_UNDECIDED: return test;
    }
    return test;
}

bool test_same(const Test *a, const Test *b) {
    if (a == b) return true;
    if (!a || !b || a->kind != b->kind || a->fact != b->fact || a->mask != b->mask) return false;
    const Test *one = a->parts, *two = b->parts;
    for (; one && two; one = one->next, two = two->next) {
        if (!test_same(one, two)) return false;
    }
    return !one && !two;
}

bool test_reads(const Test *test, uint32_t fact) {
    if (!test) return false;
    if (test->kind == TEST_FACT) return test->fact == fact;
    for (const Test *part = test->parts; part; part = part->next) {
        if (test_reads(part, fact)) return true;
    }
    return false;
}
