/* The state table as canonical JSON: what table.schema.json describes. Keys stand in canonical order. */
#include "back/back.h"
#include "back/table_parts.h"
#include "base/json.h"
#include "base/sha256.h"
#include <string.h>

#define TABLE_SCHEMA "urn:startwright:table:0.2"
#define TABLE_VERSION "0.2.3"
#define LINES_SCHEMA "urn:startwright:lines:0.1"
#define LINES_VERSION "0.1.1"

static Str name_of(const Table *table, Name name) {
    return name_text(table->input->job->names, name);
}

void put_name(const Table *table, const char *key, Name name) {
    json_key(table->json, key);
    json_str(table->json, name_of(table, name));
}

void put_span(const Table *table, const char *key, Span span) {
    Json *json = table->json;
    json_key(json, key), json_object(json);
    if (span.hi && !table->for_code) {
        Sources *sources = table->input->job->sources;
        Position at = source_position(sources, span.lo), end = source_position(sources, span.hi);
        json_key(json, "column"), json_int(json, at.column);
        json_key(json, "endColumn"), json_int(json, end.column);
        json_key(json, "endLine"), json_int(json, end.line);
        json_key(json, "file"), json_str(json, at.source->path);
        json_key(json, "line"), json_int(json, at.line);
    }
    json_end(json);
}

void put_optional(const Table *table, const char *key, Str text) {
    if (text.len) json_key(table->json, key), json_str(table->json, text);
}

static void put_document(const Table *table) {
    const Edition *edition = table->input->edition;
    Json *json = table->json;
    json_key(json, "document"), json_object(json);
    if (!edition->draft) put_optional(table, "approvedBy", edition->approved_by);
    if (!edition->draft) put_optional(table, "approvedOn", edition->approved_on);
    put_optional(table, "changes", edition->changes);
    json_key(json, "checkCode"), json_text(json, edition->code);
    if (edition->n_distribution) {
        json_key(json, "distribution"), json_array(json);
        for (size_t i = 0; i < edition->n_distribution; i++) json_str(json, edition->distribution[i]);
        json_end(json);
    }
    put_optional(table, "effective", edition->effective);
    if (edition->follows) json_key(json, "follows"), json_int(json, edition->since);
    json_key(json, "id"), json_str(json, edition->document);
    put_optional(table, "preparedBy", edition->prepared_by);
    put_optional(table, "reviewBy", edition->review_by);
    json_key(json, "revision"), json_int(json, edition->revision);
    put_optional(table, "title", edition->title);
    json_end(json);
}

const char *edition_status(const Edition *edition) {
    return edition->not_proved ? "open" : edition->draft ? "draft" : "provedAsWritten";
}

static void put_cautions(const Table *table) {
    json_key(table->json, "cautions"), json_array(table->json);
    for (size_t i = 0; caution_lines[i]; i++) json_text(table->json, caution_lines[i]);
    json_end(table->json);
}

static void put_producer(const Table *table, const char *schema) {
    Json *json = table->json;
    json_key(json, "producer"), json_text(json, "startwright");
    json_key(json, "schema"), json_text(json, schema);
}

static void put_sources(const Table *table) {
    const Sources *sources = table->input->job->sources;
    Json *json = table->json;
    json_key(json, "sources"), json_array(json);
    for (uint32_t i = 0; i < sources->n; i++) {
        if (sources->at[i]->library) continue;
        Sha256Digest digest = sha256_of(sources->at[i]->text);
        Buf hex = {table->arena, NULL, 0, 0};
        buf_hex(&hex, &digest, 32);
        json_object(json);
        json_key(json, "file"), json_str(json, sources->at[i]->path);
        json_key(json, "sha256"), json_str(json, buf_view(&hex));
        json_end(json);
    }
    json_end(json);
}

static void put_tail(const Table *table) {
    json_key(table->json, "tail"), json_object(table->json);
    put_name(table, "id", table->input->tail->name);
    json_key(table->json, "title"), json_str(table->json, table->input->tail->title);
    json_end(table->json);
}

