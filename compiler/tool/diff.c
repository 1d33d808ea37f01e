#include "tool/diff.h"

#include "base/vec.h"

#define CONTEXT 3
#define RESYNC 100 /* lines that are looked ahead for a pair of equal ones, where the texts differ much */

typedef struct {
    Str *line;    /* with their ends */
    uint32_t *id; /* equal lines, equal numbers */
    bool *kept;   /* stands in both texts */
    size_t n;
} Side;

/* ---- lines as numbers ---- */

typedef struct {
    Str *line; /* by number; 0 is free */
    uint32_t n, mask, *slots;
} Lines;

static uint32_t hash(Str text) {
    uint32_t h = 2166136261u;
    for (size_t i = 0; i < text.len; i++) h = (h ^ (uint8_t)text.ptr[i]) * 16777619u;
    return h;
}

static uint32_t line_number(Lines *lines, Str line) {
    uint32_t at = hash(line) & lines->mask;
    while (lines->slots[at] && !str_eq(lines->line[lines->slots[at]], line)) at = (at + 1) & lines->mask;
    if (!lines->slots[at]) {
        lines->slots[at] = ++lines->n;
        lines->line[lines->n] = line;
    }
    return lines->slots[at];
}

static Side split(Arena *arena, Str text) {
    Side side = {0};
    size_t n = 0;
    for (size_t i = 0; i < text.len; i++) n += text.ptr[i] == '\n' || i + 1 == text.len;
    side.line = ARENA_ARRAY(arena, Str, n + 1);
    side.id = ARENA_ARRAY(arena, uint32_t, n + 1);
    side.kept = ARENA_ARRAY(arena, bool, n + 1);
    for (size_t lo = 0; lo < text.len;) {
        const char *end = memchr(text.ptr + lo, '\n', text.len - lo);
        size_t hi = end ? (size_t)(end - text.ptr) + 1 : text.len;
        side.line[side.n++] = str_slice(text, lo, hi);
        lo = hi;
    }
    return side;
}

static void number_lines(Arena *arena, Side *a, Side *b) {
    size_t size = 16;
    while (size < 2 * (a->n + b->n)) size *= 2;
    Lines lines = {.mask = (uint32_t)size - 1, .slots = ARENA_ARRAY(arena, uint32_t, size)};
    lines.line = ARENA_ARRAY(arena, Str, a->n + b->n + 1);
    for (size_t i = 0; i < a->n; i++) a->id[i] = line_number(&lines, a->line[i]);
    for (size_t i = 0; i < b->n; i++) b->id[i] = line_number(&lines, b->line[i]);
}

/* ---- the least difference: furthest points on each diagonal, one more change at a time ---- */

typedef struct {
    const Side *a, *b;
    ptrdiff_t a0, b0, n, m;             /* the stretch that differs */
    int32_t *reached[DIFF_MINIMAL + 1]; /* by changes, then diagonal -d … d */
} Search;

static bool insertion_leads(const int32_t *before, ptrdiff_t d, ptrdiff_t k) {
    return k == -d || (k != d && before[k - 1 + d - 1] < before[k + 1 + d - 1]);
}

/* Whether the end is reached with d changes. */
static bool search_step(Search *s, Arena *arena, ptrdiff_t d) {
    int32_t *now = s->reached[d] = ARENA_ARRAY(arena, int32_t, 2 * (size_t)d + 1);
    const int32_t *before = d > 0 ? s->reached[d - 1] : NULL;
    for (ptrdiff_t k = -d; k <= d; k += 2) {
        ptrdiff_t x = d == 0 ? 0 : insertion_leads(before, d, k) ? before[k + 1 + d - 1] : before[k - 1 + d - 1] + 1;
        ptrdiff_t y = x - k;
        while (x < s->n && y < s->m && s->a->id[s->a0 + x] == s->b->id[s->b0 + y]) x++, y++;
        now[k + d] = (int32_t)x;
        if (x >= s->n && y >= s->m) return true;
    }
    return false;
}

static void search_trace(const Search *s, ptrdiff_t d) {
    ptrdiff_t x = s->n, y = s->m;
    for (; d >= 0; d--) {
        ptrdiff_t k = x - y, from_x = 0, from_y = 0;
        if (d > 0) {
            ptrdiff_t from = insertion_leads(s->reached[d - 1], d, k) ? k + 1 : k - 1;
            from_x = s->reached[d - 1][from + d - 1];
            from_y = from_x - from;
        }
        while (x > from_x && y > from_y) {
            x--, y--;
            s->a->kept[s->a0 + x] = s->b->kept[s->b0 + y] = true;
        }
        x = from_x, y = from_y;
    }
}

static bool keep_minimal(Search *s, Arena *arena) {
    for (ptrdiff_t d = 0; d <= DIFF_MINIMAL; d++) {
        if (search_step(s, arena, d)) {
            search_trace(s, d);
            return true;
        }
    }
    return false;
}

