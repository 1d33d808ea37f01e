#include "check/slice.h"
#include "base/limits.h"
#include <string.h>

/* ---- the slice ---- */
static void place_fields(Slice *s, const uint64_t *wanted) {
    const Model *m = s->frame->model;
    uint32_t word = 0, used = 0;
    s->fields = ARENA_ARRAY(s->arena, Field, m->n_facts + 1u);
    for (uint32_t f = 0; f < m->n_facts; f++) {
        s->fields[f].word = NO_WORD;
        if (!fact_in(s->frame->read, f) && !(wanted && fact_in(wanted, f))) continue;
        uint32_t width = m->facts[f].n_values ? m->facts[f].n_values : 1;
        if (used + width > 64) word++, used = 0;
        s->fields[f] = (Field){(uint16_t)word, (uint8_t)used, (uint8_t)width};
        used += width;
    }
    s->words = word + 1;
    if (s->words > MASK_WORDS) s->too_large = true;
}

static uint64_t field_bits(const Slice *slice, uint32_t fact) {
    uint32_t width = slice->fields[fact].width;
    uint64_t all = width >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << width) - 1;
    return all << slice->fields[fact].shift;
}

Lit slice_literal(const Slice *slice, uint32_t fact, uint64_t mask) {
    uint64_t field = field_bits(slice, fact);
    return (Lit){slice->fields[fact].word, field, mask << slice->fields[fact].shift & field};
}

Formula *formula_of_guard(Arena *arena, const Slice *slice, const Guard *guard) {
    struct {
        Formula formula;
        LitTerm terms[];
    } * made;
    size_t n_lits = 1;
    for (uint32_t t = 0; t < guard->n; t++) n_lits += guard->terms[t].n;
    made = arena_alloc(arena, sizeof *made + guard->n * sizeof *made->terms);
    Formula *formula = &made->formula;
    Lit *room = ARENA_ARRAY(arena, Lit, n_lits);
    formula->terms = made->terms;
    formula->n = guard->n;
    for (uint32_t t = 0; t < guard->n; t++) {
        const Term *term = &guard->terms[t];
        LitTerm *to = &formula->terms[t];
        to->lits = room;
        room += term->n;
        for (uint32_t l = 0; l < term->n; l++)
            if (slice->fields[term->literals[l].fact].word != NO_WORD)
                to->lits[to->n++] = slice_literal(slice, term->literals[l].fact, term->literals[l].mask);
        if (!to->n) formula->always = true;
    }
    return formula;
}

static bool guard_reads(const Slice *s, const Guard *guard) {
    for (uint32_t t = 0; t < guard->n; t++)
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            if (s->fields[guard->terms[t].literals[l].fact].word != NO_WORD) return true;
    return !guard->n;
}

static void slice_edge(Slice *s, uint32_t e) {
    const Edge *edge = &s->frame->model->edges[e];
    SliceEdge *to = &s->edges[e];
    to->guard = edge->guard && guard_reads(s, edge->guard) ? formula_of_guard(s->arena, s, edge->guard) : NULL;
    bool changes = false;
    for (uint32_t c = 0; c < edge->n_changes; c++) changes |= s->fields[edge->changes[c].fact].word != NO_WORD;
    if (!changes) return;
    to->assigns = ARENA_ARRAY(s->arena, Assign, edge->n_changes);
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        Field field = s->fields[change->fact];
        if (field.word == NO_WORD) continue;
        Assign *assign = &to->assigns[to->n_assigns++];
        assign->word = field.word;
        assign->field = field_bits(s, change->fact);
        assign->set = change->mask << field.shift & assign->field;
        assign->counts_at = change->kind == CHANGE_COUNT ? field.shift : 255;
    }
}

