/* The model in a state table: facts, places, edges, clocks. */
#include "back/card.h"
#include "back/lines.h"
#include "back/table_parts.h"
#include "back/words.h"

static Str text_of(const Table *table, const char *lead, uint32_t n) {
    Buf buf = {table->arena, NULL, 0, 0};
    buf_text(&buf, lead);
    buf_uint(&buf, n);
    return buf_view(&buf);
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

void put_facts(const Table *table) {
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

void put_gauges(const Table *table) {
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

static void put_deadline(const Table *table, const Deadline *deadline, EdgeList lapses) {
    Json *json = table->json;
    json_object(json);
    json_key(json, "clock"), json_str(json, clock_id(table, deadline->clock));
    json_key(json, "lapse"), json_array(json);
    for (uint32_t k = 0; k < lapses.n; k++) json_str(json, table->names->edges[lapses.edges[k]]);
    json_end(json);
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

static void put_edge(const Table *table, uint32_t e) {
    const Edge *edge = &table->input->model->edges[e];
    Json *json = table->json;
    json_object(json);
    json_key(json, "by"), json_text(json, edge_by(edge));
    put_changes(table, edge, "count", CHANGE_COUNT);
    json_key(json, "emit"), json_array(json);
    for (uint32_t i = 0; i < edge->n_marks; i++) put_mark(table, &edge->marks[i]);
    json_end(json);
    json_key(json, "from"),
        json_str(json, edge->from == NO_INDEX ? text_of(table, "s", edge->scope) : table->names->places[edge->from]);
    json_key(json, "id"), json_str(json, table->names->edges[e]);
    json_key(json, "label"), json_str(json, table->names->labels[e]);
    put_bounds(table, edge, "notAfter", false);
    put_bounds(table, edge, "notBefore", true);
    if (edge->over_duty) json_key(json, "overDuty"), json_bool(json, true);
    json_key(json, "reset"), json_array(json);
    for (uint32_t i = 0; i < edge->n_resets; i++) json_str(json, clock_id(table, edge->resets[i]));
    json_end(json);
    put_changes(table, edge, "set", CHANGE_TO);
    if (edge->to != NO_INDEX) json_key(json, "to"), json_str(json, table->names->places[edge->to]);
    if (edge->guard) put_guard(table, edge->guard);
    json_end(json);
}

void put_edges(const Table *table) {
    json_key(table->json, "edges"), json_array(table->json);
    for (uint32_t e = 0; e < table->input->model->n_edges; e++) put_edge(table, e);
    json_end(table->json);
}

/* ---- places ---- */

/* Warnings and cautions that stand right before the item. */
static void put_item_cautions(const Table *table, const Item *item) {
    const TailCautions *list = table->cautions;
    json_key(table->json, "cautions"), json_array(table->json);
    for (size_t i = 0; i < list->n; i++)
        if (list->at[i].before == item) json_str(table->json, item_words(table->input, list->at[i].caution));
    json_end(table->json);
}

static void list_cautions(const Table *table, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        const Item *before = item;
        while (before && (before->kind == STMT_WARNING || before->kind == STMT_CAUTION || before->kind == STMT_NOTE))
            before = before->next;
        ItemCaution one = {before, item};
        if (item->kind == STMT_WARNING || item->kind == STMT_CAUTION) vec_push(table->arena, table->cautions, one);
        list_cautions(table, item->body); /* as deep as the text may nest */
        list_cautions(table, item->between);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.kind == ACTION_BLOCK) list_cautions(table, outcome->action.block);
    }
}

static void put_item(const Table *table, const Place *place) {
    const Tail *tail = table->input->tail;
    Json *json = table->json;
    if (place->drill != NO_INDEX) put_name(table, "drill", tail->drills[place->drill].name);
    if (!place->item) return;
    json_key(json, "formerIds"), json_array(json);
    if (place->item->unlabelled) json_str(json, name_text(table->input->job->names, place->item->unlabelled));
    json_end(json);
}

static void put_place(const Table *table, uint32_t p) {
    static const char *const kinds[] = {"item", "end", "joint"};
    const Model *model = table->input->model;
    const Place *place = &model->places[p];
    const Item *item = place->item;
    Json *json = table->json;
    json_object(json);
    put_span(table, "at", item ? item->span : (Span){0, 0});
    if (item && !table->for_code) put_item_cautions(table, item);
    json_key(json, "deadlines"), json_array(json);
    for (uint32_t d = 0; d < place->n_deadlines; d++)
        put_deadline(table, &model->deadlines[place->first_deadline + d],
                     table->names->lapses[place->first_deadline + d]);
    json_end(json);
    if (!table->for_code) put_item(table, place);
    json_key(json, "id"), json_str(json, table->names->places[p]);
    if (item) json_key(json, "item"), json_str(json, item->id);
    json_key(json, "kind"), json_text(json, kinds[place->kind]);
    if (place->kind == PLACE_END) put_name(table, "outcome", place->outcome);
    if (item && item->phase && !table->for_code) put_name(table, "phase", item->phase);
    if (place->procedure != NO_INDEX && !table->for_code)
        put_name(table, "procedure", table->input->tail->procedures[place->procedure].name);
    if (item && !table->for_code) json_key(json, "words"), json_str(json, item_words(table->input, item));
    json_end(json);
}

void put_places(const Table *table) {
    const Model *model = table->input->model;
    Json *json = table->json;
    const Tail *tail = table->input->tail;
    table->cautions->n = 0;
    for (uint32_t k = 0; k < tail->n_procedures; k++) list_cautions(table, tail->procedures[k].items);
    for (uint32_t k = 0; k < tail->n_drills; k++) list_cautions(table, tail->drills[k].items);
    json_key(json, "places"), json_array(json);
    for (uint32_t p = 0; p < model->n_places; p++) put_place(table, p);
    json_end(json);
}

void put_scopes(const Table *table) {
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

void put_clocks(const Table *table) {
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

void put_ambient_deadlines(const Table *table) {
    json_key(table->json, "deadlinesEverywhere"), json_array(table->json);
    for (uint32_t d = 0; d < table->input->model->n_ambient_deadlines; d++)
        put_deadline(table, &table->input->model->ambient_deadlines[d], table->names->ambient_lapses[d]);
    json_end(table->json);
}
