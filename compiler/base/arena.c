#include "base/arena.h"
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* The header of a block is padded to 16, so that the room behind it is aligned for any type. */
struct ArenaBlock {
    ArenaBlock *next;
    size_t size; /* bytes of room */
};

/* Free room, described at its own beginning. */
struct ArenaRoom {
    ArenaRoom *next;
    char *end, *limit; /* as in the arena */
};

enum {
    LEAST_ROOM = 256,       /* less is not worth keeping */
    LARGEST_IN_ROOM = 1024, /* more is not looked for in rooms that may be small */
    FIRST_BLOCK = 32 * 1024,
    LARGEST_BLOCK = 1024 * 1024,
    CLEARED = 4 * 1024 /* bytes of a block that are cleared in advance */
};

static size_t fail_countdown;

void arena_fail_at(size_t k) {
    fail_countdown = k;
}

static _Noreturn void leave_exhausted(const Arena *arena) {
    if (arena->exhausted) longjmp(*arena->exhausted, 1);
    abort();
}

static bool system_refuses(size_t size) {
    if (size > SIZE_MAX / 2) return true;
    return fail_countdown && --fail_countdown == 0;
}

static ArenaBlock *block_new(Arena *arena, size_t size, bool clear) {
    ArenaBlock *block = NULL;
    if (!system_refuses(size)) block = clear ? calloc(1, sizeof *block + size) : malloc(sizeof *block + size);
    if (!block) leave_exhausted(arena);
    block->next = NULL;
    block->size = size;
    arena->total += size;
    return block;
}

static char *block_room(ArenaBlock *block) {
    return (char *)(block + 1);
}

/* Each block is twice the one before: small inputs stay small, large ones take few blocks, and an arena that is reset again and
   again comes to one block that holds all. */
static size_t next_block_size(const Arena *arena) {
    if (!arena->next || !arena->blocks) return FIRST_BLOCK;
    size_t newest = arena->blocks->size;
    return newest < LARGEST_BLOCK / 2 ? newest * 2 : LARGEST_BLOCK;
}

static char *room_end(const Arena *arena) {
    return arena->limit ? arena->limit : arena->end;
}

static void room_use(Arena *arena, char *from, char *end, char *limit) {
    arena->next = from;
    arena->end = end;
    arena->limit = limit;
}

/* Puts the room in use with the others. */
static void room_aside(Arena *arena) {
    char *at = arena->next + (-(uintptr_t)arena->next & (sizeof(void *) - 1)), *limit = room_end(arena);
    if (!arena->next || at > limit || (size_t)(limit - at) < LEAST_ROOM) return;
    ArenaRoom *room = (ArenaRoom *)(void *)at;
    char *end = at + sizeof *room > arena->end ? at + sizeof *room : arena->end;
    *room = (ArenaRoom){arena->rooms, end, limit};
    arena->rooms = room;
}

static void room_take(Arena *arena) {
    ArenaRoom *room = arena->rooms;
    arena->rooms = room->next;
    room_use(arena, (char *)room, room->end, room->limit);
    memset(room, 0, sizeof *room);
}

/* Takes from the room in use beyond what is cleared of it; NULL: it has not so much. */
static void *take_uncleared(Arena *arena, size_t size, size_t align) {
    char *limit = room_end(arena);
    size_t pad = (size_t)(-(uintptr_t)arena->next & (align - 1)), room = (size_t)(limit - arena->next);
    if (size >= room || pad > room - size) return NULL;
    char *taken = arena->next + pad;
    arena->next = taken + size;
    size_t beyond = (size_t)(limit - arena->next);
    char *end = arena->next + (beyond < CLEARED ? beyond : CLEARED);
    if (end > arena->end) {
        memset(arena->end, 0, (size_t)(end - arena->end));
        arena->end = end;
    }
    return taken;
}

/* A block of its own, put behind the newest. */
static void *take_own(Arena *arena, size_t size) {
    ArenaBlock *own = block_new(arena, size ? size : 1, true);
    ArenaBlock **place = arena->blocks ? &arena->blocks->next : &arena->blocks;
    own->next = *place;
    *place = own;
    return block_room(own);
}

