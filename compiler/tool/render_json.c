/* Findings and verdicts as JSON: keys in canonical order, one object. */
#include "back/back.h"
#include "base/json.h"
#include "tool/render.h"
#include <string.h>

static const char *const severity_ids[] = {"note", "warning", "error", "notDecided"};
static const char *const verdict_ids[] = {"provedAsWritten", "broken", "neverTested", "notApplicable", "notDecided"};
static const char *const actor_ids[] = {"pilot", "engine", "world", "time", "person"};
static const char *const grade_ids[] = {"safe", "review", "shown"};

static bool write_file(void *context, const char *bytes, size_t n) {
    return fwrite(bytes, 1, n, context) == n;
}

static void put_text(Json *json, const char *key, SwText text) {
    json_key(json, key);
    json_str(json, (Str){text.ptr, text.len});
}

static void put_place(Json *json, const SwPlace *place) {
    json_key(json, "place");
    if (!place->path.len) {
        json_null(json);
        return;
    }
    json_object(json);
    json_key(json, "column"), json_int(json, place->column);
    json_key(json, "endColumn"), json_int(json, place->end_column);
    json_key(json, "endLine"), json_int(json, place->end_line);
    put_text(json, "file", place->path);
    json_key(json, "line"), json_int(json, place->line);
    json_end(json);
}

static void put_fixes(Json *json, const SwFinding *finding) {
    json_key(json, "fixes"), json_array(json);
    for (size_t i = 0; i < finding->n_fixes; i++) {
        const SwFix *fix = &finding->fixes[i];
        json_object(json);
        json_key(json, "from"), json_int(json, fix->place.lo);
        json_key(json, "grade"), json_text(json, grade_ids[fix->grade]);
        put_text(json, "text", fix->text);
        json_key(json, "to"), json_int(json, fix->place.hi);
        json_end(json);
    }
    json_end(json);
}

static void put_notes(Json *json, const SwFinding *finding) {
    json_key(json, "notes"), json_array(json);
    for (size_t i = 0; i < finding->n_notes; i++) {
        json_object(json);
        put_place(json, &finding->notes[i].place);
        put_text(json, "text", finding->notes[i].text);
        json_end(json);
    }
    json_end(json);
}

static void put_steps(Json *json, const char *key, const SwSteps *steps) {
    json_key(json, key), json_array(json);
    for (size_t i = 0; i < steps->n; i++) {
        const SwStep *step = &steps->at[i];
        json_object(json);
        json_key(json, "atMs"), json_int(json, step->at_ms);
        json_key(json, "by"), json_text(json, actor_ids[step->actor]);
        put_text(json, "facts", step->facts);
        json_key(json, "folded"), json_int(json, step->folded);
        put_text(json, "item", step->item);
        put_place(json, &step->place);
        put_text(json, "text", step->text);
        json_end(json);
    }
    json_end(json);
}

static void put_shared(Json *json, const SwFinding *finding) {
    json_key(json, "sharedPath");
    if (finding->shared) json_int(json, finding->shared);
    else json_null(json);
}

static void put_finding(Json *json, const SwFinding *finding) {
    json_object(json);
    put_fixes(json, finding);
    put_text(json, "id", finding->id);
    put_steps(json, "instead", &finding->instead);
    json_key(json, "known"), json_bool(json, finding->known);
    put_text(json, "message", finding->message);
    put_text(json, "nearest", finding->nearest);
    put_notes(json, finding);
    put_steps(json, "path", &finding->path);
    put_place(json, &finding->place);
    json_key(json, "severity"), json_text(json, severity_ids[finding->severity]);
    put_shared(json, finding);
    put_text(json, "tail", finding->tail);
    json_key(json, "waived"), json_bool(json, finding->waived);
    put_text(json, "wanted", finding->wanted);
    json_end(json);
}

