/* Where the controls that matter to engines and duties can stand at each place, before edges are split: most of what an edge could
   do depends on positions that the text itself has set a few lines before. Only what edges set and what conditions plainly ask for
   is followed, each control by itself. */
#include "sema/lower.h"

typedef struct {
    Lower *l;
    uint32_t lo, hi, n;
    uint64_t *at;       /* n masks a place; all zero: not come to yet */
    uint64_t *anywhere; /* union: a drill can be entered from nearly everywhere */
    uint64_t *out;
    bool *dirty;
    uint32_t *first, *raws; /* by place - lo */
    uint32_t here;
    bool back;
} Follower;

static bool grow(const Follower *f, uint64_t *to, const uint64_t *from) {
    uint64_t more = 0;
    for (uint32_t i = 0; i < f->n; i++) {
        more |= from[i] & ~to[i];
        to[i] |= from[i];
    }
    return more != 0;
}

static void come_to(Follower *f, uint32_t place) {
    if (place < f->lo || place >= f->hi || !grow(f, f->at + (size_t)(place - f->lo) * f->n, f->out)) return;
    f->dirty[place - f->lo] = true;
    f->back = f->back || place <= f->here;
}

static uint32_t slot_of(const Lower *l, uint32_t fact) {
    return fact < l->n_reads ? l->slot_of[fact] : NO_INDEX;
}

static void asked(Follower *f, const Test *when) {
    if (!when) return;
    uint32_t slot = when->kind == TEST_FACT ? slot_of(f->l, when->fact) : NO_INDEX;
    if (slot != NO_INDEX && f->l->facts.at[when->fact].kind != FACT_ENGINE && (f->out[slot] & when->mask))
        f->out[slot] &= when->mask;
    for (const Test *part = when->kind == TEST_AND ? when->parts : NULL; part; part = part->next) asked(f, part);
}

static void follow(Follower *f, const Raw *raw, const uint64_t *from) {
    memcpy(f->out, from, f->n * sizeof *f->out);
    asked(f, raw->when);
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        const Change *change = &raw->load.changes[i];
        uint32_t slot = change->kind == CHANGE_TO ? slot_of(f->l, change->fact) : NO_INDEX;
        if (slot != NO_INDEX && f->l->facts.at[change->fact].kind != FACT_ENGINE) f->out[slot] = change->mask;
    }
    come_to(f, place_of(f->l, raw->to));
}

/* Drills, and what times that start at an event lapse to. */
static void enter_drills(Follower *f, uint32_t place) {
    Lower *l = f->l;
    if (l->places.at[place].kind != PLACE_ITEM || !grow(f, f->anywhere, f->at + (size_t)(place - f->lo) * f->n)) return;
    for (size_t i = 0; i < l->drill_queue.n; i++) {
        uint32_t head = l->drill_ways[l->drill_queue.at[i]].by_cue;
        if (head == NO_INDEX) continue;
        memcpy(f->out, f->anywhere, f->n * sizeof *f->out);
        come_to(f, place_of(l, head));
    }
    for (size_t i = 0; i < l->lapses.n; i++) follow(f, &l->lapses.at[i].raw, f->anywhere);
}

static void sweep(Follower *f) {
    Lower *l = f->l;
    f->back = false;
    for (f->here = f->lo; f->here < f->hi; f->here++) {
        uint32_t k = f->here - f->lo;
        if (!f->dirty[k]) continue;
        f->dirty[k] = false;
        for (uint32_t i = f->first[k]; i < f->first[k + 1]; i++)
            follow(f, &l->raws.at[f->raws[i]], f->at + (size_t)k * f->n);
        enter_drills(f, f->here);
    }
}

static void index_raws(Follower *f) {
    Lower *l = f->l;
    uint32_t places = f->hi - f->lo;
    f->first = ARENA_ARRAY(l->arena, uint32_t, (size_t)places + 2);
    f->raws = ARENA_ARRAY(l->arena, uint32_t, l->raws.n + 1);
    for (size_t i = 0; i < l->raws.n; i++) {
        uint32_t from = l->raws.at[i].from;
        if (from >= f->lo && from < f->hi) f->first[from - f->lo + 2]++;
    }
    for (uint32_t i = 2; i <= places + 1; i++) f->first[i] += f->first[i - 1];
    for (size_t i = 0; i < l->raws.n; i++) {
        uint32_t from = l->raws.at[i].from;
        if (from >= f->lo && from < f->hi) f->raws[f->first[from - f->lo + 1]++] = (uint32_t)i;
    }
}

static void begin(Follower *f) {
    Lower *l = f->l;
    uint64_t *any = ARENA_ARRAY(l->arena, uint64_t, (size_t)f->n + 1);
    for (uint32_t i = 0; i < l->n_reads; i++) {
        if (l->slot_of[i] != NO_INDEX) any[l->slot_of[i]] = fact_all(&l->facts.at[i]);
    }
    for (size_t i = 0; i < l->raws.n; i++) {
        const Raw *raw = &l->raws.at[i];
        if (raw->from < f->lo || raw->from >= f->hi) follow(f, raw, any);
    }
}

void controls_follow(Lower *l, uint32_t lo) {
    Follower f = {.l = l, .lo = lo, .hi = (uint32_t)l->places.n, .n = l->n_slots};
    l->stand = (Stand){lo, NULL};
    if (!f.n) return;
    f.at = ARENA_ARRAY(l->arena, uint64_t, (size_t)(f.hi - lo) * f.n);
    f.anywhere = ARENA_ARRAY(l->arena, uint64_t, f.n);
    f.out = ARENA_ARRAY(l->arena, uint64_t, f.n);
    f.dirty = ARENA_ARRAY(l->arena, bool, (size_t)(f.hi - lo) + 1);
    index_raws(&f);
    begin(&f);
    do sweep(&f);
    while (f.back);
    l->stand = (Stand){lo, f.at};
}
