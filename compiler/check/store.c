#include "check/store.h"
#include <string.h>

/* ---- rooms ---- */
static void *pool_room(Arena *arena, void *at, size_t n, size_t *cap, size_t more, size_t size) {
    if (n + more <= *cap) return at;
    size_t wanted =
        *cap ? *cap * 4
             : 16384 /
                   size; /* a block of its own, which is made longer where it lies: what is not touched costs nothing */
    while (wanted < n + more) wanted *= 2;
    at = arena_resize(arena, at, *cap * size, wanted * size);
    *cap = wanted;
    return at;
}

static uint32_t node_new(Store *store) {
    size_t cap = store->cap_nodes;
    store->nodes = pool_room(store->arena, store->nodes, store->n_nodes, &cap, 1, sizeof *store->nodes);
    store->cap_nodes = (uint32_t)cap;
    return store->n_nodes++;
}

static void slots_grow(Store *store) {
    uint32_t n = store->slots ? (store->slot_mask + 1) * 2 : 1024;
    store->slots = ARENA_ARRAY(store->arena, uint32_t, n);
    store->slot_mask = n - 1;
    for (uint32_t b = 0; b < store->n_buckets; b++) {
        uint32_t at = store->buckets[b].hash & store->slot_mask;
        while (store->slots[at]) at = (at + 1) & store->slot_mask;
        store->slots[at] = b + 1;
    }
}

static uint32_t hash_state(uint32_t place, uint32_t state) {
    uint64_t h = ((uint64_t)place << 32 | state) * UINT64_C(0x9e3779b97f4a7c15);
    return (uint32_t)(h ^ (h >> 32));
}

static uint32_t bucket_find(const Store *store, uint32_t place, uint32_t state) {
    if (!store->slots) return NO_INDEX;
    uint32_t at = hash_state(place, state) & store->slot_mask;
    for (; store->slots[at]; at = (at + 1) & store->slot_mask) {
        const Bucket *have = &store->buckets[store->slots[at] - 1];
        if (have->place == place && have->state == state) return store->slots[at] - 1;
    }
    return NO_INDEX;
}

uint32_t store_bucket(Search *s, uint32_t place, uint32_t state) {
    Store *store = s->store;
    uint32_t hash = hash_state(place, state);
    if ((store->n_buckets + 1) * 2 > store->slot_mask) slots_grow(store);
    uint32_t at = hash & store->slot_mask;
    for (; store->slots[at]; at = (at + 1) & store->slot_mask) {
        const Bucket *have = &store->buckets[store->slots[at] - 1];
        if (have->place == place && have->state == state) return store->slots[at] - 1;
    }
    size_t cap = store->cap_buckets;
    store->buckets = pool_room(store->arena, store->buckets, store->n_buckets, &cap, 1, sizeof *store->buckets);
    store->cap_buckets = (uint32_t)cap;
    uint32_t b = store->n_buckets++;
    store->buckets[b] = (Bucket){place, state, hash, NO_INDEX};
    store->slots[at] = b + 1;
    return b;
}

const uint64_t *node_masks(const Search *search, uint32_t node) {
    return search->store->masks + (size_t)node * search->slice->words;
}

static bool within(const uint64_t *inner, const uint64_t *outer, uint32_t words) {
    for (uint32_t w = 0; w < words; w++)
        if (inner[w] & ~outer[w]) return false;
    return true;
}

/* Do they differ in the values of one fact only? */
static bool one_apart(const Search *s, const uint64_t *a, const uint64_t *b) {
    uint32_t words = s->slice->words, at = words;
    for (uint32_t w = 0; w < words; w++) {
        if (a[w] == b[w]) continue;
        if (at != words) return false;
        at = w;
    }
    if (at == words) return false;
    uint64_t differing = a[at] ^ b[at];
    return !(differing & ~s->slice->field_of[at * 64 + (uint32_t)__builtin_ctzll(differing)]);
}

/* ---- the nodes of a bucket ---- */
static uint32_t page_new(Search *s, uint32_t older) {
    Store *store = s->store;
    size_t cap = store->cap_pages, words = s->slice->words;
    store->pages = pool_room(store->arena, store->pages, store->n_pages, &cap, 1, sizeof *store->pages);
    store->cap_pages = (uint32_t)cap;
    store->page_masks = pool_room(store->arena, store->page_masks, store->n_pages * PAGE_NODES * words,
                                  &store->cap_page_masks, PAGE_NODES * words, sizeof *store->page_masks);
    store->pages[store->n_pages] = (Page){.older = older};
    return store->n_pages++;
}

