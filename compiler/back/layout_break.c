/* Where pages break: among all ways to divide the lines of a card, the one with the least harm, then the fewest pages, then the most
   even ones, where a break between two items of a phase counts as much as half a page left empty. */
#include "back/layout.h"

static int compare(int64_t a, int64_t b) {
    return a < b ? -1 : a > b;
}

int badness_cmp(const Badness *a, const Badness *b) {
    int order = compare(a->in_item, b->in_item);
    if (!order) order = compare(a->in_whole, b->in_whole);
    if (!order) order = compare(a->pages, b->pages);
    return order ? order : compare(a->uneven, b->uneven);
}

typedef struct {
    Badness badness; /* of all lines before */
    size_t from;     /* where the page that ends here begins */
    bool reached;
} Best;

static int64_t square(int64_t length) {
    return length / POINT * (length / POINT);
}

static void add_break(Badness *badness, BreakKind kind, Length page) {
    static const uint32_t harm[] = {/* a drill rather breaks at "Read on:" */
                                    [BREAK_AT_READ_ON] = 2,
                                    [BREAK_AT_FORK] = 7,
                                    [BREAK_IN_WHOLE] = 8,
                                    [BREAK_IN_FORK] = 9,
                                    [BREAK_IN_ITEM] = 0};
    if (kind == BREAK_IN_ITEM) badness->in_item++;
    badness->in_whole += harm[kind];
    if (kind == BREAK_AT_ITEM) badness->uneven += square(page / 2);
    if (kind == BREAK_AT_LONE) badness->uneven += square(page);
}

/* A page of the strips [from, to). */
static void try_page(Best *best, const Strip *strips, size_t n, size_t from, size_t to, const Room *room,
                     int64_t empty) {
    Badness badness = best[from].badness;
    badness.pages++;
    badness.uneven += square(empty);
    if (to < n) add_break(&badness, strips[to].before, room->height);
    if (best[to].reached && badness_cmp(&best[to].badness, &badness) <= 0) return;
    best[to] = (Best){badness, from, true};
}

Breaks layout_break(Arena *arena, const Strip *strips, size_t n, const Room *room, Badness *badness) {
    Best *best = ARENA_ARRAY(arena, Best, n + 1);
    best[0].reached = true;
    for (size_t from = 0; from < n; from++) {
        int64_t used = 0;
        for (size_t to = from; best[from].reached && to < n; to++) {
            used += strips[to].height + (to > from ? least_gap(&strips[to], room->least) : 0);
            int64_t most = to + 1 < n ? (int64_t)room->height - room->goes_on : room->height;
            if (used <= most) try_page(best, strips, n, from, to + 1, room, most - used);
            if (used > room->height) break;
        }
    }
    Breaks breaks = {ARENA_ARRAY(arena, size_t, best[n].badness.pages + 1), best[n].badness.pages};
    for (size_t page = breaks.n, at = n; page > 0; page--) at = best[at].from, breaks.starts[page - 1] = at;
    *badness = best[n].badness;
    return breaks;
}
