#include "tool/render.h"
#include "back/back.h"
#include "base/utf8.h"
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const severity_words[] = {"note", "warning", "error", "not decided"};
static const char *const severity_colours[] = {"\033[36m", "\033[35m", "\033[31m", "\033[31m"};
static const char *const actor_words[] = {"pilot", "engine", "world", "time", "person"};

Screen screen_of(FILE *file) {
    const char *no_colour = getenv("NO_COLOR");
    return (Screen){file, isatty(fileno(file)) && !(no_colour && *no_colour)};
}

static void put(Screen screen, SwText text) {
    fwrite(text.ptr, 1, text.len, screen.file);
}
static void paint(Screen screen, const char *code) {
    if (screen.colour) fputs(code, screen.file);
}

/* What may reach a terminal: no control characters, none that turn the direction of writing, no bytes that are no text. */
static bool is_shown(Utf8 one) {
    uint32_t code = one.code;
    if (!one.valid || code < ' ' || (code >= 0x7F && code < 0xA0)) return false;
    bool turns = code == 0x061C || code == 0x200E || code == 0x200F || (code >= 0x202A && code <= 0x202E) ||
                 (code >= 0x2066 && code <= 0x2069);
    return !turns;
}

/* The text's bytes lo..hi, tabs as blanks; gives the cells they take. Without a file it only counts. */
static uint32_t put_piece(Screen screen, Str text, size_t lo, size_t hi) {
    uint32_t cells = 0;
    for (size_t at = lo; at < hi;) {
        Utf8 one = utf8_decode(text, at);
        bool shown = is_shown(one);
        uint32_t blanks = one.code == '\t' ? 8 - cells % 8 : 0;
        cells += blanks ? blanks : shown ? utf8_width(one.code) : 1;
        if (screen.file && shown) fwrite(text.ptr + at, 1, one.size, screen.file);
        else if (screen.file && blanks) fprintf(screen.file, "%*s", (int)blanks, "");
        else if (screen.file) fputc('?', screen.file);
        at += one.size;
    }
    return cells;
}

static void put_place(Screen screen, const SwPlace *place) {
    if (!place->path.len) {
        fputs("startwright: ", screen.file);
        return;
    }
    put(screen, place->path);
    fprintf(screen.file, ":%" PRIu32 ":%" PRIu32 ": ", place->line, place->column);
}

/* Very long lines are shown from near the place on. */
enum { SHOWN_BYTES = 160, SHOWN_BEFORE = 60 };

static size_t column_byte(Str line, uint32_t column) {
    size_t at = 0;
    for (uint32_t i = 1; i < column && at < line.len; i++) at += utf8_decode(line, at).size;
    return at;
}

static bool inside_character(Str line, size_t at) {
    return at < line.len && ((unsigned char)line.ptr[at] & 0xC0) == 0x80;
}

static void put_marks(Screen screen, uint32_t before, uint32_t cells, const char *colour) {
    fprintf(screen.file, "       | %*s", (int)before, "");
    paint(screen, colour);
    for (uint32_t i = 0; i < cells; i++) fputc('^', screen.file);
    paint(screen, "\033[0m");
    fputc('\n', screen.file);
}

static void put_source(Screen screen, const SwPlace *place, const char *colour) {
    static const Screen nowhere = {NULL, false};
    if (!place->path.len) return;
    Str line = {place->line_text.ptr, place->line_text.len};
    size_t lo = column_byte(line, place->column), from = 0, to = line.len;
    size_t hi = place->end_line == place->line ? column_byte(line, place->end_column) : line.len;
    if (line.len > SHOWN_BYTES) {
        from = lo > SHOWN_BEFORE ? lo - SHOWN_BEFORE : 0;
        to = line.len - from < SHOWN_BYTES ? line.len : from + SHOWN_BYTES;
        while (from < lo && inside_character(line, from)) from++;
        while (to > lo && inside_character(line, to)) to--;
    }
    fprintf(screen.file, "%6" PRIu32 " | ", place->line);
    (void)put_piece(screen, line, from, to);
    fputc('\n', screen.file);
    uint32_t before = put_piece(nowhere, line, from, lo), cells = put_piece(nowhere, line, lo, hi < to ? hi : to);
    put_marks(screen, before, cells ? cells : 1, colour);
}

