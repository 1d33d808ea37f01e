/* `startwright sources FILE… [--changed SOURCE SECTION]`: what rests on which section, so that a revision of a source becomes a list
   of lines and tails to look at again. */
#include "back/back.h"
#include "base/diag.h"
#include "tool/commands.h"
#include "tool/page.h"
#include "tool/render.h"
#include "tool/run.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static Str str(SwText text) {
    return (Str){text.ptr, text.len};
}

static bool same(SwText a, SwText b) {
    return str_eq(str(a), str(b));
}

/* ---- which section ---- */

/* "4-8" holds "4-8.2", and what rests on all of 4-8 rests on 4-8.2 as well. */
static bool holds(Str outer, Str inner) {
    if (!str_starts(inner, outer)) return false;
    if (inner.len == outer.len) return true;
    char next = inner.ptr[outer.len];
    return next == '.' || next == '-' || next == ' ';
}

static bool touched(const SwLine *line, const char *source, const char *section) {
    if (!line->source.len) return false;
    if (!source) return true;
    if (!str_eq(str(line->source), str_of(source))) return false;
    return holds(str(line->section), str_of(section)) || holds(str_of(section), str(line->section));
}

/* Sections as people count: 4-8 before 4-10. */
static int compare_sections(Str a, Str b) {
    size_t i = 0, k = 0;
    while (i < a.len && k < b.len) {
        bool digits = a.ptr[i] >= '0' && a.ptr[i] <= '9' && b.ptr[k] >= '0' && b.ptr[k] <= '9';
        if (!digits && a.ptr[i] != b.ptr[k]) return (unsigned char)a.ptr[i] < (unsigned char)b.ptr[k] ? -1 : 1;
        uint64_t x = 0, y = 0;
        if (!digits) {
            i++, k++;
            continue;
        }
        for (; i < a.len && a.ptr[i] >= '0' && a.ptr[i] <= '9'; i++) x = x * 10 + (uint64_t)(a.ptr[i] - '0');
        for (; k < b.len && b.ptr[k] >= '0' && b.ptr[k] <= '9'; k++) y = y * 10 + (uint64_t)(b.ptr[k] - '0');
        if (x != y) return x < y ? -1 : 1;
    }
    return a.len - i < b.len - k ? -1 : a.len - i > b.len - k;
}

/* ---- one place of the text, with all that comes of it ---- */

static int compare_places(const SwLine *a, const SwLine *b) {
    int order = str_cmp(str(a->place.path), str(b->place.path));
    if (!order) order = a->place.lo < b->place.lo ? -1 : a->place.lo > b->place.lo;
    return order;
}

static int by_source(const void *left, const void *right) {
    const SwLine *a = *(const SwLine *const *)left, *b = *(const SwLine *const *)right;
    int order = str_cmp(str(a->source), str(b->source));
    if (!order) order = compare_sections(str(a->section), str(b->section));
    if (!order) order = (int)b->own - (int)a->own;
    if (!order) order = (int)a->kind - (int)b->kind;
    if (!order) order = compare_places(a, b);
    if (!order) order = (int)a->dropped - (int)b->dropped;
    return order ? order : a < b ? -1 : a > b;
}

static bool one_entry(const SwLine *a, const SwLine *b) {
    return same(a->source, b->source) && same(a->section, b->section) && a->kind == b->kind && a->own == b->own &&
           !compare_places(a, b);
}

/* Each once, in the order in which they come. */
static void add_once(Buf *list, SwText word) {
    if (!word.len) return;
    Str text = str(word), all = buf_view(list);
    for (size_t i = 0; i + text.len <= all.len; i++)
        if (!memcmp(all.ptr + i, text.ptr, text.len) && (!i || all.ptr[i - 1] == ' ') &&
            (i + text.len == all.len || all.ptr[i + text.len] == ','))
            return;
    if (list->len) buf_text(list, ", ");
    buf_str(list, text);
}

