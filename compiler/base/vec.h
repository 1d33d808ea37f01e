/* Growing arrays in an arena: VEC(Type) is a struct, vec_push adds one. Order is the order of pushing. */
#ifndef BASE_VEC_H
#define BASE_VEC_H
#include "base/arena.h"
#include <string.h>

#define VEC(Type)      \
    struct {           \
        Type *at;      \
        size_t n, cap; \
    }
/* Room for one more element of `size` bytes; returns the (moved) array. */
void *vec_grow(Arena *arena, void *at, size_t n, size_t *cap, size_t size);
#define vec_push(arena, v, value)                                                                                     \
    ((v)->n == (v)->cap ? (void)((v)->at = vec_grow((arena), (v)->at, (v)->n, &(v)->cap, sizeof *(v)->at)) : (void)0, \
     (v)->at[(v)->n++] = (value))
#endif
