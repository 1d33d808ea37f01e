/* Findings and verdicts as SARIF 2.1.0 (OASIS standard with errata 1): keys in canonical order, one run. Each finding is a result, and each rule
   of each tail that no finding tells of is one, too: what was looked at is part of the answer. */
#include "back/back.h"
#include "base/diag.h"
#include "base/json.h"
#include "base/sha256.h"
#include "tool/render.h"
#include <string.h>

#define SARIF_SCHEMA "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

typedef struct {
    Json json;
    const SwUnit *unit;
    Arena *arena;
    Names ids;               /* of rules, in the order of their first result */
    const char **titles;     /* by rule: of a gate NULL */
    const SwVerdict **gates; /* by rule: of a finding of the text NULL */
} Sarif;

static Str str(SwText text) {
    return (Str){text.ptr, text.len};
}

static bool write_file(void *context, const char *bytes, size_t n) {
    return fwrite(bytes, 1, n, context) == n;
}

static void put(Sarif *s, const char *key, Str text) {
    json_key(&s->json, key);
    json_str(&s->json, text);
}

static void put_number(Sarif *s, const char *key, uint64_t n) {
    json_key(&s->json, key);
    json_int(&s->json, (int64_t)n);
}

static void put_message(Sarif *s, const char *key, Str text) {
    json_key(&s->json, key), json_object(&s->json);
    put(s, "text", text);
    json_end(&s->json);
}

/* ---- rules ---- */

static uint32_t rule_of(Sarif *s, Str id, const SwVerdict *gate) {
    uint32_t known = s->ids.n;
    Name name = name_intern(&s->ids, id);
    if (s->ids.n > known) {
        s->gates[name] = gate;
        for (size_t k = 0; k < FINDING_COUNT; k++)
            if (finding_info[k].id && str_eq(id, str_of(finding_info[k].id))) s->titles[name] = finding_info[k].title;
    }
    return name;
}

static void list_rules(Sarif *s) {
    const SwUnit *unit = s->unit;
    size_t most = unit->n_findings + unit->n_verdicts + 2;
    s->titles = ARENA_ARRAY(s->arena, const char *, most);
    s->gates = ARENA_ARRAY(s->arena, const SwVerdict *, most);
    names_open(&s->ids, s->arena);
    for (size_t i = 0; i < unit->n_verdicts; i++) rule_of(s, str(unit->verdicts[i].gate), &unit->verdicts[i]);
    for (size_t i = 0; i < unit->n_findings; i++) rule_of(s, str(unit->findings[i].id), NULL);
}

static void put_rules(Sarif *s) {
    json_key(&s->json, "rules"), json_array(&s->json);
    for (Name name = 1; name < s->ids.n; name++) {
        const SwVerdict *gate = s->gates[name];
        Str id = name_text(&s->ids, name);
        json_object(&s->json);
        if (gate && gate->rule.len) put_message(s, "fullDescription", str(gate->rule));
        put_message(s, "help", format_text(s->arena, NULL, "startwright why %S", id));
        put(s, "id", id);
        Str title = gate ? str(gate->title) : str_of(s->titles[name] ? s->titles[name] : "");
        if (title.len) put_message(s, "shortDescription", title);
        json_end(&s->json);
    }
    json_end(&s->json);
}

/* ---- places ---- */

/* A path as a relative reference: what RFC 3986 does not let stand in one is written as %XX. */
static void put_uri(Sarif *s, Str path) {
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/";
    Buf uri = {s->arena, NULL, 0, 0};
    for (size_t i = 0; i < path.len; i++) {
        unsigned char c = (unsigned char)path.ptr[i];
        if (c && strchr(plain, c)) buf_char(&uri, (char)c);
        else
            buf_char(&uri, '%'), buf_char(&uri, "0123456789ABCDEF"[c >> 4]), buf_char(&uri, "0123456789ABCDEF"[c & 15]);
    }
    put(s, "uri", buf_view(&uri));
}

static void put_artifact(Sarif *s, Str path) {
    json_key(&s->json, "artifactLocation"), json_object(&s->json);
    put_uri(s, path);
    json_end(&s->json);
}

