#include "tool/rules.h"
#include "front/front.h"
#include "tool/page.h"
#include "tool/why.h"
#include "workspace/library.h"
#include <stdio.h>

/* ---- reading the library's gate files ---- */

typedef struct {
    Job job;
    Names names;
    Sources sources;
    Findings findings;
    VEC(LibraryRule) rules;
    NameMap source_titles; /* of DECL_SOURCE, by name: a Str */
} Reader;

static Str raw(Reader *reader, Text text) {
    return text.span.hi ? text_raw(&reader->job, text) : STR("");
}

static void read_source(Reader *reader, const Decl *decl) {
    Str *title = ARENA_NEW(reader->job.arena, Str);
    *title = raw(reader, decl->text);
    if (decl->more->text2.span.hi)
        *title = format_text(reader->job.arena, reader->job.names, "%S, %S", *title, raw(reader, decl->more->text2));
    map_put(&reader->source_titles, decl->name.name, title);
}

static Str source_words(Reader *reader, const Why *why) {
    if (!why || !why->source.name) return STR("");
    const Str *title = map_get(&reader->source_titles, why->source.name);
    Str name = title ? *title : name_text(reader->job.names, why->source.name);
    return format_text(reader->job.arena, reader->job.names, "%S; %N", name, why->section.name);
}

static void read_gate(Reader *reader, const Decl *decl, Str file) {
    const Gate *gate = decl->u.gate;
    LibraryRule rule = {
        .name = name_text(reader->job.names, decl->name.name), .title = raw(reader, decl->text), .file = file};
    const Why *whys[] = {gate->why, gate->rule_why, gate->severity_why, gate->applies_why};
    for (size_t i = 0; i < sizeof whys / sizeof *whys; i++) {
        if (!whys[i]) continue;
        if (!rule.because.len) rule.because = raw(reader, whys[i]->because);
        if (!rule.source.len) rule.source = source_words(reader, whys[i]);
    }
    rule.severity = gate->severity.name ? name_text(reader->job.names, gate->severity.name) : STR("should");
    rule.text = span_text(&reader->sources, decl->span);
    vec_push(reader->job.arena, &reader->rules, rule);
}

static void read_file(Reader *reader, const LibraryFile *file, DeclKind wanted) {
    const Source *source = source_add(&reader->sources, str_of(file->path), (Str){file->text, file->len}, true);
    if (!source) return;
    for (const Decl *decl = parse_file(&reader->job, source)->first; decl; decl = decl->next) {
        if (decl->kind != wanted) continue;
        if (wanted == DECL_SOURCE) read_source(reader, decl);
        else read_gate(reader, decl, str_of(file->path));
    }
}

RuleList rules_read(Arena *arena) {
    Reader *reader = ARENA_NEW(arena, Reader);
    names_open(&reader->names, arena);
    reader->sources.arena = arena;
    reader->source_titles.arena = arena;
    reader->findings.arena = arena;
    reader->findings.names = &reader->names;
    reader->job = (Job){arena, &reader->names, &reader->sources, &reader->findings};
    for (size_t i = 0; i < library_file_count; i++) read_file(reader, &library_files[i], DECL_SOURCE);
    for (size_t i = 0; i < library_file_count; i++) read_file(reader, &library_files[i], DECL_GATE);
    return (RuleList){reader->rules.at, reader->rules.n};
}

/* ---- the twins: a good text and a bad one that differ by the least edit ---- */

static Str trim_end(Str text) {
    while (text.len && text.ptr[text.len - 1] == ' ') text.len--;
    return text;
}

static bool find_mark(Str line, const char *mark, size_t *at) {
    for (size_t i = 0; i + 2 <= line.len; i++)
        if (line.ptr[i] == mark[0] && line.ptr[i + 1] == mark[1]) {
            *at = i;
            return true;
        }
    return false;
}

typedef struct {
    Str text;
    bool differs, found_out; /* only in this twin; where the bad one is found out */
} TwinLine;
typedef VEC(TwinLine) TwinLines;

/* A line without its marks; false where it is none of that twin's. */
static bool twin_line(Str line, bool bad, TwinLine *out) {
    size_t at;
    *out = (TwinLine){.text = line};
    if (str_starts(line, STR("#+"))) {
        if (!bad) return false;
        out->differs = true;
        out->text = str_slice(line, line.len > 2 ? 3 : 2, line.len);
    }
    if (find_mark(out->text, "#-", &at)) {
        if (bad) return false;
        out->differs = true;
        out->text = str_slice(out->text, 0, at);
    }
    if (find_mark(out->text, "#!", &at)) {
        out->found_out = bad;
        out->text = str_slice(out->text, 0, at);
    }
    out->text = trim_end(out->text);
    return true;
}

