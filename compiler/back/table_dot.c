/* A state table as pictures in the language dot, one for each procedure: every line that can be come to, in the words of its card, what leads on from
   it, and in its box where else it may turn. Drills stand beside it; what leads there from many lines stands over them. Made of the table as
   it was read back. */
#include "back/table_parts.h"
#include "back/web.h"
#include "back/words.h"
#include "base/utf8.h"

enum { WRAP = 44, MOST_CONDITION = 90 };

typedef struct {
    Arena *arena;
    const BackInput *input;
    const RunTable *table;
    const Place *model; /* the same places: whose procedure and drill they are of */
    bool *reachable;    /* by place */
    uint32_t procedure; /* whose picture it is */
    Buf out;
} Picture;

/* ---- words ---- */

static void put_time(Buf *buf, const RunTable *table, int64_t ms, uint32_t clock) {
    buf_ms(buf, ms), buf_char(buf, ' '), buf_str(buf, table->clock_words[clock]);
}

static void put_term(Buf *buf, const RunTable *table, const Term *term) {
    for (uint32_t l = 0; l < term->n; l++) {
        const RunFact *fact = &table->facts[term->literals[l].fact];
        const char *between = " ";
        if (l) buf_text(buf, ", ");
        buf_str(buf, fact->name);
        for (uint32_t v = 0; v < fact->n_values; v++)
            if (term->literals[l].mask >> v & 1)
                buf_text(buf, between), buf_str(buf, fact->values[v]), between = " or ";
    }
}

/* What an edge asks for besides its label: "if engine RUNNING, not before 5 s since clear". Empty: nothing, or too much to be read
   on a picture. */
static Str condition(const Picture *p, const RunEdge *edge) {
    Buf buf = {p->arena, NULL, 0, 0};
    for (uint32_t t = 0; edge->when && t < edge->when->n; t++) {
        buf_text(&buf, t ? "; or " : "if ");
        put_term(&buf, p->table, &edge->when->terms[t]);
    }
    if (buf.len > MOST_CONDITION) buf.len = 0, buf_text(&buf, "under conditions");
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        if (edge->by_time && bound->least_ms == 0) continue;
        if (buf.len) buf_text(&buf, ", ");
        buf_text(&buf, bound->least_ms < 0 ? "until " : edge->by_time ? "after " : "not before ");
        put_time(&buf, p->table, bound->least_ms < 0 ? bound->most_ms : bound->least_ms, bound->clock);
    }
    return buf_finish(&buf);
}

/* The label without the item's own id before it: "set-mixture-rich" of that line says nothing, "crank=late" says "late". */
static Str short_label(const RunEdge *edge, const Place *place) {
    Str id = place->item ? place->item->id : STR(""), label = edge->label;
    if (!id.len || !str_starts(label, id)) return label;
    if (label.len == id.len) return STR("");
    return label.ptr[id.len] == '=' ? str_slice(label, id.len + 1, label.len) : label;
}

static Str edge_words(const Picture *p, const RunEdge *edge, const Place *place) {
    Str label = short_label(edge, place), more = condition(p, edge);
    Buf buf = {p->arena, NULL, 0, 0};
    buf_str(&buf, label);
    if (label.len && more.len) buf_text(&buf, ", ");
    buf_str(&buf, more);
    return buf_finish(&buf);
}

/* As markup, broken at blanks. */
static void put_wrapped(Buf *out, Str text, size_t columns) {
    size_t from = 0, used = 0;
    while (from < text.len) {
        size_t to = from, width = 0;
        while (to < text.len && text.ptr[to] != ' ') width += ((unsigned char)text.ptr[to++] & 0xC0) != 0x80;
        if (used && used + 1 + width > columns) buf_text(out, "<BR ALIGN=\"LEFT\"/>"), used = 0;
        if (used) buf_char(out, ' '), used++;
        buf_escaped(out, str_slice(text, from, to));
        used += width;
        from = to + (to < text.len);
    }
    buf_text(out, "<BR ALIGN=\"LEFT\"/>");
}

/* ---- what is where ---- */

static void find_reachable(Picture *p) {
    const RunTable *table = p->table;
    uint32_t *queue = ARENA_ARRAY(p->arena, uint32_t, table->n_places + 1u), head = 0, tail = 0;
    p->reachable = ARENA_ARRAY(p->arena, bool, table->n_places + 1u);
    queue[tail++] = table->joint, p->reachable[table->joint] = true;
    while (head < tail) {
        const EdgeList *edges = &table->places[queue[head++]].edges;
        for (uint32_t i = 0; i < edges->n; i++) {
            uint32_t to = table->edges[edges->edges[i]].to;
            if (to == NO_INDEX || p->reachable[to]) continue;
            p->reachable[to] = true, queue[tail++] = to;
        }
    }
}

