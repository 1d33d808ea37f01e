/* Known findings: a list of what stood when somebody began, so that new findings can be told from old ones. A finding is known by its rule,
   its tail, where it stands (declaration and line, by their words) and the shape of its path: none of these are numbers of lines. */
#include "base/sha256.h"
#include "workspace/workspace.h"
#include <stdlib.h>

enum { SHAPE_BYTES = 8, WHERE_BYTES = 160 };

/* ---- a finding as a line of the list: "fresh-call qm-1 9c01b2d3e4f50617 tries: crank" ---- */

static const File *file_of(const Unit *unit, const Source *source) {
    for (size_t i = 0; i < unit->files.n; i++)
        if (unit->files.at[i]->source == source) return unit->files.at[i];
    return NULL;
}

static Name declaration_at(const Unit *unit, uint32_t at) {
    const File *file = file_of(unit, source_at(unit->job.sources, at));
    for (const Decl *decl = file ? file->first : NULL; decl; decl = decl->next)
        if (decl->span.lo <= at && at < decl->span.hi) return decl->name.name;
    return 0;
}

/* Its words with one blank between them, without the comment: laying a text out anew makes no finding new. */
static void buf_words(Buf *buf, Str line) {
    bool gap = false, quoted = false, words = false;
    for (size_t i = 0; i < line.len && (quoted || line.ptr[i] != '#'); i++) {
        char c = line.ptr[i];
        if (c == '"') quoted = !quoted;
        if (c == ' ' || c == '\t' || c == '\r') {
            gap = true;
            continue;
        }
        if (gap && words) buf_char(buf, ' ');
        gap = false;
        words = true;
        buf_char(buf, c);
    }
}

static Str cut_to(Str text, size_t most) {
    size_t n = text.len < most ? text.len : most;
    while (n < text.len && n && ((unsigned char)text.ptr[n] & 0xC0) == 0x80) n--;
    return str_slice(text, 0, n);
}

static Str where_it_stands(Unit *unit, Span span) {
    if (!span.lo && !span.hi) return STR("-");
    Position at = source_position(unit->job.sources, span.lo);
    Name declaration = declaration_at(unit, span.lo);
    Buf buf = {.arena = unit->job.arena};
    buf_str(&buf, declaration ? name_text(unit->job.names, declaration) : at.source->path);
    buf_char(&buf, ':');
    buf_char(&buf, ' ');
    buf_words(&buf, source_line(unit->job.sources, at.source, at.line));
    return cut_to(buf_view(&buf), WHERE_BYTES);
}

/* A message without the numbers of lines in it. */
static void hash_message(Sha256 *sha, Str message) {
    const Str line = STR("line ");
    size_t from = 0;
    for (size_t i = 0; i + line.len < message.len; i++) {
        if (!str_eq(str_slice(message, i, i + line.len), line)) continue;
        sha256_add(sha, str_slice(message, from, i + line.len));
        from = i + line.len;
        while (from < message.len && message.ptr[from] >= '0' && message.ptr[from] <= '9') from++;
        i = from ? from - 1 : 0;
    }
    sha256_add(sha, str_slice(message, from, message.len));
}

static void hash_path(Sha256 *sha, const TraceSteps *steps) {
    for (size_t i = 0; i < steps->n; i++) {
        if (!steps->at[i].item.len) continue;
        sha256_add(sha, steps->at[i].item);
        sha256_add(sha, STR("\n"));
    }
}

static Str known_line(Unit *unit, const Finding *finding) {
    Sha256 sha;
    sha256_open(&sha);
    if (finding->trace) hash_path(&sha, &finding->trace->steps);
    else hash_message(&sha, finding->message);
    Sha256Digest digest = sha256_close(&sha);
    Buf buf = {.arena = unit->job.arena};
    buf_str(&buf, finding->gate.len ? finding->gate : str_of(finding_info[finding->kind].id));
    buf_char(&buf, ' ');
    buf_str(&buf, finding->tail.len ? finding->tail : STR("-"));
    buf_char(&buf, ' ');
    buf_hex(&buf, &digest, SHAPE_BYTES);
    buf_char(&buf, ' ');
    buf_str(&buf, where_it_stands(unit, finding->span));
    return buf_view(&buf);
}

/* Notes ask for nothing, and what is waived has a reason and a day. */
static bool can_be_known(const Finding *finding) {
    return finding->severity != SEVERITY_NOTE && !finding->waived;
}

/* ---- a list that is given ---- */

typedef struct {
    Str line, tail;
    Span span;
    bool used;
} Entry;
typedef VEC(Entry) Entries;

static int by_line(const void *left, const void *right) {
    const Entry *a = left, *b = right;
    int order = str_cmp(a->line, b->line);
    return order ? order : (a->span.lo > b->span.lo) - (a->span.lo < b->span.lo);
}

static size_t next_blank(Str line, size_t from) {
    while (from < line.len && line.ptr[from] != ' ') from++;
    return from;
}

