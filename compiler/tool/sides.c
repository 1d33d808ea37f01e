#include "tool/sides.h"
#include "tool/files.h"
#include "tool/render.h"
#include "tool/run.h"
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

typedef struct {
    const char **at;
    size_t n;
} Paths;

/* ---- folders ---- */

static int by_name(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static const char *joined(Arena *arena, const char *folder, const char *name) {
    Buf path = {arena, NULL, 0, 0};
    buf_text(&path, folder);
    if (path.len && path.ptr[path.len - 1] != '/') buf_char(&path, '/');
    buf_text(&path, name);
    buf_char(&path, 0);
    return buf_finish(&path).ptr;
}

/* The files of a folder whose names end so, by name. */
static Paths files_of(Arena *arena, const char *folder, const char *ending) {
    VEC(const char *) found = {0};
    DIR *open = opendir(folder);
    for (struct dirent *at; open && (at = readdir(open));)
        if (str_ends(str_of(at->d_name), str_of(ending))) {
            const char *path = joined(arena, folder, at->d_name);
            vec_push(arena, &found, path);
        }
    if (open) closedir(open);
    if (found.n) qsort(found.at, found.n, sizeof *found.at, by_name);
    return (Paths){found.at, found.n};
}

/* What was issued goes before what it was made from: a folder may hold both. */
static Paths files_named(Arena *arena, const char *path) {
    static const char *const endings[] = {".lines.json", ".table.json", ".start"};
    struct stat is;
    Paths found = {0};
    if (stat(path, &is) || !S_ISDIR(is.st_mode)) {
        found = (Paths){ARENA_ARRAY(arena, const char *, 1), 1};
        found.at[0] = path;
        return found;
    }
    for (size_t i = 0; i < sizeof endings / sizeof *endings && !found.n; i++) found = files_of(arena, path, endings[i]);
    if (!found.n)
        fprintf(stderr, "startwright changes: in the folder %s there are neither sources (.start) nor tables\n", path);
    return found;
}

/* ---- one side for each tail ---- */

static void add_side(Sides *sides, const Side *side) {
    for (size_t i = 0; i < sides->at.n; i++) {
        if (!str_eq(sides->at.at[i]->paper.tail, side->paper.tail)) continue;
        if (side->paper.revision > sides->at.at[i]->paper.revision) sides->at.at[i] = side;
        return;
    }
    vec_push(&sides->arena, &sides->at, side);
}

static bool wanted(const Options *options, Str tail) {
    const char *only = options->value[OPTION_TAIL];
    return !only || str_eq(tail, str_of(only));
}

static int read_tables(Sides *sides, const Options *options, Paths paths) {
    for (size_t i = 0; i < paths.n; i++) {
        Str text, why_not;
        const Side *side = NULL;
        if (file_read(&sides->arena, paths.at[i], &text, &why_not)) side = side_read(&sides->arena, text, &why_not);
        if (!side) {
            fprintf(stderr, "startwright changes: cannot compare %s: %.*s\n", paths.at[i], (int)why_not.len,
                    why_not.ptr);
            return EXIT_USAGE;
        }
        if (wanted(options, side->paper.tail)) add_side(sides, side);
    }
    return 0;
}

/* ---- sources ---- */

static bool collect(void *context, const char *bytes, size_t n) {
    buf_str(context, (Str){bytes, n});
    return true;
}

/* What is compared is what a table would say: read back from its text. */
static int emit_side(Sides *sides, const SwUnit *unit, size_t output) {
    Buf bytes = {&sides->arena, NULL, 0, 0};
    SwText because = {0};
    Str why_not = {0};
    bool made = sw_emit(unit, output, (SwSink){&bytes, collect}, &because);
    const Side *side = made ? side_read(&sides->arena, buf_view(&bytes), &why_not) : NULL;
    if (side) add_side(sides, side);
    else fprintf(stderr, "startwright changes: there is no memory left\n");
    return side ? 0 : EXIT_FAULT;
}

static int take_unit(Sides *sides, const SwUnit *unit, const char *path) {
    int status = 0;
    for (size_t i = 0; i < unit->n_outputs && !status; i++)
        if (str_eq((Str){unit->outputs[i].kind.ptr, unit->outputs[i].kind.len}, STR("lines")))
            status = emit_side(sides, unit, i);
    if (status || unit->n_outputs || !unit->errors) return status;
    render_findings(screen_of(stderr), unit);
    fprintf(stderr, "startwright changes: %s cannot be compared: the errors above are open.\n", path);
    return EXIT_USAGE;
}

static int read_source(Sides *sides, const Options *options, const char *path) {
    Options of_side = *options;
    of_side.files = &path;
    of_side.n_files = 1;
    of_side.value[OPTION_DRAFT] = ""; /* what is broken is compared as well */
    Run run;
    int status = run_compile(&run, &of_side, SW_GOAL_ISSUE);
    if (!status) status = take_unit(sides, run.unit, path);
    run_close(&run);
    return status;
}

/* Each by itself: files of a fleet need not know each other. One that is only there for others has no aircraft. */
static int read_sources(Sides *sides, const Options *options, Paths paths) {
    int status = 0;
    for (size_t i = 0; i < paths.n && !status; i++) status = read_source(sides, options, paths.at[i]);
    return status;
}

int sides_read(Sides *sides, const Options *options, const char *path) {
    memset(sides, 0, sizeof *sides);
    Paths paths = files_named(&sides->arena, path);
    if (!paths.n) return EXIT_USAGE;
    bool sources = str_ends(str_of(paths.at[0]), STR(".start"));
    int status = sources ? read_sources(sides, options, paths) : read_tables(sides, options, paths);
    if (status || sides->at.n) return status;
    fprintf(stderr, "startwright changes: no such aircraft stands in %s\n", path);
    return EXIT_USAGE;
}

void sides_close(Sides *sides) {
    arena_free(&sides->arena);
}
