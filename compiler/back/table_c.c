/* A state table as one C header: const tables and the functions that step them, for a small controller. Strict C99, no allocation, no
   floating point, nothing recurses; words can be left out. */
#include "back/table_c.h"
#include "back/table_parts.h"
#include "base/vec.h"
#include <string.h>

typedef VEC(uint64_t) Masks;

typedef struct {
    Arena *arena;
    const RunTable *table;
    Buf out;
    Str prefix;
    size_t bytes;        /* of the tables that run it, on a machine that aligns as most do */
    Masks masks;         /* each once */
    VEC(Guard *) guards; /* in the order in which they are asked for */
    Names labels;
} Writer;

enum { NONE = 0xFFFF };

/* ---- small things ---- */

static void put(Writer *w, const char *text) {
    for (; *text; text++) {
        if (*text == '@') buf_str(&w->out, w->prefix);
        else buf_char(&w->out, *text);
    }
}

static void put_number(Writer *w, uint64_t n) {
    buf_uint(&w->out, n);
}

static void open_list(Writer *w, const char *head) {
    put(w, "static const "), put(w, head), put(w, "[] = {\n");
}

/* A list never is empty: C knows none. */
static void close_list(Writer *w, const char *last, size_t n, size_t size) {
    put(w, last), put(w, "};\n");
    w->bytes += (n + 1) * size;
}

static void put_row(Writer *w, const uint64_t *numbers, size_t n) {
    put(w, "{");
    for (size_t i = 0; i < n; i++) {
        if (i) put(w, ",");
        put_number(w, numbers[i]);
    }
    put(w, "},\n");
}

static void put_string(Writer *w, Str text) {
    put(w, "\"");
    for (size_t i = 0; i < text.len; i++) {
        unsigned char c = (unsigned char)text.ptr[i];
        bool plain = c >= 0x20 && c < 0x7F && c != '"' && c != '\\' && c != '?';
        if (plain) buf_char(&w->out, (char)c);
        else {
            buf_char(&w->out, '\\');
            for (int shift = 6; shift >= 0; shift -= 3) buf_char(&w->out, (char)('0' + (c >> shift & 7)));
        }
    }
    put(w, "\",\n");
}

static uint64_t mask_index(Writer *w, uint64_t mask) {
    for (size_t i = 0; i < w->masks.n; i++)
        if (w->masks.at[i] == mask) return i;
    vec_push(w->arena, &w->masks, mask);
    return w->masks.n - 1;
}

/* ---- guards ---- */

static bool same_guard(const Guard *a, const Guard *b) {
    if (a->n != b->n) return false;
    for (uint32_t t = 0; t < a->n; t++) {
        if (a->terms[t].n != b->terms[t].n) return false;
        for (uint32_t l = 0; l < a->terms[t].n; l++)
            if (a->terms[t].literals[l].fact != b->terms[t].literals[l].fact ||
                a->terms[t].literals[l].mask != b->terms[t].literals[l].mask)
                return false;
    }
    return true;
}

static uint64_t guard_index(Writer *w, const Guard *guard) {
    if (!guard) return NONE;
    for (size_t i = 0; i < w->guards.n; i++)
        if (same_guard(w->guards.at[i], guard)) return i;
    vec_push(w->arena, &w->guards, (Guard *)(uintptr_t)guard);
    return w->guards.n - 1;
}

static void put_guards(Writer *w) {
    size_t terms = 0, literals = 0;
    open_list(w, "uint16_t @guards");
    for (size_t g = 0; g < w->guards.n; terms += w->guards.at[g++]->n) put_number(w, terms), put(w, ",\n");
    put_number(w, terms), close_list(w, "", w->guards.n, 2);
    open_list(w, "uint16_t @terms");
    for (size_t g = 0; g < w->guards.n; g++)
        for (uint32_t t = 0; t < w->guards.at[g]->n; literals += w->guards.at[g]->terms[t++].n)
            put_number(w, literals), put(w, ",\n");
    put_number(w, literals), close_list(w, "", terms, 2);
    open_list(w, "struct { uint16_t mask; uint8_t fact; } @literals");
    for (size_t g = 0; g < w->guards.n; g++)
        for (uint32_t t = 0; t < w->guards.at[g]->n; t++)
            for (uint32_t l = 0; l < w->guards.at[g]->terms[t].n; l++) {
                const Literal *literal = &w->guards.at[g]->terms[t].literals[l];
                put_row(w, (uint64_t[]){mask_index(w, literal->mask), literal->fact}, 2);
            }
    close_list(w, "{0,0}", literals, 4);
}

/* ---- edges ---- */