static void put_clock(Screen screen, int64_t ms) {
    fprintf(screen.file, "%3" PRId64 ":%02" PRId64, ms / 60000, ms / 1000 % 60);
    if (ms % 1000) fprintf(screen.file, ".%03" PRId64, ms % 1000);
}

static void put_below(Screen screen, const char *words, SwText text) {
    if (!text.len) return;
    fprintf(screen.file, "                    %s", words);
    put(screen, text);
    fputc('\n', screen.file);
}

static void put_step(Screen screen, const SwStep *step) {
    if (step->folded)
        fprintf(screen.file, "           … %" PRIu32 " routine %s …\n", step->folded,
                step->folded == 1 ? "item" : "items");
    fputs("    ", screen.file);
    put_clock(screen, step->at_ms);
    fprintf(screen.file, "  %-6s  ", actor_words[step->actor]);
    put(screen, step->text);
    if (step->place.path.len) fprintf(screen.file, "  (line %" PRIu32 ")", step->place.line);
    fputc('\n', screen.file);
    put_below(screen, "", step->facts);
    put_below(screen, "breaks ", step->breaks);
}

static void put_steps(Screen screen, const SwSteps *steps) {
    for (size_t i = 0; i < steps->n; i++) put_step(screen, &steps->at[i]);
}

static void put_fix(Screen screen, const SwFix *fix) {
    static const char *const grades[] = {"fix", "fix, to be read first", "for example"};
    fprintf(screen.file, "    %s: ", grades[fix->grade]);
    bool insertion = fix->place.lo == fix->place.hi;
    if (!insertion && !fix->text.len) {
        fputs("take it out\n", screen.file);
        return;
    }
    Str text = {fix->text.ptr, fix->text.len};
    if (insertion && text.len == 1 && text.ptr[0] == '\n') {
        fprintf(screen.file, "begin a new line at %" PRIu32 ":%" PRIu32 "\n", fix->place.line, fix->place.column);
        return;
    }
    bool line = text.len > 1 && text.ptr[0] == '\n';
    fputs(!insertion ? "write \"" : line ? "put, on a line of its own, \"" : "put \"", screen.file);
    (void)put_piece(screen, text, line ? 1 : 0, text.len);
    fprintf(screen.file, insertion ? "\" at %" PRIu32 ":%" PRIu32 "\n" : "\"\n", fix->place.line, fix->place.column);
}

static void put_head(Screen screen, const SwFinding *finding, bool with_source) {
    put_place(screen, &finding->place);
    paint(screen, severity_colours[finding->severity]);
    fprintf(screen.file, "%s: ", finding->waived ? "waived" : severity_words[finding->severity]);
    paint(screen, "\033[0m");
    put(screen, finding->message);
    if (finding->tail.len) {
        fputs(" (", screen.file);
        put(screen, finding->tail);
        fputs(")", screen.file);
    }
    fputs(" [", screen.file);
    put(screen, finding->id);
    fputs("]\n", screen.file);
    if (with_source) put_source(screen, &finding->place, severity_colours[finding->severity]);
}

/* ---- findings that one path tells ---- */
typedef struct {
    const SwFinding **at;
    size_t n;
} Told;

static bool same_text(SwText a, SwText b) {
    return a.len == b.len && (!a.len || !memcmp(a.ptr, b.ptr, a.len));
}

static void put_fixes(Screen screen, const SwFinding *finding) {
    for (size_t i = 0; i < finding->n_fixes; i++) put_fix(screen, &finding->fixes[i]);
}

static bool same_note(const SwNote *a, const SwNote *b) {
    return same_text(a->text, b->text) && same_text(a->place.path, b->place.path) && a->place.lo == b->place.lo;
}

