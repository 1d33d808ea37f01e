/* A state table as CSV (RFC 4180): one record a row, all records in the same columns, so that a filter on `record` gives what is wanted.
   Made of the table as JSON, member by member; the runs with their traces stay there. For a spreadsheet no cell can become a formula. */
#include "back/table_parts.h"
#include "base/json_read.h"
#include <string.h>

/* In the order of the columns. */
typedef enum {
    CSV_TAIL,
    CSV_STATUS,
    CSV_RECORD,
    CSV_OF,
    CSV_ID,
    CSV_KIND,
    CSV_LABEL,
    CSV_WORDS,
    CSV_TITLE,
    CSV_PROCEDURE,
    CSV_DRILL,
    CSV_PHASE,
    CSV_ITEM,
    CSV_ENGINE,
    CSV_FROM,
    CSV_TO,
    CSV_WHEN,
    CSV_IF,
    CSV_NOT_BEFORE,
    CSV_NOT_AFTER,
    CSV_SETS,
    CSV_COUNTS,
    CSV_DOES,
    CSV_RESETS,
    CSV_EMITS,
    CSV_OVER_DUTY,
    CSV_CLOCK,
    CSV_MS,
    CSV_LAPSE,
    CSV_SCOPES,
    CSV_AMOUNT,
    CSV_AT_LEAST,
    CSV_AT_MOST,
    CSV_UCUM,
    CSV_DEPTH,
    CSV_AT_LEAST_MS,
    CSV_AT_MOST_MS,
    CSV_PACE,
    CSV_ASSUMES,
    CSV_WHY,
    CSV_SPARE,
    CSV_SPARE_MS,
    CSV_POINTS,
    CSV_HASH,
    CSV_FILE_OF,
    CSV_LINE,
    CSV_COLUMN,
    CSV_END_LINE,
    CSV_END_COLUMN,
    CSV_COLUMNS
} Column;
static const char *const column_names[] = {
    [CSV_TAIL] = "tail",
    [CSV_STATUS] = "status",
    [CSV_RECORD] = "record",
    [CSV_OF] = "of",
    [CSV_ID] = "id",
    [CSV_KIND] = "kind",
    [CSV_LABEL] = "label",
    [CSV_WORDS] = "words",
    [CSV_TITLE] = "title",
    [CSV_PROCEDURE] = "procedure",
    [CSV_DRILL] = "drill",
    [CSV_PHASE] = "phase",
    [CSV_ITEM] = "item",
    [CSV_ENGINE] = "engine",
    [CSV_FROM] = "from",
    [CSV_TO] = "to",
    [CSV_WHEN] = "when",
    [CSV_IF] = "if",
    [CSV_NOT_BEFORE] = "notBefore",
    [CSV_NOT_AFTER] = "notAfter",
    [CSV_SETS] = "set",
    [CSV_COUNTS] = "count",
    [CSV_DOES] = "does",
    [CSV_RESETS] = "reset",
    [CSV_EMITS] = "emit",
    [CSV_OVER_DUTY] = "overDuty",
    [CSV_CLOCK] = "clock",
    [CSV_MS] = "ms",
    [CSV_LAPSE] = "lapse",
    [CSV_SCOPES] = "scopes",
    [CSV_AMOUNT] = "amount",
    [CSV_AT_LEAST] = "atLeast",
    [CSV_AT_MOST] = "atMost",
    [CSV_UCUM] = "ucum",
    [CSV_DEPTH] = "depth",
    [CSV_AT_LEAST_MS] = "atLeastMs",
    [CSV_AT_MOST_MS] = "atMostMs",
    [CSV_PACE] = "pace",
    [CSV_ASSUMES] = "assumes",
    [CSV_WHY] = "why",
    [CSV_SPARE] = "spare",
    [CSV_SPARE_MS] = "spareMs",
    [CSV_POINTS] = "points",
    [CSV_HASH] = "hash",
    [CSV_FILE_OF] = "file",
    [CSV_LINE] = "line",
    [CSV_COLUMN] = "column",
    [CSV_END_LINE] = "endLine",
    [CSV_END_COLUMN] = "endColumn",
};

typedef struct {
    Arena *arena;
    const JsonNode *root;
    Names facts; /* by Name: their nodes */
    NameMap fact_nodes;
    Buf *scopes; /* by place: "s0 s3", those it is in */
    Str cells[CSV_COLUMNS];
    bool numbers[CSV_COLUMNS]; /* of the row: what was a number */
    Str engine;                /* of the verdict whose rows are written */
    bool for_sheets;
    Sink sink;
    bool failed;
} Csv;

