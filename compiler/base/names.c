#include "base/names.h"
#include <string.h>

static uint64_t mix(uint64_t a, uint64_t b) {
    uint64_t x = (a ^ b) * 0x9E3779B97F4A7C15u;
    return x ^ (x >> 29);
}

static uint64_t eight(const char *at) {
    uint64_t word;
    memcpy(&word, at, 8);
    return word;
}

/* Up to seven bytes in one word, without reading past them. */
static uint64_t few(const char *at, size_t n) {
    uint64_t word = 0;
    for (size_t i = 0; i < n; i++) word = word << 8 | (unsigned char)at[i];
    return word;
}

/* Eight bytes at a time; the last eight overlap what was read before. Only decides slots, never an order. */
static uint64_t hash_text(Str text) {
    uint64_t hash = text.len * 0xD6E8FEB86659FD93u;
    if (text.len < 8) return mix(hash, few(text.ptr, text.len)) * 0xD6E8FEB86659FD93u;
    for (size_t at = 0; at + 8 < text.len; at += 8) hash = mix(hash, eight(text.ptr + at));
    return mix(hash, eight(text.ptr + text.len - 8)) * 0xD6E8FEB86659FD93u;
}

enum { FIRST_NAMES = 512 };

void names_open(Names *names, Arena *arena) {
    *names = (Names){.arena = arena, .n = 1, .cap = FIRST_NAMES, .slot_mask = 2 * FIRST_NAMES - 1};
    names->text = ARENA_ARRAY(arena, Str, FIRST_NAMES);
    names->text[0] = (Str){"", 0};
    names->slots = ARENA_ARRAY(arena, uint64_t, 2 * FIRST_NAMES);
}

/* Slots start at the hash's upper bits, which the multiplication mixed best. */
static uint32_t slot_start(const Names *names, uint64_t hash) {
    return (uint32_t)(hash >> 32) & names->slot_mask;
}

static uint64_t slot_entry(uint64_t hash, Name name) {
    return (hash >> 32) << 32 | name;
}

/* The slot that holds the text, or the free one where it belongs. */
static uint32_t slot_of(const Names *names, Str text, uint64_t hash) {
    for (uint32_t slot = slot_start(names, hash);; slot = (slot + 1) & names->slot_mask) {
        uint64_t entry = names->slots[slot];
        if (!entry) return slot;
        if (entry >> 32 == hash >> 32 && str_eq(names->text[(uint32_t)entry], text)) return slot;
    }
}

static void slots_grow(Names *names) {
    uint64_t *old = names->slots;
    uint32_t old_size = names->slot_mask + 1;
    names->slots = ARENA_ARRAY(names->arena, uint64_t, (size_t)old_size * 2);
    names->slot_mask = old_size * 2 - 1;
    for (uint32_t i = 0; i < old_size; i++) {
        if (!old[i]) continue;
        uint32_t slot = slot_start(names, old[i]);
        while (names->slots[slot]) slot = (slot + 1) & names->slot_mask;
        names->slots[slot] = old[i];
    }
    arena_give(names->arena, old, old_size * sizeof *old);
}

Name name_intern(Names *names, Str text) {
    if (!text.len) return 0;
    uint64_t hash = hash_text(text);
    uint32_t slot = slot_of(names, text, hash);
    if (names->slots[slot]) return (Name)names->slots[slot];
    if (names->n == names->cap) {
        size_t old = names->cap * sizeof(Str);
        names->text = arena_resize(names->arena, names->text, old, old * 2);
        names->cap *= 2;
    }
    Name name = names->n;
    names->text[name] = str_copy(names->arena, text);
    names->slots[slot] = slot_entry(hash, name);
    names->n++;
    if (names->n > names->slot_mask / 4 * 3) slots_grow(names);
    return name;
}

Name name_find(const Names *names, Str text) {
    if (!text.len) return 0;
    return (Name)names->slots[slot_of(names, text, hash_text(text))];
}

Str name_text(const Names *names, Name name) {
    return name < names->n ? names->text[name] : (Str){"", 0};
}

static uint32_t map_slot(const NameMap *map, uint32_t key) {
    uint32_t slot = key * 2654435769u;
    slot = (slot ^ slot >> 15) & map->mask;
    while (map->keys[slot] && map->keys[slot] != key) slot = (slot + 1) & map->mask;
    return slot;
}

void *map_get(const NameMap *map, uint32_t key) {
    return map->keys ? map->values[map_slot(map, key)] : NULL;
}

static void map_grow(NameMap *map) {
    NameMap old = *map;
    size_t size = old.keys ? ((size_t)old.mask + 1) * 2 : 16;
    map->keys = ARENA_ARRAY(map->arena, uint32_t, size);
    map->values = ARENA_ARRAY(map->arena, void *, size);
    map->mask = (uint32_t)(size - 1);
    for (size_t i = 0; old.keys && i <= old.mask; i++) {
        if (!old.keys[i]) continue;
        uint32_t slot = map_slot(map, old.keys[i]);
        map->keys[slot] = old.keys[i];
        map->values[slot] = old.values[i];
    }
    arena_give(map->arena, old.values, size / 2 * sizeof *old.values);
    arena_give(map->arena, old.keys, size / 2 * sizeof *old.keys);
}

void map_put(NameMap *map, uint32_t key, void *value) {
    if (!map->keys || map->n >= map->mask / 4 * 3) map_grow(map);
    uint32_t slot = map_slot(map, key);
    if (!map->keys[slot]) map->n++;
    map->keys[slot] = key;
    map->values[slot] = value;
}
