/* `startwright why ID`: the page of a finding, or what a rule of the library asks for and why. */
#include "tool/why.h"
#include "front/front.h"
#include "tool/commands.h"
#include "tool/page.h"
#include "tool/rules.h"
#include <stdio.h>
#include <string.h>

/* ---- pages: "== id", then the page as printed; "=== NAME" begins a frame, which only the tests read ---- */
static const char *const weights[] = {"for the record", "a warning", "an error", "not decided"};

static bool is_head(Str line) {
    return str_starts(line, STR("== ")) || str_starts(line, STR("=== "));
}

static bool page_of(Str id, Str *page) {
    Str all = {why_text, why_text_size};
    for (size_t at = 0; at < all.len;) {
        Str line = page_next_line(all, &at);
        if (!str_starts(line, STR("== ")) || !str_eq(str_slice(line, 3, line.len), id)) continue;
        size_t lo = at, hi = at;
        while (at < all.len) {
            hi = at;
            if (is_head(page_next_line(all, &at))) break;
            hi = at;
        }
        *page = str_slice(all, lo, hi);
        return true;
    }
    return false;
}

static void print_head(Str id) {
    for (size_t i = 1; i < FINDING_COUNT; i++)
        if (str_eq(id, str_of(finding_info[i].id)))
            printf("%s (%s)\n%s.\n\n", finding_info[i].id, weights[finding_info[i].severity], finding_info[i].title);
}

/* "--- bad in FRAME" heads an example, "--- shown by TEST" is for the tests alone. */
static void print_page(Str id, Str page) {
    bool example = false;
    print_head(id);
    for (size_t at = 0; at < page.len;) {
        Str line = page_next_line(page, &at);
        bool head = str_starts(line, STR("--- "));
        if (str_starts(line, STR("--- shown"))) continue;
        if (head) printf("\n%s\n\n", str_starts(line, STR("--- good")) ? "A good example:" : "A bad example:");
        else if (example) page_code("    ", line);
        else printf("%.*s\n", (int)line.len, line.ptr);
        example |= head;
    }
}

/* ---- did you mean ---- */

typedef struct {
    Str wanted, best;
    size_t distance;
} Nearest;

static void consider(Nearest *nearest, Str name) {
    size_t distance = str_distance(nearest->wanted, name, 3);
    if (distance < nearest->distance) nearest->best = name, nearest->distance = distance;
}

static void consider_pages(Nearest *nearest) {
    for (size_t i = 1; i < FINDING_COUNT; i++) consider(nearest, str_of(finding_info[i].id));
}

static int unknown(Str id, const RuleList *rules) {
    Nearest nearest = {id, STR(""), 4};
    consider_pages(&nearest);
    for (size_t i = 0; i < rules->n; i++) consider(&nearest, rules->at[i].name);
    fprintf(stderr, "startwright why: nothing is called \"%.*s\"", (int)id.len, id.ptr);
    if (nearest.best.len) fprintf(stderr, "; did you mean \"%.*s\"?", (int)nearest.best.len, nearest.best.ptr);
    fputc('\n', stderr);
    return EXIT_USAGE;
}

static const LibraryRule *find_rule(const RuleList *rules, Str id) {
    for (size_t i = 0; i < rules->n; i++)
        if (str_eq(rules->at[i].name, id)) return &rules->at[i];
    return NULL;
}

static int explain(Arena *arena, const RuleList *rules, Str id) {
    Str page;
    const LibraryRule *rule = find_rule(rules, id);
    if (page_of(id, &page)) print_page(id, page);
    else if (rule) rule_print(arena, rule);
    else return unknown(id, rules);
    return EXIT_CLEAN;
}

/* Without an ID: the index. */
static void print_entry(Str id, Str title) {
    char head[32];
    snprintf(head, sizeof head, "    %-24.*s", (int)id.len, id.ptr);
    page_words(head, title, 28);
}

static void print_index(const RuleList *rules) {
    printf("Findings:\n");
    for (size_t i = 1; i < FINDING_COUNT; i++) print_entry(str_of(finding_info[i].id), str_of(finding_info[i].title));
    printf("\nRules of the library:\n");
    for (size_t i = 0; i < rules->n; i++) print_entry(rules->at[i].name, rules->at[i].title);
    printf("\n`startwright why ID` explains one of them.\n");
}

int why_command(const Options *options) {
    Arena arena = {0};
    jmp_buf exhausted;
    arena.exhausted = &exhausted;
    if (setjmp(exhausted)) {
        fprintf(stderr, "startwright: there is no memory left\n");
        return EXIT_FAULT;
    }
    RuleList rules = rules_read(&arena);
    int status = EXIT_CLEAN;
    if (!options->n_files) print_index(&rules);
    for (size_t i = 0; i < options->n_files && !status; i++) {
        if (i) putchar('\n');
        status = explain(&arena, &rules, str_of(options->files[i]));
    }
    arena_free(&arena);
    return status;
}
