#include "tool/verdicts.h"
#include "base/diag.h"
#include "base/utf8.h"
#include "check/words.h"
#include <inttypes.h>

/* ---- rows: what is the same on several tails is one ---- */
typedef struct {
    SwText what, path;
    VEC(uint32_t) lines;  /* rising; of all tails of the row */
    uint32_t least, most; /* points, by tail */
} RowTest;
typedef struct {
    const SwVerdict *verdict; /* of the first tail that has it */
    VEC(SwText) tails;
    VEC(RowTest) tests;
    uint32_t section;
} Row;
typedef struct {
    SwVerdictKind kind;
    const Row *first; /* whose tails are the section's */
    size_t n;
} Section;

typedef struct {
    Screen screen;
    Arena *arena;
    const SwUnit *unit;
    SwText path; /* the file whose lines are named without it */
    VEC(Row) rows;
    VEC(Section) sections;
} Table;

static Str str(SwText text) {
    return (Str){text.ptr, text.len};
}
static bool same(SwText a, SwText b) {
    return str_eq(str(a), str(b));
}

static bool same_limits(const SwVerdict *a, const SwVerdict *b) {
    if (a->n_limits != b->n_limits || a->n_assumes != b->n_assumes) return false;
    for (size_t k = 0; k < a->n_limits; k++) {
        const SwTimeLimit *one = &a->limits[k], *other = &b->limits[k];
        if (!same(one->what, other->what) || one->spare != other->spare || one->spare_ms != other->spare_ms)
            return false;
    }
    for (size_t k = 0; k < a->n_assumes; k++)
        if (!same(a->assumes[k], b->assumes[k])) return false;
    return true;
}

static bool same_verdict(const SwVerdict *a, const SwVerdict *b) {
    return a->kind == b->kind && same(a->gate, b->gate) && same(a->engine, b->engine) && same(a->rule, b->rule) &&
           same(a->why, b->why) && a->waived == b->waived && a->known == b->known &&
           same(a->place.path, b->place.path) && a->place.line == b->place.line && same_limits(a, b);
}

static Row *row_of(Table *t, const SwVerdict *verdict) {
    for (size_t k = 0; k < t->rows.n; k++)
        if (same_verdict(t->rows.at[k].verdict, verdict)) return &t->rows.at[k];
    vec_push(t->arena, &t->rows, ((Row){.verdict = verdict}));
    return &t->rows.at[t->rows.n - 1];
}

static RowTest *test_of(Table *t, Row *row, const SwTest *test) {
    for (size_t k = 0; k < row->tests.n; k++)
        if (same(row->tests.at[k].what, test->what) && same(row->tests.at[k].path, test->path))
            return &row->tests.at[k];
    vec_push(t->arena, &row->tests, ((RowTest){.what = test->what, .path = test->path, .least = UINT32_MAX}));
    return &row->tests.at[row->tests.n - 1];
}

static void add_line(Table *t, RowTest *test, uint32_t line) {
    size_t at = test->lines.n;
    while (at && test->lines.at[at - 1] > line) at--;
    if (at && test->lines.at[at - 1] == line) return;
    vec_push(t->arena, &test->lines, line);
    for (size_t k = test->lines.n - 1; k > at; k--) test->lines.at[k] = test->lines.at[k - 1];
    test->lines.at[at] = line;
}

static void add_verdict(Table *t, const SwVerdict *verdict) {
    Row *row = row_of(t, verdict);
    vec_push(t->arena, &row->tails, verdict->tail);
    for (size_t k = 0; k < verdict->n_tests; k++) {
        const SwTest *test = &verdict->tests[k];
        RowTest *to = test_of(t, row, test);
        if (test->points < to->least) to->least = test->points;
        if (test->points > to->most) to->most = test->points;
        if (!t->path.len) t->path = test->path;
        for (size_t l = 0; l < test->n_lines; l++) add_line(t, to, test->lines[l]);
    }
}

