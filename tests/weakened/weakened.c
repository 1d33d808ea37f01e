/* usage: weakened TEXT... [--mutants=EVERY SUBJECT...]
   TEXT: a .case file (its bad twin), or a .start file with something wrong in it. SUBJECT: a good text, as for tests/mutate; of its mutants each
   EVERY-th is such a text.
   Each gate of the library that a text breaks is written anew, as it is and weaker in each of its places, beside the library's own, and the text
   compiled with all of them. Prints for each weaker gate: gate, how it is weaker, in how many texts it was asked, in how many it was told from
   the gate itself (not broken), and the first of these. Status 1 where a gate written anew is not broken as it is. */
#include "weakened.h"
#include "../mutate/mutate.h"
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { PLACES_MOST = 64, GATES_MOST = 40 };

/* ---- what is known of each weaker gate ---- */
typedef struct {
    char gate[80], what[300], told_by[120];
    uint32_t asked, told;
} Weaker;

typedef struct {
    Weaker *at;
    uint32_t n, cap;
    bool wrong;
} GateBook;

static Weaker *entry(GateBook *book, Str gate, Str what) {
    char g[80], w[300];
    snprintf(g, sizeof g, "%.*s", (int)gate.len, gate.ptr);
    snprintf(w, sizeof w, "%.*s", (int)what.len, what.ptr);
    for (uint32_t k = 0; k < book->n; k++)
        if (strcmp(book->at[k].gate, g) == 0 && strcmp(book->at[k].what, w) == 0) return &book->at[k];
    if (book->n == book->cap) book->at = realloc(book->at, (book->cap = book->cap * 2 + 256) * sizeof *book->at);
    Weaker *new = &book->at[book->n++];
    *new = (Weaker){.asked = 0};
    strcpy(new->gate, g);
    strcpy(new->what, w);
    return new;
}

/* ---- the writer's words ---- */
Str weak_text(const Writer *w, Span span) {
    Str text = span_text(&w->in->workspace->sources, span);
    Buf out = {.arena = w->arena};
    for (size_t k = 0; k < text.len; k++) { /* on one line */
        bool blank = text.ptr[k] == ' ' || text.ptr[k] == '\n';
        if (!blank) buf_char(&out, text.ptr[k]);
        else if (out.len && out.ptr[out.len - 1] != ' ') buf_char(&out, ' ');
    }
    return buf_view(&out);
}

const Decl *weak_library(const Writer *w, DeclKind kind, Name name) {
    const Program *program = w->in->unit->program;
    const Decl *decl = program_find(program, kind, name);
    return decl && program_in_library(program, decl) ? decl : NULL;
}

bool weak_here(Writer *w, const char *format, ...) {
    if (w->n++ != w->target) return false;
    Buf what = {.arena = w->arena};
    va_list args;
    va_start(args, format);
    for (const char *c = format; *c; c++) {
        if (*c != '%') buf_char(&what, *c);
        else if (*++c == 'S') buf_str(&what, va_arg(args, Str));
        else buf_text(&what, va_arg(args, const char *));
    }
    va_end(args);
    w->what = buf_view(&what);
    return true;
}

/* ---- one text ---- */
typedef struct {
    Str gate, what; /* what empty: the gate as it is */
    char name[24];
} Version;

typedef struct {
    GateBook *book;
    const char *path;
    Compiled as_it_is;
    Arena arena;
    Buf text;
    Version versions[GATES_MOST * PLACES_MOST];
    uint32_t n;
} Asking;

static bool breaks(const SwUnit *unit, Str gate) {
    for (size_t v = 0; v < unit->n_verdicts; v++)
        if (unit->verdicts[v].kind == SW_BROKEN && str_eq(text_in(unit->verdicts[v].gate), gate)) return true;
    return false;
}

/* False: the gate has no such place. */
static bool add_version(Asking *a, const Decl *gate, int target) {
    Version *v = &a->versions[a->n];
    Writer w = {.in = &a->as_it_is,
                .arena = &a->arena,
                .target = target,
                .before = {.arena = &a->arena},
                .out = {.arena = &a->arena}};
    snprintf(v->name, sizeof v->name, "weaker-%u", (unsigned)a->n);
    w.name = str_of(v->name);
    weak_gate(&w, gate);
    if (target >= 0 && !w.what.len) return false;
    v->gate = name_text(&a->as_it_is.workspace->names, gate->name.name);
    v->what = w.what;
    buf_str(&a->text, buf_view(&w.before));
    buf_str(&a->text, buf_view(&w.out));
    a->n++;
    return true;
}

