#include "base/source.h"
#include "base/utf8.h"
#include <string.h>

/* A place on a line and what was counted up to it. */
typedef struct SourceMemo {
    const Source *source;
    uint32_t at; /* offset in the text */
    Position position;
} SourceMemo;

Source *source_add(Sources *sources, Str path, Str text, bool library) {
    uint32_t base = sources->next_base ? sources->next_base : 1;
    if (text.len >= UINT32_MAX - base) return NULL;
    if (sources->n == sources->cap) {
        size_t old = sources->cap * sizeof *sources->at;
        sources->cap = sources->cap ? sources->cap * 2 : 16;
        sources->at = arena_resize(sources->arena, sources->at, old, sources->cap * sizeof *sources->at);
    }
    Source *source = ARENA_NEW(sources->arena, Source);
    *source = (Source){.path = str_copy(sources->arena, path), .text = text, .base = base, .library = library};
    sources->at[sources->n++] = source;
    sources->next_base = base + (uint32_t)text.len + 1;
    return source;
}

static Source *find(const Sources *sources, uint32_t offset) {
    uint32_t lo = 0, hi = sources->n;
    while (lo < hi) {
        uint32_t middle = lo + (hi - lo) / 2;
        if (sources->at[middle]->base <= offset) lo = middle + 1;
        else hi = middle;
    }
    if (!lo) return NULL;
    Source *source = sources->at[lo - 1];
    return offset - source->base <= source->text.len ? source : NULL;
}

const Source *source_at(const Sources *sources, uint32_t offset) {
    return find(sources, offset);
}

/* The offset behind the line end at or after `at`; the text's length when there is none. LF, CR LF and CR end a line. */
static size_t line_after(Str text, size_t at, bool has_cr) {
    const char *from = text.ptr + at;
    const char *lf = memchr(from, '\n', text.len - at);
    size_t reach = lf ? (size_t)(lf - from) : text.len - at;
    const char *cr = has_cr ? memchr(from, '\r', reach) : NULL;
    if (cr && cr + 1 != lf) return (size_t)(cr - text.ptr) + 1;
    return lf ? (size_t)(lf - text.ptr) + 1 : text.len;
}

static size_t lines_fill(Str text, bool has_cr, uint32_t *lines) {
    size_t n = 0, at = 0;
    for (;;) {
        if (lines) lines[n] = (uint32_t)at;
        n++;
        if (at == text.len) break;
        size_t next = line_after(text, at, has_cr);
        char last = text.ptr[next - 1];
        if (next == text.len && last != '\n' && last != '\r') break;
        at = next;
    }
    return n;
}

static void lines_index(Sources *sources, Source *source) {
    if (source->lines) return;
    bool has_cr = source->text.len && memchr(source->text.ptr, '\r', source->text.len);
    size_t n = lines_fill(source->text, has_cr, NULL);
    source->lines = ARENA_ARRAY(sources->arena, uint32_t, n);
    source->n_lines = (uint32_t)lines_fill(source->text, has_cr, source->lines);
}

static uint32_t line_of(const Source *source, uint32_t at) {
    uint32_t lo = 0, hi = source->n_lines;
    while (hi - lo > 1) {
        uint32_t middle = lo + (hi - lo) / 2;
        if (source->lines[middle] <= at) lo = middle;
        else hi = middle;
    }
    return lo;
}

static void count_to(SourceMemo *memo, uint32_t at) {
    Str text = memo->source->text;
    Position *position = &memo->position;
    while (memo->at < at) {
        Utf8 one = utf8_decode(text, memo->at);
        if (one.size > at - memo->at) break; /* inside a character: its beginning */
        position->column++;
        position->utf16 += one.code > 0xFFFF ? 2 : 1;
        position->width = one.code == '\t' ? (position->width / 8 + 1) * 8 : position->width + utf8_width(one.code);
        memo->at += one.size;
    }
}

Position source_position(Sources *sources, uint32_t offset) {
    Source *source = find(sources, offset);
    if (!source) return (Position){0};
    lines_index(sources, source);
    uint32_t at = offset - source->base;
    uint32_t line = line_of(source, at);
    if (!sources->memo) sources->memo = ARENA_NEW(sources->arena, SourceMemo);
    SourceMemo *memo = sources->memo;
    if (memo->source != source || memo->position.line != line + 1 || memo->at > at) {
        *memo = (SourceMemo){source, source->lines[line], {.source = source, .line = line + 1, .column = 1}};
    }
    count_to(memo, at);
    return memo->position;
}

Str source_line(Sources *sources, const Source *source, uint32_t line) {
    Source *own = find(sources, source->base);
    if (!own) return (Str){"", 0};
    lines_index(sources, own);
    if (!line || line > own->n_lines) return (Str){"", 0};
    size_t lo = own->lines[line - 1];
    size_t hi = line < own->n_lines ? own->lines[line] : own->text.len;
    if (hi > lo && own->text.ptr[hi - 1] == '\n') hi--;
    if (hi > lo && own->text.ptr[hi - 1] == '\r') hi--;
    return str_slice(own->text, lo, hi);
}

Str span_text(const Sources *sources, Span span) {
    const Source *source = find(sources, span.lo);
    if (!source || span.hi < span.lo) return (Str){"", 0};
    return str_slice(source->text, span.lo - source->base, span.hi - source->base);
}

Span span_join(Span a, Span b) {
    if (!a.lo && !a.hi) return b;
    if (!b.lo && !b.hi) return a;
    return (Span){a.lo < b.lo ? a.lo : b.lo, a.hi > b.hi ? a.hi : b.hi};
}