static void put_test(Json *json, const SwTest *test) {
    json_object(json);
    put_text(json, "by", test->what);
    put_text(json, "file", test->path);
    json_key(json, "lines"), json_array(json);
    for (size_t k = 0; k < test->n_lines; k++) json_int(json, test->lines[k]);
    json_end(json);
    json_key(json, "points"), json_int(json, test->points);
    json_end(json);
}

static void put_limit(Json *json, const SwTimeLimit *limit) {
    static const char *const kinds[] = {"atMost", "atLeast"}, *const spares[] = {"exact", "any", "atLeast"};
    json_object(json);
    json_key(json, "bound"), json_text(json, kinds[limit->kind]);
    json_key(json, "ms"), json_int(json, limit->ms);
    json_key(json, "spare"), json_text(json, spares[limit->spare]);
    json_key(json, "spareMs");
    if (limit->spare == SW_SPARE_ANY) json_null(json);
    else json_int(json, limit->spare_ms);
    put_text(json, "what", limit->what);
    json_end(json);
}

static void put_verdict(Json *json, const SwVerdict *verdict, bool details) {
    json_object(json);
    if (details) {
        json_key(json, "assumes"), json_array(json);
        for (size_t k = 0; k < verdict->n_assumes; k++)
            json_str(json, (Str){verdict->assumes[k].ptr, verdict->assumes[k].len});
        json_end(json);
    }
    put_text(json, "engine", verdict->engine);
    put_text(json, "gate", verdict->gate);
    if (details) {
        json_key(json, "limits"), json_array(json);
        for (size_t k = 0; k < verdict->n_limits; k++) put_limit(json, &verdict->limits[k]);
        json_end(json);
    }
    json_key(json, "pace"), json_bool(json, verdict->with_pace);
    put_text(json, "rule", verdict->rule);
    put_text(json, "tail", verdict->tail);
    json_key(json, "tested"), json_int(json, verdict->triggered);
    if (details) {
        json_key(json, "testedBy"), json_array(json);
        for (size_t k = 0; k < verdict->n_tests; k++) put_test(json, &verdict->tests[k]);
        json_end(json);
    }
    put_text(json, "title", verdict->title);
    json_key(json, "verdict"), json_text(json, verdict_ids[verdict->kind]);
    json_key(json, "waived"), json_bool(json, verdict->waived);
    put_text(json, "why", verdict->why);
    json_end(json);
}

static void put_counts(Json *json, const SwUnit *unit) {
    json_key(json, "counts"), json_object(json);
    json_key(json, "errors"), json_int(json, (int64_t)unit->errors);
    json_key(json, "known"), json_int(json, (int64_t)unit->known);
    json_key(json, "notDecided"), json_int(json, (int64_t)unit->undecided);
    json_key(json, "notes"), json_int(json, (int64_t)unit->notes);
    json_key(json, "waived"), json_int(json, (int64_t)unit->waived);
    json_key(json, "warnings"), json_int(json, (int64_t)unit->warnings);
    json_end(json);
}

static void put_text_time(Json *json, const SwTextTime *time) {
    json_object(json);
    put_text(json, "file", time->place.path);
    json_key(json, "limit");
    put_limit(json, &time->limit);
    json_key(json, "line"), json_int(json, time->place.line);
    put_text(json, "tail", time->tail);
    put_text(json, "text", time->line);
    json_end(json);
}

static void put_assumption(Json *json, const SwAssumption *one) {
    json_object(json);
    json_key(json, "everyRule"), json_bool(json, one->every_rule);
    put_text(json, "id", one->id);
    if (one->ms) json_key(json, "ms"), json_int(json, one->ms);
    put_text(json, "tail", one->tail);
    put_text(json, "text", one->text);
    json_end(json);
}