static void put_edges_of(Writer *w) {
    const RunTable *table = w->table;
    uint64_t bounds = 0, sets = 0, counts = 0, resets = 0;
    open_list(w, "struct { uint16_t to, label, when, bounds, sets, counts, resets; } @edges");
    for (uint32_t e = 0; e < table->n_edges; e++) {
        const RunEdge *edge = &table->edges[e];
        uint64_t label = edge->by_time ? NONE : name_intern(&w->labels, edge->label) - 1u;
        uint64_t to = edge->to == NO_INDEX ? NONE : edge->to;
        put_row(w, (uint64_t[]){to, label, guard_index(w, edge->when), bounds, sets, counts, resets}, 7);
        bounds += edge->n_bounds, resets += edge->n_resets;
        for (uint32_t i = 0; i < edge->n_changes; i++) *(edge->changes[i].kind == CHANGE_TO ? &sets : &counts) += 1;
    }
    put_row(w, (uint64_t[]){NONE, NONE, NONE, bounds, sets, counts, resets}, 7);
    close_list(w, "", table->n_edges, 14);
}

static void put_bounds_of(Writer *w) {
    size_t n = 0;
    open_list(w, "struct { uint32_t ms; uint8_t clock, least; } @bounds");
    for (uint32_t e = 0; e < w->table->n_edges; e++)
        for (uint32_t b = 0; b < w->table->edges[e].n_bounds; b++, n++) {
            const Bound *bound = &w->table->edges[e].bounds[b];
            bool least = bound->least_ms >= 0;
            put_row(w, (uint64_t[]){(uint64_t)(least ? bound->least_ms : bound->most_ms), bound->clock, least}, 3);
        }
    close_list(w, "{0,0,0}", n, 8);
}

static void put_changes_of(Writer *w, ChangeKind kind) {
    size_t n = 0;
    open_list(w, kind == CHANGE_TO ? "struct { uint16_t mask; uint8_t fact; } @sets" : "uint8_t @counts");
    for (uint32_t e = 0; e < w->table->n_edges; e++)
        for (uint32_t i = 0; i < w->table->edges[e].n_changes; i++) {
            const Change *change = &w->table->edges[e].changes[i];
            if (change->kind != kind) continue;
            if (kind == CHANGE_TO) put_row(w, (uint64_t[]){mask_index(w, change->mask), change->fact}, 2);
            else put_number(w, change->fact), put(w, ",\n");
            n++;
        }
    close_list(w, kind == CHANGE_TO ? "{0,0}" : "0", n, kind == CHANGE_TO ? 4 : 1);
}

static void put_resets_of(Writer *w) {
    size_t n = 0;
    open_list(w, "uint8_t @resets");
    for (uint32_t e = 0; e < w->table->n_edges; e++)
        for (uint32_t i = 0; i < w->table->edges[e].n_resets; i++, n++)
            put_number(w, w->table->edges[e].resets[i]), put(w, ",\n");
    close_list(w, "0", n, 1);
}

/* ---- deadlines and places ---- */

static void put_deadlines_of(Writer *w, const RunDeadlines *list, uint64_t *lapses) {
    for (uint32_t d = 0; d < list->n; d++) {
        const RunDeadline *one = &list->at[d];
        put_row(w, (uint64_t[]){(uint64_t)one->ms, guard_index(w, one->when), *lapses, one->clock}, 4);
        *lapses += one->lapses.n;
    }
}

static void put_lapses_of(Writer *w, const RunDeadlines *list) {
    for (uint32_t d = 0; d < list->n; d++)
        for (uint32_t i = 0; i < list->at[d].lapses.n; i++) put_number(w, list->at[d].lapses.edges[i]), put(w, ",\n");
}

static uint64_t put_all_deadlines(Writer *w) {
    const RunTable *table = w->table;
    uint64_t lapses = 0, n = table->everywhere.n;
    open_list(w, "struct { uint32_t ms; uint16_t when, lapses; uint8_t clock; } @deadlines");
    for (uint32_t p = 0; p < table->n_places; n += table->places[p++].deadlines.n)
        put_deadlines_of(w, &table->places[p].deadlines, &lapses);
    put_deadlines_of(w, &table->everywhere, &lapses);
    put_row(w, (uint64_t[]){0, NONE, lapses, 0}, 4);
    close_list(w, "", n, 12);
    open_list(w, "uint16_t @lapses");
    for (uint32_t p = 0; p < table->n_places; p++) put_lapses_of(w, &table->places[p].deadlines);
    put_lapses_of(w, &table->everywhere);
    close_list(w, "0", lapses, 2);
    return n;
}

