#include "check/entry.h"
#include "base/limits.h"
#include <string.h>

void search_found_bad(Search *s, uint32_t place, uint32_t state, const uint64_t *masks, const Zone *zone, uint8_t bad) {
    if (s->end != SEARCH_HOLDS) return;
    uint32_t id = store_add(s, store_bucket(s, place, state), masks, zone, false);
    s->store->nodes[id].bad = bad;
    s->bad = id;
    s->end = SEARCH_BROKEN;
}

/* Its lists are filled where they are needed: they are long, and entries are many. */
void entry_begin(Entry *entry, uint32_t place, uint32_t state, const uint64_t *masks) {
    entry->place = place;
    entry->state = state;
    entry->masks = masks;
    entry->n_due = entry->observer_row = 0;
}

static bool place_cap(Search *s, const Entry *entry, Zone *zone) {
    if (!s->observer || !entry->observer_row) return true;
    int32_t cap = s->observer->states[entry->state].cap;
    return cap < 0 || zone_at_most(zone, entry->observer_row, cap);
}

/* In a sweep: the situation, made when new. */
static void find_situation(Search *s, const Entry *entry, const Zone *zone) {
    enum { MOST = 64 };
    Store *store = s->store;
    uint32_t b = store_bucket(s, 0, entry->state), n = NO_INDEX;
    size_t facts = s->slice->words * sizeof *store->masks, size = (size_t)zone->n * zone->n * sizeof zone->d[0];
    for (uint32_t at = store->buckets[b].page; at != NO_INDEX && n == NO_INDEX; at = store->pages[at].older)
        for (uint32_t k = 0; k < store->pages[at].n && n == NO_INDEX; k++)
            if (!memcmp(entry->masks, paged_masks(s, at, k), facts) &&
                !memcmp(store->zones + store->nodes[store->pages[at].nodes[k]].zone, zone->d, size))
                n = store->pages[at].nodes[k];
    if (n == NO_INDEX) n = store_add(s, b, entry->masks, zone, false);
    if (n >= MOST) s->end = SEARCH_BUDGET;
    else s->found |= UINT64_C(1) << n;
}

static void store_zone(Search *s, const Entry *entry, Zone *zone, bool still) {
    if (!place_cap(s, entry, zone)) return;
    int32_t limit = s->observer && entry->observer_row ? s->observer->states[entry->state].limit : -1;
    if (limit >= 0 && zone_highest(zone, entry->observer_row) > limit) {
        if (!s->sought) search_found_bad(s, entry->place, entry->state, entry->masks, zone, BAD_BY_TIME);
        if (!s->sought || !zone_at_most(zone, entry->observer_row, limit)) return;
    }
    zone_extrapolate(zone, entry->lower, entry->upper);
    if (s->sweeps) {
        find_situation(s, entry, zone);
        return;
    }
    uint32_t b = store_bucket(s, entry->place, entry->state);
    uint64_t masks[MASK_WORDS];
    memcpy(masks, entry->masks, s->slice->words * sizeof *masks);
    if (!store_fits(s, b, masks, zone, still)) store_add(s, b, masks, zone, still);
}

void zone_copy(Zone *to, const Zone *from) {
    to->n = from->n;
    memcpy(to->d, from->d, (size_t)from->n * from->n * sizeof from->d[0]);
}

/* `also_row`: a deadline that holds in this alternative only (the pace); 0: none. */
static void let_time_pass(Search *s, const Entry *entry, uint32_t also_row, int32_t also_ms) {
    Zone *zone = &s->zones->work;
    zone_copy(zone, &s->zones->arrived);
    for (uint32_t k = 0; k < entry->n_due; k++)
        if (!zone_at_most(zone, entry->due[k].row, entry->due[k].ms)) return;
    if (also_row && !zone_at_most(zone, also_row, also_ms)) return;
    zone_up(zone);
    for (uint32_t k = 0; k < entry->n_due; k++) zone_at_most(zone, entry->due[k].row, entry->due[k].ms);
    if (also_row) zone_at_most(zone, also_row, also_ms);
    store_zone(s, entry, zone, false);
}

static void stand_still(Search *s, const Entry *entry) {
    for (uint32_t k = 0; k < entry->n_due && s->end == SEARCH_HOLDS; k++) {
        if (zone_highest(&s->zones->arrived, entry->due[k].row) <= entry->due[k].ms) continue;
        zone_copy(&s->zones->work, &s->zones->arrived);
        if (zone_at_least(&s->zones->work, entry->due[k].row, entry->due[k].ms))
            store_zone(s, entry, &s->zones->work, true);
    }
}

static uint8_t row_at(const Frame *f, uint32_t place, uint32_t clock) {
    for (uint32_t k = f->clocks_first[place]; k < f->clocks_first[place + 1]; k++)
        if (f->clocks[k] == clock) return (uint8_t)(k - f->clocks_first[place] + 1);
    return 0;
}

static void settle_unpaced(Search *s, const Entry *entry) {
    let_time_pass(s, entry, 0, 0);
    stand_still(s, entry);
}

/* Of the acts that may be open in this situation, the latest from when on this clock lets them be possible; -1: not for the first time. */
static int32_t pace_least(const Search *s, const Entry *entry, const PaceRule *pace, uint32_t k) {
    const PaceBound *bounds = s->frame->pace_bounds.at + pace->first;
    int32_t least = -1;
    for (uint32_t i = 0; i < pace->n; i++) {
        if (bounds[i].clock != bounds[k].clock) continue;
        const Formula *guard = s->slice->edges[bounds[i].edge].guard;
        if (guard && !formula_possible(guard, entry->masks)) continue;
        if (i < k) return -1;
        if (bounds[i].least > least) least = bounds[i].least;
    }
    return least;
}

