/* The state table as canonical JSON: what table.schema.json describes. Keys stand in canonical order. */
#include "back/back.h"
#include "back/words.h"
#include "base/json.h"
#include "base/sha256.h"
#include <string.h>

#define TABLE_SCHEMA "urn:startwright:table:0.1"
#define TABLE_VERSION "0.1.1"

typedef struct {
    const BackInput *input;
    Arena *arena;
    Json *json;
    Str *place_ids; /* by place */
    Str *edge_ids;  /* by edge */
    bool
        for_code; /* without what an approval itself changes: the document, the sources, the lines on which things stand */
} Table;

static Str name_of(const Table *table, Name name) {
    return name_text(table->input->job->names, name);
}

static void put_name(const Table *table, const char *key, Name name) {
    json_key(table->json, key);
    json_str(table->json, name_of(table, name));
}

/* ---- ids ---- */

static Str text_of(const Table *table, const char *lead, uint32_t n) {
    Buf buf = {table->arena, NULL, 0, 0};
    buf_text(&buf, lead);
    buf_uint(&buf, n);
    return buf_view(&buf);
}

static void buf_place_owner(Buf *buf, const Table *table, const Place *place) {
    const Tail *tail = table->input->tail;
    if (place->procedure != NO_INDEX) buf_str(buf, name_of(table, tail->procedures[place->procedure].name));
    if (place->drill == NO_INDEX) return;
    const Drill *drill = &tail->drills[place->drill];
    buf_char(buf, '.');
    buf_str(buf, name_of(table, drill->name));
    if (drill->engine != NO_INDEX && tail->n_engines > 1)
        buf_char(buf, '.'), buf_str(buf, name_of(table, tail->engines[drill->engine]));
}

/* "cold-start.set-mixture-rich"; where several places wait for the same item, "~2" and so on behind it. */
static void name_places(Table *table) {
    const Model *model = table->input->model;
    Names seen;
    names_open(&seen, table->arena);
    uint32_t *times = ARENA_ARRAY(table->arena, uint32_t, (size_t)model->n_places + 2);
    table->place_ids = ARENA_ARRAY(table->arena, Str, model->n_places);
    for (uint32_t p = 0; p < model->n_places; p++) {
        const Place *place = &model->places[p];
        Buf buf = {table->arena, NULL, 0, 0};
        buf_place_owner(&buf, table, place);
        if (buf.len) buf_char(&buf, '.');
        buf_str(&buf, place->kind == PLACE_JOINT ? STR("joint") : place->item ? place->item->id : STR("line"));
        if (place->kind == PLACE_END) buf_text(&buf, ".end");
        Name base = name_intern(&seen, buf_view(&buf));
        if (base > model->n_places) base = 0;
        if (++times[base] > 1) buf_char(&buf, '~'), buf_uint(&buf, times[base]);
        table->place_ids[p] = buf_view(&buf);
    }
}

static void name_edges(Table *table) {
    const Model *model = table->input->model;
    uint32_t *times = ARENA_ARRAY(table->arena, uint32_t, model->n_places);
    table->edge_ids = ARENA_ARRAY(table->arena, Str, model->n_edges);
    for (uint32_t e = 0; e < model->n_edges; e++) {
        Buf buf = {table->arena, NULL, 0, 0};
        const Edge *edge = &model->edges[e];
        if (edge->from == NO_INDEX) buf_text(&buf, "anywhere-"), buf_uint(&buf, e - model->first_ambient + 1);
        else buf_str(&buf, table->place_ids[edge->from]), buf_char(&buf, '/'), buf_uint(&buf, ++times[edge->from]);
        table->edge_ids[e] = buf_view(&buf);
    }
}

/* ---- facts ---- */

static Str fact_id(const Table *table, uint32_t fact) {
    return text_of(table, "f", fact);
}
static Str clock_id(const Table *table, uint32_t clock) {
    return text_of(table, "c", clock);
}

static void put_values(const Table *table, const char *key, uint32_t fact, uint64_t mask) {
    const Fact *about = &table->input->model->facts[fact];
    json_key(table->json, key), json_array(table->json);
    for (uint32_t i = 0; i < about->n_values; i++)
        if (mask >> i & 1) json_int(table->json, i);
    json_end(table->json);
}

