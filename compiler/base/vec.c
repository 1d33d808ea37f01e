#include "base/vec.h"

void *vec_grow(Arena *arena, void *at, size_t n, size_t *cap, size_t size) {
    size_t wanted = *cap ? *cap : size <= 16 ? 4 : 2;
    if (n > SIZE_MAX / 4 / size) return arena_array(arena, SIZE_MAX, size); /* leaves: no such memory */
    wanted *= 2;
    void *moved = arena_resize(arena, at, *cap * size, wanted * size);
    *cap = wanted;
    return moved;
}