static void put_region(Sarif *s, const char *key, const SwPlace *place) {
    json_key(&s->json, key), json_object(&s->json);
    if (place->end_line) put_number(s, "endColumn", place->end_column), put_number(s, "endLine", place->end_line);
    if (place->line_text.len) put_message(s, "snippet", str(place->line_text));
    put_number(s, "startColumn", place->column);
    put_number(s, "startLine", place->line);
    json_end(&s->json);
}

/* One location: what is said of it, and where it is, where it has a place. */
static void put_location(Sarif *s, Str says, const SwPlace *place, int64_t id) {
    json_object(&s->json);
    if (id >= 0) json_key(&s->json, "id"), json_int(&s->json, id);
    if (says.len) put_message(s, "message", says);
    if (place->path.len) {
        json_key(&s->json, "physicalLocation"), json_object(&s->json);
        put_artifact(s, str(place->path));
        put_region(s, "region", place);
        json_end(&s->json);
    }
    json_end(&s->json);
}

/* ---- the counterexample ---- */

static Str step_words(Sarif *s, const SwStep *step) {
    static const char *const actors[] = {"", "the engine: ", "around the aircraft: ", "time: ", "another person: "};
    Buf words = {s->arena, NULL, 0, 0};
    if (step->folded) buf_format(&words, NULL, "(%u steps before it) ", (uint64_t)step->folded);
    buf_format(&words, NULL, "at %u ms: %S%S", (uint64_t)step->at_ms, str_of(actors[step->actor]), str(step->text));
    if (step->facts.len) buf_format(&words, NULL, " (%S)", str(step->facts));
    return buf_view(&words);
}

static void put_flow(Sarif *s, Str says, const SwSteps *steps) {
    Json *json = &s->json;
    json_object(json);
    put_message(s, "message", says);
    json_key(json, "threadFlows"), json_array(json), json_object(json);
    json_key(json, "locations"), json_array(json);
    for (size_t i = 0; i < steps->n; i++) {
        json_object(json);
        put_number(s, "executionOrder", i + 1);
        json_key(json, "importance"), json_text(json, i + 1 == steps->n ? "essential" : "important");
        json_key(json, "location");
        put_location(s, step_words(s, &steps->at[i]), &steps->at[i].place, -1);
        json_end(json);
    }
    json_end(json), json_end(json), json_end(json);
    json_end(json);
}

static void put_flows(Sarif *s, const SwFinding *finding) {
    const SwSteps *path = finding->path.n ? &finding->path : &finding->shared_path;
    if (!path->n) return;
    json_key(&s->json, "codeFlows"), json_array(&s->json);
    put_flow(s, STR("The path on which the rule is broken."), path);
    if (finding->instead.n) put_flow(s, str(finding->nearest), &finding->instead);
    json_end(&s->json);
}

/* ---- results ---- */

static const char *const levels[] = {"note", "warning", "error", "none"};

static void put_fix(Sarif *s, const SwFix *fix) {
    static const char *const grades[] = {"Can be taken as it stands.", "To be looked at before it is taken.",
                                         "A form to fill in, not to be taken as it stands."};
    Json *json = &s->json;
    json_object(json);
    json_key(json, "artifactChanges"), json_array(json), json_object(json);
    put_artifact(s, str(fix->place.path));
    json_key(json, "replacements"), json_array(json), json_object(json);
    put_region(s, "deletedRegion",
               &(SwPlace){.line = fix->place.line,
                          .column = fix->place.column,
                          .end_line = fix->place.end_line,
                          .end_column = fix->place.end_column});
    put_message(s, "insertedContent", str(fix->text));
    json_end(json), json_end(json);
    json_end(json), json_end(json);
    put_message(s, "description", str_of(grades[fix->grade]));
    json_end(json);
}

static void put_fixes(Sarif *s, const SwFinding *finding) {
    size_t n = 0;
    for (size_t i = 0; i < finding->n_fixes; i++) n += finding->fixes[i].place.path.len > 0;
    if (!n) return;
    json_key(&s->json, "fixes"), json_array(&s->json);
    for (size_t i = 0; i < finding->n_fixes; i++)
        if (finding->fixes[i].place.path.len) put_fix(s, &finding->fixes[i]);
    json_end(&s->json);
}