static bool is_shown(const Picture *p, uint32_t place) {
    return p->reachable[place] && p->model[place].procedure == p->procedure;
}

static bool same_box(const Picture *p, uint32_t a, uint32_t b) {
    return p->model[a].procedure == p->model[b].procedure && p->model[a].drill == p->model[b].drill;
}

/* "NOT TO GO ON: EVERYTHING OFF" */
static Str box_title(const Picture *p, uint32_t place) {
    const Tail *tail = p->input->tail;
    if (p->model[place].drill != NO_INDEX) return tail->drills[p->model[place].drill].title;
    if (p->model[place].procedure != NO_INDEX) return tail->procedures[p->model[place].procedure].title;
    return STR("between two starts");
}

/* ---- marks ---- */

static const char *style_of(const RunEdge *edge) {
    if (edge->by_time) return "dotted";
    return str_eq(edge->by, STR("pilot")) ? "solid" : "dashed";
}

static bool leads_out(const Picture *p, uint32_t from, const RunEdge *edge) {
    return edge->from != NO_INDEX && edge->to != NO_INDEX && !same_box(p, from, edge->to);
}

/* Of the edges that lead from a place to the same box, or to the same place of its own, with the same label: one arrow, or one line. */
static bool goes_together(const Picture *p, uint32_t from, const RunEdge *a, const RunEdge *b) {
    if (b->from == NO_INDEX || b->to == NO_INDEX || a->by_time != b->by_time || !str_eq(a->by, b->by)) return false;
    if (!str_eq(short_label(a, &p->model[from]), short_label(b, &p->model[from]))) return false;
    return same_box(p, from, a->to) ? a->to == b->to : leads_out(p, from, b) && same_box(p, b->to, a->to);
}

/* Which of them this one is, from 0 on, and how many there are. */
static uint32_t in_company(const Picture *p, uint32_t from, uint32_t i, uint32_t *n) {
    const EdgeList *edges = &p->table->places[from].edges;
    uint32_t before = 0;
    *n = 0;
    for (uint32_t k = 0; k < edges->n; k++) {
        if (!goes_together(p, from, &p->table->edges[edges->edges[i]], &p->table->edges[edges->edges[k]])) continue;
        before += k < i;
        ++*n;
    }
    return before;
}

/* What they ask for differs, and together they may ask for nothing: then only the label is said. */
static Str words_of(const Picture *p, uint32_t from, uint32_t i) {
    const RunEdge *edge = &p->table->edges[p->table->places[from].edges.edges[i]];
    uint32_t n;
    in_company(p, from, i, &n);
    return n > 1 ? short_label(edge, &p->model[from]) : edge_words(p, edge, &p->model[from]);
}

/* Where an edge leads out of the box: a line in its own node. */
static void put_exit(Picture *p, uint32_t from, uint32_t i) {
    const RunEdge *edge = &p->table->edges[p->table->places[from].edges.edges[i]];
    buf_text(&p->out, "<TR><TD ALIGN=\"LEFT\" BALIGN=\"LEFT\"><FONT POINT-SIZE=\"9\">");
    Str words = words_of(p, from, i);
    Buf line = {p->arena, NULL, 0, 0};
    buf_str(&line, words);
    buf_text(&line, words.len ? " \xE2\x86\x92 " : "\xE2\x86\x92 ");
    buf_str(&line, box_title(p, edge->to));
    put_wrapped(&p->out, buf_view(&line), WRAP + 8);
    buf_text(&p->out, "</FONT></TD></TR>");
}

static void put_deadline(Picture *p, const RunDeadline *deadline) {
    Buf line = {p->arena, NULL, 0, 0};
    buf_text(&line, "by ");
    put_time(&line, p->table, deadline->ms, deadline->clock);
    buf_text(&p->out, "<TR><TD ALIGN=\"LEFT\" BALIGN=\"LEFT\"><FONT POINT-SIZE=\"9\"><I>");
    put_wrapped(&p->out, buf_view(&line), WRAP + 8);
    buf_text(&p->out, "</I></FONT></TD></TR>");
}

