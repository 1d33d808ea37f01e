/* Parses files and prints the findings of the front end alone, for the cases and the fuzz runs:
     front_driver FILE…            LINE: severity: message [id], sorted by place
     front_driver --fixes FILE…    also the fixes, as "LINE: fix (safe): COLUMN+LENGTH -> text"
     front_driver --safe FILE      applies the safe fixes: fails when a finding they belong to stays, or another comes
     front_driver --decls FILE     how many declarations were read, and how many of them are whole
     front_driver --time N FILE    parses N times: MB/s of the best, and bytes of memory for each byte of source */
#include "front/front.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static Str read_all(FILE *file) {
    size_t cap = 1u << 16, n = 0;
    char *text = malloc(cap);
    while (text != NULL) {
        size_t got = fread(text + n, 1, cap - n, file);
        if (got == 0) break;
        n += got;
        if (n == cap) text = realloc(text, cap *= 2);
    }
    if (text == NULL) abort();
    return (Str){text, n};
}

static Str read_path(const char *path) {
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        exit(2);
    }
    Str text = read_all(file);
    if (file != stdin) fclose(file);
    /* A block of just the text's size, so that a sanitizer sees a read behind its end. */
    char *exact = malloc(text.len ? text.len : 1);
    if (exact == NULL) abort();
    memcpy(exact, text.ptr, text.len);
    free((void *)(uintptr_t)text.ptr);
    return (Str){exact, text.len};
}

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    File *file;
} Unit;

static void unit_parse(Unit *unit, const char *path, Str text) {
    memset(unit, 0, sizeof *unit);
    names_open(&unit->names, &unit->arena);
    unit->sources.arena = &unit->arena;
    unit->findings.arena = &unit->arena;
    unit->findings.names = &unit->names;
    unit->job = (Job){&unit->arena, &unit->names, &unit->sources, &unit->findings};
    const Source *source = source_add(&unit->sources, str_of(path), text, false);
    unit->file = parse_file(&unit->job, source);
}

static int by_place(const void *a, const void *b) {
    const Finding *x = *(Finding *const *)a, *y = *(Finding *const *)b;
    return x->span.lo != y->span.lo ? (x->span.lo < y->span.lo ? -1 : 1) : (x->kind > y->kind) - (x->kind < y->kind);
}

static const char *const grades[] = {"safe", "review", "shown"};

static void print_findings(Unit *unit, const char *prefix, bool fixes) {
    Findings *findings = &unit->findings;
    if (findings->list.n > 0) qsort(findings->list.at, findings->list.n, sizeof *findings->list.at, by_place);
    for (size_t i = 0; i < findings->list.n; i++) {
        const Finding *finding = findings->list.at[i];
        Position at = source_position(&unit->sources, finding->span.lo);
        printf("%s%u: error: %.*s [%s]\n", prefix, at.line, (int)finding->message.len, finding->message.ptr,
               finding_info[finding->kind].id);
        for (const Fix *fix = finding->fixes; fixes && fix != NULL; fix = fix->next) {
            Position where = source_position(&unit->sources, fix->span.lo);
            printf("%s%u: fix (%s): %u+%u -> %.*s\n", prefix, where.line, grades[fix->grade], where.column,
                   fix->span.hi - fix->span.lo, (int)fix->text.len, fix->text.ptr);
        }
    }
}

static void print_decls(const Unit *unit) {
    unsigned n = 0, whole = 0;
    for (const Decl *decl = unit->file->first; decl != NULL; decl = decl->next) {
        n++;
        whole += decl->kind != DECL_BAD;
    }
    printf("%u declarations, %u whole\n", n, whole);
}

/* ---- safe fixes ---- */
typedef struct {
    const Fix *fix[1000];
    size_t n, findings; /* findings that have a safe fix */
} SafeFixes;

static int fix_by_place(const void *a, const void *b) {
    const Fix *x = *(const Fix *const *)a, *y = *(const Fix *const *)b;
    return (x->span.lo > y->span.lo) - (x->span.lo < y->span.lo);
}

static SafeFixes safe_fixes(const Unit *unit) {
    SafeFixes safe = {{NULL}, 0, 0};
    for (size_t i = 0; i < unit->findings.list.n; i++) {
        const Fix *fix = unit->findings.list.at[i]->fixes;
        if (fix != NULL && fix->grade == FIX_SAFE) safe.findings++;
        for (; fix != NULL && safe.n < 1000; fix = fix->next)
            if (fix->grade == FIX_SAFE) safe.fix[safe.n++] = fix;
    }
    qsort(safe.fix, safe.n, sizeof *safe.fix, fix_by_place);
    return safe;
}

static Str fixed_text(Unit *unit, Str text, const SafeFixes *safe) {
    uint32_t base = unit->file->source->base;
    Buf buf = {.arena = &unit->arena};
    size_t at = 0;
    for (size_t i = 0; i < safe->n; i++) {
        const Fix *fix = safe->fix[i];
        if (fix->span.lo - base < at) continue;
        buf_str(&buf, str_slice(text, at, fix->span.lo - base));
        buf_str(&buf, fix->text);
        at = fix->span.hi - base;
    }
    buf_str(&buf, str_slice(text, at, text.len));
    return buf_view(&buf);
}

static int check_safe(const char *path, Str text) {
    Unit unit, after;
    unit_parse(&unit, path, text);
    SafeFixes safe = safe_fixes(&unit);
    unit_parse(&after, path, fixed_text(&unit, text, &safe));
    size_t left = after.findings.list.n, most = unit.findings.list.n - safe.findings;
    if (left > most) {
        printf("%zu safe fixes should leave %zu findings, and leave %zu\n", safe.n, most, left);
        print_findings(&after, "", false);
    }
    arena_free(&after.arena);
    arena_free(&unit.arena);
    return left > most;
}

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void print_speed(const char *path, Str text, int times) {
    double best = 1e9, memory = 0;
    for (int i = 0; i < times; i++) {
        Unit unit;
        double start = seconds();
        unit_parse(&unit, path, text);
        double took = seconds() - start;
        if (took < best) best = took;
        memory = (double)unit.arena.total;
        arena_free(&unit.arena);
    }
    printf("%.1f MB/s, %.2f ms, tree %.2f bytes a byte\n", (double)text.len / best / 1e6, best * 1e3,
           memory / (double)(text.len ? text.len : 1));
}

int main(int argc, char **argv) {
    bool fixes = false, decls = false, safe = false;
    int times = 0, first = 1, broken = 0;
    for (; first < argc && argv[first][0] == '-' && argv[first][1] != 0; first++) {
        if (strcmp(argv[first], "--fixes") == 0) fixes = true;
        else if (strcmp(argv[first], "--decls") == 0) decls = true;
        else if (strcmp(argv[first], "--safe") == 0) safe = true;
        else if (strcmp(argv[first], "--time") == 0 && first + 1 < argc) times = atoi(argv[++first]);
    }
    for (int i = first; i < argc; i++) {
        Str text = read_path(argv[i]);
        char prefix[1024] = "";
        if (argc - first > 1) snprintf(prefix, sizeof prefix, "%s:", argv[i]);
        if (times > 0) {
            print_speed(argv[i], text, times);
        } else if (safe) {
            broken |= check_safe(argv[i], text);
        } else {
            Unit unit;
            unit_parse(&unit, argv[i], text);
            print_findings(&unit, prefix, fixes);
            if (decls) print_decls(&unit);
            broken |= unit.file->broken;
            arena_free(&unit.arena);
        }
        free((void *)(uintptr_t)text.ptr);
    }
    return broken;
}
