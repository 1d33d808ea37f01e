/* The tails of a document against one another, as canonical JSON: what fleet.schema.json describes. Keys stand in canonical order. */
#include "back/fleet.h"
#include "base/json.h"

#define FLEET_SCHEMA "urn:startwright:fleet:0.1"
#define FLEET_VERSION "0.1.0"

static void put_str(Json *json, const char *key, Str text) {
    json_key(json, key), json_str(json, text);
}

static void put_count(Json *json, const char *key, size_t n) {
    json_key(json, key), json_int(json, (int64_t)n);
}

static void put_list(Json *json, const char *key, const Str *list, size_t n) {
    json_key(json, key), json_array(json);
    for (size_t i = 0; i < n; i++) json_str(json, list[i]);
    json_end(json);
}

static void put_document(Json *json, const Fleet *f) {
    json_key(json, "document"), json_object(json);
    if (f->edition.effective.len) put_str(json, "effective", f->edition.effective);
    put_str(json, "id", f->edition.document);
    put_count(json, "revision", f->edition.revision);
    put_str(json, "title", f->head->title);
    json_end(json);
}

static void put_groups(Json *json, const Fleet *f) {
    json_key(json, "groups"), json_array(json);
    for (size_t g = 0; g < f->groups.n; g++) {
        const Group *group = &f->groups.at[g];
        json_object(json);
        put_str(json, "id", fleet_group_name(f, g));
        put_count(json, "lines", group->n);
        put_list(json, "tails", group->names.at, group->names.n);
        json_end(json);
    }
    json_end(json);
}

static bool says(const Fleet *f, size_t group, size_t kind, size_t words) {
    size_t place = f->groups.at[group].at[kind];
    return (place ? f->groups.at[group].said[place - 1].words : f->kinds.at[kind].words.n) == words;
}

/* Each group that has it, with what stands before it there. */
static void put_places(Json *json, const Fleet *f, size_t kind) {
    json_key(json, "places"), json_array(json);
    for (size_t g = 0; g < f->groups.n; g++) {
        if (!f->groups.at[g].at[kind]) continue;
        json_object(json);
        put_str(json, "behind", fleet_behind(f, g, kind));
        put_str(json, "group", fleet_group_name(f, g));
        json_end(json);
    }
    json_end(json);
}

static void put_saying(Json *json, const Fleet *f, size_t kind, size_t words) {
    json_array(json);
    for (size_t g = 0; g < f->groups.n; g++)
        if (says(f, g, kind, words)) json_str(json, fleet_group_name(f, g));
    json_end(json);
}

static void put_item(Json *json, const Fleet *f, size_t k) {
    const Kind *kind = &f->kinds.at[k];
    json_object(json);
    put_str(json, "id", kind->id);
    put_str(json, "of", kind->of);
    if (kind->phase.len) put_str(json, "phase", kind->phase);
    if (kind->moved) put_places(json, f, k);
    json_key(json, "says"), json_array(json);
    for (size_t w = 0; w < kind->words.n; w++) {
        json_object(json);
        json_key(json, "groups"), put_saying(json, f, k, w);
        put_str(json, "words", kind->words.at[w]);
        json_end(json);
    }
    json_end(json);
    json_key(json, "without"), put_saying(json, f, k, kind->words.n);
    json_end(json);
}

static void put_items(Json *json, const Fleet *f) {
    json_key(json, "items"), json_array(json);
    for (size_t k = 0; k < f->kinds.n; k++)
        if (f->kinds.at[k].moved || fleet_differs(f, k)) put_item(json, f, k);
    json_end(json);
}

static void put_pairs(Json *json, const Fleet *f) {
    json_key(json, "pairs"), json_array(json);
    for (size_t i = 0; i < f->pairs.n; i++) {
        const Pair *pair = &f->pairs.at[i];
        json_object(json);
        put_count(json, "common", pair->common);
        put_str(json, "first", fleet_group_name(f, pair->a));
        put_count(json, "onlyFirst", pair->only_a);
        put_count(json, "onlySecond", pair->only_b);
        put_count(json, "otherPlace", pair->place);
        put_count(json, "saysOtherwise", pair->state);
        put_str(json, "second", fleet_group_name(f, pair->b));
        json_end(json);
    }
    json_end(json);
}

static void put_cautions(Json *json) {
    json_key(json, "cautions"), json_array(json);
    for (const char *const *line = caution_lines; *line; line++) json_text(json, *line);
    json_end(json);
}

bool fleet_write_json(const Fleet *f, Sink sink) {
    Json json;
    json_open(&json, sink);
    json_object(&json);
    put_cautions(&json);
    put_document(&json, f);
    put_groups(&json, f);
    put_list(&json, "heldBack", f->document->held_back, f->document->n_held_back);
    put_items(&json, f);
    put_pairs(&json, f);
    json_key(&json, "producer"), json_text(&json, "startwright");
    json_key(&json, "schema"), json_text(&json, FLEET_SCHEMA);
    json_key(&json, "status");
    json_text(&json, f->edition.not_proved ? "open" : f->edition.draft ? "draft" : "provedAsWritten");
    json_key(&json, "version"), json_text(&json, FLEET_VERSION);
    json_end(&json);
    return json_close(&json);
}