static bool note_told(const Told *told, size_t k, const SwNote *note) {
    for (size_t i = 0; i < k; i++)
        for (size_t j = 0; j < told->at[i]->n_notes; j++)
            if (same_note(&told->at[i]->notes[j], note)) return true;
    return false;
}

static void put_notes(Screen screen, const Told *told, size_t k) {
    const SwFinding *finding = told->at[k];
    for (size_t i = 0; i < finding->n_notes; i++) {
        if (note_told(told, k, &finding->notes[i])) continue;
        put_place(screen, finding->notes[i].place.path.len ? &finding->notes[i].place : &finding->place);
        fputs("note: ", screen.file);
        put(screen, finding->notes[i].text);
        fputc('\n', screen.file);
    }
}

static bool same_steps(const SwSteps *a, const SwSteps *b) {
    if (a->n != b->n) return false;
    for (size_t i = 0; i < a->n; i++)
        if (a->at[i].at_ms != b->at[i].at_ms || !same_text(a->at[i].text, b->at[i].text)) return false;
    return true;
}

static bool same_wanted(const SwFinding *a, const SwFinding *b) {
    return same_text(a->wanted, b->wanted);
}

static bool same_nearest(const SwFinding *a, const SwFinding *b) {
    return same_text(a->nearest, b->nearest) && same_steps(&a->instead, &b->instead);
}

/* Has one before the k-th said it? */
static bool said(const Told *told, size_t k, bool (*same)(const SwFinding *, const SwFinding *)) {
    for (size_t i = 0; i < k; i++)
        if (same(told->at[i], told->at[k])) return true;
    return false;
}

/* Whom it concerns, where that is not all of them. */
static void put_ids(Screen screen, const Told *told, size_t k, bool (*same)(const SwFinding *, const SwFinding *)) {
    size_t n = 0;
    for (size_t i = k; i < told->n; i++) n += same(told->at[i], told->at[k]);
    if (n == told->n) return;
    const char *before = " [";
    for (size_t i = k; i < told->n; i++) {
        if (!same(told->at[i], told->at[k])) continue;
        fputs(before, screen.file);
        put(screen, told->at[i]->id);
        before = ", ";
    }
    fputs("]", screen.file);
}

static void put_wanted(Screen screen, const Told *told) {
    for (size_t i = 0; i < told->n; i++) {
        if (!told->at[i]->wanted.len || said(told, i, same_wanted)) continue;
        fputs("    What would satisfy it", screen.file);
        put_ids(screen, told, i, same_wanted);
        fputs(": ", screen.file);
        put(screen, told->at[i]->wanted);
        fputc('\n', screen.file);
    }
}

static void put_nearest(Screen screen, const Told *told) {
    for (size_t i = 0; i < told->n; i++) {
        const SwFinding *finding = told->at[i];
        if (!finding->nearest.len || said(told, i, same_nearest)) continue;
        fputs("    ", screen.file);
        put(screen, finding->nearest);
        put_ids(screen, told, i, same_nearest);
        fputs(finding->instead.n ? ":\n" : ".\n", screen.file);
        put_steps(screen, &finding->instead);
        if (finding->instead.n) fputs("                    here it is kept\n", screen.file);
    }
}

static void put_path(Screen screen, const Told *told) {
    const SwFinding *first = told->at[0];
    const SwSteps *path = told->n > 1 ? &first->shared_path : &first->path;
    if (told->n == 2) fputs("    How both come about", screen.file);
    else if (told->n > 2) fprintf(screen.file, "    How all %zu come about", told->n);
    else if (path->n) fputs("    How it comes about", screen.file);
    if (path->n) fputs(" (earliest times, minutes:seconds):\n", screen.file);
    put_steps(screen, path);
    put_wanted(screen, told);
    put_nearest(screen, told);
}