/* How a member becomes the text of a cell. */
typedef void Form(Csv *csv, Buf *cell, const JsonNode *node);
typedef struct {
    const char *member; /* "at.line": of an object in it */
    Column column;
    Form *form;
} Cell;
typedef struct {
    const char *record;
    const Cell *cells; /* a member NULL ends them */
} Record;

/* ---- a row ---- */

/* What spreadsheets take for the beginning of a formula, or cut at; some of them divide at other signs than commas. */
static bool may_begin_formula(Str text, size_t at) {
    static const char *const wide[] = {"\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D", "\xEF\xBC\xA0"}; /* = + - @ */
    while (at < text.len && (text.ptr[at] == ' ' || text.ptr[at] == '"')) at++;
    Str rest = str_slice(text, at, text.len);
    for (size_t i = 0; i < sizeof wide / sizeof *wide; i++)
        if (str_starts(rest, str_of(wide[i]))) return true;
    return rest.len && strchr("=+-@|%\t\r", rest.ptr[0]);
}

static void put_safe(Buf *out, Str text) {
    for (size_t i = 0; i < text.len; i++) {
        bool begins = !i || strchr(",;\t\r\n", text.ptr[i - 1]);
        if (begins && may_begin_formula(text, i)) buf_char(out, '\'');
        buf_char(out, text.ptr[i]);
        if (text.ptr[i] == '"') buf_char(out, '"');
    }
}

static void put_cell(const Csv *csv, Buf *out, Str text, bool number) {
    bool quoted = csv->for_sheets && !number && text.len;
    for (size_t i = 0; i < text.len; i++) quoted |= !!strchr(",\"\r\n", text.ptr[i]);
    if (!quoted) {
        buf_str(out, text);
        return;
    }
    buf_char(out, '"');
    if (csv->for_sheets) put_safe(out, text);
    else
        for (size_t i = 0; i < text.len; i++) {
            if (text.ptr[i] == '"') buf_char(out, '"');
            buf_char(out, text.ptr[i]);
        }
    buf_char(out, '"');
}

static void put_row(Csv *csv) {
    Buf row = {csv->arena, NULL, 0, 0};
    for (int c = 0; c < CSV_COLUMNS; c++) {
        if (c) buf_char(&row, ',');
        put_cell(csv, &row, csv->cells[c], csv->numbers[c]);
    }
    buf_text(&row, "\r\n");
    if (!csv->failed) csv->failed = !sink_str(csv->sink, buf_view(&row));
    arena_give(csv->arena, row.ptr, row.cap);
}

static void begin_row(Csv *csv, const char *record, Str of) {
    for (int c = CSV_RECORD; c < CSV_COLUMNS; c++) csv->cells[c] = STR(""), csv->numbers[c] = false;
    csv->cells[CSV_RECORD] = str_of(record);
    csv->cells[CSV_OF] = of;
    csv->cells[CSV_ENGINE] = csv->engine;
}

static const JsonNode *member_at(const JsonNode *object, const char *path) {
    const char *dot = strchr(path, '.');
    if (!dot) return json_member(object, path);
    char first[16];
    size_t n = (size_t)(dot - path);
    memcpy(first, path, n), first[n] = 0;
    return json_member(json_member(object, first), dot + 1);
}

static Str text_at(const JsonNode *object, const char *path) {
    const JsonNode *node = member_at(object, path);
    return node ? node->text : STR("");
}

static void fill_row(Csv *csv, const Record *record, const JsonNode *object) {
    for (const Cell *cell = record->cells; cell->member; cell++) {
        const JsonNode *node = member_at(object, cell->member);
        if (!node) continue;
        Buf text = {csv->arena, NULL, 0, 0};
        if (cell->form) cell->form(csv, &text, node);
        csv->cells[cell->column] = cell->form ? buf_finish(&text) : node->text;
        csv->numbers[cell->column] = !cell->form && node->kind == JSON_NUMBER;
    }
}

static void put_record(Csv *csv, const Record *record, Str of, const JsonNode *object) {
    begin_row(csv, record->record, of);
    fill_row(csv, record, object);
    put_row(csv);
}

