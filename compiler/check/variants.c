/* "every case has exactly one procedure": the procedures with an `applies when`, over all readings and positions that these ask for.
   The space of all values is cut only where some condition is open, so every part left is a gap, an overlap or in order. */
#include "check/tell.h"
#include "check/ways.h"
#include "check/words.h"
#include <string.h>

enum { PARTS_MOST = 1 << 18, DEPTH_MOST = 4000 };

typedef struct {
    const WaysQuestion *q;
    const Model *m;
    const Procedure **variants;
    uint32_t n;
    uint64_t *masks;         /* by fact: the part that is looked at */
    uint64_t *gap, *overlap; /* of the first found; NULL: none */
    uint32_t first, second;  /* of the overlap */
    uint32_t parts;
    bool beyond;
} Variants;

/* ---- does a condition hold in the part? ---- */
typedef enum { HOLDS_NOT, HOLDS_OPEN, HOLDS } Holds;

static Holds inverse(Holds holds) {
    return holds == HOLDS ? HOLDS_NOT : holds == HOLDS_NOT ? HOLDS : HOLDS_OPEN;
}

/* `open`: a fact asked for whose values in the part differ. */
static Holds test_holds(const Variants *v, const Test *test, const Test **open, uint32_t depth) {
    if (depth > DEPTH_MOST) return HOLDS_OPEN;
    switch (test->kind) {
    case TEST_TRUE: return HOLDS;
    case TEST_FALSE: return HOLDS_NOT;
    case TEST_FACT:
        if (!(v->masks[test->fact] & test->mask)) return HOLDS_NOT;
        if (!(v->masks[test->fact] & ~test->mask)) return HOLDS;
        if (!*open) *open = test;
        return HOLDS_OPEN;
    case TEST_NOT:
    case TEST_FOR: {
        Holds part = test_holds(v, test->parts, open, depth + 1);
        return test->kind == TEST_NOT ? inverse(part) : part;
    }
    case TEST_SAID:
    case TEST_UNDECIDED: return HOLDS_OPEN;
    case TEST_AND:
    case TEST_OR: break;
    }
    Holds settles = test->kind == TEST_AND ? HOLDS_NOT : HOLDS, result = inverse(settles);
    const Test *inner = NULL;
    for (const Test *part = test->parts; part; part = part->next) {
        Holds one = test_holds(v, part, &inner, depth + 1);
        if (one == settles) return settles;
        if (one == HOLDS_OPEN) result = HOLDS_OPEN;
    }
    if (result == HOLDS_OPEN && !*open) *open = inner;
    return result;
}

/* ---- the parts ---- */
static uint64_t *keep_part(const Variants *v) {
    return arena_copy(v->q->scratch, v->masks, (v->m->n_facts + 1u) * sizeof *v->masks);
}

static void split(Variants *v, uint32_t depth) {
    const Test *open = NULL;
    uint32_t holding[2] = {0, 0}, n_holding = 0, n_open = 0;
    if (++v->parts > PARTS_MOST || depth > DEPTH_MOST) v->beyond = true;
    for (uint32_t k = 0; k < v->n && n_holding < 2; k++) {
        Holds holds = test_holds(v, v->variants[k]->applies, &open, 0);
        if (holds == HOLDS) holding[n_holding++] = k;
        n_open += holds == HOLDS_OPEN;
    }
    if (v->beyond || (v->gap && v->overlap)) return;
    if (n_holding == 2 || (n_open && !open)) {
        if (n_holding != 2) v->beyond = true;
        if (n_holding != 2 || v->overlap) return;
        v->overlap = keep_part(v);
        v->first = holding[0];
        v->second = holding[1];
        return;
    }
    if (!n_open) {
        if (!n_holding && !v->gap) v->gap = keep_part(v);
        return;
    }
    uint64_t whole = v->masks[open->fact];
    v->masks[open->fact] = whole & open->mask;
    split(v, depth + 1);
    v->masks[open->fact] = whole & ~open->mask;
    split(v, depth + 1);
    v->masks[open->fact] = whole;
}