static void print_entry(Arena *arena, const SwLine *const *lines, size_t n) {
    static const char *const kinds[] = {"line", "limit", "rule"};
    Buf tails = {arena, NULL, 0, 0}, where = {arena, NULL, 0, 0}, words = {arena, NULL, 0, 0};
    Buf otherwise = {arena, NULL, 0, 0}, without = {arena, NULL, 0, 0};
    for (size_t i = 0; i < n; i++) {
        add_once(&tails, lines[i]->tail);
        if (lines[i]->dropped) add_once(&without, lines[i]->tail);
        else if (!same(lines[i]->words, lines[0]->words)) add_once(&otherwise, lines[i]->tail);
        if (lines[i]->kind == SW_LINE_ITEM) add_once(&where, lines[i]->of);
    }
    const SwLine *line = lines[0];
    char head[64];
    snprintf(head, sizeof head, "    %s %.*s:%u  ", kinds[line->kind],
             (int)(line->place.path.len < 40 ? line->place.path.len : 40), line->place.path.ptr, line->place.line);
    if (line->kind == SW_LINE_RULE) buf_format(&words, NULL, "%S: ", str(line->id));
    buf_str(&words, str(line->words));
    if (line->source_line) buf_format(&words, NULL, " (its line %u)", (uint64_t)line->source_line);
    if (otherwise.len) buf_format(&words, NULL, " (in other words or numbers: %S)", buf_view(&otherwise));
    if (without.len) buf_format(&words, NULL, " (not fitted: %S)", buf_view(&without));
    if (where.len) buf_format(&words, NULL, "; in %S", buf_view(&where));
    buf_format(&words, NULL, "; of %S", buf_view(&tails));
    page_words(head, buf_view(&words), 8);
}

/* Lines that name no source of their own rest on that of the heading around them: which they are is said by `ids`. */
static size_t print_by_heading(Arena *arena, const SwLine *const *lines, size_t n) {
    Buf tails = {arena, NULL, 0, 0}, where = {arena, NULL, 0, 0};
    size_t places = 0, end = 0;
    for (; end < n && !lines[end]->own && same(lines[end]->source, lines[0]->source) &&
           same(lines[end]->section, lines[0]->section);
         end++) {
        places += !end || compare_places(lines[end], lines[end - 1]) != 0;
        add_once(&tails, lines[end]->tail);
        add_once(&where, lines[end]->of);
    }
    page_words("   ",
               format_text(arena, NULL, "%u %s, by the heading around %s, in %S; of %S", (uint64_t)places,
                           places == 1 ? "line" : "lines", places == 1 ? "it" : "them", buf_view(&where),
                           buf_view(&tails)),
               8);
    return end;
}

static bool of_library(const SwLine *line) {
    return line->place.path.len < 6 || memcmp(line->place.path.ptr + line->place.path.len - 6, ".start", 6) != 0;
}

/* ---- the list ---- */

typedef struct {
    const SwLine **at;
    size_t n;
} Found;

static Found find(Arena *arena, const SwUnit *unit, const char *source, const char *section) {
    Found found = {arena_array(arena, unit->n_lines + 1, sizeof(SwLine *)), 0};
    for (size_t i = 0; i < unit->n_lines; i++)
        if (touched(&unit->lines[i], source, section) && (source || !of_library(&unit->lines[i])))
            found.at[found.n++] = &unit->lines[i];
    qsort(found.at, found.n, sizeof *found.at, by_source);
    return found;
}

static void print_found(Arena *arena, Found found) {
    for (size_t i = 0, end; i < found.n; i = end) {
        const SwLine *line = found.at[i];
        bool new_source = !i || !same(line->source, found.at[i - 1]->source);
        if (new_source)
            printf("%s%.*s: %.*s\n", i ? "\n" : "", (int)line->source.len, line->source.ptr,
                   (int)line->source_title.len, line->source_title.ptr);
        if (new_source || !same(line->section, found.at[i - 1]->section))
            printf("  %.*s\n", (int)line->section.len, line->section.ptr);
        end = i;
        if (!line->own) {
            end += print_by_heading(arena, found.at + i, found.n - i);
            continue;
        }
        for (end = i + 1; end < found.n && one_entry(line, found.at[end]); end++) {
        }
        print_entry(arena, found.at + i, end - i);
    }
}

/* Places of the text are counted, not what comes of them for each tail: a place is looked at once. */
typedef enum { ALL_PLACES, BY_HEADING, WITHOUT_SOURCE } Counted;

static bool counts(const SwLine *line, Counted which) {
    bool sourced = line->source.len > 0;
    return which == ALL_PLACES || (which == WITHOUT_SOURCE ? !sourced : sourced && !line->own);
}

static size_t count_places(Arena *arena, const SwUnit *unit, SwLineKind kind, Counted which) {
    const SwLine **at = arena_array(arena, unit->n_lines + 1, sizeof *at);
    size_t n = 0, places = 0;
    for (size_t i = 0; i < unit->n_lines; i++)
        if (unit->lines[i].kind == kind && !of_library(&unit->lines[i]) && counts(&unit->lines[i], which))
            at[n++] = &unit->lines[i];
    qsort(at, n, sizeof *at, by_source);
    for (size_t i = 0; i < n; i++) places += !i || compare_places(at[i], at[i - 1]) != 0;
    return places;
}