static void put_records(Csv *csv, const Record *record, Str of, const JsonNode *array) {
    for (const JsonNode *one = array ? array->first : NULL; one; one = one->next) put_record(csv, record, of, one);
}

static void put_texts(Csv *csv, const char *record, Str of, Column column, const JsonNode *array) {
    for (const JsonNode *one = array ? array->first : NULL; one; one = one->next) {
        begin_row(csv, record, of);
        csv->cells[column] = one->text;
        put_row(csv);
    }
}

/* ---- forms ---- */

static void form_truth(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    if (node->kind == JSON_TRUE) buf_text(cell, "yes");
}

static void form_list(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    for (const JsonNode *one = node->first; one; one = one->next) {
        if (one != node->first) buf_char(cell, ' ');
        buf_str(cell, one->text);
    }
}

static void form_bounds(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    for (const JsonNode *one = node->first; one; one = one->next) {
        if (one != node->first) buf_char(cell, ' ');
        buf_str(cell, text_at(one, "clock")), buf_char(cell, '='), buf_str(cell, text_at(one, "ms"));
    }
}

/* "f1=0|2", as scripts name values. */
static void put_values(Buf *cell, const JsonNode *test, const char *member) {
    const JsonNode *values = json_member(test, member);
    buf_str(cell, text_at(test, "fact")), buf_char(cell, '=');
    for (const JsonNode *one = values ? values->first : NULL; one; one = one->next) {
        if (one != values->first) buf_char(cell, '|');
        buf_str(cell, one->text);
    }
}

static const JsonNode *fact_of(const Csv *csv, Str id) {
    Name name = name_find(&csv->facts, id);
    return name ? map_get(&csv->fact_nodes, name) : NULL;
}

/* "mixture RICH or LEAN" */
static void put_words(const Csv *csv, Buf *cell, const JsonNode *test, const char *member, const char *between) {
    const JsonNode *fact = fact_of(csv, text_at(test, "fact")), *values = json_member(test, member);
    buf_str(cell, text_at(fact, "name"));
    for (const JsonNode *one = values ? values->first : NULL; one; one = one->next) {
        const JsonNode *value = json_member(fact, "values");
        value = value ? value->first : NULL;
        for (int64_t skip = one->value; value && skip; skip--) value = value->next;
        buf_text(cell, one == values->first ? " " : between), buf_str(cell, value ? value->text : one->text);
    }
}

static void form_when(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    for (const JsonNode *term = node->first; term; term = term->next) {
        if (term != node->first) buf_text(cell, " / ");
        if (!term->first) buf_text(cell, "always");
        for (const JsonNode *test = term->first; test; test = test->next) {
            if (test != term->first) buf_char(cell, ' ');
            put_values(cell, test, "in");
        }
    }
}

static void form_if(Csv *csv, Buf *cell, const JsonNode *node) {
    for (const JsonNode *term = node->first; term; term = term->next) {
        if (term != node->first) buf_text(cell, " / ");
        if (!term->first) buf_text(cell, "always");
        for (const JsonNode *test = term->first; test; test = test->next) {
            if (test != term->first) buf_text(cell, ", ");
            put_words(csv, cell, test, "in", " or ");
        }
    }
}

static void form_set(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    for (const JsonNode *one = node->first; one; one = one->next) {
        if (one != node->first) buf_char(cell, ' ');
        put_values(cell, one, "to");
    }
}

static void form_does(Csv *csv, Buf *cell, const JsonNode *node) {
    for (const JsonNode *one = node->first; one; one = one->next) {
        if (one != node->first) buf_text(cell, ", ");
        put_words(csv, cell, one, "to", " or ");
    }
}

/* "seen f7=0", "call clear", "turn x2" */
static void form_emit(Csv *csv, Buf *cell, const JsonNode *node) {
    (void)csv;
    for (const JsonNode *one = node->first; one; one = one->next) {
        const JsonNode *count = json_member(one, "count");
        if (one != node->first) buf_text(cell, " / ");
        buf_str(cell, text_at(one, "event"));
        if (json_member(one, "name")) buf_char(cell, ' '), buf_str(cell, text_at(one, "name"));
        if (json_member(one, "fact")) buf_char(cell, ' '), put_values(cell, one, "in");
        if (count) buf_text(cell, " x"), buf_str(cell, count->text);
    }
}

/* ---- records ---- */

