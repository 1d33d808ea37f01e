/* A state table as a state chart in SCXML (W3C). One state for each place that can be come to; facts are data, since as states they would multiply (an
   ordinary piston engine has 80,000 combinations that can be reached); clocks are delayed sends. Places that the same scopes hold stand in one state,
   which has the edges of those scopes. Each edge that is taken is logged by its id. */
#include "back/table_parts.h"
#include "back/web.h"
#include <string.h>

typedef VEC(int64_t) Times;

typedef struct {
    Arena *arena;
    const RunTable *table;
    bool *reachable; /* by place */
    Times *times;    /* by clock: what it is compared with, rising */
    Buf out;
} Chart;

static void put(Chart *c, const char *text) {
    buf_text(&c->out, text);
}

/* As an id, and as the name of an event: dots would divide it. */
static void put_id(Chart *c, Str id) {
    for (size_t i = 0; i < id.len; i++) buf_char(&c->out, id.ptr[i] == '~' ? '_' : id.ptr[i]);
}
static void put_event(Chart *c, Str label) {
    for (size_t i = 0; i < label.len; i++) {
        bool plain = label.ptr[i] != '~' && label.ptr[i] != '=' && label.ptr[i] != ' ' && label.ptr[i] != '.';
        buf_char(&c->out, plain ? label.ptr[i] : '_');
    }
}

static void put_text(Chart *c, const char *attribute, Str text) {
    buf_char(&c->out, ' '), put(c, attribute), put(c, "=\"");
    buf_escaped(&c->out, text);
    buf_char(&c->out, '"');
}

/* ---- what is compared with which times ---- */

static void add_time(Chart *c, uint32_t clock, int64_t ms) {
    Times *times = &c->times[clock];
    size_t at = times->n;
    for (size_t i = 0; i < times->n; i++)
        if (times->at[i] == ms) return;
    vec_push(c->arena, times, ms);
    for (; at && times->at[at - 1] > ms; at--) times->at[at] = times->at[at - 1];
    times->at[at] = ms;
}

static void add_deadlines(Chart *c, const RunDeadlines *list) {
    for (uint32_t d = 0; d < list->n; d++)
        if (list->at[d].ms) add_time(c, list->at[d].clock, list->at[d].ms);
}

static void list_times(Chart *c) {
    const RunTable *table = c->table;
    c->times = ARENA_ARRAY(c->arena, Times, table->n_clocks + 1u);
    for (uint32_t e = 0; e < table->n_edges; e++)
        for (uint32_t b = 0; b < table->edges[e].n_bounds; b++) {
            const Bound *bound = &table->edges[e].bounds[b];
            int64_t ms = bound->least_ms >= 0 ? bound->least_ms : bound->most_ms;
            if (ms) add_time(c, bound->clock, ms);
        }
    for (uint32_t p = 0; p < table->n_places; p++) add_deadlines(c, &table->places[p].deadlines);
    add_deadlines(c, &table->everywhere);
}

/* ---- conditions ---- */

static void put_literal(Chart *c, const Literal *literal) {
    const RunFact *fact = &c->table->facts[literal->fact];
    const char *between = "(";
    for (uint32_t v = 0; v < fact->n_values; v++) {
        if (!(literal->mask >> v & 1)) continue;
        put(c, between), buf_str(&c->out, fact->id), put(c, "=="), buf_uint(&c->out, v);
        between = "||";
    }
    put(c, ")");
}

static void put_guard_of(Chart *c, const Guard *guard) {
    put(c, guard->n ? "(" : "false");
    for (uint32_t t = 0; t < guard->n; t++) {
        if (t) put(c, "||");
        if (!guard->terms[t].n) put(c, "true");
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            if (l) put(c, "&amp;&amp;");
            put_literal(c, &guard->terms[t].literals[l]);
        }
    }
    if (guard->n) put(c, ")");
}