static void put_told(Screen screen, const Told *told) {
    for (size_t i = 0; i < told->n; i++) {
        const SwPlace *before = i ? &told->at[i - 1]->place : NULL, *here = &told->at[i]->place;
        put_head(screen, told->at[i], !before || before->lo != here->lo || !same_text(before->path, here->path));
    }
    if (!told->at[0]->waived) put_path(screen, told);
    for (size_t i = 0; i < told->n; i++) {
        put_notes(screen, told, i);
        if (!told->at[0]->waived) put_fixes(screen, told->at[i]);
    }
}

/* Those that share a path are told where the first of them stands. */
void render_findings(Screen screen, const SwUnit *unit) {
    Told told = {calloc(unit->n_findings + 1, sizeof(SwFinding *)), 0};
    if (!told.at) return;
    for (size_t i = 0; i < unit->n_findings; i++) {
        const SwFinding *finding = &unit->findings[i];
        if (finding->known) continue;
        told.n = 0;
        told.at[told.n++] = finding;
        bool again = false;
        for (size_t k = 0; finding->shared && k < i && !again; k++) again = unit->findings[k].shared == finding->shared;
        if (again) continue;
        for (size_t k = i + 1; finding->shared && k < unit->n_findings; k++)
            if (unit->findings[k].shared == finding->shared) told.at[told.n++] = &unit->findings[k];
        put_told(screen, &told);
    }
    free(told.at);
}

static size_t count_verdicts(const SwUnit *unit, SwVerdictKind kind) {
    size_t n = 0;
    for (size_t i = 0; i < unit->n_verdicts; i++) n += unit->verdicts[i].kind == kind;
    return n;
}

static void put_count(Screen screen, size_t n, const char *one, const char *many, bool *first) {
    if (!n) return;
    fprintf(screen.file, "%s%zu %s", *first ? "" : ", ", n, n == 1 ? one : many);
    *first = false;
}

static void put_verdict_counts(Screen screen, const SwUnit *unit) {
    fprintf(screen.file, "%zu %s of %zu %s, %zu %s: ", unit->procedures,
            unit->procedures == 1 ? "procedure" : "procedures", unit->tails, unit->tails == 1 ? "tail" : "tails",
            unit->n_verdicts, unit->n_verdicts == 1 ? "rule" : "rules");
    bool first = true;
    for (int kind = SW_PROVED_AS_WRITTEN; kind <= SW_NOT_DECIDED; kind++)
        put_count(screen, count_verdicts(unit, (SwVerdictKind)kind), verdict_words[kind], verdict_words[kind], &first);
    fputs(".\n", screen.file);
}

/* A paragraph in lines of at most 96 bytes. */
static void put_wrapped(Screen screen, const char *text) {
    enum { WIDTH = 96 };
    while (strlen(text) > WIDTH) {
        size_t n = WIDTH;
        while (n && text[n] != ' ') n--;
        if (!n) break;
        fprintf(screen.file, "%.*s\n", (int)n, text);
        text += n + 1;
    }
    fprintf(screen.file, "%s\n", text);
}

void render_summary(Screen screen, const SwUnit *unit, bool details) {
    bool first = true;
    put_count(screen, unit->errors, "error", "errors", &first);
    put_count(screen, unit->undecided, "not decided", "not decided", &first);
    put_count(screen, unit->warnings, "warning", "warnings", &first);
    put_count(screen, unit->notes, "note", "notes", &first);
    put_count(screen, unit->waived, "waived", "waived", &first);
    put_count(screen, unit->known, "known, not told again", "known, not told again", &first);
    fputs(first ? "No findings.\n" : ".\n", screen.file);
    if (!unit->tails && !unit->errors && !unit->undecided)
        fputs("Nothing was proved: no aircraft stands in these files.\n", screen.file);
    if (unit->n_verdicts) put_verdict_counts(screen, unit);
    if (unit->n_verdicts) put_wrapped(screen, scope_of_claim);
    if (unit->n_verdicts && !details)
        put_wrapped(screen, "The assumptions, and what puts each rule to the test: startwright check FILE --verdicts.");
    for (size_t i = 0; caution_lines[i]; i++) put_wrapped(screen, caution_lines[i]);
}