static bool same_tails(const Row *a, const Row *b) {
    if (a->tails.n != b->tails.n) return false;
    for (size_t k = 0; k < a->tails.n; k++)
        if (!same(a->tails.at[k], b->tails.at[k])) return false;
    return true;
}

static void place_row(Table *t, Row *row) {
    for (size_t k = 0; k < t->sections.n; k++) {
        Section *section = &t->sections.at[k];
        if (section->kind != row->verdict->kind || !same_tails(section->first, row)) continue;
        row->section = (uint32_t)k;
        section->n++;
        return;
    }
    row->section = (uint32_t)t->sections.n;
    vec_push(t->arena, &t->sections, ((Section){row->verdict->kind, row, 1}));
}

/* ---- cells ---- */
enum { N_COLUMNS = 3, GAP = 2, WIDTH = 96 };
static const size_t widths[N_COLUMNS] = {42, 25, 25};
typedef VEC(Str) Cell;

/* A paragraph in lines of at most `width` cells; all but the first stand in by `indent`. */
static void wrap(Arena *arena, Cell *cell, Str text, size_t width, size_t indent) {
    Buf line = {.arena = arena};
    size_t used = 0;
    bool begun = false;
    for (size_t at = 0; at < text.len;) {
        size_t end = at;
        while (end < text.len && text.ptr[end] != ' ') end++;
        Str word = str_slice(text, at, end);
        size_t cells = utf8_text_width(word);
        if (begun && used + 1 + cells > width) {
            vec_push(arena, cell, buf_view(&line));
            line = (Buf){.arena = arena};
            buf_repeat(&line, ' ', indent);
            used = indent;
            begun = false;
        }
        if (begun) buf_char(&line, ' '), used++;
        buf_str(&line, word);
        used += cells;
        begun = true;
        at = end + 1;
    }
    if (begun) vec_push(arena, cell, buf_view(&line));
}

static void put_cells(const Table *t, const Cell *cells, const size_t *wide, size_t n) {
    size_t rows = 0;
    for (size_t c = 0; c < n; c++)
        if (cells[c].n > rows) rows = cells[c].n;
    for (size_t row = 0; row < rows; row++) {
        size_t owed = 0;
        for (size_t c = 0; c < n; c++) {
            if (row < cells[c].n) {
                Str text = cells[c].at[row];
                fprintf(t->screen.file, "%*s%.*s", (int)owed, "", (int)text.len, text.ptr);
                owed = utf8_text_width(text) < wide[c] ? wide[c] - utf8_text_width(text) : 0;
            } else owed += wide[c];
            owed += GAP;
        }
        fputc('\n', t->screen.file);
    }
}

static void put_paragraph(const Table *t, Str text, size_t indent) {
    Cell cell = {NULL, 0, 0};
    static const size_t wide[1] = {WIDTH};
    wrap(t->arena, &cell, text, WIDTH, indent);
    put_cells(t, &cell, wide, 1);
}

/* ---- words ---- */
static Str format(const Table *t, const char *pattern, Str one, Str two) {
    return format_text(t->arena, NULL, pattern, one, two);
}

/* "103, 150–152, 201"; after some pieces the rest is only counted. */
static void put_lines(Buf *buf, const RowTest *test) {
    enum { MOST_PIECES = 6 };
    size_t n = test->lines.n, pieces = 0;
    const uint32_t *lines = test->lines.at;
    for (size_t k = 0; k < n; pieces++) {
        size_t last = k;
        while (last + 1 < n && lines[last + 1] == lines[last] + 1) last++;
        if (pieces == MOST_PIECES) {
            buf_text(buf, " … ");
            buf_uint(buf, lines[n - 1]);
            return;
        }
        buf_text(buf, pieces ? ", " : "");
        buf_uint(buf, lines[k]);
        if (last > k) buf_text(buf, "–"), buf_uint(buf, lines[last]);
        k = last + 1;
    }
}