/* What is said of an event's data: "f9" of one of these values, and of no other fact. */
static void put_choices(Chart *c, const RunEdge *edge) {
    const char *between = "";
    put(c, "may({");
    for (uint32_t i = 0; i < edge->n_changes; i++) {
        const Change *change = &edge->changes[i];
        if (change->kind != CHANGE_TO) continue;
        put(c, between), buf_str(&c->out, c->table->facts[change->fact].id), put(c, ":["), between = ",";
        const char *comma = "";
        for (uint32_t v = 0; v < 64; v++)
            if (change->mask >> v & 1) put(c, comma), buf_uint(&c->out, v), comma = ",";
        put(c, "]");
    }
    put(c, "},_event.data)");
}

static void put_clock_test(Chart *c, uint32_t clock, const char *is, int64_t ms) {
    buf_str(&c->out, c->table->clocks[clock]), put(c, is), buf_int(&c->out, ms);
}

static void put_and(Chart *c, bool *begun) {
    if (*begun) put(c, "&amp;&amp;");
    *begun = true;
}

/* A time that has passed is the last one that a clock was told of. */
static void put_condition(Chart *c, const RunEdge *edge, const RunDeadline *deadline) {
    bool begun = false;
    if (deadline) put_and(c, &begun), put_clock_test(c, deadline->clock, "&gt;=", deadline->ms);
    if (deadline && deadline->when) put_and(c, &begun), put_guard_of(c, deadline->when);
    if (!edge) return;
    if (edge->when) put_and(c, &begun), put_guard_of(c, edge->when);
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        if (bound->least_ms > 0) put_and(c, &begun), put_clock_test(c, bound->clock, "&gt;=", bound->least_ms);
        if (bound->most_ms > 0) put_and(c, &begun), put_clock_test(c, bound->clock, "&lt;", bound->most_ms);
    }
    if (!deadline) put_and(c, &begun), put_choices(c, edge);
}

/* ---- transitions ---- */

static void put_assign(Chart *c, Str location) {
    put(c, "<assign location=\""), buf_str(&c->out, location), put(c, "\" expr=\"");
}

static void put_change(Chart *c, const Change *change, bool chosen) {
    const RunFact *fact = &c->table->facts[change->fact];
    uint32_t lowest = 0;
    put_assign(c, fact->id);
    if (change->kind == CHANGE_COUNT) {
        put(c, "Math.min("), buf_str(&c->out, fact->id), put(c, "+1,"), buf_uint(&c->out, fact->n_values - 1),
            put(c, ")\"/>");
        return;
    }
    while (!(change->mask >> lowest & 1)) lowest++;
    if (!(change->mask & (change->mask - 1))) buf_uint(&c->out, lowest);
    else {
        const char *comma = "";
        put(c, "one([");
        for (uint32_t v = 0; v < fact->n_values; v++)
            if (change->mask >> v & 1) put(c, comma), buf_uint(&c->out, v), comma = ",";
        put(c, "],"), buf_str(&c->out, fact->id), put(c, chosen ? ",_event.data,'" : ",null,'"),
            buf_str(&c->out, fact->id), put(c, "')");
    }
    put(c, "\"/>");
}

static void put_log(Chart *c, const char *label, Str what) {
    put(c, "<log label=\""), put(c, label), put(c, "\" expr=\"'"), buf_str(&c->out, what), put(c, "'\"/>");
}

static void put_taken(Chart *c, const RunEdge *edge, bool by_time) {
    for (uint32_t i = 0; i < edge->n_changes; i++) put_change(c, &edge->changes[i], !by_time);
    for (uint32_t i = 0; i < edge->n_resets; i++) {
        Str clock = c->table->clocks[edge->resets[i]];
        put_assign(c, clock), put(c, "0\"/><raise event=\""), buf_str(&c->out, clock), put(c, ".zero\"/>");
    }
    put_log(c, by_time ? "lapse" : "take", edge->id);
    put(c, "</transition>\n");
}

