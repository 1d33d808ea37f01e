#include "back/record.h"
#include "base/utf8.h"

Record record_open(const BackInput *input, Str title) {
    return (Record){.input = input, .arena = input->job->arena, .title = title};
}

static void add(Record *record, RecordPart part) {
    vec_push(record->arena, &record->parts, part);
}

void record_head(Record *record, Str text) {
    add(record, (RecordPart){.kind = RECORD_HEAD, .text = text});
}

void record_words(Record *record, Str text) {
    add(record, (RecordPart){.kind = RECORD_WORDS, .text = text});
}

void record_table(Record *record, Str about, const RecordColumn *columns, size_t n) {
    add(record, (RecordPart){.kind = RECORD_TABLE, .text = about, .columns = columns, .n_columns = n});
}

void record_row(Record *record, const Str *cells) {
    RecordPart *table = &record->parts.at[record->parts.n - 1];
    RecordRow row = {.cells = arena_copy(record->arena, cells, table->n_columns * sizeof *cells)};
    vec_push(record->arena, &table->rows, row);
}

void record_numbers(Record *record, RecordNumber from, RecordNumber to) {
    RecordPart *table = &record->parts.at[record->parts.n - 1];
    table->rows.at[table->rows.n - 1].from = from;
    table->rows.at[table->rows.n - 1].to = to;
}

bool record_has_rows(const Record *record) {
    return record->parts.n && record->parts.at[record->parts.n - 1].rows.n > 0;
}

/* ---- what stands on every record ---- */

static const char *standing(const Edition *edition) {
    return edition->not_proved ? "NOT PROVED" : edition->draft ? "DRAFT" : "";
}

static Str identity(const Record *record) {
    const Edition *edition = record->input->edition;
    Buf buf = {record->arena, NULL, 0, 0};
    buf_format(&buf, record->input->job->names, "%S, revision %u", edition->document, (uint64_t)edition->revision);
    if (edition->effective.len) buf_format(&buf, NULL, ", effective %S", edition->effective);
    if (edition->review_by.len) buf_format(&buf, NULL, ", review by %S", edition->review_by);
    if (edition->code[0]) buf_format(&buf, NULL, ", check code %s", edition->code);
    return buf_view(&buf);
}

static Str page_caution(const Record *record) {
    return format_text(record->arena, NULL, "%S %s", record->input->tail->title, caution_line);
}

/* ---- plain text ---- */

/* One line of a cell from *at on; a word that is longer than the column is cut. */
static Str next_line(Str text, size_t *at, size_t width) {
    while (*at < text.len && text.ptr[*at] == ' ') ++*at;
    size_t lo = *at, end = lo, blank = 0, joint = 0, cells = 0;
    while (end < text.len && text.ptr[end] != '\n') {
        Utf8 code = utf8_decode(text, end);
        if (code.code == ' ') blank = end;
        else if (end > lo && (text.ptr[end - 1] == '-' || text.ptr[end - 1] == '.')) joint = end;
        cells += utf8_width(code.code);
        if (cells > width) break;
        end += code.size;
    }
    bool whole = end >= text.len || text.ptr[end] == '\n';
    if (!whole && blank > lo) end = blank;
    else if (!whole && joint > lo) end = joint; /* an id is longer than the column */
    *at = end < text.len && text.ptr[end] == '\n' ? end + 1 : end;
    return str_slice(text, lo, end);
}

static void text_words(Buf *out, Str text) {
    for (size_t at = 0; at < text.len;) {
        buf_str(out, next_line(text, &at, RECORD_WIDTH));
        buf_char(out, '\n');
    }
}

static void text_rule(Buf *out, const char *sign, size_t n) {
    for (size_t i = 0; i < n; i++) buf_text(out, sign);
    buf_char(out, '\n');
}

static void text_cells(Buf *out, const RecordPart *table, const Str *cells) {
    size_t at[RECORD_COLUMNS] = {0};
    for (bool more = true; more;) {
        size_t owed = 0;
        more = false;
        for (size_t c = 0; c < table->n_columns; c++) {
            Str line = next_line(cells[c], &at[c], table->columns[c].width);
            if (line.len) buf_repeat(out, ' ', owed), owed = 0;
            buf_str(out, line);
            owed += table->columns[c].width + 1 - utf8_text_width(line);
            more |= at[c] < cells[c].len;
        }
        buf_char(out, '\n');
    }
}

static void text_table(Buf *out, const RecordPart *table) {
    Str heads[RECORD_COLUMNS];
    size_t width = table->n_columns - 1;
    for (size_t c = 0; c < table->n_columns; c++) {
        heads[c] = str_of(table->columns[c].title);
        width += table->columns[c].width;
    }
    text_cells(out, table, heads);
    text_rule(out, "─", width);
    for (size_t r = 0; r < table->rows.n; r++) text_cells(out, table, table->rows.at[r].cells);
}