static Str test_words(const Table *t, const RowTest *test) {
    Buf buf = {.arena = t->arena};
    buf_str(&buf, str(test->what));
    if (test->lines.n) {
        buf_text(&buf, ": ");
        if (!same(test->path, t->path)) buf_str(&buf, str(test->path)), buf_char(&buf, ' ');
        buf_text(&buf, test->lines.n > 1 ? "lines " : "line ");
        put_lines(&buf, test);
    }
    if (test->most < 2) return buf_view(&buf);
    buf_text(&buf, " (");
    if (test->least < test->most) buf_uint(&buf, test->least), buf_text(&buf, "–");
    buf_uint(&buf, test->most);
    buf_text(&buf, " points)");
    return buf_view(&buf);
}

static const SwAssumption *assumption(const Table *t, const SwVerdict *verdict, Str id) {
    for (size_t k = 0; k < t->unit->n_assumptions; k++) {
        const SwAssumption *one = &t->unit->assumptions[k];
        if (same(one->tail, verdict->tail) && str_eq(str(one->id), id)) return one;
    }
    return NULL;
}

static Str spare_words(const Table *t, const SwVerdict *verdict, const SwTimeLimit *limit) {
    Buf buf = {.arena = t->arena};
    const SwAssumption *pace = verdict->with_pace ? assumption(t, verdict, STR("pace")) : NULL;
    buf_str(&buf, str(limit->what));
    buf_text(&buf, ": ");
    Buf spare = {.arena = t->arena};
    buf_time(&spare, limit->spare_ms);
    switch (limit->spare) {
    case SW_SPARE_ANY:
        buf_text(&buf, limit->kind == SW_AT_LEAST ? "met however long it were" : "met however short it were");
        break;
    case SW_SPARE_UNKNOWN:
        buf_text(&buf, limit->spare_ms ? "met with at least " : "met; what there is to spare is not decided");
        if (limit->spare_ms) buf_str(&buf, buf_view(&spare)), buf_text(&buf, " to spare; how much more is not decided");
        break;
    case SW_SPARE_MEASURED:
        buf_text(&buf, "met with ");
        if (limit->spare_ms) buf_str(&buf, buf_view(&spare));
        else buf_text(&buf, "nothing");
        buf_text(&buf, " to spare");
        break;
    }
    if (!pace) return buf_view(&buf);
    buf_text(&buf, " at this pace (one item in ");
    buf_time(&buf, pace->ms);
    buf_char(&buf, ')');
    return buf_view(&buf);
}

static Str assumes_words(const Table *t, const SwVerdict *verdict) {
    Buf buf = {.arena = t->arena};
    for (size_t k = 0; k < verdict->n_assumes; k++) {
        buf_text(&buf, k ? ", " : "leans on: ");
        buf_str(&buf, str(verdict->assumes[k]));
    }
    return buf_view(&buf);
}

static Str told_words(const Table *t, const SwVerdict *verdict) {
    if (!verdict->place.path.len) return STR("");
    Buf buf = {.arena = t->arena};
    buf_text(&buf, verdict->waived ? "waived; told at " : verdict->known ? "known; stands at " : "told at ");
    buf_str(&buf, str(verdict->place.path));
    buf_char(&buf, ':');
    buf_uint(&buf, verdict->place.line);
    return buf_view(&buf);
}

/* ---- the table ---- */
static const char *const section_words[] = {"Proved as written", "Broken", "Never tested", "Not applicable",
                                            "Not decided"};
/* What somebody has to act on comes first. */
static const SwVerdictKind section_order[] = {SW_BROKEN, SW_NOT_DECIDED, SW_NEVER_TESTED, SW_PROVED_AS_WRITTEN,
                                              SW_NOT_APPLICABLE};

static bool has_tests(SwVerdictKind kind) {
    return kind == SW_PROVED_AS_WRITTEN || kind == SW_BROKEN;
}

static void put_rule_line(const Table *t, const size_t *wide, size_t n) {
    Buf buf = {.arena = t->arena};
    for (size_t c = 0; c < n; c++) {
        if (c) buf_repeat(&buf, ' ', GAP);
        for (size_t k = 0; k < wide[c]; k++) buf_text(&buf, "─");
    }
    fprintf(t->screen.file, "%.*s\n", (int)buf.len, buf.ptr);
}