/* One before it says the same, under another condition. */
static bool same_time(const RunDeadlines *list, uint32_t d) {
    for (uint32_t k = 0; k < d; k++)
        if (list->at[k].ms == list->at[d].ms && list->at[k].clock == list->at[d].clock) return true;
    return false;
}

static void put_node(Picture *p, uint32_t at) {
    const RunPlace *place = &p->table->places[at];
    bool is_end = str_eq(place->kind, STR("end"));
    uint32_t n;
    buf_text(&p->out, "    n"), buf_uint(&p->out, at);
    buf_text(&p->out, is_end ? " [style=\"rounded,bold\", label=<" : " [label=<");
    buf_text(&p->out, "<TABLE BORDER=\"0\" CELLBORDER=\"0\" CELLSPACING=\"0\" CELLPADDING=\"1\"><TR><TD ALIGN=\"LEFT\" "
                      "BALIGN=\"LEFT\"><B>");
    put_wrapped(&p->out, is_end ? place->outcome : place->words, WRAP);
    buf_text(&p->out, "</B></TD></TR>");
    for (uint32_t d = 0; d < place->deadlines.n; d++)
        if (!same_time(&place->deadlines, d)) put_deadline(p, &place->deadlines.at[d]);
    for (uint32_t i = 0; i < place->edges.n && !is_end; i++) {
        const RunEdge *edge = &p->table->edges[place->edges.edges[i]];
        if (leads_out(p, at, edge) && !in_company(p, at, i, &n)) put_exit(p, at, i);
    }
    buf_text(&p->out, "</TABLE>>, tooltip=\"");
    buf_escaped(&p->out, place->id);
    buf_text(&p->out, "\"];\n");
}

/* What leads back is laid out as if it led on, which keeps the lines in their order. */
static void put_arrow(Picture *p, uint32_t from, uint32_t i) {
    const RunEdge *edge = &p->table->edges[p->table->places[from].edges.edges[i]];
    Str words = words_of(p, from, i);
    bool back = edge->to < from;
    buf_text(&p->out, "    n"), buf_uint(&p->out, back ? edge->to : from);
    buf_text(&p->out, " -> n"), buf_uint(&p->out, back ? from : edge->to);
    buf_text(&p->out, " [style="), buf_text(&p->out, style_of(edge));
    if (back) buf_text(&p->out, ", dir=back");
    if (edge->to == from + 1) buf_text(&p->out, ", weight=20");
    if (words.len) {
        buf_text(&p->out, ", label=<");
        put_wrapped(&p->out, words, 28);
        buf_char(&p->out, '>');
    }
    buf_text(&p->out, ", tooltip=\""), buf_escaped(&p->out, edge->id), buf_text(&p->out, "\"];\n");
}

/* What leads into a drill from wherever one may be, each by its label. */
static void put_calls(Picture *p, uint32_t drill) {
    const RunTable *table = p->table;
    VEC(Str) said = {0};
    uint32_t first = NO_INDEX;
    for (uint32_t e = 0; e < table->n_edges; e++) {
        const RunEdge *edge = &table->edges[e];
        if (edge->scope == NO_INDEX || edge->from != NO_INDEX || edge->to == NO_INDEX || !is_shown(p, edge->to))
            continue;
        if (p->model[edge->to].drill != drill) continue;
        Buf plain = {p->arena, NULL, 0, 0};
        for (size_t i = 0; i < edge->label.len && edge->label.ptr[i] != '~'; i++) buf_char(&plain, edge->label.ptr[i]);
        Str label = buf_finish(&plain);
        size_t k = 0;
        while (k < said.n && !str_eq(said.at[k], label)) k++;
        if (k == said.n) vec_push(p->arena, &said, label);
        if (first == NO_INDEX) first = edge->to;
    }
    if (first == NO_INDEX) return;
    buf_text(&p->out, "    from"), buf_uint(&p->out, drill),
        buf_text(&p->out, " [shape=plaintext, label=<<I>from wherever it is armed:<BR/>");
    for (size_t k = 0; k < said.n; k++) {
        if (k) buf_text(&p->out, "<BR/>");
        buf_escaped(&p->out, said.at[k]);
    }
    buf_text(&p->out, "</I>>];\n    from"), buf_uint(&p->out, drill), buf_text(&p->out, " -> n"),
        buf_uint(&p->out, first);
    buf_text(&p->out, " [style=dashed];\n");
}

static bool has_box(const Picture *p, uint32_t drill) {
    for (uint32_t at = 0; at < p->table->n_places; at++)
        if (is_shown(p, at) && p->model[at].drill == drill) return true;
    return false;
}

