/* The verdicts in a state table, and what they take for granted. */
#include "back/table_parts.h"
#include "base/sha256.h"

/* How the verdict came about is no part of what is approved: rules, verdicts and what is taken for granted are. */
static bool tells_more(const Table *table) {
    return table->input->result->detailed && !table->for_code;
}

static void put_assumes(const Table *table, const Verdict *verdict) {
    json_key(table->json, "assumes"), json_array(table->json);
    for (int kind = 0; kind < ASSUMED_KINDS; kind++)
        if (verdict_assumes(verdict, (AssumptionKind)kind)) json_text(table->json, assumption_ids[kind]);
    json_end(table->json);
}

static void put_limits(const Table *table, const Verdict *verdict) {
    static const char *const kinds[] = {"atMost", "atLeast"}, *const spares[] = {"exact", "any", "atLeast"};
    Json *json = table->json;
    json_key(json, "limits"), json_array(json);
    for (uint32_t k = 0; k < verdict->n_limits; k++) {
        const TimeLimit *limit = &verdict->limits[k];
        json_object(json);
        json_key(json, "bound"), json_text(json, kinds[limit->kind]);
        json_key(json, "ms"), json_int(json, limit->ms);
        json_key(json, "spare"), json_text(json, spares[limit->spare]);
        if (limit->spare != SPARE_ANY) json_key(json, "spareMs"), json_int(json, limit->spare_ms);
        json_key(json, "what"), json_str(json, limit->what);
        json_end(json);
    }
    json_end(json);
}

static void put_tests(const Table *table, const Verdict *verdict) {
    Json *json = table->json;
    json_key(json, "testedBy"), json_array(json);
    for (uint32_t k = 0; k < verdict->n_tests; k++) {
        const TestedBy *test = &verdict->tests[k];
        json_object(json);
        json_key(json, "by"), json_str(json, test->what);
        if (test->file.len) json_key(json, "file"), json_str(json, test->file);
        json_key(json, "lines"), json_array(json);
        for (uint32_t l = 0; l < test->n_lines; l++) json_int(json, test->lines[l]);
        json_end(json);
        json_key(json, "points"), json_int(json, test->points);
        json_end(json);
    }
    json_end(json);
}

/* Of the gate's own text: another hash, another rule. */
static void put_hash(const Table *table, const Decl *decl) {
    Sha256Digest digest = sha256_of(span_text(table->input->job->sources, decl->span));
    Buf hex = {table->arena, NULL, 0, 0};
    buf_text(&hex, "sha256:");
    buf_hex(&hex, &digest, 32);
    json_key(table->json, "hash"), json_str(table->json, buf_view(&hex));
}

static void put_step(const Table *table, const TraceStep *step) {
    static const char *const actors[] = {"pilot", "engine", "world", "time", "person"};
    Json *json = table->json;
    json_object(json);
    put_span(table, "at", step->span);
    json_key(json, "atMs"), json_int(json, step->at_ms);
    json_key(json, "by"), json_text(json, actors[step->actor]);
    put_optional(table, "facts", step->facts);
    put_optional(table, "item", step->item);
    json_key(json, "text"), json_str(json, step->text);
    json_end(json);
}

/* The path on which the rule is broken, and what would have kept it. */
static void put_witness(const Table *table, const Trace *witness) {
    Json *json = table->json;
    json_key(json, "witness"), json_object(json);
    put_optional(table, "nearest", witness->nearest);
    json_key(json, "steps"), json_array(json);
    for (size_t i = 0; i < witness->steps.n; i++) put_step(table, &witness->steps.at[i]);
    json_end(json);
    put_optional(table, "wanted", witness->wanted);
    json_end(json);
}

static void put_verdict(const Table *table, const Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    Json *json = table->json;
    json_object(json);
    if (tells_more(table)) put_assumes(table, verdict);
    if (gate->engine != NO_INDEX && table->input->tail->n_engines > 1)
        put_name(table, "engine", table->input->tail->engines[gate->engine]);
    put_name(table, "gate", gate->name);
    if (!table->for_code) put_hash(table, gate->decl);
    if (tells_more(table)) put_limits(table, verdict);
    json_key(json, "pace"), json_bool(json, verdict->with_pace);
    json_key(json, "rule"), json_str(json, gate->in_words);
    if (tells_more(table)) put_tests(table, verdict);
    json_key(json, "title"), json_str(json, gate->title);
    json_key(json, "verdict"), json_text(json, verdict_word(verdict->kind));
    put_optional(table, "why", verdict->why);
    if (verdict->witness && !table->for_code) put_witness(table, verdict->witness);
    json_end(json);
}

void put_outcome(const Table *table, const Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    Json *json = table->json;
    json_object(json);
    if (gate->engine != NO_INDEX && table->input->tail->n_engines > 1)
        put_name(table, "engine", table->input->tail->engines[gate->engine]);
    put_name(table, "gate", gate->name);
    put_hash(table, gate->decl);
    json_key(json, "rule"), json_str(json, gate->in_words);
    json_key(json, "title"), json_str(json, gate->title);
    json_key(json, "verdict"), json_text(json, verdict_word(verdict->kind));
    json_end(json);
}

void put_verdicts(const Table *table) {
    json_key(table->json, "verdicts"), json_array(table->json);
    for (uint32_t v = 0; v < table->input->result->n_verdicts; v++)
        put_verdict(table, &table->input->result->verdicts[v]);
    json_end(table->json);
}

void put_assumptions(const Table *table) {
    Json *json = table->json;
    json_key(json, "assumptions"), json_array(json);
    for (uint32_t k = 0; k < table->input->result->n_assumptions; k++) {
        const Assumption *one = &table->input->result->assumptions[k];
        Buf buf = {table->arena, NULL, 0, 0};
        buf_text(&buf, assumption_ids[one->kind]);
        buf_text(&buf, one->every_rule ? ": " : ", where a verdict says so: ");
        buf_str(&buf, one->text);
        json_str(json, buf_view(&buf));
    }
    json_end(json);
}