static void put_gates(Json *json, const SwUnit *unit) {
    static const char *const standings[] = {"applies", "waits", "notApplicable"};
    json_key(json, "gates"), json_array(json);
    for (size_t i = 0; i < unit->n_gates; i++) {
        const SwGate *gate = &unit->gates[i];
        json_object(json);
        put_text(json, "engine", gate->engine);
        put_text(json, "gate", gate->gate);
        put_text(json, "rule", gate->rule);
        json_key(json, "severity"), json_text(json, severity_ids[gate->severity]);
        json_key(json, "standing"), json_text(json, standings[gate->standing]);
        put_text(json, "tail", gate->tail);
        put_text(json, "title", gate->title);
        put_text(json, "why", gate->why);
        json_end(json);
    }
    json_end(json);
}

static void put_line(Json *json, const SwLine *line) {
    static const char *const kinds[] = {"item", "limit", "rule"};
    json_object(json);
    if (line->kind == SW_LINE_ITEM) json_key(json, "depth"), json_int(json, line->depth);
    if (line->kind == SW_LINE_ITEM) json_key(json, "dropped"), json_bool(json, line->dropped);
    put_text(json, "engine", line->engine);
    put_text(json, "file", line->place.path);
    put_text(json, "id", line->id);
    if (line->kind == SW_LINE_ITEM) json_key(json, "inoperative"), json_bool(json, line->inoperative);
    json_key(json, "kind"), json_text(json, kinds[line->kind]);
    json_key(json, "line"), json_int(json, line->place.line);
    put_text(json, "of", line->of);
    json_key(json, "ownSource"), json_bool(json, line->own);
    put_text(json, "phase", line->phase);
    put_text(json, "section", line->section);
    put_text(json, "source", line->source);
    if (line->source_line) json_key(json, "sourceLine"), json_int(json, line->source_line);
    put_text(json, "sourceTitle", line->source_title);
    put_text(json, "tail", line->tail);
    if (line->kind == SW_LINE_ITEM) json_key(json, "times"), json_int(json, line->times);
    put_text(json, "words", line->words);
    json_end(json);
}

static void put_lines(Json *json, const SwUnit *unit) {
    json_key(json, "lines"), json_array(json);
    for (size_t i = 0; i < unit->n_lines; i++) put_line(json, &unit->lines[i]);
    json_end(json);
}

bool render_json(FILE *file, const SwUnit *unit, bool details, const Str *legibility, size_t n_legibility) {
    Json json;
    json_open(&json, (Sink){file, write_file});
    json_object(&json);
    json_key(&json, "assumptions"), json_array(&json);
    for (size_t i = 0; i < unit->n_assumptions; i++) put_assumption(&json, &unit->assumptions[i]);
    json_end(&json);
    json_key(&json, "cautions"), json_array(&json);
    for (size_t i = 0; caution_lines[i]; i++) json_text(&json, caution_lines[i]);
    json_end(&json);
    json_key(&json, "claim"), json_text(&json, scope_of_claim);
    put_counts(&json, unit);
    json_key(&json, "findings"), json_array(&json);
    for (size_t i = 0; i < unit->n_findings; i++) put_finding(&json, &unit->findings[i]);
    json_end(&json);
    if (unit->n_gates) put_gates(&json, unit);
    if (n_legibility) json_key(&json, "legibility"), json_array(&json);
    for (size_t i = 0; i < n_legibility; i++) json_raw(&json, legibility[i]);
    if (n_legibility) json_end(&json);
    if (unit->n_lines) put_lines(&json, unit);
    json_key(&json, "producer"), json_text(&json, "startwright " SW_VERSION);
    if (details) {
        json_key(&json, "textTimes"), json_array(&json);
        for (size_t i = 0; i < unit->n_text_times; i++) put_text_time(&json, &unit->text_times[i]);
        json_end(&json);
    }
    json_key(&json, "verdicts"), json_array(&json);
    for (size_t i = 0; i < unit->n_verdicts; i++) put_verdict(&json, &unit->verdicts[i], details);
    json_end(&json);
    json_end(&json);
    return json_close(&json) && fputc('\n', file) != EOF;
}
