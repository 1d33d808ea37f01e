/* `startwright tidy`: the formatter on files. It never touches a file that has errors, that would not change, or whose formatted text would
   not mean the same. */
#include "front/equal.h"
#include "tool/commands.h"
#include "tool/diff.h"
#include "tool/files.h"
#include "tool/render.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    bool check, diff;
} Wish;

/* What one file needs while it is formatted. */
typedef struct {
    Arena arena;
    jmp_buf exhausted;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    const char *path;
    Str shown; /* the path as messages name it */
} Bench;

static void bench_open(Bench *bench, const char *path) {
    bench->arena.exhausted = &bench->exhausted;
    names_open(&bench->names, &bench->arena);
    bench->sources.arena = bench->findings.arena = &bench->arena;
    bench->findings.names = &bench->names;
    bench->job = (Job){&bench->arena, &bench->names, &bench->sources, &bench->findings};
    bench->path = path;
    bench->shown = str_of(strcmp(path, "-") ? path : "standard input");
}

static bool has_errors(const Bench *bench, const File *file) {
    bool errors = file->broken;
    for (size_t i = 0; i < bench->findings.list.n; i++)
        errors |= bench->findings.list.at[i]->severity == SEVERITY_ERROR;
    return errors;
}

/* The findings of a file that cannot be formatted, in the shape that every command gives them. */
static int tell_errors(const Bench *bench, Str text) {
    SwWorkspace *workspace = sw_open(NULL);
    SwText path = {bench->shown.ptr, bench->shown.len};
    const SwUnit *unit = NULL;
    if (workspace && sw_set_text(workspace, path, (SwText){text.ptr, text.len}))
        unit = sw_compile(workspace, &path, 1, &(SwGoal){.kind = SW_GOAL_PARSE});
    if (unit) render_findings(screen_of(stderr), unit);
    sw_close(workspace);
    return unit ? EXIT_ERRORS : EXIT_FAULT;
}

static int cannot(const Bench *bench, const char *what, Str why_not) {
    fprintf(stderr, "startwright: cannot %s %s: %.*s\n", what, bench->shown.ptr, (int)why_not.len, why_not.ptr);
    return EXIT_USAGE;
}

/* Before anything is given out: the formatted text must read as the same tree. */
static bool means_the_same(Bench *bench, const File *file, Str formatted) {
    const Source *source = source_add(&bench->sources, STR("formatted"), formatted, false);
    if (!source) return false;
    File *again = parse_file(&bench->job, source);
    return !has_errors(bench, again) && again->n_comments == file->n_comments && file_equal(&bench->job, file, again);
}

static int show(const Bench *bench, const Wish *wish, Str text, Str formatted) {
    if (wish->diff) {
        Buf buf = {.arena = bench->job.arena};
        diff_unified(&buf, bench->shown, text, formatted);
        fwrite(buf.ptr, 1, buf.len, stdout);
    } else {
        printf("%s\n", bench->shown.ptr);
    }
    return EXIT_ERRORS;
}

static int give(Bench *bench, const File *file, const Wish *wish, Str text) {
    Str formatted = print_file(&bench->job, file);
    bool changed = !str_eq(formatted, text), looking = wish->check || wish->diff;
    if (changed && !means_the_same(bench, file, formatted)) {
        fprintf(stderr,
                "startwright: %s is left as it is: formatted, it would not mean the same. Please report this fault.\n",
                bench->shown.ptr);
        return EXIT_FAULT;
    }
    if (changed && looking) return show(bench, wish, text, formatted);
    if (!strcmp(bench->path, "-") && !looking) fwrite(formatted.ptr, 1, formatted.len, stdout);
    Str why_not;
    if (changed && strcmp(bench->path, "-") && !file_replace(bench->path, formatted, &why_not))
        return cannot(bench, "write", why_not);
    return EXIT_CLEAN;
}

static int tidy_file(Bench *bench, const char *path, const Wish *wish) {
    bench_open(bench, path);
    Str text, why_not;
    if (!file_read(&bench->arena, path, &text, &why_not)) return cannot(bench, "read", why_not);
    const Source *source = source_add(&bench->sources, bench->shown, text, false);
    if (!source) return cannot(bench, "read", STR("it is too large"));
    File *file = parse_file(&bench->job, source);
    if (has_errors(bench, file)) return tell_errors(bench, text);
    return give(bench, file, wish, text);
}

static int tidy_one(const char *path, const Wish *wish) {
    Bench bench = {0};
    int status;
    if (setjmp(bench.exhausted)) {
        fprintf(stderr, "startwright: there is no memory left for %s\n", path);
        status = EXIT_FAULT;
    } else {
        status = tidy_file(&bench, path, wish);
    }
    arena_free(&bench.arena);
    return status;
}

/* The gravest of two: a fault, then files that cannot be read or written, then errors. */
static int graver(int a, int b) {
    return a > b ? a : b;
}

int tidy_command(const Options *options) {
    Wish wish = {options->value[OPTION_UNTIDY], options->value[OPTION_DIFF]};
    if (!options->n_files) {
        fprintf(stderr, "startwright tidy: name at least one file, or - for standard input\n");
        return EXIT_USAGE;
    }
    int status = EXIT_CLEAN;
    for (size_t i = 0; i < options->n_files; i++) status = graver(status, tidy_one(options->files[i], &wish));
    return status;
}