static void text_part(Buf *out, const RecordPart *part) {
    if (part->kind == RECORD_TABLE && !part->rows.n) return;
    buf_char(out, '\n');
    text_words(out, part->text);
    if (part->kind == RECORD_HEAD) text_rule(out, "━", utf8_text_width(part->text));
    if (part->kind != RECORD_TABLE) return;
    text_table(out, part);
}

bool record_text(const Record *record, Sink sink) {
    Buf out = {record->arena, NULL, 0, 0};
    const char *stands = standing(record->input->edition);
    text_words(&out, record->title);
    text_rule(&out, "═", RECORD_WIDTH);
    text_words(&out, identity(record));
    if (*stands) text_words(&out, str_of(stands));
    text_words(&out, page_caution(record));
    for (size_t i = 0; i < record->parts.n; i++) text_part(&out, &record->parts.at[i]);
    buf_char(&out, '\n');
    text_rule(&out, "═", RECORD_WIDTH);
    for (size_t i = 0; caution_lines[i]; i++) text_words(&out, str_of(caution_lines[i]));
    return sink_str(sink, buf_view(&out));
}

/* ---- HTML ---- */

static const char page_style[] =
    "body{font:11pt/1.35 sans-serif;color:#000;background:#fff;margin:1.5em auto;max-width:70em;padding:0 1em}"
    "table{border-collapse:collapse;width:100%;margin:.5em 0 1.5em}caption{text-align:left;padding:.3em 0}"
    "th,td{border:1px solid #000;padding:.3em .5em;text-align:left;vertical-align:top;overflow-wrap:anywhere}"
    "thead{display:table-header-group}tr{break-inside:avoid}h2{margin:1.2em 0 .3em;break-after:avoid}"
    ".stands{font-size:1.6em;font-weight:bold;border:3px solid #000;padding:.1em .5em;display:inline-block}"
    "footer,.identity{border-top:2px solid #000;padding-top:.5em}.wide{overflow-x:auto}"
    "@page{margin:15mm}@media print{body{max-width:none;margin:0;font-size:9.5pt}}";

static void html_text(Buf *out, Str text) {
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (c == '<') buf_text(out, "&lt;");
        else if (c == '>') buf_text(out, "&gt;");
        else if (c == '&') buf_text(out, "&amp;");
        else if (c == '"') buf_text(out, "&quot;");
        else if (c == '\n') buf_text(out, "<br>");
        else buf_char(out, c);
    }
}

static void html_element(Buf *out, const char *name, Str text) {
    buf_format(out, NULL, "<%s>", name);
    html_text(out, text);
    buf_format(out, NULL, "</%s>\n", name);
}

static void html_table(Buf *out, const RecordPart *table) {
    buf_text(out, "<div class=\"wide\"><table>\n");
    if (table->text.len) html_element(out, "caption", table->text);
    buf_text(out, "<colgroup>");
    for (size_t c = 0; c < table->n_columns; c++)
        buf_format(out, NULL, "<col style=\"width:%u%%\">", (uint64_t)(table->columns[c].width * 100 / RECORD_WIDTH));
    buf_text(out, "</colgroup>\n<thead><tr>");
    for (size_t c = 0; c < table->n_columns; c++) {
        buf_text(out, "<th scope=\"col\">");
        html_text(out, str_of(table->columns[c].title));
        buf_text(out, "</th>");
    }
    buf_text(out, "</tr></thead>\n<tbody>\n");
    for (size_t r = 0; r < table->rows.n; r++) {
        buf_text(out, "<tr>");
        for (size_t c = 0; c < table->n_columns; c++) {
            buf_text(out, "<td>");
            html_text(out, table->rows.at[r].cells[c]);
            buf_text(out, "</td>");
        }
        buf_text(out, "</tr>\n");
    }
    buf_text(out, "</tbody></table></div>\n");
}

static void html_part(Buf *out, const RecordPart *part) {
    if (part->kind == RECORD_HEAD) html_element(out, "h2", part->text);
    else if (part->kind == RECORD_WORDS) html_element(out, "p", part->text);
    else if (part->rows.n) html_table(out, part);
}

bool record_html(const Record *record, Sink sink) {
    Buf out = {record->arena, NULL, 0, 0};
    const char *stands = standing(record->input->edition);
    buf_text(&out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                   "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    html_element(&out, "title", record->title);
    buf_format(&out, NULL, "<style>%s</style>\n</head>\n<body>\n<main>\n", page_style);
    html_element(&out, "h1", record->title);
    if (*stands) buf_format(&out, NULL, "<p class=\"stands\">%s</p>\n", stands);
    buf_text(&out, "<p class=\"identity\">");
    html_text(&out, identity(record));
    buf_text(&out, "</p>\n");
    html_element(&out, "p", page_caution(record));
    for (size_t i = 0; i < record->parts.n; i++) html_part(&out, &record->parts.at[i]);
    buf_text(&out, "</main>\n<footer>\n");
    for (size_t i = 0; caution_lines[i]; i++) html_element(&out, "p", str_of(caution_lines[i]));
    buf_text(&out, "</footer>\n</body>\n</html>\n");
    return sink_str(sink, buf_view(&out));
}