static void put_facts(const Table *table) {
    static const char *const kinds[] = {"control", "scene", "gauge", "trend",   "engine",
                                        "answer",  "label", "held",  "watched", "count"};
    const Model *model = table->input->model;
    Json *json = table->json;
    json_key(json, "facts"), json_array(json);
    for (uint32_t f = 0; f < model->n_facts; f++) {
        const Fact *fact = &model->facts[f];
        json_object(json);
        json_key(json, "id"), json_str(json, fact_id(table, f));
        put_values(table, "initial", f, model->initial[f]);
        json_key(json, "kind"), json_text(json, kinds[fact->kind]);
        put_name(table, "name", fact->name);
        json_key(json, "values"), json_array(json);
        for (uint32_t v = 0; v < fact->n_values; v++)
            json_str(json, fact->value_names ? fact->value_names[v] : text_of(table, "", v));
        json_end(json);
        json_end(json);
    }
    json_end(json);
}

static void put_quantity(const Table *table, const char *key, const Measure *measure, Rational value) {
    Buf buf = {table->arena, NULL, 0, 0};
    buf_quantity(&buf, measure, value, (QuantityStyle){.as_written = true, .decimals = 6});
    json_key(table->json, key), json_str(table->json, buf_view(&buf));
}

static void put_band(const Table *table, const Band *band) {
    Json *json = table->json;
    json_object(json);
    if (band->has_lo) put_quantity(table, "atLeast", band->measure, band->lo);
    if (band->has_hi) put_quantity(table, "atMost", band->measure, band->hi);
    put_name(table, "name", band->name);
    json_key(json, "ucum"), json_text(json, band->measure->ucum);
    json_end(json);
}

static void put_gauges(const Table *table) {
    const Tail *tail = table->input->tail;
    Json *json = table->json;
    json_key(json, "gauges"), json_array(json);
    for (uint32_t t = 0; t < tail->n_things; t++) {
        const Thing *thing = &tail->things[t];
        if (thing->kind != THING_GAUGE || thing->fact == NO_INDEX || !thing->n_bands) continue;
        json_object(json);
        json_key(json, "bands"), json_array(json);
        for (uint32_t b = 0; b < thing->n_bands; b++) put_band(table, &thing->bands[b]);
        json_end(json);
        json_key(json, "fact"), json_str(json, fact_id(table, thing->fact));
        json_key(json, "title"), json_str(json, thing->title);
        json_end(json);
    }
    json_end(json);
}

/* ---- guards, bounds, deadlines ---- */

static void put_guard(const Table *table, const Guard *guard) {
    Json *json = table->json;
    json_key(json, "when"), json_array(json);
    for (uint32_t t = 0; t < guard->n; t++) {
        json_array(json);
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            const Literal *literal = &guard->terms[t].literals[l];
            json_object(json);
            json_key(json, "fact"), json_str(json, fact_id(table, literal->fact));
            put_values(table, "in", literal->fact, literal->mask);
            json_end(json);
        }
        json_end(json);
    }
    json_end(json);
}

static void put_bounds(const Table *table, const Edge *edge, const char *key, bool least) {
    Json *json = table->json;
    json_key(json, key), json_array(json);
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        int64_t ms = least ? bound->least_ms : bound->most_ms;
        if (ms < 0) continue;
        json_object(json);
        json_key(json, "clock"), json_str(json, clock_id(table, bound->clock));
        json_key(json, "ms"), json_int(json, ms);
        json_end(json);
    }
    json_end(json);
}

static void put_deadline(const Table *table, const Deadline *deadline) {
    Json *json = table->json;
    json_object(json);
    json_key(json, "clock"), json_str(json, clock_id(table, deadline->clock));
    if (deadline->lapse != NO_INDEX) json_key(json, "lapse"), json_str(json, table->edge_ids[deadline->lapse]);
    json_key(json, "ms"), json_int(json, deadline->ms);
    if (deadline->when) put_guard(table, deadline->when);
    json_end(json);
}

/* ---- edges ---- */