static void list_fields(Slice *s) {
    const Model *m = s->frame->model;
    s->field_of = ARENA_ARRAY(s->arena, uint64_t, (size_t)s->words * 64);
    for (uint32_t f = 0; f < m->n_facts; f++) {
        Field field = s->fields[f];
        if (field.word == NO_WORD) continue;
        for (uint32_t bit = 0; bit < field.width; bit++)
            s->field_of[field.word * 64u + field.shift + bit] = field_bits(s, f);
    }
}

static void bury_dead(Slice *s, const uint64_t *wanted) {
    const Frame *f = s->frame;
    const Model *m = f->model;
    s->dead = ARENA_ARRAY(s->arena, uint64_t, (size_t)m->n_places * s->words);
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        if (s->fields[fact].word == NO_WORD || (wanted && fact_in(wanted, fact))) continue;
        uint64_t bits = field_bits(s, fact);
        for (uint32_t p = 0; p < m->n_places; p++)
            if (!fact_in(f->live + (size_t)p * f->fact_words, fact))
                s->dead[(size_t)p * s->words + s->fields[fact].word] |= bits;
    }
}

static bool guard_sliced(const Slice *s, const Guard *guard) {
    for (uint32_t t = 0; t < guard->n; t++)
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            if (s->fields[guard->terms[t].literals[l].fact].word == NO_WORD) return false;
    return true;
}

static void slice_deadlines(Slice *s) {
    const Frame *f = s->frame;
    uint32_t n = f->due_first[f->model->n_places];
    s->dues = ARENA_ARRAY(s->arena, SliceDue, n + 1u);
    for (uint32_t k = 0; k < n; k++) {
        const Deadline *due = f->due[k];
        s->dues[k].unsure =
            (f->unread && due->when && !guard_sliced(s, due->when)) || (f->few && !fact_in(f->few, due->clock));
        s->dues[k].when = due->when ? formula_of_guard(s->arena, s, due->when) : NULL;
        s->dues[k].clock = due->clock;
        s->dues[k].ms = (int32_t)(due->ms > ZONE_LONGEST ? ZONE_LONGEST : due->ms);
    }
}

static void slice_pace(Slice *s) {
    const Model *m = s->frame->model;
    s->pace_when = ARENA_ARRAY(s->arena, const Formula *, m->n_places + 1u);
    for (uint32_t p = 0; p < m->n_places; p++)
        if (s->frame->paces[p].holds && m->places[p].pace_when)
            s->pace_when[p] = formula_of_guard(s->arena, s, m->places[p].pace_when);
}

Slice *slice_make(Arena *arena, const Frame *frame, const uint64_t *wanted) {
    Slice *s = ARENA_NEW(arena, Slice);
    s->frame = frame;
    s->arena = arena;
    s->too_large = frame->too_large;
    place_fields(s, wanted);
    if (s->too_large) return s;
    s->edges = ARENA_ARRAY(arena, SliceEdge, frame->model->n_edges + 1u);
    for (uint32_t e = 0; e < frame->model->n_edges; e++) slice_edge(s, e);
    list_fields(s);
    bury_dead(s, wanted);
    if (!frame->untimed) slice_deadlines(s);
    if (frame->paces) slice_pace(s);
    return s;
}

/* ---- formulas ---- */
static bool term_possible(const LitTerm *term, const uint64_t *masks) {
    for (uint32_t l = 0; l < term->n; l++)
        if (!(masks[term->lits[l].word] & term->lits[l].bits)) return false;
    return true;
}

bool formula_possible(const Formula *formula, const uint64_t *masks) {
    for (uint32_t t = 0; t < formula->n; t++)
        if (term_possible(&formula->terms[t], masks)) return true;
    return false;
}

bool term_keep(const LitTerm *term, const uint64_t *masks, uint64_t *kept, uint32_t words) {
    if (kept != masks) memcpy(kept, masks, words * sizeof *kept);
    for (uint32_t l = 0; l < term->n; l++) {
        const Lit *lit = &term->lits[l];
        if (!(kept[lit->word] & lit->bits)) return false;
        kept[lit->word] &= ~lit->field | lit->bits;
    }
    return true;
}