#define WHERE                                                                                     \
    {"at.file", CSV_FILE_OF, NULL}, {"at.line", CSV_LINE, NULL}, {"at.column", CSV_COLUMN, NULL}, \
        {"at.endLine", CSV_END_LINE, NULL}, {                                                     \
        "at.endColumn", CSV_END_COLUMN, NULL                                                      \
    }
#define LAST \
    { NULL, CSV_COLUMNS, NULL }

static const Record source_record = {"source",
                                     (const Cell[]){{"file", CSV_FILE_OF, NULL}, {"sha256", CSV_HASH, NULL}, LAST}};
static const Record fact_record = {
    "fact", (const Cell[]){{"id", CSV_ID, NULL}, {"kind", CSV_KIND, NULL}, {"name", CSV_WORDS, NULL}, LAST}};
static const Record band_record = {"band", (const Cell[]){{"name", CSV_ID, NULL},
                                                          {"atLeast", CSV_AT_LEAST, NULL},
                                                          {"atMost", CSV_AT_MOST, NULL},
                                                          {"ucum", CSV_UCUM, NULL},
                                                          LAST}};
static const Record limit_record = {"limit", (const Cell[]){{"key", CSV_ID, NULL},
                                                            {"moreRoom", CSV_KIND, NULL},
                                                            {"words", CSV_WORDS, NULL},
                                                            {"what", CSV_TITLE, NULL},
                                                            {"amount", CSV_AMOUNT, NULL},
                                                            {"ucum", CSV_UCUM, NULL},
                                                            LAST}};
static const Record procedure_record = {
    "procedure", (const Cell[]){{"id", CSV_ID, NULL}, {"kind", CSV_KIND, NULL}, {"title", CSV_TITLE, NULL}, LAST}};
static const Record line_record = {"line", (const Cell[]){{"id", CSV_ID, NULL},
                                                          {"words", CSV_WORDS, NULL},
                                                          {"phase", CSV_PHASE, NULL},
                                                          {"depth", CSV_DEPTH, NULL},
                                                          {"atLeastMs", CSV_AT_LEAST_MS, NULL},
                                                          {"atMostMs", CSV_AT_MOST_MS, NULL},
                                                          LAST}};
static const Record clock_record = {"clock", (const Cell[]){{"id", CSV_ID, NULL}, {"what", CSV_WORDS, NULL}, LAST}};
static const Record place_record = {"place", (const Cell[]){{"id", CSV_ID, NULL},
                                                            {"kind", CSV_KIND, NULL},
                                                            {"outcome", CSV_LABEL, NULL},
                                                            {"words", CSV_WORDS, NULL},
                                                            {"procedure", CSV_PROCEDURE, NULL},
                                                            {"drill", CSV_DRILL, NULL},
                                                            {"phase", CSV_PHASE, NULL},
                                                            {"item", CSV_ITEM, NULL},
                                                            WHERE,
                                                            LAST}};
static const Record deadline_record = {"deadline", (const Cell[]){{"when", CSV_WHEN, form_when},
                                                                  {"when", CSV_IF, form_if},
                                                                  {"clock", CSV_CLOCK, NULL},
                                                                  {"ms", CSV_MS, NULL},
                                                                  {"lapse", CSV_LAPSE, form_list},
                                                                  LAST}};
static const Record edge_record = {"edge", (const Cell[]){{"id", CSV_ID, NULL},
                                                          {"by", CSV_KIND, NULL},
                                                          {"label", CSV_LABEL, NULL},
                                                          {"from", CSV_FROM, NULL},
                                                          {"to", CSV_TO, NULL},
                                                          {"when", CSV_WHEN, form_when},
                                                          {"when", CSV_IF, form_if},
                                                          {"notBefore", CSV_NOT_BEFORE, form_bounds},
                                                          {"notAfter", CSV_NOT_AFTER, form_bounds},
                                                          {"set", CSV_SETS, form_set},
                                                          {"set", CSV_DOES, form_does},
                                                          {"count", CSV_COUNTS, form_list},
                                                          {"reset", CSV_RESETS, form_list},
                                                          {"emit", CSV_EMITS, form_emit},
                                                          {"overDuty", CSV_OVER_DUTY, form_truth},
                                                          LAST}};
static const Record verdict_record = {"verdict", (const Cell[]){{"gate", CSV_ID, NULL},
                                                                {"verdict", CSV_KIND, NULL},
                                                                {"title", CSV_TITLE, NULL},
                                                                {"rule", CSV_WORDS, NULL},
                                                                {"pace", CSV_PACE, form_truth},
                                                                {"assumes", CSV_ASSUMES, form_list},
                                                                {"why", CSV_WHY, NULL},
                                                                {"hash", CSV_HASH, NULL},
                                                                LAST}};