void *arena_refill(Arena *arena, size_t size, size_t align) {
    void *taken = take_uncleared(arena, size, align);
    while (!taken && arena->rooms && size <= LARGEST_IN_ROOM) {
        room_take(arena);
        taken = take_uncleared(arena, size, align);
    }
    if (taken) return taken;
    size_t usual = next_block_size(arena);
    if (size > usual / 4) return take_own(arena, size);
    ArenaBlock *block = block_new(arena, usual, false); /* cleared as it is used: most may never be */
    block->next = arena->blocks;
    arena->blocks = block;
    room_aside(arena);
    room_use(arena, block_room(block), block_room(block), block_room(block) + usual);
    return arena_take(arena, size, align);
}

void arena_give(Arena *arena, void *at, size_t size) {
    if (!at || size < LEAST_ROOM || !arena->blocks) return;
    room_aside(arena);
    room_use(arena, at, at, (char *)at + size);
}

void *arena_array(Arena *arena, size_t count, size_t size) {
    if (size && count > SIZE_MAX / size) leave_exhausted(arena);
    return arena_alloc(arena, count * size);
}

void *arena_copy(Arena *arena, const void *from, size_t size) {
    void *to = arena_alloc(arena, size);
    if (size) memcpy(to, from, size);
    return to;
}

/* The link to the block that holds `at` and nothing else; NULL when it shares its block. */
static ArenaBlock **own_block(Arena *arena, const char *at, size_t size) {
    for (ArenaBlock **link = &arena->blocks; *link; link = &(*link)->next) {
        if (block_room(*link) != at) continue;
        bool newest = arena->next && *link == arena->blocks;
        return !newest && (*link)->size == size ? link : NULL;
    }
    return NULL;
}

static void *resize_own(Arena *arena, ArenaBlock **link, size_t old_size, size_t new_size) {
    ArenaBlock *block = system_refuses(new_size) ? NULL : realloc(*link, sizeof *block + new_size);
    if (!block) leave_exhausted(arena);
    block->size = new_size;
    arena->total += new_size - old_size;
    *link = block;
    return block_room(block);
}

void *arena_resize(Arena *arena, void *at, size_t old_size, size_t new_size) {
    if (!at || !old_size) return arena_alloc(arena, new_size);
    if (new_size <= old_size) return at;
    size_t more = new_size - old_size;
    if ((char *)at + old_size == arena->next && more < (size_t)(room_end(arena) - arena->next)) {
        arena->next += more;
        if (arena->next > arena->end) arena->end = arena->next;
        return at;
    }
    ArenaBlock **link = old_size >= FIRST_BLOCK / 4 ? own_block(arena, at, old_size) : NULL;
    if (link) return resize_own(arena, link, old_size, new_size);
    void *to = arena_alloc(arena, new_size);
    memcpy(to, at, old_size);
    return to;
}

void arena_shrink(Arena *arena, void *at, size_t old_size, size_t new_size) {
    if (!at || (char *)at + old_size != arena->next) return;
    memset((char *)at + new_size, 0, old_size - new_size);
    arena->next = (char *)at + new_size;
}

void arena_free(Arena *arena) {
    for (ArenaBlock *block = arena->blocks, *next; block; block = next) {
        next = block->next;
        free(block);
    }
    arena->blocks = NULL;
    arena->rooms = NULL;
    room_use(arena, NULL, NULL, NULL);
    arena->total = 0;
}

void arena_reset(Arena *arena) {
    ArenaBlock *kept = arena->blocks;
    if (!kept || !arena->next) {
        arena_free(arena);
        return;
    }
    arena->blocks = kept->next;
    arena_free(arena);
    kept->next = NULL;
    arena->blocks = kept;
    room_use(arena, block_room(kept), block_room(kept), block_room(kept) + kept->size);
    arena->total = kept->size;
}