static void put_target(Chart *c, const RunEdge *edge) {
    if (edge->to != NO_INDEX) put(c, " target=\""), put_id(c, c->table->places[edge->to].id), put(c, "\"");
    put(c, ">");
}

static void put_act(Chart *c, const RunEdge *edge) {
    put(c, "<transition event=\""), put_event(c, edge->label), put(c, "\" cond=\"");
    put_condition(c, edge, NULL);
    put(c, "\""), put_target(c, edge);
    put_taken(c, edge, false);
}

static void put_lapse(Chart *c, const RunDeadline *deadline, const RunEdge *edge) {
    put(c, "<transition cond=\"");
    put_condition(c, edge, deadline);
    put(c, "\""), put_target(c, edge);
    put_taken(c, edge, true);
}

/* Of the edges that a deadline takes, those that leave here: the place's own, or those of its scopes. */
static void put_lapses(Chart *c, const RunDeadlines *list, const EdgeList *leaving, bool of_scope) {
    for (uint32_t d = 0; d < list->n; d++)
        for (uint32_t i = 0; i < list->at[d].lapses.n; i++) {
            uint32_t e = list->at[d].lapses.edges[i], k = 0;
            while (k < leaving->n && leaving->edges[k] != e) k++;
            if (k < leaving->n && (c->table->edges[e].from == NO_INDEX) == of_scope)
                put_lapse(c, &list->at[d], &c->table->edges[e]);
        }
}

static void put_overdue(Chart *c, const RunDeadlines *list, uint32_t place) {
    for (uint32_t d = 0; d < list->n; d++) {
        if (!list->at[d].ms) continue; /* between two starts no time is told */
        put(c, "<transition cond=\"");
        if (place != NO_INDEX) put(c, "In('"), put_id(c, c->table->places[place].id), put(c, "')&amp;&amp;");
        put_condition(c, NULL, &list->at[d]);
        put(c, "\" target=\"overdue\"/>\n");
    }
}

/* ---- states ---- */

static void find_reachable(Chart *c) {
    const RunTable *table = c->table;
    uint32_t *queue = ARENA_ARRAY(c->arena, uint32_t, table->n_places + 1u), head = 0, tail = 0;
    c->reachable = ARENA_ARRAY(c->arena, bool, table->n_places + 1u);
    queue[tail++] = table->joint, c->reachable[table->joint] = true;
    while (head < tail) {
        const EdgeList *edges = &table->places[queue[head++]].edges;
        for (uint32_t i = 0; i < edges->n; i++) {
            uint32_t to = table->edges[edges->edges[i]].to;
            if (to == NO_INDEX || c->reachable[to]) continue;
            c->reachable[to] = true, queue[tail++] = to;
        }
    }
}

static void put_place_of(Chart *c, uint32_t p) {
    const RunPlace *place = &c->table->places[p];
    put(c, "<state id=\""), put_id(c, place->id), put(c, "\"");
    put_text(c, "table:kind", place->kind);
    if (place->words.len) put_text(c, "table:words", place->words);
    put(c, ">\n");
    if (str_eq(place->kind, STR("end"))) put(c, "<onentry>"), put_log(c, "end", place->outcome), put(c, "</onentry>\n");
    put_lapses(c, &place->deadlines, &place->edges, false);
    put_lapses(c, &place->deadlines, &place->edges, true);
    put_lapses(c, &c->table->everywhere, &place->edges, false);
    for (uint32_t i = 0; i < place->edges.n; i++) {
        const RunEdge *edge = &c->table->edges[place->edges.edges[i]];
        if (!edge->by_time && edge->from != NO_INDEX) put_act(c, edge);
    }
    put(c, "</state>\n");
}