static const Record time_record = {"time", (const Cell[]){{"bound", CSV_KIND, NULL},
                                                          {"ms", CSV_MS, NULL},
                                                          {"what", CSV_WORDS, NULL},
                                                          {"spare", CSV_SPARE, NULL},
                                                          {"spareMs", CSV_SPARE_MS, NULL},
                                                          LAST}};
static const Record test_record = {"test", (const Cell[]){{"by", CSV_WORDS, NULL},
                                                          {"file", CSV_FILE_OF, NULL},
                                                          {"lines", CSV_LINE, form_list},
                                                          {"points", CSV_POINTS, NULL},
                                                          LAST}};
static const Record step_record = {"step", (const Cell[]){{"atMs", CSV_MS, NULL},
                                                          {"by", CSV_KIND, NULL},
                                                          {"text", CSV_WORDS, NULL},
                                                          {"facts", CSV_IF, NULL},
                                                          {"item", CSV_ITEM, NULL},
                                                          WHERE,
                                                          LAST}};

/* ---- the table ---- */

static void put_pair(Csv *csv, const char *record, const char *id, Str words) {
    begin_row(csv, record, STR(""));
    csv->cells[CSV_ID] = str_of(id);
    csv->cells[CSV_WORDS] = words;
    put_row(csv);
}

static void put_head(Csv *csv) {
    static const char *const members[] = {"schema", "version", "joint", "claim"};
    put_texts(csv, "caution", STR(""), CSV_WORDS, json_member(csv->root, "cautions"));
    for (size_t i = 0; i < sizeof members / sizeof *members; i++)
        put_pair(csv, "table", members[i], text_at(csv->root, members[i]));
    put_pair(csv, "table", "tail", text_at(csv->root, "tail.title"));
    const JsonNode *document = json_member(csv->root, "document");
    for (const JsonNode *one = document ? document->first : NULL; one; one = one->next) {
        begin_row(csv, "document", STR(""));
        csv->cells[CSV_ID] = one->key;
        csv->cells[CSV_WORDS] = one->text;
        csv->numbers[CSV_WORDS] = one->kind == JSON_NUMBER;
        put_row(csv);
    }
    put_records(csv, &source_record, STR(""), json_member(csv->root, "sources"));
    put_texts(csv, "assumption", STR(""), CSV_WORDS, json_member(csv->root, "assumptions"));
    put_texts(csv, "feature", STR(""), CSV_ID, json_member(csv->root, "features"));
}

static bool may_begin_with(const JsonNode *fact, int64_t value) {
    const JsonNode *initial = json_member(fact, "initial");
    for (const JsonNode *one = initial ? initial->first : NULL; one; one = one->next)
        if (one->value == value) return true;
    return false;
}

static void put_facts_of(Csv *csv) {
    for (const JsonNode *fact = json_member(csv->root, "facts")->first; fact; fact = fact->next) {
        int64_t n = 0;
        put_record(csv, &fact_record, STR(""), fact);
        for (const JsonNode *value = json_member(fact, "values")->first; value; value = value->next, n++) {
            Buf index = {csv->arena, NULL, 0, 0};
            buf_int(&index, n);
            begin_row(csv, "value", text_at(fact, "id"));
            csv->cells[CSV_ID] = buf_finish(&index), csv->numbers[CSV_ID] = true;
            csv->cells[CSV_KIND] = may_begin_with(fact, n) ? STR("initial") : STR("");
            csv->cells[CSV_WORDS] = value->text;
            put_row(csv);
        }
    }
    for (const JsonNode *gauge = json_member(csv->root, "gauges")->first; gauge; gauge = gauge->next) {
        begin_row(csv, "gauge", text_at(gauge, "fact"));
        csv->cells[CSV_TITLE] = text_at(gauge, "title");
        put_row(csv);
        put_records(csv, &band_record, text_at(gauge, "fact"), json_member(gauge, "bands"));
    }
    put_records(csv, &clock_record, STR(""), json_member(csv->root, "clocks"));
}

