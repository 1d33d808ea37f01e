/* Where pages break: among all ways to divide the lines of a card, the one with the least harm, then the fewest pages, then the
   fewest breaks inside a phase, then the most even pages. */
#include "back/layout.h"

static int compare(int64_t a, int64_t b) {
    return a < b ? -1 : a > b;
}

int badness_cmp(const Badness *a, const Badness *b) {
    int order = compare(a->in_item, b->in_item);
    if (!order) order = compare(a->in_whole, b->in_whole);
    if (!order) order = compare(a->pages, b->pages);
    if (!order) order = compare(a->at_item, b->at_item);
    return order ? order : compare(a->slack, b->slack);
}

typedef struct {
    Badness badness; /* of all lines before */
    size_t from;     /* where the page that ends here begins */
    bool reached;
} Best;

static void add_break(Badness *badness, BreakKind kind) {
    if (kind == BREAK_IN_ITEM) badness->in_item++;
    else if (kind == BREAK_IN_WHOLE) badness->in_whole += 4; /* a drill rather breaks at "Read on:" */
    else if (kind == BREAK_AT_READ_ON) badness->in_whole++;
    else if (kind == BREAK_AT_ITEM) badness->at_item++;
}

/* A page of the strips [from, to). */
static void try_page(Best *best, const Strip *strips, size_t n, size_t from, size_t to, int64_t empty) {
    Badness badness = best[from].badness;
    badness.pages++;
    if (to < n) {
        add_break(&badness, strips[to].before);
        badness.slack += empty / POINT * (empty / POINT);
    }
    if (best[to].reached && badness_cmp(&best[to].badness, &badness) <= 0) return;
    best[to] = (Best){badness, from, true};
}

Breaks layout_break(Arena *arena, const Strip *strips, size_t n, Length room, Length goes_on, Badness *badness) {
    Best *best = ARENA_ARRAY(arena, Best, n + 1);
    best[0].reached = true;
    for (size_t from = 0; from < n; from++) {
        int64_t used = 0;
        for (size_t to = from; best[from].reached && to < n; to++) {
            used += strips[to].height + (to > from ? least_gap(&strips[to]) : 0);
            int64_t most = to + 1 < n ? (int64_t)room - goes_on : room;
            if (used <= most) try_page(best, strips, n, from, to + 1, most - used);
            if (used > room) break;
        }
    }
    Breaks breaks = {ARENA_ARRAY(arena, size_t, best[n].badness.pages + 1), best[n].badness.pages};
    for (size_t page = breaks.n, at = n; page > 0; page--) at = best[at].from, breaks.starts[page - 1] = at;
    *badness = best[n].badness;
    return breaks;
}