/* ---- texts that differ much: on to the nearest equal lines ---- */

static bool resync(const Search *s, ptrdiff_t *x, ptrdiff_t *y) {
    for (ptrdiff_t sum = 1; sum <= RESYNC; sum++) {
        for (ptrdiff_t i = 0; i <= sum; i++) {
            ptrdiff_t at = *x + i, other = *y + sum - i;
            if (at < s->n && other < s->m && s->a->id[s->a0 + at] == s->b->id[s->b0 + other]) {
                *x = at, *y = other;
                return true;
            }
        }
    }
    return false;
}

static void keep_nearest(const Search *s) {
    ptrdiff_t x = 0, y = 0;
    while (x < s->n && y < s->m) {
        if (s->a->id[s->a0 + x] == s->b->id[s->b0 + y]) {
            s->a->kept[s->a0 + x++] = s->b->kept[s->b0 + y++] = true;
        } else if (!resync(s, &x, &y)) {
            x += RESYNC / 2, y += RESYNC / 2;
        }
    }
}

static void keep_equal(Arena *arena, Side *a, Side *b) {
    size_t lo = 0, a_hi = a->n, b_hi = b->n;
    while (lo < a_hi && lo < b_hi && a->id[lo] == b->id[lo]) {
        a->kept[lo] = b->kept[lo] = true;
        lo++;
    }
    while (a_hi > lo && b_hi > lo && a->id[a_hi - 1] == b->id[b_hi - 1]) a->kept[--a_hi] = b->kept[--b_hi] = true;
    Search *s = ARENA_NEW(arena, Search);
    *s = (Search){.a = a, .b = b, .a0 = (ptrdiff_t)lo, .b0 = (ptrdiff_t)lo};
    s->n = (ptrdiff_t)(a_hi - lo), s->m = (ptrdiff_t)(b_hi - lo);
    if (!keep_minimal(s, arena)) keep_nearest(s);
}

/* ---- writing ---- */

typedef struct {
    size_t a, b, a_end, b_end;
} Hunk;

static void put_line(Buf *buf, char sign, Str line) {
    buf_char(buf, sign);
    buf_str(buf, line);
    if (!str_ends(line, STR("\n"))) buf_text(buf, "\n\\ No newline at end of file\n");
}

static void put_range(Buf *buf, size_t lo, size_t hi) {
    buf_uint(buf, hi > lo ? lo + 1 : lo);
    if (hi - lo != 1) {
        buf_char(buf, ',');
        buf_uint(buf, hi - lo);
    }
}

static void put_hunk(Buf *buf, const Side *a, const Side *b, Hunk h) {
    buf_text(buf, "@@ -");
    put_range(buf, h.a, h.a_end);
    buf_text(buf, " +");
    put_range(buf, h.b, h.b_end);
    buf_text(buf, " @@\n");
    for (size_t x = h.a, y = h.b; x < h.a_end || y < h.b_end;) {
        if (x < h.a_end && !a->kept[x]) put_line(buf, '-', a->line[x++]);
        else if (y < h.b_end && !b->kept[y]) put_line(buf, '+', b->line[y++]);
        else {
            put_line(buf, ' ', a->line[x++]);
            y++;
        }
    }
}

/* The hunk around the change at x, y: up to where twice the context stays unchanged. Moves x and y behind the change. */
static Hunk next_hunk(const Side *a, const Side *b, size_t *x, size_t *y) {
    size_t lead = *x < CONTEXT ? *x : CONTEXT;
    Hunk h = {*x - lead, *y - lead, 0, 0};
    size_t same = 0;
    while ((*x < a->n || *y < b->n) && same <= 2 * CONTEXT) {
        if (*x < a->n && !a->kept[*x]) ++*x, same = 0;
        else if (*y < b->n && !b->kept[*y]) ++*y, same = 0;
        else ++*x, ++*y, same++;
    }
    size_t back = same > CONTEXT ? same - CONTEXT : 0;
    h.a_end = *x - back, h.b_end = *y - back;
    return h;
}

void diff_unified(Buf *buf, Str name, Str before, Str after) {
    if (str_eq(before, after)) return;
    Side a = split(buf->arena, before), b = split(buf->arena, after);
    number_lines(buf->arena, &a, &b);
    keep_equal(buf->arena, &a, &b);
    buf_text(buf, "--- ");
    buf_str(buf, name);
    buf_text(buf, "\n+++ ");
    buf_str(buf, name);
    buf_char(buf, '\n');
    for (size_t x = 0, y = 0; x < a.n || y < b.n;) {
        bool changed = (x < a.n && !a.kept[x]) || (y < b.n && !b.kept[y]);
        if (changed) put_hunk(buf, &a, &b, next_hunk(&a, &b, &x, &y));
        else x++, y++;
    }
}
