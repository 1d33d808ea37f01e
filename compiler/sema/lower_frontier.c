/* Loads, frontiers, places: what the lowering of every item is made of. */
#include "sema/lower.h"

/* A copy of `from` (n elements) with room for one more: loads are shared between edges. */
static void *grown(Lower *l, const void *from, size_t n, size_t size) {
    char *to = arena_array(l->arena, n + 1, size);
    if (n) memcpy(to, from, n * size);
    return to;
}

static void change_put(Lower *l, Load *load, Change change) {
    Change *list = grown(l, load->changes, load->n_changes, sizeof *list);
    uint16_t n = load->n_changes;
    for (uint16_t i = 0; i < n; i++) {
        if (list[i].fact != change.fact || list[i].kind != CHANGE_TO || change.kind != CHANGE_TO) continue;
        list[i] = change; /* the later one stands */
        load->changes = list;
        return;
    }
    list[n] = change;
    load->changes = list;
    load->n_changes = (uint16_t)(n + 1);
}

void load_change(Lower *l, Load *load, uint32_t fact, uint64_t mask) {
    change_put(l, load, (Change){CHANGE_TO, fact, mask});
}

void load_count(Lower *l, Load *load, uint32_t fact) {
    change_put(l, load, (Change){CHANGE_COUNT, fact, 0});
}

void load_bound(Lower *l, Load *load, uint32_t clock, int64_t least, int64_t most) {
    load->bounds = grown(l, load->bounds, load->n_bounds, sizeof *load->bounds);
    load->bounds[load->n_bounds++] = (Bound){clock, least, most};
}

void load_reset(Lower *l, Load *load, uint32_t clock) {
    for (uint16_t i = 0; i < load->n_resets; i++) {
        if (load->resets[i] == clock) return;
    }
    load->resets = grown(l, load->resets, load->n_resets, sizeof *load->resets);
    load->resets[load->n_resets++] = clock;
}

void load_mark(Lower *l, Load *load, Mark mark) {
    load->marks = grown(l, load->marks, load->n_marks, sizeof *load->marks);
    load->marks[load->n_marks++] = mark;
}

Mark mark_of(TriggerKind kind, uint32_t fact, uint64_t mask) {
    return (Mark){.kind = kind, .fact = fact, .thing = NO_INDEX, .engine = NO_INDEX, .mask = mask, .count = 1};
}

void frontier_add(Lower *l, Frontier *f, Entry entry) {
    vec_push(l->arena, f, entry);
}

void frontier_join(Lower *l, Frontier *f, const Frontier *other) {
    for (size_t i = 0; i < other->n; i++) frontier_add(l, f, other->at[i]);
}

Frontier frontier_at(Lower *l, uint32_t place) {
    Frontier f = {NULL, 0, 0};
    frontier_add(l, &f, (Entry){.place = place});
    return f;
}

Frontier frontier_when(Lower *l, const Frontier *f, const Test *when) {
    Frontier out = {NULL, 0, 0};
    if (test_never(when)) return out;
    for (size_t i = 0; i < f->n; i++) {
        Entry entry = f->at[i];
        entry.when = test_both(l->arena, entry.when, when);
        if (!test_never(entry.when)) frontier_add(l, &out, entry);
    }
    return out;
}

/* One place that all of the frontier leads to, by a step that only meets what was pending. */
void frontier_settle(Lower *l, const Item *item, Frontier *f) {
    uint32_t to = place_new(l);
    for (size_t i = 0; i < f->n; i++) edge_from(l, &f->at[i], EDGE_ITEM, item, to);
    *f = frontier_at(l, to);
}

uint32_t place_new(Lower *l) {
    uint32_t place = (uint32_t)l->places.n;
    vec_push(l->keep, &l->places, ((Place){.kind = PLACE_ITEM, .procedure = l->procedure, .drill = l->drill}));
    vec_push(&l->temp, &l->place_crank, l->crank);
    return place;
}

uint32_t target_new(Lower *l) {
    uint32_t target = TARGET + (uint32_t)l->targets.n;
    vec_push(&l->temp, &l->targets, NO_INDEX);
    return target;
}

/* NO_INDEX: not made yet. */
uint32_t place_of(const Lower *l, uint32_t to) {
    return to >= TARGET && to != NO_INDEX ? l->targets.at[to - TARGET] : to;
}

uint32_t clock_new(Lower *l, const char *what) {
    uint32_t clock = (uint32_t)l->clocks.n;
    vec_push(l->keep, &l->clocks, (Clock){str_of(what)});
    return clock;
}

Raw *edge_from(Lower *l, const Entry *entry, EdgeKind kind, const Item *item, uint32_t to) {
    Raw raw = {.kind = kind,
               .actor = ACTOR_PILOT,
               .from = entry->place,
               .to = to,
               .scope = NO_INDEX,
               .drill = NO_INDEX,
               .deadline = NO_INDEX,
               .item = item,
               .when = entry->when,
               .load = entry->load};
    if (entry->place != NO_INDEX && !l->places.at[entry->place].item) l->places.at[entry->place].item = item;
    vec_push(&l->temp, &l->raws, raw);
    return &l->raws.at[l->raws.n - 1];
}

uint32_t deadline_put(Lower *l, uint32_t place, const Test *when, uint32_t clock, int64_t ms) {
    const Guard *guard = test_always(when) ? NULL : guard_make(l->arena, l->facts.at, when, false, &l->over);
    if (guard && !guard->n) return NO_INDEX;
    if (guard && guard->n == 1 && !guard->terms->n) guard = NULL;
    Placed placed = {place, {guard, clock, ms, NO_INDEX}};
    vec_push(&l->temp, &l->deadlines, placed);
    vec_push(&l->temp, &l->deadline_edges, 0);
    return (uint32_t)l->deadlines.n - 1;
}

bool told_once(Lower *l, Span span, uint32_t salt) {
    uint32_t key = span.lo * 16 + salt + 1;
    if (map_get(&l->told, key)) return false;
    map_put(&l->told, key, l);
    return true;
}