/* Where the bad twin only lacks a line, a remark stands for it. */
static void note_missing(Arena *arena, TwinLines *lines, bool *missing) {
    if (*missing && lines->n && !lines->at[lines->n - 1].differs)
        vec_push(arena, lines,
                 ((TwinLine){.text = STR("    # what stands here in the good example is missing"), .differs = true}));
    *missing = false;
}

static TwinLines twin_read(Arena *arena, Str twin, bool bad) {
    TwinLines lines = {0};
    bool missing = false;
    for (size_t at = 0; at < twin.len;) {
        TwinLine line;
        if (!twin_line(page_next_line(twin, &at), bad, &line)) {
            missing |= bad;
            continue;
        }
        if (str_starts(line.text, STR("use ")) || str_starts(line.text, STR("# "))) continue;
        if (!line.text.len && !lines.n) continue;
        if (line.differs) missing = false;
        else note_missing(arena, &lines, &missing);
        vec_push(arena, &lines, line);
    }
    note_missing(arena, &lines, &missing);
    return lines;
}

/* Shown are the heads of procedures and drills, and what stands near the lines that matter. */
static bool shown(const TwinLines *lines, size_t i) {
    enum { NEAR = 3, SHORT = 14 };
    if (lines->n <= SHORT || (lines->at[i].text.len && lines->at[i].text.ptr[0] != ' ')) return true;
    for (size_t k = i > NEAR ? i - NEAR : 0; k < lines->n && k <= i + NEAR; k++)
        if (lines->at[k].differs || lines->at[k].found_out) return true;
    return false;
}

static void print_twin(Arena *arena, Str twin, bool bad) {
    TwinLines lines = twin_read(arena, twin, bad);
    bool left_out = false;
    printf("\n%s\n\n",
           bad ? "A bad example (> differs from the good one, ! is where it is found out):" : "A good example:");
    for (size_t i = 0; i < lines.n; i++) {
        const TwinLine *line = &lines.at[i];
        if (!shown(&lines, i)) {
            if (!left_out) printf("        …\n");
            left_out = true;
            continue;
        }
        left_out = false;
        page_code(line->differs && line->found_out ? " >! "
                  : line->differs                  ? "  > "
                  : line->found_out                ? "  ! "
                                                   : "    ",
                  line->text);
    }
}

static bool find_twin(Str name, Str *twin) {
    Str all = {twins_text, twins_text_size};
    for (size_t at = 0; at < all.len;) {
        Str line = page_next_line(all, &at);
        if (!str_starts(line, STR("=== ")) || !str_eq(str_slice(line, 4, line.len), name)) continue;
        size_t lo = at, hi = at;
        while (at < all.len) {
            hi = at;
            if (str_starts(page_next_line(all, &at), STR("=== "))) break;
            hi = at;
        }
        *twin = str_slice(all, lo, hi);
        return true;
    }
    return false;
}

static void print_field(const char *what, Str text) {
    if (text.len) page_words(what, text, 8);
}

static const char *rank_words(Str severity) {
    if (str_eq(severity, STR("must"))) return "must: broken, it is an error and holds the cards back";
    return str_eq(severity, STR("note")) ? "note: broken, it is put on record" : "should: broken, it is a warning";
}

void rule_print(Arena *arena, const LibraryRule *rule) {
    Str twin;
    printf("%.*s (a rule of the library)\n", (int)rule->name.len, rule->name.ptr);
    page_words("", format_text(arena, NULL, "%S.", rule->title), 0);
    putchar('\n');
    print_field("Why:", rule->because);
    print_field("Rank:", str_of(rank_words(rule->severity)));
    print_field("Source:", rule->source);
    printf("\nThe rule as the library writes it:\n\n");
    for (size_t at = 0; at < rule->text.len;) page_code("    ", page_next_line(rule->text, &at));
    if (!find_twin(rule->name, &twin)) return;
    print_twin(arena, twin, true);
    print_twin(arena, twin, false);
    printf("\nEvery number in the examples is invented. Groups that are done and not shown set\nthe aircraft up as the "
           "rule wants it.\n");
}