static void put_heads(const Table *t, SwVerdictKind kind, const size_t *wide, size_t n) {
    Cell cells[N_COLUMNS] = {{NULL, 0, 0}};
    Str heads[N_COLUMNS] = {STR("rule"), has_tests(kind) ? STR("put to the test by") : STR("why"),
                            kind == SW_BROKEN ? STR("where it is told") : STR("times, and what they have to spare")};
    for (size_t c = 0; c < n; c++) wrap(t->arena, &cells[c], heads[c], wide[c], 0);
    put_cells(t, cells, wide, n);
    put_rule_line(t, wide, n);
}

static void fill_rule(const Table *t, const SwVerdict *verdict, Cell *cell) {
    Str name = str(verdict->gate);
    if (verdict->engine.len) name = format(t, "%S (%S)", name, str(verdict->engine));
    wrap(t->arena, cell, name, widths[0], 2);
    wrap(t->arena, cell, str(verdict->rule), widths[0], 2);
}

static void put_row(const Table *t, const Row *row, const size_t *wide, size_t n) {
    const SwVerdict *verdict = row->verdict;
    Cell cells[N_COLUMNS] = {{NULL, 0, 0}};
    fill_rule(t, verdict, &cells[0]);
    if (!has_tests(verdict->kind)) {
        wrap(t->arena, &cells[1], str(verdict->why), wide[1], 2);
        wrap(t->arena, &cells[1], told_words(t, verdict), wide[1], 2);
    }
    for (size_t k = 0; has_tests(verdict->kind) && k < row->tests.n; k++)
        wrap(t->arena, &cells[1], test_words(t, &row->tests.at[k]), wide[1], 2);
    if (verdict->kind == SW_BROKEN) wrap(t->arena, &cells[2], told_words(t, verdict), wide[2], 2);
    for (size_t k = 0; k < verdict->n_limits; k++)
        wrap(t->arena, &cells[2], spare_words(t, verdict, &verdict->limits[k]), wide[2], 2);
    if (verdict->n_assumes) wrap(t->arena, &cells[2], assumes_words(t, verdict), wide[2], 2);
    put_cells(t, cells, wide, n);
}

static bool reason_told(const Table *t, size_t k) {
    for (size_t i = 0; i < k; i++)
        if (t->rows.at[i].section == t->rows.at[k].section &&
            same(t->rows.at[i].verdict->why, t->rows.at[k].verdict->why))
            return true;
    return false;
}

/* Rules of other kinds of aircraft are many: by reason, their names are enough. */
static void put_reasons(const Table *t, size_t index) {
    for (size_t k = 0; k < t->rows.n; k++) {
        SwText why = t->rows.at[k].verdict->why;
        if (t->rows.at[k].section != index || reason_told(t, k)) continue;
        Buf names = {.arena = t->arena};
        for (size_t i = k; i < t->rows.n; i++) {
            if (t->rows.at[i].section != index || !same(t->rows.at[i].verdict->why, why)) continue;
            buf_text(&names, names.len ? ", " : "");
            buf_str(&names, str(t->rows.at[i].verdict->gate));
        }
        put_paragraph(t, format(t, "%S: %S", str(why), buf_view(&names)), 2);
    }
}

static void put_section(const Table *t, size_t index) {
    static const size_t two[2] = {42, 52};
    const Section *section = &t->sections.at[index];
    Buf head = {.arena = t->arena};
    buf_text(&head, section_words[section->kind]);
    for (size_t k = 0; k < section->first->tails.n; k++) {
        buf_text(&head, k ? ", " : ": ");
        buf_str(&head, str(section->first->tails.at[k]));
    }
    buf_format(&head, NULL, section->n == 1 ? " (%u rule)" : " (%u rules)", (uint64_t)section->n);
    fputs(t->screen.colour ? "\n\033[1m" : "\n", t->screen.file);
    put_paragraph(t, buf_view(&head), 2);
    fputs(t->screen.colour ? "\033[0m\n" : "\n", t->screen.file);
    if (section->kind == SW_NOT_APPLICABLE) {
        put_reasons(t, index);
        return;
    }
    bool tests = has_tests(section->kind);
    put_heads(t, section->kind, tests ? widths : two, tests ? N_COLUMNS : 2);
    bool first = true;
    for (size_t k = 0; k < t->rows.n; k++) {
        if (t->rows.at[k].section != index) continue;
        if (!first) fputc('\n', t->screen.file);
        put_row(t, &t->rows.at[k], tests ? widths : two, tests ? N_COLUMNS : 2);
        first = false;
    }
}