/* ---- nodes by their facts ---- */
static uint32_t hash_facts(uint32_t bucket, const uint64_t *masks, uint32_t words) {
    uint64_t h = bucket + UINT64_C(0x9e3779b97f4a7c15);
    for (uint32_t w = 0; w < words; w++) h = (h ^ masks[w]) * UINT64_C(0xff51afd7ed558ccd), h ^= h >> 29;
    return (uint32_t)(h ^ h >> 32);
}

static bool is_large(const Store *store, const Bucket *bucket) {
    return bucket->page != NO_INDEX && store->pages[bucket->page].older != NO_INDEX;
}

static void alike_link(Store *store, uint32_t node) {
    uint32_t *slot = &store->node_slots[store->nodes[node].hash & store->node_slot_mask];
    store->nodes[node].alike = *slot - 1; /* of an empty slot, NO_INDEX */
    *slot = node + 1;
}

static void alike_put(Search *s, uint32_t node, const uint64_t *masks) {
    Store *store = s->store;
    if (store->nodes[node].listed) return; /* from when the bucket was large before */
    if (!store->node_slots || store->n_alike > store->node_slot_mask) {
        uint32_t n = store->node_slots ? 2 * (store->node_slot_mask + 1) : 1024;
        store->node_slots = ARENA_ARRAY(store->arena, uint32_t, n);
        store->node_slot_mask = n - 1;
        for (uint32_t k = 0; k < store->n_nodes; k++)
            if (store->nodes[k].listed) alike_link(store, k);
    }
    store->nodes[node].hash = hash_facts(store->nodes[node].bucket, masks, s->slice->words);
    store->nodes[node].listed = 1;
    store->n_alike++;
    alike_link(store, node);
}

/* By what stands in it: the table may have grown large in another search. */
void store_unlist(Store *store) {
    for (uint32_t n = 0; n < store->n_nodes && store->n_alike; n++) {
        if (!store->nodes[n].listed) continue;
        store->node_slots[store->nodes[n].hash & store->node_slot_mask] = 0;
        store->nodes[n].listed = 0;
        store->n_alike--;
    }
}

/* A node of a large bucket with these very facts and at least this zone; NO_INDEX: none was found. One that is gone serves as well: what it
   says is said by another. */
static uint32_t find_alike(const Search *s, uint32_t bucket, const uint64_t *masks, const Zone *zone) {
    const Store *store = s->store;
    if (!is_large(store, &store->buckets[bucket])) return NO_INDEX;
    uint32_t words = s->slice->words, hash = hash_facts(bucket, masks, words);
    for (uint32_t n = store->node_slots[hash & store->node_slot_mask] - 1; n != NO_INDEX; n = store->nodes[n].alike)
        if (store->nodes[n].hash == hash && store->nodes[n].bucket == bucket &&
            !memcmp(node_masks(s, n), masks, words * sizeof *masks) &&
            zone_within(zone->d, store->zones + store->nodes[n].zone, zone->n))
            return n;
    return NO_INDEX;
}

void store_list(Search *s, Bucket *bucket, uint32_t node, const uint64_t *masks) {
    Store *store = s->store;
    if (bucket->page == NO_INDEX || store->pages[bucket->page].n == PAGE_NODES) {
        uint32_t full = bucket->page;
        bool was_large = is_large(store, bucket);
        bucket->page = page_new(s, full);
        for (uint32_t k = 0; full != NO_INDEX && !was_large && k < PAGE_NODES; k++)
            alike_put(s, store->pages[full].nodes[k], paged_masks(s, full, k));
    }
    Page *page = &store->pages[bucket->page];
    memcpy(paged_masks(s, bucket->page, page->n), masks, s->slice->words * sizeof *masks);
    page->nodes[page->n++] = node;
    if (is_large(store, bucket)) alike_put(s, node, masks);
}

/* The last of the newest page takes its place. */
static void page_drop(Search *s, Bucket *bucket, uint32_t page, uint32_t k) {
    Page *newest = &s->store->pages[bucket->page];
    newest->n--;
    s->store->pages[page].nodes[k] = newest->nodes[newest->n];
    memmove(paged_masks(s, page, k), paged_masks(s, bucket->page, newest->n),
            s->slice->words * sizeof *s->store->page_masks);
    if (!newest->n) bucket->page = newest->older;
}

typedef enum { FIT_COVERED, FIT_JOINED, FIT_NEW } Fit;

