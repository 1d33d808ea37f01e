#include "back/table_names.h"
#include <string.h>

typedef struct {
    const BackInput *input;
    const Model *model;
    Arena *arena;
    TableNames *out;
    Name *label;       /* by edge: its label without a number, as a name of `words` */
    uint32_t *number;  /* by edge: of edges with one label, from 1 on */
    EdgeList *ambient; /* by label: the ambient edges that have it */
    Names words;
} Naming;

static Str name_of(const Naming *naming, Name name) {
    return name_text(naming->input->job->names, name);
}

/* ---- places and edges ---- */

static void buf_place_owner(Buf *buf, const Naming *naming, const Place *place) {
    const Tail *tail = naming->input->tail;
    if (place->procedure != NO_INDEX) buf_str(buf, name_of(naming, tail->procedures[place->procedure].name));
    if (place->drill == NO_INDEX) return;
    const Drill *drill = &tail->drills[place->drill];
    buf_char(buf, '.');
    buf_str(buf, name_of(naming, drill->name));
    if (drill->engine != NO_INDEX && tail->n_engines > 1)
        buf_char(buf, '.'), buf_str(buf, name_of(naming, tail->engines[drill->engine]));
}

/* "cold-start.set-mixture-rich"; where several places wait for the same item, "~2" and so on behind it. */
static void name_places(Naming *naming) {
    const Model *model = naming->model;
    Names seen;
    names_open(&seen, naming->arena);
    uint32_t *times = ARENA_ARRAY(naming->arena, uint32_t, (size_t)model->n_places + 2);
    naming->out->places = ARENA_ARRAY(naming->arena, Str, model->n_places);
    for (uint32_t p = 0; p < model->n_places; p++) {
        const Place *place = &model->places[p];
        Buf buf = {naming->arena, NULL, 0, 0};
        buf_place_owner(&buf, naming, place);
        if (buf.len) buf_char(&buf, '.');
        buf_str(&buf, place->kind == PLACE_JOINT ? STR("joint") : place->item ? place->item->id : STR("line"));
        if (place->kind == PLACE_END) buf_text(&buf, ".end");
        Name base = name_intern(&seen, buf_view(&buf));
        if (base > model->n_places) base = 0;
        if (++times[base] > 1) buf_char(&buf, '~'), buf_uint(&buf, times[base]);
        naming->out->places[p] = buf_view(&buf);
    }
}

static void name_edges(Naming *naming) {
    const Model *model = naming->model;
    uint32_t *times = ARENA_ARRAY(naming->arena, uint32_t, model->n_places);
    naming->out->edges = ARENA_ARRAY(naming->arena, Str, model->n_edges);
    for (uint32_t e = 0; e < model->n_edges; e++) {
        Buf buf = {naming->arena, NULL, 0, 0};
        const Edge *edge = &model->edges[e];
        if (edge->from == NO_INDEX) buf_text(&buf, "anywhere-"), buf_uint(&buf, e - model->first_ambient + 1);
        else buf_str(&buf, naming->out->places[edge->from]), buf_char(&buf, '/'), buf_uint(&buf, ++times[edge->from]);
        naming->out->edges[e] = buf_view(&buf);
    }
}

/* ---- labels ---- */

const char *edge_by(const Edge *edge) {
    static const char *const actors[] = {"pilot", "engine", "world", "time"};
    bool between = edge->kind == EDGE_BEGIN || edge->kind == EDGE_JOIN;
    return between ? "pilot" : actors[edge->actor];
}

static bool taken_by_time(const Edge *edge) {
    return edge->actor == ACTOR_TIME && edge->kind == EDGE_LAPSE;
}

static Str plain_label(const Naming *naming, const Edge *edge) {
    static const char *const outcomes[] = {
        [EDGE_OTHERWISE] = "=otherwise", [EDGE_LAPSE] = "=late", [EDGE_RELEASE] = "=let-go"};
    static const char *const own[] = {[EDGE_FIRE] = "engine-fires",
                                      [EDGE_RUN_DOWN] = "engine-comes-to-rest",
                                      [EDGE_STOP] = "engine-stops",
                                      [EDGE_JOIN] = "next-start",
                                      [EDGE_BEGIN] = "begin"};
    const Tail *tail = naming->input->tail;
    const Model *model = naming->model;
    Buf buf = {naming->arena, NULL, 0, 0};
    if (edge->kind == EDGE_ENTER_DRILL)
        buf_text(&buf, "drill "), buf_str(&buf, name_of(naming, tail->drills[edge->drill].name));
    else if (edge->kind >= EDGE_FIRE) buf_text(&buf, own[edge->kind]);
    else buf_str(&buf, edge->item ? edge->item->id : STR("line"));
    uint32_t begun = edge->kind == EDGE_BEGIN && edge->to != NO_INDEX ? model->places[edge->to].procedure : NO_INDEX;
    if (begun != NO_INDEX) buf_char(&buf, ' '), buf_str(&buf, name_of(naming, tail->procedures[begun].name));
    if (edge->kind < sizeof outcomes / sizeof *outcomes && outcomes[edge->kind]) buf_text(&buf, outcomes[edge->kind]);
    return buf_view(&buf);
}

