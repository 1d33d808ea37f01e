/* table.json into a RunTable. Every reader of these tables refuses with the same words. */
#include "back/table_run.h"
#include "base/json_read.h"
#include "base/limits.h"
#include "base/sha256.h"
#include <string.h>

typedef enum { KIND_FACT, KIND_CLOCK, KIND_PLACE, KIND_EDGE, KINDS } IdKind;

typedef struct {
    Arena *arena;
    const JsonNode *root;
    RunTable *out;
    Names ids[KINDS];       /* places and scopes are one kind */
    uint32_t *index[KINDS]; /* by Name */
    const JsonNode **scopes;
    uint32_t n_scopes;
    Str why_not; /* the first thing wrong; empty: nothing yet */
} Reading;

static bool is_wrong(const Reading *r) {
    return r->why_not.len;
}

static void refuse(Reading *r, Str why_not) {
    if (!is_wrong(r)) r->why_not = why_not;
}

static void refuse_name(Reading *r, const char *before, Str name, const char *after) {
    Buf buf = {r->arena, NULL, 0, 0};
    buf_text(&buf, before), buf_char(&buf, '"'), buf_str(&buf, name), buf_char(&buf, '"'), buf_text(&buf, after);
    refuse(r, buf_view(&buf));
}

/* What takes the place of a member that is missing, so that reading can go on to its end. */
static const JsonNode nothing = {.kind = JSON_NULL};

static const JsonNode *need(Reading *r, const JsonNode *object, const char *key, JsonKind kind) {
    const JsonNode *member = json_member(object, key);
    if (member && member->kind == kind) return member;
    refuse_name(r, "the member ", str_of(key), " is missing or of another kind");
    return &nothing;
}

static Str need_text(Reading *r, const JsonNode *object, const char *key) {
    return need(r, object, key, JSON_STRING)->text;
}

static Str text_or_empty(const JsonNode *object, const char *key) {
    const JsonNode *member = json_member(object, key);
    return member && member->kind == JSON_STRING ? member->text : STR("");
}

static int64_t need_ms(Reading *r, const JsonNode *object) {
    const JsonNode *ms = json_member(object, "ms");
    if (ms && ms->kind == JSON_NUMBER && ms->whole && ms->value >= 0) return ms->value;
    refuse(r, STR("a time is not a whole number of milliseconds below 2^53"));
    return 0;
}

/* ---- ids ---- */

static void add_id(Reading *r, IdKind kind, const JsonNode *object, uint32_t index, uint32_t most) {
    Str id = need_text(r, object, "id");
    if (!r->index[kind]) r->index[kind] = ARENA_ARRAY(r->arena, uint32_t, (size_t)most + 2);
    if (name_find(&r->ids[kind], id)) {
        refuse_name(r, "the id ", id, " stands twice");
        return;
    }
    r->index[kind][name_intern(&r->ids[kind], id)] = index;
}

static void list_ids(Reading *r, IdKind kind, const JsonNode *array, uint32_t from, uint32_t most) {
    uint32_t i = from;
    for (const JsonNode *one = array->first; one; one = one->next) add_id(r, kind, one, i++, most);
}

static uint32_t find_id(Reading *r, IdKind kind, Str id) {
    Name name = name_find(&r->ids[kind], id);
    if (name) return r->index[kind][name];
    refuse_name(r, "", id, " is named but does not exist");
    return 0;
}

static uint32_t find_place(Reading *r, Str id) {
    uint32_t at = find_id(r, KIND_PLACE, id);
    if (at < r->out->n_places) return at;
    refuse_name(r, "", id, " is named but does not exist");
    return 0;
}

static uint32_t find_of(Reading *r, IdKind kind, const JsonNode *object, const char *key) {
    Str id = need_text(r, object, key);
    return is_wrong(r) ? 0 : find_id(r, kind, id);
}

static uint32_t *find_all(Reading *r, IdKind kind, const JsonNode *array, uint32_t *n) {
    uint32_t *list = ARENA_ARRAY(r->arena, uint32_t, array->n + 1u);
    *n = 0;
    for (const JsonNode *one = array->first; one; one = one->next)
        list[(*n)++] = find_id(r, kind, one->kind == JSON_STRING ? one->text : STR(""));
    return list;
}

/* ---- facts and guards ---- */

