#include "base/str.h"
#include <string.h>

Str str_of(const char *c_text) {
    return (Str){c_text, strlen(c_text)};
}

bool str_eq(Str a, Str b) {
    return a.len == b.len && (a.len == 0 || memcmp(a.ptr, b.ptr, a.len) == 0);
}

int str_cmp(Str a, Str b) {
    size_t shorter = a.len < b.len ? a.len : b.len;
    int order = shorter ? memcmp(a.ptr, b.ptr, shorter) : 0;
    if (order) return order;
    return a.len < b.len ? -1 : a.len > b.len;
}

bool str_starts(Str text, Str prefix) {
    return text.len >= prefix.len && str_eq((Str){text.ptr, prefix.len}, prefix);
}

bool str_ends(Str text, Str suffix) {
    return text.len >= suffix.len && str_eq(str_slice(text, text.len - suffix.len, text.len), suffix);
}

Str str_slice(Str text, size_t lo, size_t hi) {
    if (hi > text.len) hi = text.len;
    if (lo >= hi) return (Str){"", 0};
    return (Str){text.ptr + lo, hi - lo};
}

Str str_copy(Arena *arena, Str text) {
    if (!text.len) return (Str){"", 0};
    char *bytes = arena_bytes(arena, text.len);
    memcpy(bytes, text.ptr, text.len);
    return (Str){bytes, text.len};
}

void buf_room(Buf *buf, size_t more) {
    if (more <= buf->cap - buf->len) return;
    size_t wanted = buf->cap ? buf->cap * 2 : 64;
    if (more > SIZE_MAX / 4 || buf->cap > SIZE_MAX / 4) wanted = SIZE_MAX; /* the arena leaves */
    if (wanted - buf->len < more) wanted = buf->len + more;
    buf->ptr = buf->cap ? arena_resize(buf->arena, buf->ptr, buf->cap, wanted) : arena_bytes(buf->arena, wanted);
    buf->cap = wanted;
}

void buf_str(Buf *buf, Str text) {
    if (!text.len) return;
    buf_room(buf, text.len);
    memcpy(buf->ptr + buf->len, text.ptr, text.len);
    buf->len += text.len;
}

void buf_text(Buf *buf, const char *c_text) {
    buf_str(buf, str_of(c_text));
}

void buf_repeat(Buf *buf, char c, size_t n) {
    if (!n) return;
    buf_room(buf, n);
    memset(buf->ptr + buf->len, c, n);
    buf->len += n;
}

void buf_uint(Buf *buf, uint64_t n) {
    char digits[20];
    size_t at = sizeof digits;
    do {
        digits[--at] = (char)('0' + n % 10);
        n /= 10;
    } while (n);
    buf_str(buf, (Str){digits + at, sizeof digits - at});
}

void buf_int(Buf *buf, int64_t n) {
    if (n < 0) buf_char(buf, '-');
    buf_uint(buf, n < 0 ? 0 - (uint64_t)n : (uint64_t)n);
}

Str buf_view(const Buf *buf) {
    return buf->len ? (Str){buf->ptr, buf->len} : (Str){"", 0};
}

Str buf_finish(Buf *buf) {
    Str text = buf_view(buf);
    arena_shrink(buf->arena, buf->ptr, buf->cap, buf->len);
    buf->ptr = NULL;
    buf->len = buf->cap = 0;
    return text;
}

enum { DISTANCE_MOST = 255 };

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

/* One row of the table of edits; rows[0] is being filled, rows[1] and rows[2] are the two before it. */
static size_t distance_row(Str a, Str b, size_t i, size_t *const rows[3]) {
    size_t best = rows[0][0] = i + 1;
    for (size_t j = 0; j < b.len; j++) {
        size_t cost = rows[1][j] + (a.ptr[i] != b.ptr[j]);
        cost = least(cost, least(rows[1][j + 1], rows[0][j]) + 1);
        if (i && j && a.ptr[i] == b.ptr[j - 1] && a.ptr[i - 1] == b.ptr[j]) cost = least(cost, rows[2][j - 1] + 1);
        rows[0][j + 1] = cost;
        best = least(best, cost);
    }
    return best;
}

size_t str_distance(Str a, Str b, size_t limit) {
    size_t apart = a.len > b.len ? a.len - b.len : b.len - a.len;
    if (apart > limit || a.len > DISTANCE_MOST || b.len > DISTANCE_MOST) return limit + 1;
    size_t table[3][DISTANCE_MOST + 1];
    size_t *rows[3] = {table[0], table[1], table[2]};
    for (size_t j = 0; j <= b.len; j++) rows[0][j] = j;
    for (size_t i = 0; i < a.len; i++) {
        size_t *oldest = rows[2];
        rows[2] = rows[1], rows[1] = rows[0], rows[0] = oldest;
        if (distance_row(a, b, i, rows) > limit) return limit + 1;
    }
    return least(rows[0][b.len], limit + 1);
}