/* ---- the nearest procedure ---- */
typedef struct {
    uint32_t variant, lacking, distance;
    const Term *term; /* NULL: none found */
} Nearest;

static uint32_t steps_between(uint64_t a, uint64_t b, uint32_t *value) {
    uint32_t best = UINT32_MAX;
    for (uint64_t rest = a; rest; rest &= rest - 1) {
        uint32_t i = (uint32_t)__builtin_ctzll(rest);
        uint64_t up = b >> i, down = b << (63 - i);
        uint32_t far = up ? (uint32_t)__builtin_ctzll(up) : 64;
        uint32_t near = down ? (uint32_t)__builtin_clzll(down) : 64;
        if (near < far) far = near;
        if (far < best) best = far, *value = i;
    }
    return best;
}

static bool is_gauge(const Variants *v, uint32_t fact) {
    return v->m->facts[fact].kind == FACT_GAUGE;
}

static void try_term(const Variants *v, const uint64_t *part, uint32_t variant, const Term *term, Nearest *best) {
    Nearest one = {.variant = variant, .term = term};
    for (uint32_t l = 0; l < term->n; l++) {
        uint32_t fact = term->literals[l].fact, value = 0;
        if (part[fact] & term->literals[l].mask) continue;
        one.lacking++;
        one.distance += is_gauge(v, fact) ? steps_between(part[fact], term->literals[l].mask, &value) : 1;
    }
    bool nearer = one.lacking < best->lacking || (one.lacking == best->lacking && one.distance < best->distance);
    if (!best->term || nearer) *best = one;
}

static Nearest find_nearest(const Variants *v, const uint64_t *part) {
    Nearest best = {0};
    for (uint32_t k = 0; k < v->n; k++) {
        const Guard *guard = guard_from_test(v->q->scratch, v->m->facts, v->variants[k]->applies, false);
        for (uint32_t t = 0; guard && t < guard->n; t++) try_term(v, part, k, &guard->terms[t], &best);
    }
    return best;
}

/* ---- words ---- */
static uint64_t asked_of(const Term *term, uint32_t fact) {
    for (uint32_t l = 0; term && l < term->n; l++)
        if (term->literals[l].fact == fact) return term->literals[l].mask;
    return 0;
}

/* One case of the part, as near to the term as the part goes. */
static Str case_words(const Variants *v, const uint64_t *part, const Term *term) {
    Buf buf = {.arena = v->q->job->arena};
    for (uint32_t fact = 0; fact < v->m->n_facts; fact++) {
        uint64_t asked = asked_of(term, fact), values = part[fact];
        if (values == fact_full(&v->m->facts[fact])) continue;
        uint32_t value = 0;
        if (asked && values & asked) values &= asked;
        if (is_gauge(v, fact)) {
            steps_between(values, asked ? asked : values, &value);
            values = UINT64_C(1) << value;
        }
        buf_format(&buf, NULL, buf.len ? " and %S %S" : "%S %S", words_fact(v->q->job, v->m, fact),
                   words_values(v->q->job, v->m, fact, values));
    }
    return buf.len ? buf_view(&buf) : STR("any reading and any position");
}

static Str lacking_words(const Variants *v, const uint64_t *part, const Term *term) {
    Buf buf = {.arena = v->q->job->arena};
    for (uint32_t l = 0; l < term->n; l++) {
        const Literal *literal = &term->literals[l];
        if (part[literal->fact] & literal->mask) continue;
        buf_format(&buf, NULL, buf.len ? " and %S %S" : "%S %S", words_fact(v->q->job, v->m, literal->fact),
                   words_values(v->q->job, v->m, literal->fact, literal->mask));
    }
    return buf_view(&buf);
}

static Span applies_span(const Procedure *procedure) {
    if (procedure->applies->written && procedure->applies->written->span.hi) return procedure->applies->written->span;
    const Decl *decl = procedure->decl;
    return decl ? (decl->name.span.hi ? decl->name.span : decl->span) : (Span){0, 0};
}