/* Those that most tails share come first. */
static void put_sections(const Table *t, SwVerdictKind kind) {
    for (size_t n = t->unit->tails; n > 0; n--)
        for (size_t k = 0; k < t->sections.n; k++)
            if (t->sections.at[k].kind == kind && t->sections.at[k].first->tails.n == n) put_section(t, k);
}

/* ---- times of the text itself ---- */
static bool same_time(const SwTextTime *a, const SwTextTime *b) {
    return same(a->line, b->line) && same(a->place.path, b->place.path) && a->place.line == b->place.line &&
           same(a->limit.what, b->limit.what) && a->limit.spare == b->limit.spare &&
           a->limit.spare_ms == b->limit.spare_ms;
}

static Str left_words(const Table *t, const SwTextTime *time) {
    Buf buf = {.arena = t->arena};
    const SwTimeLimit *limit = &time->limit;
    if (limit->spare == SW_SPARE_ANY) return STR("all");
    if (!limit->spare_ms)
        return limit->spare == SW_SPARE_UNKNOWN ? STR("not decided") : STR("none for sure: it may run out before");
    if (limit->spare == SW_SPARE_UNKNOWN) buf_text(&buf, "at least ");
    buf_time(&buf, limit->spare_ms);
    return buf_view(&buf);
}

static void put_text_time(const Table *t, size_t k, const size_t *wide) {
    const SwTextTime *time = &t->unit->text_times[k];
    Cell cells[N_COLUMNS] = {{NULL, 0, 0}};
    RowTest line = {.what = time->line, .path = time->place.path};
    Buf left = {.arena = t->arena}, tails = {.arena = t->arena};
    size_t n = 0;
    for (size_t i = k; i < t->unit->n_text_times; i++) {
        if (!same_time(&t->unit->text_times[i], time)) continue;
        if (n++) buf_text(&tails, ", ");
        buf_str(&tails, str(t->unit->text_times[i].tail));
    }
    vec_push(t->arena, &line.lines, time->place.line);
    if (n < t->unit->tails) buf_str(&left, buf_view(&tails)), buf_text(&left, ": ");
    buf_str(&left, left_words(t, time));
    wrap(t->arena, &cells[0], test_words(t, &line), wide[0], 2);
    wrap(t->arena, &cells[1], str(time->limit.what), wide[1], 2);
    wrap(t->arena, &cells[2], buf_view(&left), wide[2], 2);
    put_cells(t, cells, wide, N_COLUMNS);
}

static void put_text_times(const Table *t) {
    static const size_t wide[N_COLUMNS] = {36, 36, 20};
    Cell heads[N_COLUMNS] = {{NULL, 0, 0}};
    if (!t->unit->n_text_times) return;
    fputc('\n', t->screen.file);
    put_paragraph(
        t,
        STR("Times of the text that count from an event, and what is left of each when its line is come to at "
            "the latest, at the stated pace:"),
        0);
    fputc('\n', t->screen.file);
    vec_push(t->arena, &heads[0], STR("line"));
    vec_push(t->arena, &heads[1], STR("time"));
    vec_push(t->arena, &heads[2], STR("left at this pace"));
    put_cells(t, heads, wide, N_COLUMNS);
    put_rule_line(t, wide, N_COLUMNS);
    for (size_t k = 0; k < t->unit->n_text_times; k++) {
        bool again = false;
        for (size_t i = 0; i < k; i++) again |= same_time(&t->unit->text_times[i], &t->unit->text_times[k]);
        if (!again) put_text_time(t, k, wide);
    }
}

