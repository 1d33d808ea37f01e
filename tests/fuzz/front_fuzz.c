/* Damages good files token by token, line by line and byte by byte, and parses what comes of it.
     front_fuzz [--random N] [--every K] [--seed S] FILE…
   Every K-th token of each file is deleted, doubled and swapped with its neighbour, every K-th newline joined away; N files
   have random damage. Fails on a broken tree (a span outside the file, a list in a circle), on a file that is called
   broken without a message or the other way round, and when too many single slips give more than one message. */
#include "front/front.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    uint32_t lo, hi;
} Piece;

typedef struct {
    unsigned long files, valid, one, near, lost;
} Count;

static Arena scratch;

static Str read_path(const char *path) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        exit(2);
    }
    Buf buf = {.arena = &scratch};
    char part[4096];
    for (size_t n; (n = fread(part, 1, sizeof part, file)) > 0;) buf_str(&buf, (Str){part, n});
    fclose(file);
    return buf_view(&buf);
}

/* ---- what must hold of every result ---- */
static void fail(const char *what, Str text) {
    FILE *file = fopen("front-fuzz-failure.start", "wb");
    if (file != NULL) {
        fwrite(text.ptr, 1, text.len, file);
        fclose(file);
    }
    printf("FAIL front-fuzz: %s (the text is in front-fuzz-failure.start)\n", what);
    exit(1);
}

static void check_span(Span span, const Source *source) {
    if (span.lo > span.hi || span.hi > source->base + source->text.len + 1)
        fail("a span outside the file", source->text);
}

static void check_stmts(const Stmt *stmt, const Source *source, unsigned depth) {
    if (depth > 1000) fail("statements nested without end", source->text);
    for (unsigned long n = 0; stmt != NULL; stmt = stmt->next) {
        if (++n > source->text.len) fail("statements in a circle", source->text);
        check_span(stmt->span, source);
        if (stmt->more == NULL) fail("a statement without its rest", source->text);
        if (stmt->more->block != NULL) check_stmts(stmt->more->block->first, source, depth + 1);
        if (stmt->more->between != NULL) check_stmts(stmt->more->between->first, source, depth + 1);
        check_stmts(stmt->more->parts, source, depth + 1);
        for (const Outcome *o = stmt->outcomes; o != NULL; o = o->next)
            if (o->action.block != NULL) check_stmts(o->action.block->first, source, depth + 1);
    }
}

static unsigned check_file(const File *file) {
    unsigned n = 0;
    for (const Decl *decl = file->first; decl != NULL; decl = decl->next) {
        if (++n > file->source->text.len) fail("declarations in a circle", file->source->text);
        check_span(decl->span, file->source);
        if (decl->kind == DECL_PROCEDURE || decl->kind == DECL_DRILL || decl->kind == DECL_GROUP)
            check_stmts(decl->u.parts, file->source, 0);
    }
    return n;
}

typedef struct {
    unsigned findings, decls, first_line;
} Result;

static Result parse(Str text) {
    char *exact = malloc(text.len ? text.len : 1); /* so that a sanitizer sees a read behind the end */
    if (exact == NULL) abort();
    memcpy(exact, text.ptr, text.len);
    Arena arena = {0};
    Names names;
    Sources sources = {.arena = &arena};
    Findings findings = {.arena = &arena, .names = &names};
    Job job = {&arena, &names, &sources, &findings};
    names_open(&names, &arena);
    const Source *source = source_add(&sources, STR("fuzz.start"), (Str){exact, text.len}, false);
    const File *file = parse_file(&job, source);
    Result result = {.findings = (unsigned)findings.list.n, .decls = check_file(file)};
    if (file->broken != (findings.list.n > 0)) fail("broken without a message, or a message in a good file", text);
    for (size_t i = 0; i < findings.list.n; i++) check_span(findings.list.at[i]->span, source);
    if (result.findings > 0) result.first_line = source_position(&sources, findings.list.at[0]->span.lo).line;
    arena_free(&arena);
    free(exact);
    return result;
}