static void write_versions(Asking *a) {
    const Decl **gates;
    const Program *program = a->as_it_is.unit->program;
    size_t n = program_all(program, DECL_GATE, &gates);
    for (size_t g = 0; g < n; g++) {
        if (!program_in_library(program, gates[g])) continue;
        Str name = name_text(&a->as_it_is.workspace->names, gates[g]->name.name);
        if (!breaks(&a->as_it_is.unit->public, name)) continue;
        for (int target = -1; target < PLACES_MOST && a->n < GATES_MOST * PLACES_MOST; target++)
            if (!add_version(a, gates[g], target)) break;
    }
}

static void read_versions(Asking *a, const SwUnit *unit) {
    for (uint32_t k = 0; k < a->n; k++) {
        const Version *v = &a->versions[k];
        bool broken = breaks(unit, str_of(v->name));
        if (!v->what.len) {
            if (!broken) {
                printf("FAIL weakened: %.*s, written anew, is not broken in %s\n", (int)v->gate.len, v->gate.ptr,
                       a->path);
                a->book->wrong = true;
            }
            continue;
        }
        Weaker *entry_of = entry(a->book, v->gate, v->what);
        entry_of->asked++;
        if (broken) continue;
        if (!entry_of->told++) snprintf(entry_of->told_by, sizeof entry_of->told_by, "%s", a->path);
    }
}

/* `text` and `other_text` are given over. `other`: a path whose text shall be `other_text`, or NULL. `from`: what is told of where it was. */
static bool ask(GateBook *book, const char *from, const char *path, char *text, const char *other, char *other_text) {
    Asking *a = calloc(1, sizeof *a);
    *a = (Asking){.book = book, .path = from};
    a->text.arena = &a->arena;
    if (!text || !text_compile(&a->as_it_is, path, text, other, other_text)) return false;
    buf_text(&a->text, a->as_it_is.text);
    buf_char(&a->text, '\n');
    write_versions(a);
    if (a->n) {
        Compiled c;
        if (!text_compile(&c, path, strndup(a->text.ptr, a->text.len), other, other_text)) return false;
        const SwFinding *f = c.unit->public.findings;
        if (c.unit->public.n_verdicts) {
            read_versions(a, &c.unit->public);
        } else {
            printf("FAIL weakened: %s with gates written anew: %.*s\n", from, (int)f->message.len, f->message.ptr);
            book->wrong = true;
        }
        text_discard(&c);
    }
    text_discard(&a->as_it_is);
    free(other_text);
    arena_free(&a->arena);
    free(a);
    return true;
}

/* ---- many texts ---- */
struct Campaign {
    GateBook *book;
    uint32_t every, n;
};

void campaign_take(Campaign *campaign, const Subject *s, const Mutant *given) {
    if (campaign->n++ % campaign->every) return;
    Mutant m = *given;
    if (m.time_ms) mutant_loosen(&m, m.time_ms > 1000 ? 1000 : m.time_ms - 1);
    char *text = subject_mutated(s, &m), from[300];
    bool apart = strcmp(s->path, s->main_path) != 0;
    uint32_t line = 1, at = m.at.lo - s->file->source->base;
    for (uint32_t k = 0; k < at; k++) line += s->text[k] == '\n';
    snprintf(from, sizeof from, "%s:%u: %s", s->path, (unsigned)line, m.operator);
    if (!ask(campaign->book, from, s->main_path, apart ? strdup(s->main_text) : text, apart ? s->path : NULL,
             apart ? text : NULL))
        abort();
}

static bool ask_mutants(GateBook *book, uint32_t every, const char *words) {
    Campaign campaign = {book, every, 0};
    Subject s;
    if (!subject_open(&s, words)) return false;
    mutants_make(&campaign, &s);
    subject_close(&s);
    return true;
}

static bool ask_bad(GateBook *book, const char *path) {
    size_t len = strlen(path);
    bool twin = len > 5 && strcmp(path + len - 5, ".case") == 0;
    return ask(book, path, path, twin ? text_of_twin(path, true) : text_of_file(path), NULL, NULL);
}

int main(int argc, char **argv) {
    GateBook book = {0};
    uint32_t every = 0;
    for (int k = 1; k < argc; k++) {
        if (strncmp(argv[k], "--mutants=", 10) == 0) {
            every = (uint32_t)atoi(argv[k] + 10);
        } else if (!(every ? ask_mutants(&book, every, argv[k]) : ask_bad(&book, argv[k]))) {
            fprintf(stderr, "%s: it cannot be read\n", argv[k]);
            return 1;
        }
    }
    for (uint32_t k = 0; k < book.n; k++) {
        const Weaker *w = &book.at[k];
        printf("%s\t%s\t%u\t%u\t%s\n", w->gate, w->what, (unsigned)w->asked, (unsigned)w->told,
               w->told ? w->told_by : "-");
    }
    free(book.at);
    return book.wrong;
}