/* Where a place's own edges end: in the table they stand together, those of scopes behind all of them. */
static uint32_t own_edges(const RunTable *table, uint32_t p) {
    uint32_t n = 0;
    while (n < table->places[p].edges.n && table->edges[table->places[p].edges.edges[n]].from != NO_INDEX) n++;
    return n;
}

static bool same_list(const EdgeList *a, const EdgeList *b) {
    return a->n == b->n && (!a->n || !memcmp(a->edges, b->edges, a->n * sizeof *a->edges));
}

/* False: own edges do not stand together. */
static bool put_places_of(Writer *w) {
    const RunTable *table = w->table;
    VEC(EdgeList) lists = {0};
    uint64_t edges = 0, deadlines = 0, listed = 0;
    open_list(w, "struct { uint16_t edges, deadlines, list; } @places");
    for (uint32_t p = 0; p < table->n_places; p++) {
        const EdgeList *leaving = &table->places[p].edges;
        uint32_t own = own_edges(table, p);
        EdgeList rest = {leaving->edges + own, leaving->n - own};
        size_t k = 0;
        while (k < lists.n && !same_list(&lists.at[k], &rest)) k++;
        if (k == lists.n) vec_push(w->arena, &lists, rest);
        for (uint32_t i = 0; i < own; i++)
            if (leaving->edges[i] != edges + i) return false;
        put_row(w, (uint64_t[]){edges, deadlines, k}, 3);
        edges += own, deadlines += table->places[p].deadlines.n;
    }
    put_row(w, (uint64_t[]){edges, deadlines, 0}, 3);
    close_list(w, "", table->n_places, 6);
    open_list(w, "uint16_t @lists");
    for (size_t k = 0; k < lists.n; listed += lists.at[k++].n) put_number(w, listed), put(w, ",\n");
    put_number(w, listed), close_list(w, "", lists.n, 2);
    open_list(w, "uint16_t @listed");
    for (size_t k = 0; k < lists.n; k++)
        for (uint32_t i = 0; i < lists.at[k].n; i++) put_number(w, lists.at[k].edges[i]), put(w, ",\n");
    close_list(w, "0", listed, 2);
    return true;
}

static void put_facts_of(Writer *w) {
    const RunTable *table = w->table;
    open_list(w, "uint8_t @values");
    for (uint32_t f = 0; f < table->n_facts; f++) put_number(w, table->facts[f].n_values), put(w, ",\n");
    close_list(w, "1", table->n_facts, 1);
    open_list(w, "uint8_t @first");
    for (uint32_t f = 0; f < table->n_facts; f++) {
        uint64_t value = 0;
        while (!(table->facts[f].initial >> value & 1)) value++;
        put_number(w, value), put(w, ",\n");
    }
    close_list(w, "0", table->n_facts, 1);
}

static void put_masks(Writer *w) {
    open_list(w, "uint64_t @masks");
    for (size_t i = 0; i < w->masks.n; i++) put(w, "UINT64_C("), put_number(w, w->masks.at[i]), put(w, "),\n");
    close_list(w, "0", w->masks.n, 8);
}

/* ---- words ---- */

static void put_word_lists(Writer *w) {
    const RunTable *table = w->table;
    put(w, "#ifndef @WITHOUT_WORDS\n");
    put(w, "const char *const @place_ids[] = {\n");
    for (uint32_t p = 0; p < table->n_places; p++) put_string(w, table->places[p].id);
    put(w, "NULL};\nconst char *const @place_words[] = {\n");
    for (uint32_t p = 0; p < table->n_places; p++) put_string(w, table->places[p].words);
    put(w, "NULL};\n/* NULL: not an end */\nconst char *const @outcomes[] = {\n");
    for (uint32_t p = 0; p < table->n_places; p++) {
        if (str_eq(table->places[p].kind, STR("end"))) put_string(w, table->places[p].outcome);
        else put(w, "NULL,\n");
    }
    put(w, "NULL};\nconst char *const @edge_ids[] = {\n");
    for (uint32_t e = 0; e < table->n_edges; e++) put_string(w, table->edges[e].id);
    put(w, "NULL};\nconst uint16_t @edge_to[] = {\n");
    for (uint32_t e = 0; e < table->n_edges; e++)
        put_number(w, table->edges[e].to == NO_INDEX ? NONE : table->edges[e].to), put(w, ",\n");
    put(w, "0};\nconst char *const @labels[] = {\n");
    for (Name name = 1; name < w->labels.n; name++) put_string(w, name_text(&w->labels, name));
    put(w, "NULL};\nconst char *const @fact_ids[] = {\n");
    for (uint32_t f = 0; f < table->n_facts; f++) put_string(w, table->facts[f].id);
    put(w, "NULL};\nconst uint64_t @initial[] = {\n");
    for (uint32_t f = 0; f < table->n_facts; f++)
        put(w, "UINT64_C("), put_number(w, table->facts[f].initial), put(w, "),\n");
    put(w, "0};\nconst char *const @clock_ids[] = {\n");
    for (uint32_t c = 0; c < table->n_clocks; c++) put_string(w, table->clocks[c]);
    put(w, "NULL};\n#endif\n");
}