/* ---- what is taken for granted: once, with the tails it holds for where not all say the same ---- */
/* An earlier one with the same word and, where asked for, the same text. */
static bool said_before(const Table *t, size_t k, bool text_too) {
    const SwAssumption *one = &t->unit->assumptions[k];
    for (size_t i = 0; i < k; i++) {
        const SwAssumption *other = &t->unit->assumptions[i];
        if (same(other->id, one->id) && (!text_too || same(other->text, one->text))) return true;
    }
    return false;
}

static size_t put_tails_of(const Table *t, const SwAssumption *one, Buf *buf) {
    size_t n = 0;
    for (size_t i = 0; i < t->unit->n_assumptions; i++) {
        const SwAssumption *other = &t->unit->assumptions[i];
        if (!same(other->id, one->id) || !same(other->text, one->text)) continue;
        if (n++) buf_text(buf, ", ");
        buf_str(buf, str(other->tail));
    }
    return n;
}

static bool leaned_on(const Table *t, const SwAssumption *one) {
    if (t->unit->n_text_times && str_eq(str(one->id), STR("pace"))) return true;
    for (size_t i = 0; i < t->unit->n_verdicts; i++)
        for (size_t k = 0; k < t->unit->verdicts[i].n_assumes; k++)
            if (same(t->unit->verdicts[i].assumes[k], one->id)) return true;
    return false;
}

static void put_assumption(const Table *t, const SwAssumption *one) {
    static const size_t wide[2] = {12, 82};
    Cell cells[2] = {{NULL, 0, 0}};
    Buf tails = {.arena = t->arena};
    Str text = str(one->text);
    if (put_tails_of(t, one, &tails) < t->unit->tails) text = format(t, "%S: %S", buf_view(&tails), text);
    if (!one->every_rule && !leaned_on(t, one)) text = format(t, "%S None does%S.", text, STR(""));
    wrap(t->arena, &cells[0], str(one->id), wide[0], 0);
    wrap(t->arena, &cells[1], text, wide[1], 0);
    put_cells(t, cells, wide, 2);
}

static void put_assumptions(const Table *t, bool every_rule, const char *head) {
    const SwUnit *unit = t->unit;
    bool any = false;
    for (size_t k = 0; k < unit->n_assumptions; k++) {
        if (unit->assumptions[k].every_rule != every_rule || said_before(t, k, false)) continue;
        if (!any) fprintf(t->screen.file, "\n%s\n\n", head);
        any = true;
        for (size_t i = k; i < unit->n_assumptions; i++)
            if (same(unit->assumptions[i].id, unit->assumptions[k].id) && !said_before(t, i, true))
                put_assumption(t, &unit->assumptions[i]);
    }
}

void render_verdicts(Screen screen, Arena *arena, const SwUnit *unit) {
    Table t = {.screen = screen, .arena = arena, .unit = unit};
    if (!unit->n_verdicts) return;
    for (size_t i = 0; i < unit->n_verdicts; i++) add_verdict(&t, &unit->verdicts[i]);
    for (size_t k = 0; k < t.rows.n; k++) place_row(&t, &t.rows.at[k]);
    put_paragraph(
        &t,
        STR("Rules and their verdicts. What a time has to spare: by how much it alone could be tightened, in "
            "the worst case over all runs, with its rule still proved. A line is several points where several "
            "procedures or drills come to it; of drills, only where it then goes on otherwise."),
        0);
    if (t.path.len) put_paragraph(&t, format(&t, "Lines are those of %S%S.", str(t.path), STR("")), 0);
    for (size_t o = 0; o < sizeof section_order / sizeof *section_order; o++) put_sections(&t, section_order[o]);
    put_text_times(&t);
    put_assumptions(&t, true, "Taken for granted by every verdict:");
    put_assumptions(&t, false, "Taken for granted only by those that say that they lean on it:");
    fputc('\n', screen.file);
}