static void print_counts(Arena *arena, const SwUnit *unit) {
    static const char *const kinds[] = {"lines", "limits", "rules"};
    Buf text = {arena, NULL, 0, 0};
    for (int kind = SW_LINE_ITEM; kind <= SW_LINE_RULE; kind++)
        buf_format(&text, NULL, "%s%u of %u %s", kind ? ", " : "",
                   (uint64_t)count_places(arena, unit, (SwLineKind)kind, WITHOUT_SOURCE),
                   (uint64_t)count_places(arena, unit, (SwLineKind)kind, ALL_PLACES), kinds[kind]);
    buf_format(&text, NULL, "; %u lines rest on the heading around them alone",
               (uint64_t)count_places(arena, unit, SW_LINE_ITEM, BY_HEADING));
    putchar('\n');
    page_words(
        "Without a source:",
        format_text(arena, NULL, "%S. The rules of the library name theirs: startwright why RULE.", buf_view(&text)),
        0);
}

static void print_touched(Arena *arena, Found found, const char *source, const char *section) {
    Buf tails = {arena, NULL, 0, 0};
    size_t places = 0;
    for (size_t i = 0; i < found.n; i++) {
        add_once(&tails, found.at[i]->tail);
        places += !i || !one_entry(found.at[i], found.at[i - 1]);
    }
    putchar('\n');
    page_words("",
               format_text(arena, NULL,
                           "%u places rest on %s %s, on tails %S. Look at each of them again, and at the cards that "
                           "are in use.",
                           (uint64_t)places, source, section, buf_view(&tails)),
               0);
}

/* The sections of that source that something rests on. */
static void print_nothing(Arena *arena, const SwUnit *unit, const char *source, const char *section) {
    Found all = find(arena, unit, NULL, NULL);
    Buf sections = {arena, NULL, 0, 0}, sources = {arena, NULL, 0, 0};
    for (size_t i = 0; i < all.n; i++) {
        add_once(&sources, all.at[i]->source);
        if (str_eq(str(all.at[i]->source), str_of(source))) add_once(&sections, all.at[i]->section);
    }
    page_words("",
               sections.len
                   ? format_text(arena, NULL, "Nothing rests on %s %s. Sections of it that something rests on: %S.",
                                 source, section, buf_view(&sections))
                   : format_text(arena, NULL, "Nothing rests on a source called %s. Sources named here: %S.", source,
                                 sources.len ? buf_view(&sources) : STR("none")),
               0);
}

static int print_sources(Run *run, const char *source, const char *section) {
    const SwUnit *unit = run->unit;
    Arena *arena = &run->texts;
    if (!unit->n_lines) {
        render_findings(screen_of(stdout), unit);
        if (!unit->errors) printf("No aircraft stands in these files.\n");
        return unit->errors ? EXIT_ERRORS : EXIT_USAGE;
    }
    Found found = find(arena, unit, source, section);
    if (source && !found.n) {
        print_nothing(arena, unit, source, section);
        return EXIT_CLEAN;
    }
    print_found(arena, found);
    if (source) print_touched(arena, found, source, section);
    else print_counts(arena, unit);
    lines_errors(unit);
    for (size_t i = 0; caution_lines[i]; i++) page_words("", str_of(caution_lines[i]), 0);
    return EXIT_CLEAN;
}

/* The same unit with the lines that were asked for. */
static void print_json(Run *run, const char *source, const char *section) {
    SwUnit view = *run->unit;
    SwLine *lines = arena_array(&run->texts, view.n_lines + 1, sizeof *lines);
    size_t n = 0;
    for (size_t i = 0; i < view.n_lines; i++)
        if (!source || touched(&view.lines[i], source, section)) lines[n++] = view.lines[i];
    view.lines = lines;
    view.n_lines = n;
    render_json(stdout, &view, false, NULL, 0);
}

int sources_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json)) return EXIT_USAGE;
    const char *source = options->value[OPTION_CHANGED], *section = options->second[OPTION_CHANGED];
    Run run;
    int status = run_compile(&run, options, SW_GOAL_LINES);
    if (!status && json) {
        print_json(&run, source, section);
        status = run_status(run.unit);
    } else if (!status) {
        status = print_sources(&run, source, section);
    }
    run_close(&run);
    return status;
}