static void put_changes(const Table *table, const Edge *edge, const char *key, ChangeKind kind) {
    Json *json = table->json;
    json_key(json, key), json_array(json);
    for (uint32_t i = 0; i < edge->n_changes; i++) {
        const Change *change = &edge->changes[i];
        if (change->kind != kind) continue;
        if (kind == CHANGE_COUNT) {
            json_str(json, fact_id(table, change->fact));
            continue;
        }
        json_object(json);
        json_key(json, "fact"), json_str(json, fact_id(table, change->fact));
        put_values(table, "to", change->fact, change->mask);
        json_end(json);
    }
    json_end(json);
}

static void put_mark(const Table *table, const Mark *mark) {
    static const char *const kinds[] = {
        [ON_SEEN] = "seen",         [ON_LOOK] = "look",  [ON_SET] = "set",     [ON_CALL] = "call", [ON_BRIEF] = "brief",
        [ON_ANSWERED] = "answered", [ON_LABEL] = "done", [ON_ENTER] = "enter", [ON_TURN] = "turn"};
    const char *kind = mark->kind < sizeof kinds / sizeof *kinds ? kinds[mark->kind] : NULL;
    if (!kind) return;
    Json *json = table->json;
    bool has_fact = mark->kind == ON_SEEN || mark->kind == ON_LOOK || mark->kind == ON_SET ||
                    mark->kind == ON_ANSWERED || mark->kind == ON_LABEL;
    json_object(json);
    if (mark->count > 1) json_key(json, "count"), json_int(json, mark->count);
    json_key(json, "event"), json_text(json, kind);
    if (has_fact) {
        json_key(json, "fact"), json_str(json, fact_id(table, mark->fact));
        put_values(table, "in", mark->fact, mark->mask);
    } else if (mark->kind == ON_ENTER) put_name(table, "name", mark->name);
    else if (mark->kind == ON_CALL || mark->kind == ON_BRIEF)
        put_name(table, "name", table->input->tail->things[mark->thing].name);
    json_end(json);
}

static Str edge_label(const Table *table, const Edge *edge) {
    Buf buf = {table->arena, NULL, 0, 0};
    static const char *const outcomes[] = {
        [EDGE_OTHERWISE] = "=otherwise", [EDGE_LAPSE] = "=late", [EDGE_RELEASE] = "=let-go"};
    static const char *const own[] = {[EDGE_FIRE] = "engine-fires",
                                      [EDGE_RUN_DOWN] = "engine-comes-to-rest",
                                      [EDGE_STOP] = "engine-stops",
                                      [EDGE_JOIN] = "next-start",
                                      [EDGE_BEGIN] = "begin"};
    if (edge->kind == EDGE_ENTER_DRILL)
        buf_text(&buf, "drill "), buf_str(&buf, name_of(table, table->input->tail->drills[edge->drill].name));
    else if (edge->kind >= EDGE_FIRE) buf_text(&buf, own[edge->kind]);
    else buf_str(&buf, edge->item ? edge->item->id : STR("line"));
    if (edge->kind == EDGE_BEGIN && edge->to != NO_INDEX && table->input->model->places[edge->to].procedure != NO_INDEX)
        buf_char(&buf, ' '),
            buf_str(
                &buf,
                name_of(table, table->input->tail->procedures[table->input->model->places[edge->to].procedure].name));
    if (edge->kind < sizeof outcomes / sizeof *outcomes && outcomes[edge->kind]) buf_text(&buf, outcomes[edge->kind]);
    return buf_view(&buf);
}