/* ---- the whole ---- */

static void put_comment(Writer *w, Str text) {
    put(w, "   ");
    for (size_t i = 0; i < text.len; i++) /* nothing in it may end the comment */
        buf_char(&w->out, text.ptr[i] == '/' || text.ptr[i] == '\\' || text.ptr[i] == '\n' ? ' ' : text.ptr[i]);
    put(w, "\n");
}

static void put_size(Writer *w, const char *name, uint64_t n) {
    put(w, "#define @"), put(w, name), put(w, " "), put_number(w, n), put(w, "\n");
}

static void put_head(Writer *w) {
    const RunTable *table = w->table;
    put(w, "/* A state table in C:\n"), put_comment(w, table->tail_title);
    put_comment(w, format_text(w->arena, NULL, "%S revision %u, check code %S, %S", table->document,
                               (uint64_t)table->revision, table->check_code, table->status));
    for (uint32_t i = 0; i < table->n_cautions; i++) put_comment(w, table->cautions[i]);
    put(w, "   Include it where it is used; in one file define @IMPLEMENTATION before. @WITHOUT_WORDS leaves all words "
           "out. */\n");
    put(w, "#ifndef @TABLE_H\n#define @TABLE_H\n#include <stdbool.h>\n#include <stddef.h>\n#include <stdint.h>\n\n");
}

static void put_declarations(Writer *w) {
    put(w, "#ifndef @WITHOUT_WORDS\n"
           "extern const char *const @place_ids[], *const @place_words[], *const @outcomes[], *const @edge_ids[];\n"
           "extern const char *const @labels[], *const @fact_ids[], *const @clock_ids[];\n"
           "extern const uint64_t @initial[]; /* by fact: the values that a run may begin with */\n"
           "extern const uint16_t @edge_to[]; /* @NONE: the place stays */\n#endif\n\n");
}

static bool fits(const RunTable *table) {
    return table->n_facts < 255 && table->n_clocks < 255 && table->n_places < NONE && table->n_edges < NONE;
}

static Str prefix_of(Arena *arena, Str tail) {
    Buf buf = {arena, NULL, 0, 0};
    for (size_t i = 0; i < tail.len; i++) buf_char(&buf, tail.ptr[i] == '-' ? '_' : tail.ptr[i]);
    buf_char(&buf, '_');
    return buf_finish(&buf);
}

static bool put_tables(Writer *w, uint64_t *deadlines) {
    put_edges_of(w);
    put_bounds_of(w);
    put_changes_of(w, CHANGE_TO);
    put_changes_of(w, CHANGE_COUNT);
    put_resets_of(w);
    *deadlines = put_all_deadlines(w);
    if (!put_places_of(w)) return false;
    put_facts_of(w);
    put_guards(w);
    put_masks(w);
    return true;
}

bool table_c_emit(const BackInput *input, Sink sink) {
    Arena *arena = input->job->arena;
    const RunTable *table = table_to_run(input);
    if (!table) return false;
    Writer w = {.arena = arena, .table = table, .out = {arena, NULL, 0, 0}, .prefix = prefix_of(arena, table->tail)};
    uint64_t deadlines = 0;
    names_open(&w.labels, arena);
    if (!fits(table) || !put_tables(&w, &deadlines)) {
        *input->why_not = STR("the table is too large for 16-bit indices");
        return false;
    }
    Buf tables = w.out;
    w.out = (Buf){arena, NULL, 0, 0};
    put_head(&w);
    put(&w, "/* "), put_number(&w, w.bytes), put(&w, " bytes of tables without the words, on most machines. */\n");
    put_size(&w, "NONE", NONE);
    put_size(&w, "FACTS", table->n_facts);
    put_size(&w, "CLOCKS", table->n_clocks);
    put_size(&w, "PLACES", table->n_places);
    put_size(&w, "EDGES", table->n_edges);
    put_size(&w, "DEADLINES", deadlines);
    put_size(&w, "LABELS", w.labels.n - 1);
    put_size(&w, "JOINT", table->joint);
    put_declarations(&w);
    put(&w, "#ifdef @IMPLEMENTATION\n");
    buf_str(&w.out, buf_view(&tables));
    put_word_lists(&w);
    put(&w, "#endif\n\n");
    put(&w, table_step_text);
    return sink_str(sink, buf_view(&w.out));
}