static void put_box(Picture *p, uint32_t drill) {
    uint32_t n;
    if (!has_box(p, drill)) return;
    bool is_drill = drill != NO_INDEX;
    buf_text(&p->out, "  subgraph cluster_"), is_drill ? buf_uint(&p->out, drill) : buf_text(&p->out, "procedure");
    buf_text(&p->out, " {\n    label=<<B>");
    buf_escaped(&p->out,
                is_drill ? p->input->tail->drills[drill].title : p->input->tail->procedures[p->procedure].title);
    buf_text(&p->out, is_drill ? "</B>>; style=dashed;\n" : "</B>>; style=solid;\n");
    if (is_drill) put_calls(p, drill);
    for (uint32_t at = 0; at < p->table->n_places; at++)
        if (is_shown(p, at) && p->model[at].drill == drill) put_node(p, at);
    for (uint32_t at = 0; at < p->table->n_places; at++) {
        const EdgeList *edges = &p->table->places[at].edges;
        if (!is_shown(p, at) || p->model[at].drill != drill) continue;
        for (uint32_t i = 0; i < edges->n; i++) {
            const RunEdge *edge = &p->table->edges[edges->edges[i]];
            if (edge->from == NO_INDEX || edge->to == NO_INDEX || !same_box(p, at, edge->to) ||
                in_company(p, at, i, &n))
                continue;
            put_arrow(p, at, i);
        }
    }
    buf_text(&p->out, "  }\n");
}

/* Who the picture is of, what it stands at, and how it is read. */
static void put_title(Picture *p) {
    const RunTable *table = p->table;
    const Tail *tail = p->input->tail;
    buf_text(&p->out, "  label=<<FONT POINT-SIZE=\"16\"><B>");
    buf_escaped(&p->out, table->tail_title), buf_text(&p->out, ": ");
    buf_escaped(&p->out, tail->procedures[p->procedure].title);
    buf_text(&p->out, "</B></FONT><BR ALIGN=\"LEFT\"/>");
    buf_escaped(&p->out, format_text(p->arena, NULL, "%S revision %u, check code %S", table->document,
                                     (uint64_t)table->revision, table->check_code));
    if (p->input->edition->not_proved) buf_text(&p->out, ", <B>NOT PROVED</B>");
    if (p->input->edition->draft) buf_text(&p->out, ", <B>DRAFT</B>");
    buf_text(&p->out, "<BR ALIGN=\"LEFT\"/>");
    for (uint32_t i = 0; i < table->n_cautions; i++)
        buf_escaped(&p->out, table->cautions[i]), buf_text(&p->out, "<BR ALIGN=\"LEFT\"/>");
    buf_text(&p->out, "Solid arrows: the crew. Dashed: the engine, or what is seen or said. Dotted: time. In a box "
                      "below the line: by when it is to be done, and where else "
                      "it turns.<BR ALIGN=\"LEFT\"/>>;\n");
}

static void put_picture(Picture *p) {
    const Tail *tail = p->input->tail;
    buf_text(&p->out, "digraph \""),
        buf_escaped(&p->out, name_text(p->input->job->names, tail->procedures[p->procedure].name));
    buf_text(&p->out, "\" {\n  graph [labelloc=t, labeljust=l, fontname=\"sans-serif\", fontsize=11, ranksep=0.25, "
                      "nodesep=0.3, charset=\"utf-8\"];\n"
                      "  node [shape=box, fontname=\"sans-serif\", fontsize=11, margin=\"0.06,0.03\"];\n"
                      "  edge [fontname=\"sans-serif\", fontsize=9, arrowsize=0.7];\n");
    put_title(p);
    put_box(p, NO_INDEX);
    for (uint32_t drill = 0; drill < tail->n_drills; drill++) put_box(p, drill);
    buf_text(&p->out, "}\n");
}

bool table_dot(const BackInput *input, Sink sink) {
    const RunTable *table = table_to_run(input);
    if (!table) return false;
    Arena *arena = input->job->arena;
    Picture p = {
        .arena = arena, .input = input, .table = table, .model = input->model->places, .out = {arena, NULL, 0, 0}};
    find_reachable(&p);
    for (p.procedure = 0; p.procedure < input->tail->n_procedures; p.procedure++)
        if (has_box(&p, NO_INDEX)) put_picture(&p);
    return sink_str(sink, buf_view(&p.out));
}