/* An act is possible from the entry or, with a least time, from then on: the latest of these begins the pace. */
static void settle_paced(Search *s, const Entry *entry, const PaceRule *pace) {
    uint8_t row = row_at(s->frame, entry->place, s->frame->pace_clock);
    let_time_pass(s, entry, row, pace->ms);
    for (uint32_t k = 0; k < pace->n; k++) {
        int32_t least = pace_least(s, entry, pace, k);
        uint32_t clock = s->frame->pace_bounds.at[pace->first + k].clock;
        if (least >= 0) let_time_pass(s, entry, row_at(s->frame, entry->place, clock), least + pace->ms);
    }
    stand_still(s, entry);
    if (zone_highest(&s->zones->arrived, row) <= pace->ms) return;
    zone_copy(&s->zones->work, &s->zones->arrived);
    if (zone_at_least(&s->zones->work, row, pace->ms)) store_zone(s, entry, &s->zones->work, true);
}

static void settle(Search *s, Entry *entry) {
    const PaceRule *pace = s->frame->paces ? &s->frame->paces[entry->place] : NULL;
    if (!pace || !pace->holds) {
        settle_unpaced(s, entry);
        return;
    }
    const Formula *when = s->slice->pace_when[entry->place];
    if (!when) {
        settle_paced(s, entry, pace);
        return;
    }
    const Step step = {.search = s};
    const uint64_t *masks = entry->masks;
    for (int holds = 1; holds >= 0; holds--) {
        uint64_t *parts;
        size_t mark;
        uint32_t n = step_parts(&step, when, masks, holds, &parts, &mark);
        for (uint32_t i = 0; i < n && s->end == SEARCH_HOLDS; i++) {
            entry->masks = parts + (size_t)i * s->slice->words;
            if (holds) settle_paced(s, entry, pace);
            else settle_unpaced(s, entry);
        }
        scratch_give(s, mark);
    }
    entry->masks = masks;
}

static void due_from(Search *s, Entry *entry, uint32_t k);

static void due_guarded(Search *s, Entry *entry, uint32_t k, bool holds) {
    const Step step = {.search = s};
    uint64_t *parts;
    size_t mark;
    uint32_t n = step_parts(&step, s->slice->dues[k].when, entry->masks, holds, &parts, &mark), n_due = entry->n_due;
    const uint64_t *masks = entry->masks;
    for (uint32_t i = 0; i < n; i++) {
        entry->masks = parts + (size_t)i * s->slice->words;
        entry->n_due = n_due;
        if (holds) {
            entry->due[entry->n_due].row = row_at(s->frame, entry->place, s->slice->dues[k].clock);
            entry->due[entry->n_due++].ms = s->slice->dues[k].ms;
        }
        due_from(s, entry, k + 1);
    }
    entry->masks = masks;
    entry->n_due = n_due;
    scratch_give(s, mark);
}

/* Decides the deadlines of the place from the k-th on, splitting the facts by their conditions. */
static void due_from(Search *s, Entry *entry, uint32_t k) {
    const Frame *f = s->frame;
    uint32_t end = f->due_first[entry->place + 1], n_due = entry->n_due;
    for (; k < end; k++) {
        const SliceDue *due = &s->slice->dues[k];
        if (due->unsure) continue;
        if (due->when && !formula_possible(due->when, entry->masks)) continue;
        if (due->when && !formula_certain(due->when, entry->masks)) break;
        if (entry->n_due == ZONE_MAX) {
            s->end = SEARCH_BUDGET;
            return;
        }
        entry->due[entry->n_due].row = row_at(f, entry->place, due->clock);
        entry->due[entry->n_due++].ms = due->ms;
    }
    if (k == end) {
        settle(s, entry);
    } else if (entry->n_due == ZONE_MAX) {
        s->end = SEARCH_BUDGET;
    } else {
        due_guarded(s, entry, k, true);
        due_guarded(s, entry, k, false);
    }
    entry->n_due = n_due;
}

/* Rows of the clocks kept at the place that is entered: where they come from, how far they are tested. */
uint32_t entry_clocks(Search *s, Entry *entry, const Edge *edge, uint8_t *pick) {
    const Frame *f = s->frame;
    uint32_t n = 1, n_clocks = f->model->n_clocks;
    pick[0] = 0;
    entry->lower[0] = entry->upper[0] = 0;
    for (uint32_t k = f->clocks_first[entry->place]; k < f->clocks_first[entry->place + 1]; k++, n++) {
        uint32_t clock = f->clocks[k];
        pick[n] = frame_clears(f, edge, clock) ? 0 : s->clock_at[clock];
        entry->lower[n] = f->lower[(size_t)entry->place * n_clocks + clock];
        entry->upper[n] = f->upper[(size_t)entry->place * n_clocks + clock];
    }
    entry->observer_row = 0;
    if (s->observer && s->observer->states[entry->state].clocked) {
        bool kept = s->observer->states[s->state].clocked && !s->move.reset;
        pick[n] = kept ? (uint8_t)(s->here_dims - 1) : 0;
        entry->lower[n] = s->observer->lower;
        entry->upper[n] = s->observer->upper;
        entry->observer_row = n++;
    }
    return n;
}

void entry_wait(Search *s, Entry *entry) {
    due_from(s, entry, s->frame->due_first[entry->place]);
}