static Finding *tell_gap(const Variants *v) {
    Job *job = v->q->job;
    Nearest nearest = find_nearest(v, v->gap);
    Str what = case_words(v, v->gap, nearest.term);
    if (!nearest.term)
        return tell_gate(job, v->q->gate, gate_span(v->q->gate),
                         format_text(job->arena, NULL, "with %S no procedure applies", what));
    const Procedure *near = v->variants[nearest.variant];
    Str needs = lacking_words(v, v->gap, nearest.term);
    return tell_gate(job, v->q->gate, applies_span(near),
                     format_text(job->arena, NULL,
                                 "with %S no procedure applies; the nearest is \"%S\", which needs %S", what,
                                 near->title, needs));
}

static Str overlap_words(const Variants *v) {
    return format_text(v->q->job->arena, NULL, "with %S both \"%S\" and \"%S\" apply", case_words(v, v->overlap, NULL),
                       v->variants[v->first]->title, v->variants[v->second]->title);
}

static Finding *tell_variants(const Variants *v) {
    Job *job = v->q->job;
    if (v->gap) {
        Finding *finding = tell_gap(v);
        if (v->overlap)
            finding_note(job->findings, finding, applies_span(v->variants[v->second]), "and %S", overlap_words(v));
        return finding;
    }
    Finding *finding = tell_gate(job, v->q->gate, applies_span(v->variants[v->second]), overlap_words(v));
    finding_note(job->findings, finding, applies_span(v->variants[v->first]), "the other one");
    return finding;
}

/* ---- the rule ---- */
/* The name that an `applies when` lacks; 0: none. Also of what can be said only in cues. */
static bool leans(const Test *test, Name *missing, uint32_t depth) {
    if (test->kind == TEST_UNDECIDED) {
        *missing = test->missing;
        return true;
    }
    if (test->kind == TEST_SAID || depth > DEPTH_MOST) return true;
    for (const Test *part = test->parts; part; part = part->next)
        if (leans(part, missing, depth + 1)) return true;
    return false;
}

static void gather(Variants *v) {
    const Tail *tail = v->m->tail;
    Arena *scratch = v->q->scratch;
    v->variants = ARENA_ARRAY(scratch, const Procedure *, tail->n_procedures + 1u);
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        if (tail->procedures[p].applies) v->variants[v->n++] = &tail->procedures[p];
    v->masks = ARENA_ARRAY(scratch, uint64_t, v->m->n_facts + 1u);
    for (uint32_t f = 0; f < v->m->n_facts; f++) v->masks[f] = fact_full(&v->m->facts[f]);
}

static WaysAnswer not_known(const Procedure *procedure, Name missing, const Job *job) {
    WaysAnswer answer = {.kind = VERDICT_NOT_DECIDED};
    if (missing)
        answer.why =
            format_text(job->arena, job->names, "when \"%S\" applies leans on %N, which is not decided or not given",
                        procedure->title, missing);
    else
        answer.why = format_text(job->arena, job->names, "when \"%S\" applies leans on something that is not decided",
                                 procedure->title);
    return answer;
}

WaysAnswer variants_decide(const WaysQuestion *question) {
    Variants v = {.q = question, .m = question->first->model};
    gather(&v);
    for (uint32_t k = 0; k < v.n; k++) {
        Name missing = 0;
        if (leans(v.variants[k]->applies, &missing, 0)) return not_known(v.variants[k], missing, question->job);
    }
    WaysAnswer answer = {.kind = v.n ? VERDICT_PROVED : VERDICT_NEVER_TESTED, .tested = v.n, .why = STR("")};
    if (!v.n) return answer;
    split(&v, 0);
    answer.zones = v.parts;
    if (v.gap || v.overlap) {
        answer.kind = VERDICT_BROKEN;
        answer.finding = tell_variants(&v);
    } else if (v.beyond) {
        answer.kind = VERDICT_NOT_DECIDED;
        answer.why = STR("the procedures are told apart by too many things at once to compare all cases");
    }
    return answer;
}