static bool terms_meet(const Term *a, const Term *b) {
    for (uint32_t i = 0; i < a->n; i++)
        for (uint32_t k = 0; k < b->n; k++)
            if (a->literals[i].fact == b->literals[k].fact && !(a->literals[i].mask & b->literals[k].mask))
                return false;
    return true;
}

static bool guards_meet(const Guard *a, const Guard *b) {
    if (!a || !b) return true;
    for (uint32_t i = 0; i < a->n; i++)
        for (uint32_t k = 0; k < b->n; k++)
            if (terms_meet(&a->terms[i], &b->terms[k])) return true;
    return false;
}

static bool bounds_meet(const Edge *a, const Edge *b) {
    for (uint32_t i = 0; i < a->n_bounds; i++)
        for (uint32_t k = 0; k < b->n_bounds; k++) {
            const Bound *x = &a->bounds[i], *y = &b->bounds[k];
            if (x->clock != y->clock) continue;
            if (x->most_ms >= 0 && y->least_ms > x->most_ms) return false;
            if (y->most_ms >= 0 && x->least_ms > y->most_ms) return false;
        }
    return true;
}

static bool scope_has(const Model *model, uint32_t scope, uint32_t place) {
    const Scope *s = &model->scopes[scope];
    if (place < s->lo || place >= s->hi || (place >= s->but_lo && place < s->but_hi)) return false;
    return !s->skip_own || !model->places[place].own_engine_edges;
}

static bool share_a_place(const Model *model, const Edge *a, const Edge *b) {
    if (a->from != NO_INDEX) return b->from == NO_INDEX ? scope_has(model, b->scope, a->from) : a->from == b->from;
    if (b->from != NO_INDEX) return share_a_place(model, b, a);
    if (a->scope == b->scope) return true;
    for (uint32_t p = 0; p < model->n_places; p++)
        if (scope_has(model, a->scope, p) && scope_has(model, b->scope, p)) return true;
    return false;
}

static void tell_apart(Naming *naming, uint32_t e, uint32_t other) {
    const Edge *a = &naming->model->edges[e], *b = &naming->model->edges[other];
    if (naming->label[e] != naming->label[other] || naming->number[other] < naming->number[e]) return;
    if (!guards_meet(a->guard, b->guard) || !bounds_meet(a, b) || !share_a_place(naming->model, a, b)) return;
    naming->number[e] = naming->number[other] + 1;
}

static void number_edge(Naming *naming, uint32_t e) {
    const Edge *edge = &naming->model->edges[e];
    EdgeList *ambient = &naming->ambient[naming->label[e]];
    naming->number[e] = 1;
    if (taken_by_time(edge)) return;
    for (uint32_t k = 0; k < ambient->n; k++) tell_apart(naming, e, ambient->edges[k]);
    if (edge->from == NO_INDEX) {
        ambient->edges[ambient->n++] = e;
        return;
    }
    for (uint32_t other = naming->model->places[edge->from].first_edge; other < e; other++)
        if (!taken_by_time(&naming->model->edges[other])) tell_apart(naming, e, other);
}

