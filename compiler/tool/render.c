#include "tool/render.h"
#include "back/back.h"
#include "base/utf8.h"
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const severity_words[] = {"note", "warning", "error", "not decided"};
static const char *const severity_colours[] = {"\033[36m", "\033[35m", "\033[31m", "\033[31m"};
static const char *const actor_words[] = {"pilot", "engine", "world", "time"};

Screen screen_of(FILE *file) {
    const char *no_colour = getenv("NO_COLOR");
    return (Screen){file, isatty(fileno(file)) && !(no_colour && *no_colour)};
}

static void put(Screen screen, SwText text) { fwrite(text.ptr, 1, text.len, screen.file); }
static void paint(Screen screen, const char *code) {
    if (screen.colour) fputs(code, screen.file);
}

/* Control characters of a source must not reach the terminal. */
static void put_line_text(Screen screen, SwText line) {
    for (size_t i = 0; i < line.len; i++) {
        unsigned char c = (unsigned char)line.ptr[i];
        fputc(c == '\t' || (c >= ' ' && c != 127) ? c : '?', screen.file);
    }
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

static size_t column_byte(const SwPlace *place) {
    Str line = {place->line_text.ptr, place->line_text.len};
    size_t at = 0;
    for (uint32_t column = 1; column < place->column && at < line.len; column++) at += utf8_decode(line, at).size;
    return at;
}

static void put_marks(Screen screen, uint32_t before, uint32_t cells, const char *colour) {
    fputs("       | ", screen.file);
    for (uint32_t i = 0; i < before; i++) fputc(' ', screen.file);
    paint(screen, colour);
    for (uint32_t i = 0; i < cells && i < 100; i++) fputc('^', screen.file);
    paint(screen, "\033[0m");
    fputc('\n', screen.file);
}

static void put_tabs_as_blanks(Screen screen, SwText line) {
    uint32_t cell = 0;
    for (size_t i = 0; i < line.len; i++) {
        if (line.ptr[i] != '\t') {
            put_line_text(screen, (SwText){line.ptr + i, 1});
            if (((unsigned char)line.ptr[i] & 0xC0) != 0x80) cell++;
            continue;
        }
        do fputc(' ', screen.file);
        while (++cell % 8);
    }
}

static void put_source(Screen screen, const SwPlace *place, const char *colour) {
    if (!place->path.len) return;
    fprintf(screen.file, "%6" PRIu32 " | ", place->line);
    if (place->line_text.len <= SHOWN_BYTES) {
        put_tabs_as_blanks(screen, place->line_text);
        fputc('\n', screen.file);
        put_marks(screen, place->cells_before, place->cells, colour);
        return;
    }
    size_t at = column_byte(place), from = at > SHOWN_BEFORE ? at - SHOWN_BEFORE : 0;
    while (from < at && ((unsigned char)place->line_text.ptr[from] & 0xC0) == 0x80) from++;
    size_t len = place->line_text.len - from < SHOWN_BYTES ? place->line_text.len - from : SHOWN_BYTES;
    while (from + len < place->line_text.len && ((unsigned char)place->line_text.ptr[from + len] & 0xC0) == 0x80) len--;
    put_line_text(screen, (SwText){place->line_text.ptr + from, len});
    fputs("\n", screen.file);
    uint32_t before = 0;
    for (size_t i = from; i < at; i++) before += ((unsigned char)place->line_text.ptr[i] & 0xC0) != 0x80;
    put_marks(screen, before, place->cells, colour);
}

static void put_clock(Screen screen, int64_t ms) {
    fprintf(screen.file, "%3" PRId64 ":%02" PRId64, ms / 60000, ms / 1000 % 60);
    if (ms % 1000) fprintf(screen.file, ".%03" PRId64, ms % 1000);
}

static void put_step(Screen screen, const SwStep *step) {
    if (step->folded) fprintf(screen.file, "           … %" PRIu32 " routine %s …\n", step->folded, step->folded == 1 ? "item" : "items");
    fputs("    ", screen.file);
    put_clock(screen, step->at_ms);
    fprintf(screen.file, "  %-6s  ", actor_words[step->actor]);
    put(screen, step->text);
    if (step->place.path.len) fprintf(screen.file, "  (line %" PRIu32 ")", step->place.line);
    fputc('\n', screen.file);
    if (step->facts.len) {
        fputs("                    ", screen.file);
        put(screen, step->facts);
        fputc('\n', screen.file);
    }
}

static void put_trace(Screen screen, const SwFinding *finding) {
    if (finding->n_steps) fputs("    How it comes about (earliest times, minutes:seconds):\n", screen.file);
    for (size_t i = 0; i < finding->n_steps; i++) put_step(screen, &finding->steps[i]);
    if (!finding->wanted.len) return;
    fputs("    What would satisfy it: ", screen.file);
    put(screen, finding->wanted);
    fputc('\n', screen.file);
}

static void put_fix(Screen screen, const SwFix *fix) {
    static const char *const grades[] = {"fix", "fix, to be read first", "for example"};
    fprintf(screen.file, "    %s: ", grades[fix->grade]);
    bool insertion = fix->place.lo == fix->place.hi;
    if (insertion) fprintf(screen.file, "put \"");
    else fprintf(screen.file, fix->text.len ? "write \"" : "take it out\n");
    if (!insertion && !fix->text.len) return;
    put(screen, fix->text);
    fprintf(screen.file, insertion ? "\" at %" PRIu32 ":%" PRIu32 "\n" : "\"\n", fix->place.line, fix->place.column);
}

static void put_finding(Screen screen, const SwFinding *finding) {
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
    put_source(screen, &finding->place, severity_colours[finding->severity]);
    if (finding->waived) return;
    put_trace(screen, finding);
    for (size_t i = 0; i < finding->n_notes; i++) {
        put_place(screen, finding->notes[i].place.path.len ? &finding->notes[i].place : &finding->place);
        fputs("note: ", screen.file);
        put(screen, finding->notes[i].text);
        fputc('\n', screen.file);
    }
    for (size_t i = 0; i < finding->n_fixes; i++) put_fix(screen, &finding->fixes[i]);
}

void render_findings(Screen screen, const SwUnit *unit) {
    for (size_t i = 0; i < unit->n_findings; i++) put_finding(screen, &unit->findings[i]);
}

void render_verdicts(Screen screen, const SwUnit *unit) {
    for (size_t i = 0; i < unit->n_verdicts; i++) {
        const SwVerdict *verdict = &unit->verdicts[i];
        put(screen, verdict->tail);
        fputs("  ", screen.file);
        put(screen, verdict->gate);
        if (verdict->engine.len) {
            fputs(" (", screen.file);
            put(screen, verdict->engine);
            fputs(")", screen.file);
        }
        fprintf(screen.file, ": %s", verdict_words[verdict->kind]);
        if (verdict->kind == SW_PROVED_AS_WRITTEN || verdict->kind == SW_BROKEN)
            fprintf(screen.file, ", put to the test at %" PRIu32 " %s", verdict->triggered, verdict->triggered == 1 ? "point" : "points");
        if (verdict->with_pace) fputs(", at the stated pace", screen.file);
        if (verdict->why.len) {
            fputs(": ", screen.file);
            put(screen, verdict->why);
        }
        fputs("\n    ", screen.file);
        put(screen, verdict->rule);
        fputc('\n', screen.file);
    }
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
    fprintf(screen.file, "%zu %s of %zu %s, %zu %s: ", unit->procedures, unit->procedures == 1 ? "procedure" : "procedures",
            unit->tails, unit->tails == 1 ? "tail" : "tails", unit->n_verdicts, unit->n_verdicts == 1 ? "rule" : "rules");
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

void render_summary(Screen screen, const SwUnit *unit) {
    bool first = true;
    put_count(screen, unit->errors, "error", "errors", &first);
    put_count(screen, unit->undecided, "not decided", "not decided", &first);
    put_count(screen, unit->warnings, "warning", "warnings", &first);
    put_count(screen, unit->notes, "note", "notes", &first);
    put_count(screen, unit->waived, "waived", "waived", &first);
    fputs(first ? "No findings.\n" : ".\n", screen.file);
    if (unit->n_verdicts) put_verdict_counts(screen, unit);
    if (unit->n_verdicts) put_wrapped(screen, scope_of_claim);
    for (size_t i = 0; caution_lines[i]; i++) put_wrapped(screen, caution_lines[i]);
}