static void put_lines(Json *json, const char *key, const VectorLines *lines) {
    json_key(json, key), json_array(json);
    for (size_t i = 0; i < lines->n; i++) json_str(json, lines->at[i]);
    json_end(json);
}

static void put_vectors(const Table *table) {
    Json *json = table->json;
    json_key(json, "vectors"), json_array(json);
    for (size_t i = 0; i < table->vectors->n; i++) {
        const Vector *vector = &table->vectors->at[i];
        json_object(json);
        if (vector->after) {
            json_key(json, "after"), json_object(json);
            json_key(json, "lines"), json_int(json, vector->lines);
            json_key(json, "traced"), json_int(json, vector->traced);
            json_key(json, "vector"), json_int(json, (int64_t)vector->after - 1);
            json_end(json);
        }
        put_lines(json, "input", &table->vectors->at[i].input);
        put_lines(json, "trace", &table->vectors->at[i].trace);
        json_end(json);
    }
    json_end(json);
}

/* What the check code is over: the model and the verdicts, without who approved it. */
static void put_content(const Table *table, Str hash) {
    Json *json = table->json;
    json_object(json);
    put_assumptions(table);
    put_cautions(table);
    json_key(json, "claim"), json_text(json, scope_of_claim);
    put_clocks(table);
    if (hash.len) json_key(json, "contentHash"), json_str(json, hash);
    put_ambient_deadlines(table);
    if (!table->for_code) put_document(table);
    put_edges(table);
    put_facts(table);
    json_key(json, "features"), json_array(json);
    json_text(json, "choices");
    json_text(json, "scopes");
    json_end(json);
    put_gauges(table);
    json_key(json, "joint"), json_str(json, table->names->places[table->input->model->joint]);
    put_numbers(table);
    put_places(table);
    put_procedures(table);
    put_producer(table, TABLE_SCHEMA);
    put_scopes(table);
    if (!table->for_code) put_sources(table);
    if (!table->for_code) json_key(json, "status"), json_text(json, edition_status(table->input->edition));
    put_tail(table);
    if (table->vectors) put_vectors(table);
    put_verdicts(table);
    if (!table->for_code) json_key(json, "version"), json_text(json, TABLE_VERSION);
    json_end(json);
}

static bool write_sha(void *context, const char *bytes, size_t n) {
    sha256_add(context, (Str){bytes, n});
    return true;
}

static Sha256Digest digest_of(Table *table, bool for_code) {
    Sha256 sha;
    Json *json = table->json;
    sha256_open(&sha);
    json_open(json, (Sink){&sha, write_sha});
    table->for_code = for_code;
    put_content(table, STR(""));
    table->for_code = false;
    json_close(json);
    return sha256_close(&sha);
}

static Table table_open(const BackInput *input) {
    return (Table){input,
                   input->job->arena,
                   ARENA_NEW(input->job->arena, Json),
                   table_names(input),
                   ARENA_NEW(input->job->arena, TailCautions),
                   NULL,
                   NULL,
                   false};
}

static const Side *side_at_hand(const BackInput *input) {
    Side side = side_of(input);
    return arena_copy(input->job->arena, &side, sizeof side);
}

static bool write_table(Table *table, Sink sink) {
    Sha256Digest digest = digest_of(table, false);
    Buf hash = {table->arena, NULL, 0, 0};
    buf_text(&hash, "sha256:");
    buf_hex(&hash, &digest, 32);
    json_open(table->json, sink);
    put_content(table, buf_view(&hash));
    return json_close(table->json);
}

static Str table_text(Table *table) {
    Buf text = {table->arena, NULL, 0, 0};
    write_table(table, sink_to_buf(&text));
    return buf_finish(&text);
}

/* Read back from its text, so that what is run here is what others read. */
static const RunTable *read_back(Table *table) {
    return run_table_read(table->arena, table_text(table), table->input->why_not);
}