/* The edges of scopes that leave a place. */
static EdgeList of_scopes(const Chart *c, uint32_t p) {
    const EdgeList *all = &c->table->places[p].edges;
    EdgeList list = {ARENA_ARRAY(c->arena, uint32_t, all->n + 1u), 0};
    for (uint32_t i = 0; i < all->n; i++)
        if (c->table->edges[all->edges[i]].from == NO_INDEX) list.edges[list.n++] = all->edges[i];
    return list;
}

static bool same_edges(const EdgeList *a, const EdgeList *b) {
    return a->n == b->n && (!a->n || !memcmp(a->edges, b->edges, a->n * sizeof *a->edges));
}

static void put_places_of(Chart *c) {
    const RunTable *table = c->table;
    EdgeList *scopes = ARENA_ARRAY(c->arena, EdgeList, table->n_places + 1u);
    bool *done = ARENA_ARRAY(c->arena, bool, table->n_places + 1u);
    uint32_t n = 0;
    for (uint32_t p = 0; p < table->n_places; p++) scopes[p] = of_scopes(c, p);
    for (uint32_t p = 0; p < table->n_places; p++) {
        if (done[p] || !c->reachable[p]) continue;
        put(c, "<state id=\"among."), buf_uint(&c->out, ++n), put(c, "\">\n");
        for (uint32_t q = p; q < table->n_places; q++)
            if (c->reachable[q] && same_edges(&scopes[p], &scopes[q])) put_place_of(c, q), done[q] = true;
        put_lapses(c, &table->everywhere, &scopes[p], true);
        for (uint32_t i = 0; i < scopes[p].n; i++)
            if (!table->edges[scopes[p].edges[i]].by_time) put_act(c, &table->edges[scopes[p].edges[i]]);
        put(c, "</state>\n");
    }
}

/* ---- the whole ---- */

static void put_data(Chart *c) {
    const RunTable *table = c->table;
    put(c, "<datamodel>\n");
    for (uint32_t f = 0; f < table->n_facts; f++) {
        uint32_t value = 0;
        while (!(table->facts[f].initial >> value & 1)) value++;
        put(c, "<data id=\""), buf_str(&c->out, table->facts[f].id), put(c, "\" expr=\""), buf_uint(&c->out, value),
            put(c, "\"");
        put_text(c, "table:name", table->facts[f].name);
        put(c, "/>\n");
    }
    for (uint32_t k = 0; k < table->n_clocks; k++) {
        put(c, "<data id=\""), buf_str(&c->out, table->clocks[k]), put(c, "\" expr=\"0\"");
        put_text(c, "table:name", table->clock_words[k]);
        put(c, "/>\n");
    }
    put(c, "</datamodel>\n"
           "<script>\n"
           "function may(list, said) { for (var fact in said) if (!list[fact] || list[fact].indexOf(said[fact]) &lt; "
           "0) return false; return true; }\n"
           "function one(list, now, said, fact) { return said &amp;&amp; fact in said ? said[fact] : list.indexOf(now) "
           "&lt; 0 ? list[0] : now; }\n"
           "</script>\n");
}

static void put_sends(Chart *c, uint32_t clock) {
    const Times *times = &c->times[clock];
    Str id = c->table->clocks[clock];
    for (size_t i = 0; i < times->n; i++) {
        put(c, "<cancel sendid=\""), buf_str(&c->out, id), put(c, "."), buf_int(&c->out, times->at[i]), put(c, "\"/>");
        put(c, "<send event=\""), buf_str(&c->out, id), put(c, "."), buf_int(&c->out, times->at[i]);
        put(c, "\" id=\""), buf_str(&c->out, id), put(c, "."), buf_int(&c->out, times->at[i]);
        put(c, "\" delay=\""), buf_int(&c->out, times->at[i]), put(c, "ms\"/>");
    }
}

