/* Entering a place in the search: time passes up to the deadlines, and what comes of it is stored.
   takes   a search in its step, the zone on arrival in its workplace
   gives   new nodes, or the break that the time makes
   owns    nothing; an entry lives for one step */
#ifndef CHECK_ENTRY_H
#define CHECK_ENTRY_H
#include "check/store.h"

typedef struct {
    uint32_t place, state;
    const uint64_t *masks;
    uint32_t n_due;
    struct {
        uint8_t row;
        int32_t ms;
    } due[ZONE_MAX];
    uint32_t observer_row; /* 0: its clock is not kept */
    int32_t lower[ZONE_MAX], upper[ZONE_MAX];
} Entry;
void entry_begin(Entry *entry, uint32_t place, uint32_t state, const uint64_t *masks);
/* Rows of the clocks kept at the place that is entered: where they come from, how far they are tested. Gives how many. */
uint32_t entry_clocks(Search *s, Entry *entry, const Edge *edge, uint8_t *pick);
/* From the zone on arrival on. */
void entry_wait(Search *s, Entry *entry);
void zone_copy(Zone *to, const Zone *from);
void search_found_bad(Search *s, uint32_t place, uint32_t state, const uint64_t *masks, const Zone *zone, uint8_t bad);
#endif