const JsonNode *table_tree(const BackInput *input) {
    Table table = table_open(input);
    table.side = side_at_hand(input);
    return json_read(table.arena, table_text(&table));
}

const RunTable *table_to_run(const BackInput *input) {
    Table table = table_open(input);
    return read_back(&table);
}

bool table_emit(const BackInput *input, Sink sink) {
    Table table = table_open(input);
    table.side = side_at_hand(input);
    const RunTable *run = read_back(&table);
    if (!run) return false;
    table.vectors = table_vectors(table.arena, run);
    return write_table(&table, sink) && sink.write(sink.context, "\n", 1);
}

/* What a table says, without the machine: of this and a later one change lists are made. */
bool lines_emit(const BackInput *input, Sink sink) {
    Table table = {.input = input,
                   .arena = input->job->arena,
                   .json = ARENA_NEW(input->job->arena, Json),
                   .side = side_at_hand(input)};
    Json *json = table.json;
    json_open(json, sink);
    json_object(json);
    put_cautions(&table);
    json_key(json, "claim"), json_text(json, scope_of_claim);
    put_document(&table);
    put_numbers(&table);
    put_procedures(&table);
    put_producer(&table, LINES_SCHEMA);
    json_key(json, "status"), json_text(json, edition_status(input->edition));
    put_tail(&table);
    json_key(json, "verdicts"), json_array(json);
    for (size_t i = 0; i < table.side->n_verdicts; i++) put_outcome(&table, &input->result->verdicts[i]);
    json_end(json);
    json_key(json, "version"), json_text(json, LINES_VERSION);
    json_end(json);
    return json_close(json) && sink.write(sink.context, "\n", 1);
}

/* Letters and digits that are not taken for one another in print. */
static const char code_letters[] = "ABCDEFGHJKLMNPQRSTUVWXYZ";
static const char code_signs[] = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

static void add_text(Sha256 *sha, Str text) {
    char length[24];
    Buf buf = {NULL, length, 0, sizeof length};
    buf_uint(&buf, text.len);
    buf_char(&buf, ' ');
    sha256_add(sha, buf_view(&buf));
    sha256_add(sha, text);
}

static void add_number(Sha256 *sha, int64_t number) {
    char digits[24];
    Buf buf = {NULL, digits, 0, sizeof digits};
    buf_int(&buf, number);
    add_text(sha, buf_view(&buf));
}

/* Whoever approves has all this before him: which paper, from when to when, who made it, for whom, what it says of changes and waivers. */
static void add_paper(Sha256 *sha, const BackInput *input) {
    const Edition *edition = input->edition;
    const Str texts[] = {edition->document, edition->title,       edition->effective,          edition->review_by,
                         edition->changes,  edition->prepared_by, str_of(edition->paper->name)};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) add_text(sha, texts[i]);
    add_number(sha, edition->revision);
    add_number(sha, edition->type);
    add_number(sha, edition->read_at_mm);
    add_number(sha, (int64_t)edition->n_distribution);
    for (size_t i = 0; i < edition->n_distribution; i++) add_text(sha, edition->distribution[i]);
    for (uint32_t i = 0; i < edition->n_waivers; i++)
        add_text(sha, span_text(input->job->sources, edition->waivers[i]->span));
}

void edition_code(const BackInput *input, Edition *edition) {
    Table table = table_open(input);
    Sha256Digest model = digest_of(&table, true), words = card_words_digest(input);
    Sha256 sha;
    sha256_open(&sha);
    sha256_add(&sha, (Str){(const char *)model.bytes, sizeof model.bytes});
    sha256_add(&sha, (Str){(const char *)words.bytes, sizeof words.bytes});
    add_paper(&sha, input);
    Sha256Digest digest = sha256_close(&sha);
    size_t n = 0;
    for (size_t i = 0; i < 7; i++) {
        if (i == 4) edition->code[n++] = '-';
        edition->code[n++] = i ? code_signs[digest.bytes[i] % 32] : code_letters[digest.bytes[i] % 24];
    }
    edition->code[n] = 0;
}