static void label_edges(Naming *naming) {
    const Model *model = naming->model;
    Arena *arena = naming->arena;
    names_open(&naming->words, arena);
    naming->label = ARENA_ARRAY(arena, Name, model->n_edges);
    naming->number = ARENA_ARRAY(arena, uint32_t, model->n_edges);
    naming->out->labels = ARENA_ARRAY(arena, Str, model->n_edges);
    for (uint32_t e = 0; e < model->n_edges; e++)
        naming->label[e] = name_intern(&naming->words, plain_label(naming, &model->edges[e]));
    naming->ambient = ARENA_ARRAY(arena, EdgeList, naming->words.n);
    for (uint32_t e = model->first_ambient; e < model->n_edges; e++) naming->ambient[naming->label[e]].n++;
    for (Name name = 0; name < naming->words.n; name++) {
        naming->ambient[name].edges = ARENA_ARRAY(arena, uint32_t, naming->ambient[name].n + 1u);
        naming->ambient[name].n = 0;
    }
    for (uint32_t e = model->first_ambient; e < model->n_edges; e++) number_edge(naming, e);
    for (uint32_t e = 0; e < model->first_ambient; e++) number_edge(naming, e);
    for (uint32_t e = 0; e < model->n_edges; e++) {
        Str word = name_text(&naming->words, naming->label[e]);
        bool alone = naming->number[e] == 1;
        naming->out->labels[e] = alone ? word : format_text(arena, NULL, "%S~%u", word, (uint64_t)naming->number[e]);
    }
}

/* ---- what a deadline takes ---- */

static bool waits_for(const Edge *edge, const Deadline *deadline) {
    for (uint32_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].clock == deadline->clock && edge->bounds[b].least_ms == deadline->ms) return true;
    return false;
}

static EdgeList lapses_of_place(const Naming *naming, const Place *place, const Deadline *deadline) {
    EdgeList list = {ARENA_ARRAY(naming->arena, uint32_t, place->n_edges + 1u), 0};
    if (deadline->lapse != NO_INDEX) list.edges[list.n++] = deadline->lapse;
    for (uint32_t e = place->first_edge; deadline->lapse == NO_INDEX && e < place->first_edge + place->n_edges; e++)
        if (taken_by_time(&naming->model->edges[e]) && waits_for(&naming->model->edges[e], deadline))
            list.edges[list.n++] = e;
    return list;
}

static bool reads_fact(const Guard *guard, uint32_t fact) {
    for (uint32_t t = 0; guard && t < guard->n; t++)
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            if (guard->terms[t].literals[l].fact == fact) return true;
    return false;
}

/* The engine's own coming to rest or stopping, of the engine whose state the deadline reads. */
static bool runs_down(const Naming *naming, const Edge *edge, const Deadline *deadline) {
    if (edge->kind != EDGE_RUN_DOWN && edge->kind != EDGE_STOP) return false;
    const Tail *tail = naming->input->tail;
    for (uint32_t k = 0; k < tail->n_engines; k++) {
        if (!reads_fact(deadline->when, tail->engine_facts[k])) continue;
        for (uint32_t c = 0; c < edge->n_changes; c++)
            if (edge->changes[c].fact == tail->engine_facts[k]) return true;
    }
    return false;
}

static EdgeList ambient_lapses(const Naming *naming, const Deadline *deadline) {
    EdgeList list = {NULL, 0};
    for (uint32_t e = 0; e < naming->model->n_edges; e++)
        list.n += runs_down(naming, &naming->model->edges[e], deadline);
    list.edges = ARENA_ARRAY(naming->arena, uint32_t, list.n + 1u);
    list.n = 0;
    for (uint32_t e = 0; e < naming->model->n_edges; e++)
        if (runs_down(naming, &naming->model->edges[e], deadline)) list.edges[list.n++] = e;
    return list;
}

static void list_lapses(Naming *naming) {
    const Model *model = naming->model;
    TableNames *out = naming->out;
    out->lapses = ARENA_ARRAY(naming->arena, EdgeList, model->n_deadlines + 1u);
    out->ambient_lapses = ARENA_ARRAY(naming->arena, EdgeList, model->n_ambient_deadlines + 1u);
    for (uint32_t p = 0; p < model->n_places; p++)
        for (uint32_t k = 0; k < model->places[p].n_deadlines; k++) {
            uint32_t d = model->places[p].first_deadline + k;
            out->lapses[d] = lapses_of_place(naming, &model->places[p], &model->deadlines[d]);
        }
    for (uint32_t d = 0; d < model->n_ambient_deadlines; d++)
        out->ambient_lapses[d] = ambient_lapses(naming, &model->ambient_deadlines[d]);
}

const TableNames *table_names(const BackInput *input) {
    Arena *arena = input->job->arena;
    Naming naming = {.input = input, .model = input->model, .arena = arena, .out = ARENA_NEW(arena, TableNames)};
    name_places(&naming);
    name_edges(&naming);
    label_edges(&naming);
    list_lapses(&naming);
    return naming.out;
}
