/* `startwright ids FILE… [PROCEDURE]`: how the lines of procedures and drills are named, tail by tail. */
#include "base/diag.h"
#include "tool/commands.h"
#include "tool/page.h"
#include "tool/render.h"
#include "tool/run.h"
#include <stdio.h>
#include <string.h>

enum { NAME_COLUMN = 44, DEEPEST = 8 };

/* The lines of one procedure or drill of one tail. */
typedef struct {
    const SwLine *at;
    size_t n;
    bool told; /* with an earlier one that is the very same */
} Listed;
typedef struct {
    Listed *at;
    size_t n;
} ListedAll;

static Str str(SwText text) {
    return (Str){text.ptr, text.len};
}

static bool same(SwText a, SwText b) {
    return str_eq(str(a), str(b));
}

static ListedAll split(Arena *arena, const SwUnit *unit, const char *wanted) {
    ListedAll all = {arena_array(arena, unit->n_lines + 1, sizeof(Listed)), 0};
    for (size_t i = 0; i < unit->n_lines; i++) {
        const SwLine *line = &unit->lines[i], *before = i ? &unit->lines[i - 1] : NULL;
        if (line->kind != SW_LINE_ITEM || (wanted && !str_eq(str(line->of), str_of(wanted)))) continue;
        bool first = !all.n || !before || !same(line->tail, before->tail) || !same(line->of, before->of) ||
                     !same(line->engine, before->engine);
        if (first) all.at[all.n++] = (Listed){line, 0, false};
        all.at[all.n - 1].n++;
    }
    return all;
}

static bool same_lines(const Listed *a, const Listed *b) {
    bool equal = a->n == b->n && same(a->at->of, b->at->of);
    for (size_t i = 0; equal && i < a->n; i++)
        equal = same(a->at[i].id, b->at[i].id) && same(a->at[i].words, b->at[i].words) &&
                a->at[i].depth == b->at[i].depth && a->at[i].dropped == b->at[i].dropped;
    return equal;
}

static void print_line(Arena *arena, const SwLine *line) {
    Buf head = {arena, NULL, 0, 0};
    buf_repeat(&head, ' ', 2 + 2 * (line->depth < DEEPEST ? line->depth : DEEPEST));
    if (line->times > 1 && line->in_phase == 1 && line->phase.len) buf_format(&head, NULL, "%S.", str(line->phase));
    buf_str(&head, str(line->id));
    buf_text(&head, "  ");
    buf_char(&head, 0);
    Buf words = {arena, NULL, 0, 0};
    buf_str(&words, str(line->words));
    if (line->dropped) buf_text(&words, " (not fitted)");
    else if (line->times > 1 && (line->in_phase > 1 || !line->phase.len))
        buf_format(&words, NULL, " (%u lines have this id: label the one that is meant)", (uint64_t)line->times);
    page_words(head.ptr, buf_view(&words), NAME_COLUMN);
}

static void print_all(Arena *arena, ListedAll all) {
    for (size_t i = 0; i < all.n; i++) {
        Listed *list = &all.at[i];
        if (list->told) continue;
        printf("%s%.*s \"%.*s\" (%.*s", i ? "\n" : "", (int)list->at->of.len, list->at->of.ptr,
               (int)list->at->of_title.len, list->at->of_title.ptr, (int)list->at->tail.len, list->at->tail.ptr);
        for (size_t k = i + 1; k < all.n; k++) {
            if (all.at[k].told || !same_lines(list, &all.at[k])) continue;
            all.at[k].told = true;
            if (!same(list->at->tail, all.at[k].at->tail))
                printf(", %.*s", (int)all.at[k].at->tail.len, all.at[k].at->tail.ptr);
        }
        puts(")");
        for (size_t k = 0; k < list->n; k++) print_line(arena, &list->at[k]);
    }
}

/* A word without a dot or a slash is no file's name. */
static bool is_name(const char *argument) {
    return !strpbrk(argument, "./");
}

static const char *nearest_name(const SwUnit *unit, const char *wanted) {
    static char found[256];
    size_t least = 4;
    for (size_t i = 0; i < unit->n_lines; i++) {
        SwText of = unit->lines[i].of;
        size_t distance = str_distance(str_of(wanted), str(of), 3);
        if (unit->lines[i].kind != SW_LINE_ITEM || distance >= least || of.len >= sizeof found) continue;
        least = distance;
        memcpy(found, of.ptr, of.len);
        found[of.len] = 0;
    }
    return least < 4 ? found : NULL;
}

static int print_ids(Run *run, const char *wanted) {
    const SwUnit *unit = run->unit;
    if (!unit->n_lines) {
        render_findings(screen_of(stdout), unit);
        if (!unit->errors) printf("No aircraft stands in these files.\n");
        return unit->errors ? EXIT_ERRORS : EXIT_USAGE;
    }
    ListedAll all = split(&run->texts, unit, wanted);
    if (!all.n && wanted) {
        const char *near = nearest_name(unit, wanted);
        fprintf(stderr, "startwright ids: no tail here has a procedure or drill called \"%s\"%s%s%s\n", wanted,
                near ? "; did you mean \"" : "", near ? near : "", near ? "\"?" : "");
        return EXIT_USAGE;
    }
    print_all(&run->texts, all);
    lines_errors(unit);
    return EXIT_CLEAN;
}

int ids_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json)) return EXIT_USAGE;
    Options files = *options;
    const char *wanted = NULL;
    files.n_files = 0;
    for (size_t i = 0; i < options->n_files; i++) {
        if (!is_name(options->files[i])) files.files[files.n_files++] = options->files[i];
        else if (!wanted) wanted = options->files[i];
        else {
            fprintf(stderr, "startwright ids: name one procedure or drill, not \"%s\" and \"%s\"\n", wanted,
                    options->files[i]);
            return EXIT_USAGE;
        }
    }
    Run run;
    int status = run_compile(&run, &files, SW_GOAL_LINES);
    if (!status && json) {
        render_json(stdout, run.unit, false, NULL, 0);
        status = run_status(run.unit);
    } else if (!status) {
        status = print_ids(&run, wanted);
    }
    run_close(&run);
    return status;
}