/* Nodes of the page that cover the new one, are covered by it, or together with it are one; masks then grow to that one. */
static Fit fit_page(Search *s, Bucket *bucket, uint32_t at, uint64_t *masks, const Zone *zone, bool still) {
    Store *store = s->store;
    uint32_t words = s->slice->words;
    size_t size = (size_t)zone->n * zone->n * sizeof zone->d[0];
    for (uint32_t k = 0; k < store->pages[at].n;) {
        const uint64_t *facts = paged_masks(s, at, k);
        Node *node = &store->nodes[store->pages[at].nodes[k]];
        bool inside = within(masks, facts, words), outside = within(facts, masks, words);
        if (inside && zone_within(zone->d, store->zones + node->zone, zone->n)) return FIT_COVERED;
        bool covers = outside && zone_within(store->zones + node->zone, zone->d, zone->n);
        bool joins = !covers && !s->apart && one_apart(s, masks, facts) && node->still == still &&
                     !memcmp(store->zones + node->zone, zone->d, size);
        if (!covers && !joins) {
            k++;
            continue;
        }
        node->gone =
            !s->apart; /* its successors are all covered by those of the new one, but may be reached by fewer steps */
        for (uint32_t w = 0; joins && w < words; w++) masks[w] |= facts[w];
        page_drop(s, bucket, at, k);
        if (joins) return FIT_JOINED;
    }
    return FIT_NEW;
}

/* Is the new one covered? Where nodes are kept apart it was looked for as it arrived, and time adds little. */
bool store_fits(Search *s, uint32_t b, uint64_t *masks, const Zone *zone, bool still) {
    Bucket *bucket = &s->store->buckets[b];
    if (find_alike(s, b, masks, zone) != NO_INDEX) return true;
    if (s->apart && is_large(s->store, bucket)) return false;
    for (uint32_t page = bucket->page, older; page != NO_INDEX; page = older) {
        older = s->store->pages[page].older;
        switch (fit_page(s, bucket, page, masks, zone, still)) {
        case FIT_COVERED: return true;
        case FIT_JOINED: older = bucket->page; break; /* what it has become is new to all */
        case FIT_NEW: break;
        }
    }
    return false;
}

bool store_covers(const Search *s, uint32_t place, uint32_t state, const uint64_t *masks) {
    const Store *store = s->store;
    uint32_t b = bucket_find(store, place, state), words = s->slice->words;
    if (b == NO_INDEX) return false;
    if (find_alike(s, b, masks, &s->zones->arrived) != NO_INDEX) return true;
    for (uint32_t at = store->buckets[b].page; at != NO_INDEX; at = store->pages[at].older) {
        const Page *page = &store->pages[at];
        for (uint32_t k = 0; k < page->n; k++)
            if (within(masks, paged_masks(s, at, k), words) &&
                zone_within(s->zones->arrived.d, store->zones + store->nodes[page->nodes[k]].zone, s->zones->arrived.n))
                return true;
    }
    return false;
}

uint32_t store_add(Search *s, uint32_t b, const uint64_t *masks, const Zone *zone, bool still) {
    Store *store = s->store;
    uint32_t words = s->slice->words;
    size_t size = (size_t)zone->n * zone->n;
    store->zones = pool_room(store->arena, store->zones, store->n_zones, &store->cap_zones, size, sizeof *store->zones);
    memcpy(store->zones + store->n_zones, zone->d, size * sizeof *zone->d);
    store->masks =
        pool_room(store->arena, store->masks, (size_t)store->n_nodes * words, &store->cap_masks, words, sizeof *masks);
    memcpy(store->masks + (size_t)store->n_nodes * words, masks, words * sizeof *masks);
    uint32_t id = node_new(store);
    store->nodes[id] = (Node){.bucket = b,
                              .zone = (uint32_t)store->n_zones,
                              .parent = s->node,
                              .edge = s->edge,
                              .least = s->move.least,
                              .most = s->move.most,
                              .reset = s->move.reset,
                              .still = still};
    store->n_zones += size;
    store_list(s, &store->buckets[b], id, masks);
    uint32_t place = store->buckets[b].place;
    if (s->sweeps) return id;
    store->nodes[id].queued = s->queued[place];
    s->queued[place] = id;
    set_bit(s->place_todo, place);
    if (place / 64 < s->first_todo) s->first_todo = place / 64;
    return id;
}

void store_clear(Store *store) {
    store_unlist(store);
    store->n_nodes = store->n_buckets = store->n_pages = 0;
    store->n_zones = 0;
    if (store->slots) memset(store->slots, 0, (store->slot_mask + (size_t)1) * sizeof *store->slots);
    if (store->scratch) return;
    store->cap_scratch = 64 * 1024;
    store->scratch = ARENA_ARRAY(store->arena, uint64_t, store->cap_scratch);
}