/* Cuts the term out of one part: for each of its literals the values that fail it, those before it holding. */
static uint32_t cut_term(const LitTerm *term, const uint64_t *part, uint32_t words, uint64_t *into, uint32_t cap) {
    if (!term_possible(term, part)) {
        if (!cap) return 1;
        memcpy(into, part, words * sizeof *into);
        return 1;
    }
    uint64_t rest[MASK_WORDS];
    memcpy(rest, part, words * sizeof *rest);
    uint32_t n = 0;
    for (uint32_t l = 0; l < term->n; l++) {
        const Lit *lit = &term->lits[l];
        uint64_t failing = rest[lit->word] & lit->field & ~lit->bits;
        if (failing) {
            if (n == cap) return cap + 1;
            uint64_t *out = into + (size_t)n++ * words;
            memcpy(out, rest, words * sizeof *out);
            out[lit->word] = (out[lit->word] & ~lit->field) | failing;
        }
        rest[lit->word] &= ~lit->field | lit->bits;
    }
    return n;
}

static uint32_t failing_parts(const Formula *formula, const uint64_t *masks, uint32_t words, uint64_t *parts,
                              uint32_t cap, uint32_t from_term) {
    if (!cap) return 1;
    if (from_term == formula->n) {
        memcpy(parts, masks, words * sizeof *parts);
        return 1;
    }
    uint64_t cut[16 * MASK_WORDS];
    uint32_t n = cut_term(&formula->terms[from_term], masks, words, cut, 16 * MASK_WORDS / words), total = 0;
    if (n > 16 * MASK_WORDS / words) return cap + 1;
    for (uint32_t k = 0; k < n; k++) {
        uint32_t more = failing_parts(formula, cut + (size_t)k * words, words, parts + (size_t)total * words,
                                      cap - total, from_term + 1);
        if (more > cap - total) return cap + 1;
        total += more;
    }
    return total;
}

static bool narrows(const LitTerm *term, const uint64_t *masks) {
    for (uint32_t l = 0; l < term->n; l++)
        if (masks[term->lits[l].word] & term->lits[l].field & ~term->lits[l].bits) return true;
    return false;
}

bool formula_certain(const Formula *formula, const uint64_t *masks) {
    if (formula->always) return true;
    for (uint32_t t = 0; t < formula->n; t++)
        if (term_possible(&formula->terms[t], masks) && !narrows(&formula->terms[t], masks)) return true;
    return false;
}

uint32_t formula_parts(const Formula *formula, const uint64_t *masks, uint32_t words, bool holds, uint64_t *parts,
                       uint32_t cap) {
    uint32_t n = 0;
    for (uint32_t t = 0; t < formula->n; t++) {
        if (!term_possible(&formula->terms[t], masks)) continue;
        if (!narrows(&formula->terms[t], masks)) { /* it holds as a whole */
            if (!holds) return 0;
            memcpy(parts, masks, words * sizeof *parts);
            return 1;
        }
        n++;
    }
    if (!holds && !n) {
        memcpy(parts, masks, words * sizeof *parts);
        return 1;
    }
    if (!holds) return failing_parts(formula, masks, words, parts, cap, 0);
    n = 0;
    for (uint32_t t = 0; t < formula->n; t++) {
        if (!term_possible(&formula->terms[t], masks)) continue;
        if (n == cap) return cap + 1;
        term_keep(&formula->terms[t], masks, parts + (size_t)n++ * words, words);
    }
    return n;
}

/* ---- resolved conditions to alternatives ---- */
void test_facts(const Test *test, uint64_t *set) {
    if (!test) return;
    if (test->kind == TEST_FACT) fact_put(set, test->fact);
    for (const Test *part = test->parts; part; part = part->next) test_facts(part, set);
}

static Guard *guard_new(Arena *arena, uint32_t n) {
    Guard *guard = ARENA_NEW(arena, Guard);
    guard->terms = ARENA_ARRAY(arena, Term, n + 1u);
    return guard;
}

