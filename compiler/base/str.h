/* Text as pointer and length, and the growing buffer that makes it.
   Never assumes a NUL; a NUL inside is an ordinary byte. */
#ifndef BASE_STR_H
#define BASE_STR_H
#include "base/arena.h"
#include <stdbool.h>
#include <stdint.h>

typedef struct {
    const char *ptr;
    size_t len;
} Str;

#define STR(literal) ((Str){(literal), sizeof(literal) - 1})
Str str_of(const char *c_text);
bool str_eq(Str a, Str b);
int str_cmp(Str a, Str b); /* by bytes */
bool str_starts(Str text, Str prefix);
bool str_ends(Str text, Str suffix);
Str str_slice(Str text, size_t lo, size_t hi);
Str str_copy(Arena *arena, Str text);

/* A buffer in an arena. */
typedef struct {
    Arena *arena;
    char *ptr;
    size_t len, cap;
} Buf;

void buf_str(Buf *buf, Str text);
void buf_text(Buf *buf, const char *c_text);
void buf_room(Buf *buf, size_t more); /* makes it long enough for so many bytes more */
static inline void buf_char(Buf *buf, char c) {
    if (buf->len == buf->cap) buf_room(buf, 1);
    buf->ptr[buf->len++] = c;
}
void buf_repeat(Buf *buf, char c, size_t n);
void buf_uint(Buf *buf, uint64_t n);
void buf_int(Buf *buf, int64_t n);
Str buf_view(const Buf *buf); /* valid until the buffer grows */
Str buf_finish(Buf *buf);     /* the same, and the room not used goes back to the arena; the buffer is empty again */

/* Edits (insert, delete, replace, swap neighbours) from a to b, at most limit + 1. */
size_t str_distance(Str a, Str b, size_t limit);
#endif