/* What the cards say, line by line, and the aircraft's numbers. */
static void put_lines_of(Csv *csv) {
    for (const JsonNode *one = json_member(csv->root, "procedures")->first; one; one = one->next) {
        put_record(csv, &procedure_record, STR(""), one);
        for (const JsonNode *line = json_member(one, "lines")->first; line; line = line->next) {
            begin_row(csv, line_record.record, text_at(one, "id"));
            fill_row(csv, &line_record, line);
            if (json_member(line, "head")) csv->cells[CSV_KIND] = STR("head");
            if (json_member(line, "remark")) csv->cells[CSV_KIND] = STR("remark");
            put_row(csv);
        }
    }
    put_records(csv, &limit_record, STR(""), json_member(csv->root, "limits"));
}

static void put_places_of(Csv *csv) {
    uint32_t p = 0;
    for (const JsonNode *place = json_member(csv->root, "places")->first; place; place = place->next, p++) {
        Str id = text_at(place, "id");
        begin_row(csv, "place", STR(""));
        fill_row(csv, &place_record, place);
        csv->cells[CSV_SCOPES] = buf_view(&csv->scopes[p]);
        put_row(csv);
        put_texts(csv, "caution", id, CSV_WORDS, json_member(place, "cautions"));
        put_texts(csv, "formerId", id, CSV_ID, json_member(place, "formerIds"));
        put_records(csv, &deadline_record, id, json_member(place, "deadlines"));
    }
    put_records(csv, &deadline_record, STR(""), json_member(csv->root, "deadlinesEverywhere"));
}

static void put_verdicts_of(Csv *csv) {
    for (const JsonNode *one = json_member(csv->root, "verdicts")->first; one; one = one->next) {
        Str gate = text_at(one, "gate");
        const JsonNode *witness = json_member(one, "witness");
        csv->engine = text_at(one, "engine");
        put_record(csv, &verdict_record, STR(""), one);
        put_records(csv, &time_record, gate, json_member(one, "limits"));
        put_records(csv, &test_record, gate, json_member(one, "testedBy"));
        if (!witness) continue;
        put_records(csv, &step_record, gate, json_member(witness, "steps"));
        begin_row(csv, "broken", gate);
        csv->cells[CSV_WORDS] = text_at(witness, "wanted");
        csv->cells[CSV_WHY] = text_at(witness, "nearest");
        put_row(csv);
    }
}

/* Which scopes each place is in, and facts by their ids. */
static void open_index(Csv *csv) {
    const JsonNode *places = json_member(csv->root, "places");
    names_open(&csv->facts, csv->arena);
    csv->fact_nodes = (NameMap){.arena = csv->arena};
    for (JsonNode *fact = json_member(csv->root, "facts")->first; fact; fact = fact->next)
        map_put(&csv->fact_nodes, name_intern(&csv->facts, text_at(fact, "id")), fact);
    csv->scopes = ARENA_ARRAY(csv->arena, Buf, places->n + 1u);
    for (uint32_t p = 0; p < places->n; p++) csv->scopes[p].arena = csv->arena;
    for (const JsonNode *scope = json_member(csv->root, "scopes")->first; scope; scope = scope->next)
        for (const JsonNode *one = json_member(scope, "places")->first; one; one = one->next) {
            Buf *list = &csv->scopes[one->value];
            if (list->len) buf_char(list, ' ');
            buf_str(list, text_at(scope, "id"));
        }
}

static bool write_csv(const BackInput *input, Sink sink, bool for_sheets) {
    Csv csv = {.arena = input->job->arena, .root = table_tree(input), .for_sheets = for_sheets, .sink = sink};
    open_index(&csv);
    if (for_sheets) csv.failed = !sink_str(sink, STR("\xEF\xBB\xBF")); /* else some take it for another encoding */
    for (int c = 0; c < CSV_COLUMNS; c++) csv.cells[c] = str_of(column_names[c]);
    put_row(&csv);
    csv.cells[CSV_TAIL] = text_at(csv.root, "tail.id");
    csv.cells[CSV_STATUS] = text_at(csv.root, "status");
    put_head(&csv);
    put_lines_of(&csv);
    put_facts_of(&csv);
    put_places_of(&csv);
    put_records(&csv, &edge_record, STR(""), json_member(csv.root, "edges"));
    put_verdicts_of(&csv);
    return !csv.failed;
}

bool table_csv(const BackInput *input, Sink sink) {
    return write_csv(input, sink, false);
}

bool table_csv_sheet(const BackInput *input, Sink sink) {
    return write_csv(input, sink, true);
}
