/* Memory of one lifetime: taken piece by piece, given back in one call.
   takes   sizes in bytes
   gives   zeroed memory, aligned for any type
   owns    every block it handed out, until arena_free
   never   returns NULL: out of memory leaves through the arena's exit (longjmp) */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>

typedef struct ArenaBlock ArenaBlock;
typedef struct ArenaRoom ArenaRoom;
typedef struct {
    ArenaBlock *blocks;
    char *next, *end;   /* the room in use, as far as it is cleared */
    char *limit;        /* where it ends; NULL: at `end` */
    ArenaRoom *rooms;   /* other room that was touched and is free again */
    size_t total;       /* bytes asked of the system so far */
    jmp_buf *exhausted; /* where to go when the system gives no more; NULL: abort() */
} Arena;

/* The slow path: clears more of the block or takes a new one. Call arena_alloc or arena_bytes instead. */
void *arena_refill(Arena *arena, size_t size, size_t align);

static inline void *arena_take(Arena *arena, size_t size, size_t align) {
    size_t room = (size_t)(arena->end - arena->next);
    size_t pad = (size_t)(-(uintptr_t)arena->next & (align - 1));
    if (size >= room || pad > room - size) return arena_refill(arena, size, align);
    char *taken = arena->next + pad;
    arena->next = taken + size;
    return taken;
}

/* No type whose size is not a multiple of 16 is aligned to more than 8. */
static inline void *arena_alloc(Arena *arena, size_t size) {
    return arena_take(arena, size, size % 16 ? 8 : 16);
}
/* For text: no alignment, so no padding between words. */
static inline char *arena_bytes(Arena *arena, size_t size) {
    return (char *)arena_take(arena, size, 1);
}
/* count * size with an overflow check. */
void *arena_array(Arena *arena, size_t count, size_t size);
void *arena_copy(Arena *arena, const void *from, size_t size);
/* Makes `at` (old_size bytes, from this arena, or NULL) new_size bytes long, in place where there is room behind it.
   The old place is lost when the result differs; the added bytes are not cleared. */
void *arena_resize(Arena *arena, void *at, size_t old_size, size_t new_size);
/* Gives back what was taken, aligned, and is not needed any more: it is used before room that was never touched. Less than 256
   bytes are lost, and so is all in room that the arena's owner gave, which is filled in order. */
void arena_give(Arena *arena, void *at, size_t size);
/* Gives the end of `at` back where it was the last thing taken; else does nothing. */
void arena_shrink(Arena *arena, void *at, size_t old_size, size_t new_size);
/* Gives everything back; the arena is empty and usable again. */
void arena_free(Arena *arena);
/* Like arena_free, but keeps the newest block for what comes next: for what is taken and given back again and again. */
void arena_reset(Arena *arena);
/* For tests: the k-th system allocation from now on fails (0: none does). */
void arena_fail_at(size_t k);

#define ARENA_NEW(arena, Type) ((Type *)arena_alloc((arena), sizeof(Type)))
#define ARENA_ARRAY(arena, Type, n) ((Type *)arena_array((arena), (n), sizeof(Type)))
#endif