static uint64_t read_values(Reading *r, const JsonNode *object, const char *key, uint32_t fact) {
    const JsonNode *values = need(r, object, key, JSON_ARRAY);
    const RunFact *about = &r->out->facts[fact];
    uint64_t mask = 0;
    for (const JsonNode *one = values->first; one; one = one->next) {
        if (one->kind == JSON_NUMBER && one->whole && one->value >= 0 && one->value < about->n_values)
            mask |= UINT64_C(1) << one->value;
        else refuse_name(r, "a value of ", about->id, " does not exist");
    }
    if (!mask) refuse_name(r, "a value of ", about->id, " does not exist");
    return mask;
}

static void read_fact(Reading *r, const JsonNode *node, uint32_t f) {
    RunFact *fact = &r->out->facts[f];
    const JsonNode *values = need(r, node, "values", JSON_ARRAY);
    fact->id = need_text(r, node, "id");
    fact->name = text_or_empty(node, "name");
    fact->values = ARENA_ARRAY(r->arena, Str, values->n + 1u);
    for (const JsonNode *one = values->first; one && fact->n_values < LIMIT_FACT_VALUES; one = one->next)
        fact->values[fact->n_values++] = one->text;
    if (values->n != fact->n_values) refuse_name(r, "", fact->id, " has more than 64 values");
    fact->initial = read_values(r, node, "initial", f);
}

static Term read_term(Reading *r, const JsonNode *node) {
    Term term = {ARENA_ARRAY(r->arena, Literal, node->n + 1u), 0};
    for (const JsonNode *one = node->first; one; one = one->next) {
        uint32_t fact = find_of(r, KIND_FACT, one, "fact");
        if (is_wrong(r)) break;
        term.literals[term.n++] = (Literal){fact, read_values(r, one, "in", fact)};
    }
    return term;
}

static const Guard *read_when(Reading *r, const JsonNode *object) {
    const JsonNode *when = json_member(object, "when");
    if (!when) return NULL;
    Guard *guard = ARENA_NEW(r->arena, Guard);
    guard->terms = ARENA_ARRAY(r->arena, Term, when->n + 1u);
    for (const JsonNode *one = when->first; one; one = one->next) guard->terms[guard->n++] = read_term(r, one);
    return guard;
}

/* ---- edges ---- */

static void read_bounds(Reading *r, const JsonNode *array, bool least, RunEdge *edge) {
    for (const JsonNode *one = array->first; one; one = one->next) {
        Bound bound = {find_of(r, KIND_CLOCK, one, "clock"), -1, -1};
        *(least ? &bound.least_ms : &bound.most_ms) = need_ms(r, one);
        edge->bounds[edge->n_bounds++] = bound;
    }
}

static void read_changes(Reading *r, const JsonNode *set, const JsonNode *count, RunEdge *edge) {
    edge->changes = ARENA_ARRAY(r->arena, Change, (size_t)set->n + count->n + 1);
    for (const JsonNode *one = set->first; one; one = one->next) {
        uint32_t fact = find_of(r, KIND_FACT, one, "fact");
        if (is_wrong(r)) return;
        edge->changes[edge->n_changes++] = (Change){CHANGE_TO, fact, read_values(r, one, "to", fact)};
    }
    uint32_t n, *counted = find_all(r, KIND_FACT, count, &n);
    for (uint32_t i = 0; i < n; i++) edge->changes[edge->n_changes++] = (Change){CHANGE_COUNT, counted[i], 0};
}

static void read_edge(Reading *r, const JsonNode *node, RunEdge *edge) {
    const JsonNode *not_before = need(r, node, "notBefore", JSON_ARRAY);
    const JsonNode *not_after = need(r, node, "notAfter", JSON_ARRAY);
    edge->id = need_text(r, node, "id");
    edge->label = need_text(r, node, "label");
    edge->by = need_text(r, node, "by");
    edge->by_time = str_eq(edge->by, STR("time"));
    uint32_t from = find_of(r, KIND_PLACE, node, "from");
    bool scoped = from >= r->out->n_places;
    edge->from = scoped ? NO_INDEX : from;
    edge->scope = scoped ? from - r->out->n_places : NO_INDEX;
    edge->to = json_member(node, "to") ? find_place(r, need_text(r, node, "to")) : NO_INDEX;
    edge->when = read_when(r, node);
    edge->bounds = ARENA_ARRAY(r->arena, Bound, (size_t)not_before->n + not_after->n + 1);
    read_bounds(r, not_before, true, edge);
    read_bounds(r, not_after, false, edge);
    read_changes(r, need(r, node, "set", JSON_ARRAY), need(r, node, "count", JSON_ARRAY), edge);
    edge->resets = find_all(r, KIND_CLOCK, need(r, node, "reset", JSON_ARRAY), &edge->n_resets);
}