static void put_edge(const Table *table, uint32_t e) {
    static const char *const actors[] = {"pilot", "engine", "world", "time"};
    const Edge *edge = &table->input->model->edges[e];
    Json *json = table->json;
    json_object(json);
    json_key(json, "by"), json_text(json, actors[edge->actor]);
    put_changes(table, edge, "count", CHANGE_COUNT);
    json_key(json, "emit"), json_array(json);
    for (uint32_t i = 0; i < edge->n_marks; i++) put_mark(table, &edge->marks[i]);
    json_end(json);
    json_key(json, "from"),
        json_str(json, edge->from == NO_INDEX ? text_of(table, "s", edge->scope) : table->place_ids[edge->from]);
    json_key(json, "id"), json_str(json, table->edge_ids[e]);
    json_key(json, "label"), json_str(json, edge_label(table, edge));
    put_bounds(table, edge, "notAfter", false);
    put_bounds(table, edge, "notBefore", true);
    if (edge->over_duty) json_key(json, "overDuty"), json_bool(json, true);
    json_key(json, "reset"), json_array(json);
    for (uint32_t i = 0; i < edge->n_resets; i++) json_str(json, clock_id(table, edge->resets[i]));
    json_end(json);
    put_changes(table, edge, "set", CHANGE_TO);
    if (edge->to != NO_INDEX) json_key(json, "to"), json_str(json, table->place_ids[edge->to]);
    if (edge->guard) put_guard(table, edge->guard);
    json_end(json);
}

static void put_edges(const Table *table) {
    json_key(table->json, "edges"), json_array(table->json);
    for (uint32_t e = 0; e < table->input->model->n_edges; e++) put_edge(table, e);
    json_end(table->json);
}

/* ---- places ---- */

static void put_span(const Table *table, Span span) {
    if (!span.hi) return;
    Position at = source_position(table->input->job->sources, span.lo);
    json_key(table->json, "file"), json_str(table->json, at.source->path);
    json_key(table->json, "line"), json_int(table->json, at.line);
}

static void put_place(const Table *table, uint32_t p) {
    static const char *const kinds[] = {"item", "end", "joint"};
    const Model *model = table->input->model;
    const Place *place = &model->places[p];
    Json *json = table->json;
    json_object(json);
    json_key(json, "at"), json_object(json);
    if (place->item && !table->for_code) put_span(table, place->item->span);
    json_end(json);
    json_key(json, "deadlines"), json_array(json);
    for (uint32_t d = 0; d < place->n_deadlines; d++) put_deadline(table, &model->deadlines[place->first_deadline + d]);
    json_end(json);
    json_key(json, "id"), json_str(json, table->place_ids[p]);
    if (place->item) json_key(json, "item"), json_str(json, place->item->id);
    json_key(json, "kind"), json_text(json, kinds[place->kind]);
    if (place->kind == PLACE_END) put_name(table, "outcome", place->outcome);
    json_end(json);
}

static void put_places(const Table *table) {
    const Model *model = table->input->model;
    Json *json = table->json;
    json_key(json, "places"), json_array(json);
    for (uint32_t p = 0; p < model->n_places; p++) put_place(table, p);
    json_end(json);
}

static void put_scopes(const Table *table) {
    const Model *model = table->input->model;
    Json *json = table->json;
    json_key(json, "scopes"), json_array(json);
    for (uint32_t s = 0; s < model->n_scopes; s++) {
        const Scope *scope = &model->scopes[s];
        json_object(json);
        json_key(json, "id"), json_str(json, text_of(table, "s", s));
        json_key(json, "places"), json_array(json);
        for (uint32_t p = scope->lo; p < scope->hi; p++)
            if (!(p >= scope->but_lo && p < scope->but_hi) && !(scope->skip_own && model->places[p].own_engine_edges))
                json_int(json, p);
        json_end(json);
        json_end(json);
    }
    json_end(json);
}

static void put_clocks(const Table *table) {
    Json *json = table->json;
    json_key(json, "clocks"), json_array(json);
    for (uint32_t c = 0; c < table->input->model->n_clocks; c++) {
        json_object(json);
        json_key(json, "id"), json_str(json, clock_id(table, c));
        json_key(json, "what"), json_str(json, table->input->model->clocks[c].what);
        json_end(json);
    }
    json_end(json);
}

static void put_ambient_deadlines(const Table *table) {
    json_key(table->json, "deadlinesEverywhere"), json_array(table->json);
    for (uint32_t d = 0; d < table->input->model->n_ambient_deadlines; d++)
        put_deadline(table, &table->input->model->ambient_deadlines[d]);
    json_end(table->json);
}

/* ---- verdicts, head ---- */

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