static bool is_shape(Str text) {
    for (size_t i = 0; i < text.len; i++)
        if (!((text.ptr[i] >= '0' && text.ptr[i] <= '9') || (text.ptr[i] >= 'a' && text.ptr[i] <= 'f'))) return false;
    return text.len == 2 * SHAPE_BYTES;
}

static bool read_entry(Str line, Entry *entry) {
    size_t id = next_blank(line, 0), tail = next_blank(line, id + 1), shape = next_blank(line, tail + 1);
    if (!id || tail <= id + 1 || shape + 1 >= line.len) return false;
    entry->line = line;
    entry->tail = str_slice(line, id + 1, tail);
    return is_shape(str_slice(line, tail + 1, shape));
}

static Str line_at(Str text, size_t from) {
    size_t end = from;
    while (end < text.len && text.ptr[end] != '\n') end++;
    return str_slice(text, from, end > from && text.ptr[end - 1] == '\r' ? end - 1 : end);
}

/* False: it is no such list. */
static bool read_list(Unit *unit, const Source *source, Entries *entries) {
    uint32_t number = 1;
    for (size_t at = 0; at < source->text.len; number++) {
        Str line = line_at(source->text, at);
        uint32_t lo = source->base + (uint32_t)at;
        Entry entry = {.span = {lo, lo + (uint32_t)line.len}};
        if (line.len && line.ptr[0] != '#') {
            if (!read_entry(line, &entry)) {
                finding_add(
                    &unit->findings, FINDING_KNOWN_LIST, entry.span,
                    "this is no line of a list of known findings, so none of the list is used; `startwright known` "
                    "writes such a list");
                return false;
            }
            vec_push(unit->job.arena, entries, entry);
        }
        at += line.len;
        while (at < source->text.len && source->text.ptr[at] != '\n') at++;
        at++;
    }
    return true;
}

/* The first entry of this line that no finding has used. */
static Entry *find_entry(const Entries *entries, Str line) {
    size_t lo = 0, hi = entries->n;
    while (lo < hi) {
        size_t middle = (lo + hi) / 2;
        int order = str_cmp(entries->at[middle].line, line);
        if (order < 0 || (!order && entries->at[middle].used)) lo = middle + 1;
        else hi = middle;
    }
    return lo < entries->n && str_eq(entries->at[lo].line, line) ? &entries->at[lo] : NULL;
}

static void report_gone(Unit *unit, const Entries *entries) {
    Str only = text_in(unit->goal.tail);
    for (size_t i = 0; i < entries->n; i++) {
        const Entry *entry = &entries->at[i];
        if (entry->used || (only.len && !str_eq(only, entry->tail))) continue;
        finding_add(&unit->findings, FINDING_KNOWN_GONE, entry->span,
                    "nothing that is found today is this finding; take the line out, so that it hides nothing later");
    }
}

void unit_apply_known(Unit *unit) {
    Str path = text_in(unit->goal.known);
    if (!path.len || !unit->public.tails) return;
    Str why_not;
    const Source *source = workspace_source(unit->workspace, path, &why_not);
    Entries entries = {0};
    if (!source) {
        finding_add(&unit->findings, FINDING_CANNOT_READ, (Span){0, 0}, "cannot read %S: %S", path, why_not);
        return;
    }
    if (!read_list(unit, source, &entries)) return;
    if (entries.n) qsort(entries.at, entries.n, sizeof *entries.at, by_line);
    for (size_t i = 0; entries.n && i < unit->findings.list.n; i++) {
        Finding *finding = unit->findings.list.at[i];
        Entry *entry = can_be_known(finding) ? find_entry(&entries, known_line(unit, finding)) : NULL;
        if (!entry) continue;
        entry->used = finding->known = true;
    }
    report_gone(unit, &entries);
}

/* ---- a list that is written ---- */

static int by_text(const void *left, const void *right) {
    return str_cmp(*(const Str *)left, *(const Str *)right);
}

static void buf_head(Buf *buf) {
    buf_text(buf, "# Startwright: findings that are known. A line is one finding: rule, tail, shape of its path, where "
                  "it stands.\n"
                  "# Known is not approved, and no gate is kept because its finding stands here: every card made "
                  "meanwhile says NOT "
                  "PROVED.\n");
    for (size_t i = 0; caution_lines[i]; i++) {
        buf_text(buf, "# ");
        buf_text(buf, caution_lines[i]);
        buf_char(buf, '\n');
    }
}

void unit_list_known(Unit *unit) {
    size_t n = 0;
    Str *lines = ARENA_ARRAY(unit->job.arena, Str, unit->findings.list.n + 1);
    for (size_t i = 0; i < unit->findings.list.n; i++)
        if (can_be_known(unit->findings.list.at[i])) lines[n++] = known_line(unit, unit->findings.list.at[i]);
    if (n) qsort(lines, n, sizeof *lines, by_text);
    Buf buf = {.arena = unit->job.arena};
    buf_head(&buf);
    for (size_t i = 0; i < n; i++) {
        buf_str(&buf, lines[i]);
        buf_char(&buf, '\n');
    }
    unit->public.known_list = text_out(buf_view(&buf));
    unit->public.n_known_list = n;
}