/* ---- places ---- */

static RunDeadlines read_deadlines(Reading *r, const JsonNode *array) {
    RunDeadlines list = {ARENA_ARRAY(r->arena, RunDeadline, array->n + 1u), 0};
    for (const JsonNode *one = array->first; one && !is_wrong(r); one = one->next) {
        RunDeadline *deadline = &list.at[list.n++];
        deadline->when = read_when(r, one);
        deadline->clock = find_of(r, KIND_CLOCK, one, "clock");
        deadline->ms = need_ms(r, one);
        deadline->lapses.edges = find_all(r, KIND_EDGE, need(r, one, "lapse", JSON_ARRAY), &deadline->lapses.n);
    }
    return list;
}

static void read_place(Reading *r, const JsonNode *node, RunPlace *place) {
    place->id = need_text(r, node, "id");
    place->kind = need_text(r, node, "kind");
    place->outcome = text_or_empty(node, "outcome");
    place->words = text_or_empty(node, "words");
    place->deadlines = read_deadlines(r, need(r, node, "deadlines", JSON_ARRAY));
}

/* Which places each scope has, then which edges leave each place. */
static uint32_t *places_of_scope(Reading *r, uint32_t scope, uint32_t *n) {
    const JsonNode *places = need(r, r->scopes[scope], "places", JSON_ARRAY);
    uint32_t *list = ARENA_ARRAY(r->arena, uint32_t, places->n + 1u);
    *n = 0;
    for (const JsonNode *one = places->first; one; one = one->next) {
        if (one->kind == JSON_NUMBER && one->whole && one->value >= 0 && one->value < r->out->n_places)
            list[(*n)++] = (uint32_t)one->value;
        else refuse_name(r, "the scope ", need_text(r, r->scopes[scope], "id"), " names a place that does not exist");
    }
    return list;
}

static void list_leaving(Reading *r) {
    RunTable *out = r->out;
    uint32_t **places = ARENA_ARRAY(r->arena, uint32_t *, r->n_scopes + 1u);
    uint32_t *n = ARENA_ARRAY(r->arena, uint32_t, r->n_scopes + 1u);
    for (uint32_t s = 0; s < r->n_scopes; s++) places[s] = places_of_scope(r, s, &n[s]);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t p = 0; pass && p < out->n_places; p++) {
            out->places[p].edges.edges = ARENA_ARRAY(r->arena, uint32_t, out->places[p].edges.n + 1u);
            out->places[p].edges.n = 0;
        }
        for (uint32_t e = 0; e < out->n_edges; e++) {
            const RunEdge *edge = &out->edges[e];
            const uint32_t *from = edge->from != NO_INDEX ? &edge->from : places[edge->scope];
            uint32_t count = edge->from != NO_INDEX ? 1 : n[edge->scope];
            for (uint32_t i = 0; i < count; i++) {
                EdgeList *leaving = &out->places[from[i]].edges;
                if (pass) leaving->edges[leaving->n] = e;
                leaving->n++;
            }
        }
    }
}

/* ---- the whole ---- */

static void check_features(Reading *r) {
    static const char *const known[] = {"choices", "scopes"};
    Str schema = text_or_empty(r->root, "schema");
    if (!str_eq(schema, STR("urn:startwright:table:0.2"))) refuse_name(r, "the schema ", schema, " is not known here");
    const JsonNode *features = need(r, r->root, "features", JSON_ARRAY);
    for (const JsonNode *one = features->first; one; one = one->next) {
        bool found = str_starts(one->text, STR("x-"));
        for (size_t i = 0; i < sizeof known / sizeof *known; i++) found |= str_eq(one->text, str_of(known[i]));
        if (!found) refuse_name(r, "the feature ", one->text, " is not known here");
    }
}

static bool add_to_sha(void *context, const char *bytes, size_t n) {
    sha256_add(context, (Str){bytes, n});
    return true;
}

static void check_hash(Reading *r) {
    Sha256 sha;
    Json *json = ARENA_NEW(r->arena, Json);
    sha256_open(&sha);
    json_open(json, (Sink){&sha, add_to_sha});
    json_put(json, r->arena, r->root, "contentHash");
    json_close(json);
    Sha256Digest digest = sha256_close(&sha);
    Buf hash = {r->arena, NULL, 0, 0};
    buf_text(&hash, "sha256:");
    buf_hex(&hash, &digest, 32);
    if (!str_eq(buf_view(&hash), text_or_empty(r->root, "contentHash")))
        refuse(r, STR("the hash is not the one of the content"));
    r->out->hash = buf_view(&hash);
}