static void put_verdict(const Table *table, const Verdict *verdict) {
    static const char *const kinds[] = {"provedAsWritten", "broken", "neverTested", "notApplicable", "notDecided"};
    const GateInstance *gate = verdict->gate;
    Json *json = table->json;
    json_object(json);
    if (tells_more(table)) put_assumes(table, verdict);
    if (gate->engine != NO_INDEX && table->input->tail->n_engines > 1)
        put_name(table, "engine", table->input->tail->engines[gate->engine]);
    put_name(table, "gate", gate->name);
    if (tells_more(table)) put_limits(table, verdict);
    json_key(json, "pace"), json_bool(json, verdict->with_pace);
    json_key(json, "rule"), json_str(json, gate->in_words);
    if (tells_more(table)) put_tests(table, verdict);
    json_key(json, "title"), json_str(json, gate->title);
    json_key(json, "verdict"), json_text(json, kinds[verdict->kind]);
    if (verdict->why.len) json_key(json, "why"), json_str(json, verdict->why);
    json_end(json);
}

static void put_verdicts(const Table *table) {
    json_key(table->json, "verdicts"), json_array(table->json);
    for (uint32_t v = 0; v < table->input->result->n_verdicts; v++)
        put_verdict(table, &table->input->result->verdicts[v]);
    json_end(table->json);
}

static void put_optional(const Table *table, const char *key, Str text) {
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
    put_optional(table, "effective", edition->effective);
    json_key(json, "id"), json_str(json, edition->document);
    put_optional(table, "preparedBy", edition->prepared_by);
    put_optional(table, "reviewBy", edition->review_by);
    json_key(json, "revision"), json_int(json, edition->revision);
    put_optional(table, "title", edition->title);
    json_end(json);
}

static const char *status_of(const Edition *edition) {
    return edition->not_proved ? "open" : edition->draft ? "draft" : "provedAsWritten";
}

static void put_assumptions(const Table *table) {
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

static void put_cautions(const Table *table) {
    json_key(table->json, "cautions"), json_array(table->json);
    for (size_t i = 0; caution_lines[i]; i++) json_text(table->json, caution_lines[i]);
    json_end(table->json);
}

static void put_producer(const Table *table) {
    Json *json = table->json;
    json_key(json, "producer"), json_text(json, "startwright");
    json_key(json, "schema"), json_text(json, TABLE_SCHEMA);
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
    json_key(json, "joint"), json_str(json, table->place_ids[table->input->model->joint]);
    put_places(table);
    put_producer(table);
    put_scopes(table);
    if (!table->for_code) put_sources(table);
    if (!table->for_code) json_key(json, "status"), json_text(json, status_of(table->input->edition));
    put_tail(table);
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
    Table table = {input, input->job->arena, ARENA_NEW(input->job->arena, Json), NULL, NULL, false};
    name_places(&table);
    name_edges(&table);
    return table;
}

bool table_emit(const BackInput *input, Sink sink) {
    Table table = table_open(input);
    Sha256Digest digest = digest_of(&table, false);
    Buf hash = {table.arena, NULL, 0, 0};
    buf_text(&hash, "sha256:");
    buf_hex(&hash, &digest, 32);
    json_open(table.json, sink);
    put_content(&table, buf_view(&hash));
    return json_close(table.json) && sink.write(sink.context, "\n", 1);
}

/* Letters and digits that are not taken for one another in print. */
static const char code_letters[] = "ABCDEFGHJKLMNPQRSTUVWXYZ";
static const char code_signs[] = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

void edition_code(const BackInput *input, Edition *edition) {
    Table table = table_open(input);
    Sha256Digest model = digest_of(&table, true), words = card_words_digest(input);
    Sha256 sha;
    sha256_open(&sha);
    sha256_add(&sha, (Str){(const char *)model.bytes, sizeof model.bytes});
    sha256_add(&sha, (Str){(const char *)words.bytes, sizeof words.bytes});
    Sha256Digest digest = sha256_close(&sha);
    size_t n = 0;
    for (size_t i = 0; i < 7; i++) {
        if (i == 4) edition->code[n++] = '-';
        edition->code[n++] = i ? code_signs[digest.bytes[i] % 32] : code_letters[digest.bytes[i] % 24];
    }
    edition->code[n] = 0;
}