/* Facts that a run may begin with otherwise. */
static void put_start(Chart *c) {
    const RunTable *table = c->table;
    RunEdge start = {.changes = ARENA_ARRAY(c->arena, Change, table->n_facts + 1u)};
    for (uint32_t f = 0; f < table->n_facts; f++)
        if (table->facts[f].initial & (table->facts[f].initial - 1))
            start.changes[start.n_changes++] = (Change){CHANGE_TO, f, table->facts[f].initial};
    put(c, "<transition event=\"run.start\" cond=\"In('"), put_id(c, table->places[table->joint].id),
        put(c, "')&amp;&amp;");
    put_choices(c, &start);
    put(c, "\">");
    for (uint32_t i = 0; i < start.n_changes; i++) put_change(c, &start.changes[i], true);
    put(c, "</transition>\n");
}

/* What holds everywhere: clocks, what is overdue, what is not offered. */
static void put_everywhere(Chart *c) {
    const RunTable *table = c->table;
    put(c, "<onentry>");
    for (uint32_t k = 0; k < table->n_clocks; k++) put_sends(c, k);
    put(c, "</onentry>\n");
    put_start(c);
    for (uint32_t k = 0; k < table->n_clocks; k++) {
        put(c, "<transition event=\""), buf_str(&c->out, table->clocks[k]), put(c, ".zero\">"), put_sends(c, k),
            put(c, "</transition>\n");
        for (size_t i = 0; i < c->times[k].n; i++) {
            put(c, "<transition event=\""), buf_str(&c->out, table->clocks[k]), put(c, "."),
                buf_int(&c->out, c->times[k].at[i]), put(c, "\">");
            put_assign(c, table->clocks[k]), buf_int(&c->out, c->times[k].at[i]), put(c, "\"/></transition>\n");
        }
    }
    for (uint32_t p = 0; p < table->n_places; p++)
        if (c->reachable[p]) put_overdue(c, &table->places[p].deadlines, p);
    put_overdue(c, &table->everywhere, NO_INDEX);
    put(c, "<transition event=\"*\"><log label=\"refused\" expr=\"_event.name\"/></transition>\n");
}

static void put_comment(Chart *c, Str text) {
    put(c, "     ");
    for (size_t i = 0; i < text.len; i++) {
        bool ends =
            text.ptr[i] == '-' && (i + 1 == text.len || text.ptr[i + 1] == '-'); /* two of them would end the comment */
        buf_char(&c->out, ends ? '_' : text.ptr[i]);
    }
    put(c, "\n");
}

static void put_head(Chart *c) {
    const RunTable *table = c->table;
    put(c, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- A state table as a state chart:\n");
    put_comment(c, table->tail_title);
    put_comment(c, format_text(c->arena, NULL, "%S revision %u, check code %S, %S", table->document,
                               (uint64_t)table->revision, table->check_code, table->status));
    for (uint32_t i = 0; i < table->n_cautions; i++) put_comment(c, table->cautions[i]);
    put(c, "     An edge is taken by an event named after its label; the event's data may say values of facts: "
           "{\"f9\": 1}. -->\n");
    put(c, "<scxml xmlns=\"http://www.w3.org/2005/07/scxml\" xmlns:table=\"urn:startwright:table:0.2\" version=\"1.0\" "
           "datamodel=\"ecmascript\"");
    put_text(c, "name", table->tail);
    put(c, " initial=\"run\">\n");
}

bool table_scxml(const BackInput *input, Sink sink) {
    const RunTable *table = table_to_run(input);
    if (!table) return false;
    Arena *arena = input->job->arena;
    Chart c = {.arena = arena, .table = table, .out = {arena, NULL, 0, 0}};
    find_reachable(&c);
    list_times(&c);
    put_head(&c);
    put_data(&c);
    put(&c, "<state id=\"run\" initial=\""), put_id(&c, table->places[table->joint].id), put(&c, "\">\n");
    put_places_of(&c);
    put_everywhere(&c);
    put(&c, "</state>\n<state id=\"overdue\"><onentry>"), put_log(&c, "error", STR("overdue"));
    put(&c, "</onentry></state>\n</scxml>\n");
    return sink_str(sink, buf_view(&c.out));
}
