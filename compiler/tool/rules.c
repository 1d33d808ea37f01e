#include "tool/rules.h"
#include "front/front.h"
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

static Str raw(Reader *reader, Text text) { return text.span.hi ? text_raw(&reader->job, text) : STR(""); }

static void read_source(Reader *reader, const Decl *decl) {
    Str *title = ARENA_NEW(reader->job.arena, Str);
    *title = raw(reader, decl->text);
    if (decl->text2.span.hi) *title = format_text(reader->job.arena, reader->job.names, "%S, %S", *title, raw(reader, decl->text2));
    map_put(&reader->source_titles, decl->name.name, title);
}

static Str source_words(Reader *reader, const Why *why) {
    if (!why || !why->source.name) return STR("");
    const Str *title = map_get(&reader->source_titles, why->source.name);
    Str name = title ? *title : name_text(reader->job.names, why->source.name);
    return format_text(reader->job.arena, reader->job.names, "%S; %N", name, why->section.name);
}

static void read_gate(Reader *reader, const Decl *decl) {
    const Gate *gate = decl->u.gate;
    LibraryRule rule = {.name = name_text(reader->job.names, decl->name.name), .title = raw(reader, decl->text)};
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
        else read_gate(reader, decl);
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

static Str next_line(Str text, size_t *at) {
    size_t lo = *at, hi = lo;
    while (hi < text.len && text.ptr[hi] != '\n') hi++;
    *at = hi < text.len ? hi + 1 : hi;
    return str_slice(text, lo, hi);
}

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

/* A line of a twin without its marks; false where it is none of that twin's. */
static bool twin_line(Str line, bool bad, Str *shown, bool *marked) {
    size_t at;
    *marked = false;
    if (str_starts(line, STR("#+"))) {
        if (!bad) return false;
        *marked = true;
        line = str_slice(line, 2, line.len);
    }
    if (find_mark(line, "#-", &at)) {
        if (bad) return false;
        *marked = true;
        line = str_slice(line, 0, at);
    }
    if (find_mark(line, "#!", &at)) line = str_slice(line, 0, at);
    *shown = trim_end(line);
    return true;
}

static void print_twin(Str twin, bool bad) {
    printf("%s\n", bad ? "A bad example:" : "A good example:");
    for (size_t at = 0; at < twin.len;) {
        Str line;
        bool marked;
        if (!twin_line(next_line(twin, &at), bad, &line, &marked)) continue;
        if (str_starts(line, STR("use ")) || str_starts(line, STR("# "))) continue;
        printf("  %s %.*s\n", marked ? ">" : " ", (int)line.len, line.ptr);
    }
}

static bool find_twin(Str name, Str *twin) {
    Str all = {twins_text, twins_text_size};
    for (size_t at = 0; at < all.len;) {
        Str line = next_line(all, &at);
        if (!str_starts(line, STR("=== ")) || !str_eq(str_slice(line, 4, line.len), name)) continue;
        size_t lo = at, hi = at;
        while (at < all.len) {
            hi = at;
            if (str_starts(next_line(all, &at), STR("=== "))) break;
            hi = at;
        }
        *twin = str_slice(all, lo, hi);
        return true;
    }
    return false;
}

static void print_field(const char *what, Str text) {
    if (text.len) printf("%s: %.*s\n", what, (int)text.len, text.ptr);
}

void rule_print(const LibraryRule *rule) {
    printf("%.*s\n%.*s.\n\n", (int)rule->name.len, rule->name.ptr, (int)rule->title.len, rule->title.ptr);
    print_field("Why", rule->because);
    print_field("How it is ranked", rule->severity);
    print_field("Source", rule->source);
    printf("The rule as the library writes it:\n");
    for (size_t at = 0; at < rule->text.len;) {
        Str line = next_line(rule->text, &at);
        printf("    %.*s\n", (int)line.len, line.ptr);
    }
    Str twin;
    if (!find_twin(rule->name, &twin)) return;
    print_twin(twin, true);
    print_twin(twin, false);
}