static void put_where(Sarif *s, const SwPlace *place) {
    json_key(&s->json, "locations"), json_array(&s->json);
    if (place->path.len) put_location(s, STR(""), place, -1);
    json_end(&s->json);
}

/* The same finding of a later version of the text has the same print: the line's words count, not its number. */
static void put_print(Sarif *s, Str id, Str tail, Str engine, const SwPlace *place) {
    Sha256 sha;
    Str parts[] = {id, tail, engine, str(place->path), str(place->line_text)};
    sha256_open(&sha);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) sha256_add(&sha, parts[i]), sha256_add(&sha, STR("\n"));
    Sha256Digest digest = sha256_close(&sha);
    Buf hex = {s->arena, NULL, 0, 0};
    buf_hex(&hex, &digest, 16);
    json_key(&s->json, "partialFingerprints"), json_object(&s->json);
    put(s, "startwright/v1", buf_view(&hex));
    json_end(&s->json);
}

static void put_properties(Sarif *s, Str engine, bool pace, bool with_pace, Str tail) {
    json_key(&s->json, "properties"), json_object(&s->json);
    if (engine.len) put(s, "engine", engine);
    if (pace) json_key(&s->json, "onlyAtStatedPace"), json_bool(&s->json, with_pace);
    put(s, "tail", tail);
    json_end(&s->json);
}

static void put_notes(Sarif *s, const SwFinding *finding) {
    if (!finding->n_notes) return;
    json_key(&s->json, "relatedLocations"), json_array(&s->json);
    for (size_t i = 0; i < finding->n_notes; i++)
        put_location(s, str(finding->notes[i].text), &finding->notes[i].place, (int64_t)i + 1);
    json_end(&s->json);
}

static void put_rule(Sarif *s, Str id) {
    put(s, "ruleId", id);
    put_number(s, "ruleIndex", name_find(&s->ids, id) - 1u);
}

static void put_waived(Sarif *s, bool waived) {
    json_key(&s->json, "suppressions"), json_array(&s->json);
    if (waived) {
        json_object(&s->json);
        json_key(&s->json, "kind"), json_text(&s->json, "inSource");
        json_key(&s->json, "status"), json_text(&s->json, "accepted");
        json_end(&s->json);
    }
    json_end(&s->json);
}

/* Old or new is said where a list of known findings tells them apart. */
static void put_state(Sarif *s, bool known) {
    if (!s->unit->known) return;
    json_key(&s->json, "baselineState"), json_text(&s->json, known ? "unchanged" : "new");
}

static void put_finding(Sarif *s, const SwFinding *finding) {
    bool open = finding->severity == SW_UNDECIDED;
    Buf says = {s->arena, NULL, 0, 0};
    buf_str(&says, str(finding->message));
    if (finding->wanted.len) buf_format(&says, NULL, "\nWanted: %S", str(finding->wanted));
    if (finding->nearest.len) buf_format(&says, NULL, "\n%S", str(finding->nearest));
    json_object(&s->json);
    put_state(s, finding->known);
    put_flows(s, finding);
    put_fixes(s, finding);
    json_key(&s->json, "kind"), json_text(&s->json, open ? "open" : "fail");
    json_key(&s->json, "level"), json_text(&s->json, levels[finding->severity]);
    put_where(s, &finding->place);
    put_message(s, "message", buf_view(&says));
    put_print(s, str(finding->id), str(finding->tail), STR(""), &finding->place);
    put_properties(s, STR(""), false, false, str(finding->tail));
    put_notes(s, finding);
    put_rule(s, str(finding->id));
    put_waived(s, finding->waived);
    json_end(&s->json);
}

/* A gate that is told by its own finding: one of its name, on its tail. */
static bool told(const SwUnit *unit, const SwVerdict *verdict) {
    for (size_t i = 0; i < unit->n_findings; i++) {
        const SwFinding *finding = &unit->findings[i];
        if (!str_eq(str(finding->id), str(verdict->gate))) continue;
        if (!finding->tail.len) return true;
        for (size_t at = 0; at + verdict->tail.len <= finding->tail.len; at++) /* "qm-1, qm-2" */
            if ((!at || finding->tail.ptr[at - 1] == ' ') &&
                (at + verdict->tail.len == finding->tail.len || finding->tail.ptr[at + verdict->tail.len] == ',') &&
                str_eq(str_slice(str(finding->tail), at, at + verdict->tail.len), str(verdict->tail)))
                return true;
    }
    return false;
}

