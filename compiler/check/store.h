/* What a search has found, by place and observer's state: nodes, each with its facts and its zone of clocks.
   takes   nodes as they arrive
   gives   whether one is covered by others; nodes that differ in one fact joined
   owns    everything in the Store's arena, used again by the next search
   never   looks at an edge */
#ifndef CHECK_STORE_H
#define CHECK_STORE_H
#include "check/search.h"

static inline void set_bit(uint64_t *set, uint32_t at) {
    set[at / 64] |= UINT64_C(1) << (at % 64);
}
/* The facts of the k-th node of a page. */
static inline uint64_t *paged_masks(const Search *s, uint32_t page, uint32_t k) {
    return s->store->page_masks + ((size_t)page * PAGE_NODES + k) * s->slice->words;
}

void store_clear(Store *store);
/* The bucket of a place and observer's state, made when new. */
uint32_t store_bucket(Search *search, uint32_t place, uint32_t state);
/* Is it covered by nodes of the bucket? Those that it covers are dropped, and those that are one with it are joined: `masks` grow to that one. */
bool store_fits(Search *search, uint32_t bucket, uint64_t *masks, const Zone *zone, bool still);
/* Is all that arrives already part of a node? Nodes are closed under time passing, so this can be asked before time passes. */
bool store_covers(const Search *search, uint32_t place, uint32_t state, const uint64_t *masks);
/* A new node, led to by the search's edge; it is listed in its bucket and waits to be gone on from. */
uint32_t store_add(Search *search, uint32_t bucket, const uint64_t *masks, const Zone *zone, bool still);
/* Puts a node that there is into its bucket's list; takes all out of the table of large buckets. */
void store_list(Search *search, Bucket *bucket, uint32_t node, const uint64_t *masks);
void store_unlist(Store *store);
#endif