static Guard *guard_constant(Arena *arena, bool holds) {
    Guard *guard = guard_new(arena, 1);
    guard->n = holds ? 1 : 0;
    return guard;
}

static bool term_join(Arena *arena, const Term *a, const Term *b, Term *to) {
    to->literals = ARENA_ARRAY(arena, Literal, a->n + b->n + 1u);
    to->n = a->n;
    if (a->n) memcpy(to->literals, a->literals, a->n * sizeof *a->literals);
    for (uint32_t l = 0; l < b->n; l++) {
        uint32_t k = 0;
        while (k < to->n && to->literals[k].fact != b->literals[l].fact) k++;
        if (k == to->n) to->literals[to->n++] = b->literals[l];
        else if (!(to->literals[k].mask &= b->literals[l].mask)) return false;
    }
    return true;
}

Guard *guard_and(Arena *arena, const Guard *a, const Guard *b) {
    if (a->n && b->n > LIMIT_GUARD_TERMS / a->n) return NULL;
    Guard *both = guard_new(arena, a->n * b->n);
    for (uint32_t i = 0; i < a->n; i++)
        for (uint32_t j = 0; j < b->n; j++)
            if (term_join(arena, &a->terms[i], &b->terms[j], &both->terms[both->n])) both->n++;
    return both;
}

static Guard *guard_or(Arena *arena, const Guard *a, const Guard *b) {
    if (a->n + b->n > LIMIT_GUARD_TERMS) return NULL;
    Guard *either = guard_new(arena, a->n + b->n);
    memcpy(either->terms, a->terms, a->n * sizeof *a->terms);
    memcpy(either->terms + a->n, b->terms, b->n * sizeof *b->terms);
    either->n = a->n + b->n;
    return either;
}

static Guard *guard_fact(Arena *arena, const Fact *facts, const Test *test, bool negated) {
    uint64_t full = fact_full(&facts[test->fact]), mask = (negated ? ~test->mask : test->mask) & full;
    if (!mask) return guard_constant(arena, false);
    if (mask == full) return guard_constant(arena, true);
    Guard *guard = guard_constant(arena, true);
    guard->terms[0].literals = ARENA_NEW(arena, Literal);
    guard->terms[0].literals[0] = (Literal){test->fact, mask};
    guard->terms[0].n = 1;
    return guard;
}

static Guard *guard_at(Arena *arena, const Fact *facts, const Test *test, bool negated, uint32_t depth);

static Guard *guard_parts(Arena *arena, const Fact *facts, const Test *test, bool negated, uint32_t depth) {
    bool all = (test->kind == TEST_AND) != negated;
    Guard *result = guard_constant(arena, all);
    for (const Test *part = test->parts; part && result; part = part->next) {
        Guard *one = guard_at(arena, facts, part, negated, depth + 1);
        if (!one) return NULL;
        result = all ? guard_and(arena, result, one) : guard_or(arena, result, one);
    }
    return result;
}

static Guard *guard_at(Arena *arena, const Fact *facts, const Test *test, bool negated, uint32_t depth) {
    if (!test) return guard_constant(arena, !negated);
    if (depth > 2 * LIMIT_NESTING) return NULL;
    switch (test->kind) {
    case TEST_TRUE: return guard_constant(arena, !negated);
    case TEST_FALSE: return guard_constant(arena, negated);
    case TEST_FACT: return guard_fact(arena, facts, test, negated);
    case TEST_AND:
    case TEST_OR: return guard_parts(arena, facts, test, negated, depth);
    case TEST_NOT: return guard_at(arena, facts, test->parts, !negated, depth + 1);
    case TEST_FOR: return guard_at(arena, facts, test->parts, negated, depth + 1);
    case TEST_SAID:
    case TEST_UNDECIDED: return NULL;
    }
    return NULL;
}

Guard *guard_from_test(Arena *arena, const Fact *facts, const Test *test, bool negated) {
    return guard_at(arena, facts, test, negated, 0);
}