static void read_head(Reading *r) {
    RunTable *out = r->out;
    const JsonNode *document = json_member(r->root, "document"), *revision = json_member(document, "revision");
    const JsonNode *cautions = need(r, r->root, "cautions", JSON_ARRAY);
    Str *lines = ARENA_ARRAY(r->arena, Str, cautions->n + 1u);
    for (const JsonNode *one = cautions->first; one; one = one->next) lines[out->n_cautions++] = one->text;
    out->cautions = lines;
    out->document = text_or_empty(document, "id");
    out->check_code = text_or_empty(document, "checkCode");
    out->revision = revision && revision->whole ? (uint32_t)revision->value : 0;
    out->tail = text_or_empty(json_member(r->root, "tail"), "id");
    out->tail_title = text_or_empty(json_member(r->root, "tail"), "title");
    out->status = text_or_empty(r->root, "status");
}

static const JsonNode *begin_part(Reading *r, const char *key, uint32_t *n) {
    const JsonNode *part = need(r, r->root, key, JSON_ARRAY);
    *n = part->n;
    return part;
}

static void read_parts(Reading *r) {
    RunTable *out = r->out;
    const JsonNode *facts = begin_part(r, "facts", &out->n_facts);
    const JsonNode *clocks = begin_part(r, "clocks", &out->n_clocks);
    const JsonNode *places = begin_part(r, "places", &out->n_places);
    const JsonNode *scopes = begin_part(r, "scopes", &r->n_scopes);
    const JsonNode *edges = begin_part(r, "edges", &out->n_edges);
    for (int kind = 0; kind < KINDS; kind++) names_open(&r->ids[kind], r->arena);
    list_ids(r, KIND_FACT, facts, 0, facts->n);
    list_ids(r, KIND_CLOCK, clocks, 0, clocks->n);
    list_ids(r, KIND_PLACE, places, 0, places->n + scopes->n);
    list_ids(r, KIND_PLACE, scopes, places->n, places->n + scopes->n);
    list_ids(r, KIND_EDGE, edges, 0, edges->n);
    if (is_wrong(r)) return;
    out->facts = ARENA_ARRAY(r->arena, RunFact, facts->n + 1u);
    out->clocks = ARENA_ARRAY(r->arena, Str, clocks->n + 1u);
    out->clock_words = ARENA_ARRAY(r->arena, Str, clocks->n + 1u);
    out->places = ARENA_ARRAY(r->arena, RunPlace, places->n + 1u);
    out->edges = ARENA_ARRAY(r->arena, RunEdge, edges->n + 1u);
    r->scopes = ARENA_ARRAY(r->arena, const JsonNode *, scopes->n + 1u);
    uint32_t i = 0;
    for (const JsonNode *one = facts->first; one; one = one->next) read_fact(r, one, i++);
    i = 0;
    for (const JsonNode *one = clocks->first; one; one = one->next, i++)
        out->clocks[i] = text_or_empty(one, "id"), out->clock_words[i] = text_or_empty(one, "what");
    i = 0;
    for (const JsonNode *one = scopes->first; one; one = one->next) r->scopes[i++] = one;
    i = 0;
    for (const JsonNode *one = edges->first; one && !is_wrong(r); one = one->next) read_edge(r, one, &out->edges[i++]);
    i = 0;
    for (const JsonNode *one = places->first; one && !is_wrong(r); one = one->next)
        read_place(r, one, &out->places[i++]);
    out->everywhere = read_deadlines(r, need(r, r->root, "deadlinesEverywhere", JSON_ARRAY));
    if (is_wrong(r)) return;
    out->joint = find_place(r, need_text(r, r->root, "joint"));
    list_leaving(r);
}

const RunTable *run_table_read(Arena *arena, Str text, Str *why_not) {
    Reading *r = ARENA_NEW(arena, Reading);
    r->arena = arena;
    r->out = ARENA_NEW(arena, RunTable);
    r->root = json_read(arena, text);
    if (!r->root || r->root->kind != JSON_OBJECT) refuse(r, STR("this is not a JSON object"));
    if (!is_wrong(r)) check_features(r);
    if (!is_wrong(r)) check_hash(r);
    if (!is_wrong(r)) read_head(r);
    if (!is_wrong(r)) read_parts(r);
    *why_not = r->why_not;
    return is_wrong(r) ? NULL : r->out;
}