/* What was never put to the test is open: nobody shall read it as kept. */
static void put_verdict(Sarif *s, const SwVerdict *verdict) {
    static const char *const kinds[] = {"pass", "fail", "open", "notApplicable", "open"};
    static const char *const words[] = {"Proved as written", "Broken", "Never put to the test", "Does not apply",
                                        "Not decided"};
    if (verdict->kind == SW_BROKEN && told(s->unit, verdict)) return;
    Buf says = {s->arena, NULL, 0, 0};
    buf_format(&says, NULL, "%S on %S", str_of(words[verdict->kind]), str(verdict->tail));
    if (verdict->engine.len) buf_format(&says, NULL, ", engine %S", str(verdict->engine));
    if (verdict->why.len) buf_format(&says, NULL, ": %S", str(verdict->why));
    if (verdict->with_pace) buf_text(&says, "; only at the stated pace");
    buf_format(&says, NULL, ". %S.", str(verdict->title));
    json_object(&s->json);
    put_state(s, verdict->known);
    json_key(&s->json, "kind"), json_text(&s->json, kinds[verdict->kind]);
    json_key(&s->json, "level"), json_text(&s->json, verdict->kind == SW_BROKEN ? "error" : "none");
    put_where(s, &verdict->place);
    put_message(s, "message", buf_view(&says));
    put_print(s, str(verdict->gate), str(verdict->tail), str(verdict->engine), &verdict->place);
    put_properties(s, str(verdict->engine), true, verdict->with_pace, str(verdict->tail));
    put_rule(s, str(verdict->gate));
    put_waived(s, verdict->waived);
    json_end(&s->json);
}

static void put_run(Sarif *s) {
    Json *json = &s->json;
    json_object(json);
    json_key(json, "columnKind"), json_text(json, "unicodeCodePoints");
    json_key(json, "properties"), json_object(json);
    json_key(json, "assumptions"), json_array(json);
    for (size_t i = 0; i < s->unit->n_assumptions; i++)
        json_str(json, format_text(s->arena, NULL, "%S: %S: %S", str(s->unit->assumptions[i].tail),
                                   str(s->unit->assumptions[i].id), str(s->unit->assumptions[i].text)));
    json_end(json);
    json_key(json, "cautions"), json_array(json);
    for (size_t i = 0; caution_lines[i]; i++) json_text(json, caution_lines[i]);
    json_end(json);
    json_key(json, "claim"), json_text(json, scope_of_claim);
    json_end(json);
    json_key(json, "results"), json_array(json);
    for (size_t i = 0; i < s->unit->n_findings; i++) put_finding(s, &s->unit->findings[i]);
    for (size_t i = 0; i < s->unit->n_verdicts; i++) put_verdict(s, &s->unit->verdicts[i]);
    json_end(json);
    json_key(json, "tool"), json_object(json);
    json_key(json, "driver"), json_object(json);
    json_key(json, "name"), json_text(json, "Startwright");
    put_rules(s);
    json_key(json, "semanticVersion"), json_text(json, SW_VERSION);
    json_key(json, "version"), json_text(json, SW_VERSION);
    json_end(json), json_end(json);
    json_end(json);
}

bool render_sarif(FILE *file, Arena *arena, const SwUnit *unit) {
    Sarif s = {.unit = unit, .arena = arena};
    list_rules(&s);
    json_open(&s.json, (Sink){file, write_file});
    json_object(&s.json);
    json_key(&s.json, "$schema"), json_text(&s.json, SARIF_SCHEMA);
    json_key(&s.json, "runs"), json_array(&s.json);
    put_run(&s);
    json_end(&s.json);
    json_key(&s.json, "version"), json_text(&s.json, "2.1.0");
    json_end(&s.json);
    return json_close(&s.json) && fputc('\n', file) != EOF;
}