/* ---- single slips ---- */
static int class_of(unsigned char c) {
    if (c == '\n') return 1;
    if (c == ' ' || c == '\t') return 2;
    if ((c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '-' || c == '.' ||
        c == '/' || c >= 128)
        return 3;
    return 4;
}

static size_t cut(Str text, Piece *into) {
    size_t n = 0;
    for (uint32_t i = 0; i < text.len;) {
        uint32_t start = i;
        unsigned char c = (unsigned char)text.ptr[i];
        if (c == '#') {
            while (i < text.len && text.ptr[i] != '\n') i++;
            continue;
        }
        if (c == '"') {
            i++;
            while (i < text.len && text.ptr[i] != '"' && text.ptr[i] != '\n') i += text.ptr[i] == '\\' ? 2 : 1;
            i++;
        } else {
            int class = class_of(c);
            do i++;
            while (class == 3 && i < text.len && class_of((unsigned char)text.ptr[i]) == 3);
        }
        if (i > text.len) i = (uint32_t)text.len;
        if (class_of(c) != 2) into[n++] = (Piece){start, i};
    }
    return n;
}

static unsigned line_of(Str text, uint32_t at) {
    unsigned line = 1;
    for (uint32_t i = 0; i < at; i++) line += text.ptr[i] == '\n';
    return line;
}

static void count(Count *counts, Str damaged, unsigned line, unsigned decls) {
    Result result = parse(damaged);
    counts->files++;
    if (result.findings == 0) counts->valid++;
    if (result.findings == 1) {
        counts->one++;
        counts->near += result.first_line + 1 >= line && result.first_line <= line + 1;
    }
    counts->lost += result.findings > 0 && result.decls + 1 < decls;
    if (getenv("FUZZ_SHOW") != NULL && (result.findings > 1 || (result.findings > 0 && result.decls + 1 < decls))) {
        static unsigned shown;
        char name[64];
        snprintf(name, sizeof name, "%s-%u-line-%u.start", getenv("FUZZ_SHOW"), shown++, line);
        FILE *file = fopen(name, "wb");
        if (file != NULL) {
            fwrite(damaged.ptr, 1, damaged.len, file);
            fclose(file);
        }
    }
}

static Str joined(Str text, const Piece *order, const uint32_t *from_to, char *room) {
    /* from_to: the pieces from[0]..from[1] of the text are replaced by up to two pieces of `order`. */
    size_t n = from_to[0];
    memcpy(room, text.ptr, n);
    for (int i = 0; i < 2 && order[i].hi != 0; i++) {
        if (i > 0) room[n++] = ' ';
        memcpy(room + n, text.ptr + order[i].lo, order[i].hi - order[i].lo);
        n += order[i].hi - order[i].lo;
    }
    memcpy(room + n, text.ptr + from_to[1], text.len - from_to[1]);
    return (Str){room, n + text.len - from_to[1]};
}

static void slips(Str text, unsigned every, unsigned *turn, Count *counts) {
    Piece *pieces = malloc((text.len + 1) * sizeof *pieces);
    char *room = malloc(2 * text.len + 16);
    if (pieces == NULL || room == NULL) abort();
    size_t n = cut(text, pieces);
    unsigned decls = parse(text).decls;
    for (size_t i = 0; i < n; i++) {
        if ((*turn)++ % every != 0) continue;
        Piece piece = pieces[i];
        unsigned line = line_of(text, piece.lo);
        Piece none = {0, 0};
        bool newline = text.ptr[piece.lo] == '\n';
        uint32_t gap[2] = {piece.lo, piece.hi};
        count(&counts[newline],
              joined(text, (Piece[]){newline ? (Piece){text.len > 0 ? piece.lo : 0, piece.lo} : none, none}, gap, room),
              line, decls);
        if (newline) continue;
        count(&counts[0], joined(text, (Piece[]){piece, piece}, gap, room), line, decls);
        if (i + 1 < n && text.ptr[pieces[i + 1].lo] != '\n') {
            uint32_t both[2] = {piece.lo, pieces[i + 1].hi};
            count(&counts[0], joined(text, (Piece[]){pieces[i + 1], piece}, both, room), line, decls);
        }
    }
    free(pieces);
    free(room);
}

/* ---- random damage ---- */
static uint64_t state = 1;
static uint32_t dice(uint32_t sides) {
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (uint32_t)(state >> 33) % sides;
}

static const char *const bits[] = {
    "{",
    "}",
    "(",
    ")",
    ",",
    ":",
    "\"",
    "\\",
    "\n",
    "\r",
    "..",
    "-",
    "'",
    "#",
    "%",
    ";",
    "\xE2\x80\x93",
    "\xE2\x80\x9C",
    "\xE2\x80\x9D",
    "\xEF\xBB\xBF",
    "\xC2\xA0",
    "\xE2\x80\xAE",
    "\xFF",
    "\xC3",
    "not ",
    "or else ",
    "otherwise ",
    "if ",
    "else if ",
    "until ",
    "phase ",
    "cases {",
    "try {",
    " in any drill ",
    "1.",
    "-5",
    "2031-1-1",
    "800-",
    "10s",
    "1,5",
    "\n}",
    "{ {",
    "\"{\"",
    "((((((",
    "}}}}",
};

static Str random_damage(Str text, char *room) {
    size_t n = text.len;
    memcpy(room, text.ptr, n);
    for (uint32_t k = dice(8) + 1; k > 0 && n > 0; k--) {
        uint32_t at = dice((uint32_t)n);
        uint32_t kind = dice(5);
        if (kind == 0) {
            room[at] = (char)dice(256);
        } else if (kind == 1) {
            uint32_t length = dice(40);
            if (at + length > n) length = (uint32_t)n - at;
            memmove(room + at, room + at + length, n - at - length);
            n -= length;
        } else {
            const char *bit = kind == 4 ? "\0" : bits[dice(sizeof bits / sizeof *bits)];
            size_t length = kind == 4 ? 1 : strlen(bit);
            memmove(room + at + length, room + at, n - at);
            memcpy(room + at, bit, length);
            n += length;
        }
    }
    return (Str){room, n};
}

static void print_count(const char *what, const Count *c) {
    unsigned long bad = c->files - c->valid;
    printf("%s: %lu files, %lu still valid; of the rest %.1f %% one message, %.1f %% of those on the line or beside "
           "it, %lu lost "
           "more than one declaration\n",
           what, c->files, c->valid, bad ? 100.0 * (double)c->one / (double)bad : 100.0,
           c->one ? 100.0 * (double)c->near / (double)c->one : 100.0, c->lost);
}

int main(int argc, char **argv) {
    unsigned every = 1, random = 0, turn = 0;
    int first = 1;
    for (; first + 1 < argc && argv[first][0] == '-'; first += 2) {
        unsigned long value = strtoul(argv[first + 1], NULL, 10);
        if (strcmp(argv[first], "--every") == 0) every = (unsigned)value;
        else if (strcmp(argv[first], "--random") == 0) random = (unsigned)value;
        else if (strcmp(argv[first], "--seed") == 0) state = value | 1;
    }
    Count counts[2] = {{0, 0, 0, 0, 0}, {0, 0, 0, 0, 0}};
    for (int i = first; i < argc; i++) {
        Str text = read_path(argv[i]);
        if (parse(text).findings > 0) fail("a finding in a good file", text);
        slips(text, every, &turn, counts);
        char *room = malloc(text.len + 1024);
        if (room == NULL) abort();
        for (unsigned k = 0; k < random / (unsigned)(argc - first); k++) parse(random_damage(text, room));
        free(room);
    }
    print_count("tokens deleted, doubled, swapped", &counts[0]);
    print_count("newlines joined away", &counts[1]);
    arena_free(&scratch);
    unsigned long bad = counts[0].files - counts[0].valid;
    return counts[0].one * 100 < bad * 97;
}
