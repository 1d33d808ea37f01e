/* Runs of a table that reach as much of it as can be reached: each with its input and the trace that every reader must give.
   Short walks, each from a state that one before came to, led to what none has done yet: edges, deadlines a millisecond before, at and
   after their time, waits a millisecond too short, acts that come too late. So runs are a tree, and a vector is a branch of it. What is
   chosen depends on the table alone. */
#include "back/table_vectors.h"

enum { ROOTS = 24, STEPS = 12, SAVED = 6, MOST_WALKS = 12000, WALKS_IN_VAIN = 1500 };

/* An input line of the tree. */
typedef struct Node Node;
struct Node {
    Node *before;
    Str line;
    Str trace;
    uint32_t lines, traced; /* of the run up to here */
    size_t vector;          /* in which it is written, from 1; 0: in none yet */
};

/* A state to go on from. */
typedef struct {
    Run run;
    Node *node;
} Saved;

typedef struct {
    Saved at[SAVED];
    uint32_t n, seen, walks;
} Archive;

typedef struct {
    Arena *arena;
    const RunTable *table;
    uint32_t *used;      /* by edge */
    Name *labels;        /* by edge: its label; 0: taken by time */
    uint32_t *n_used;    /* by place: so many of its first edges are all used */
    bool *early, *late;  /* by edge: refused so */
    uint32_t *first_due; /* by place: where its deadlines begin in the next two */
    bool *lapsed, *tied; /* by deadline of a place, those everywhere behind them: passed; acted at that very moment */
    uint32_t *distance;  /* by place: moves to the nearest edge not yet taken, whatever the guards say */
    uint32_t *queue;
    EdgeList *coming; /* by place: edges that lead there */
    uint64_t seed;
    uint32_t found;   /* new things so far */
    Archive *archive; /* by place */
    VEC(Node *) ends; /* of walks that found something */
    /* the walk */
    Run run;
    Node *node;
} Walker;

static uint32_t draw(Walker *w, uint32_t n) {
    w->seed ^= w->seed << 13, w->seed ^= w->seed >> 7, w->seed ^= w->seed << 17;
    return (uint32_t)(w->seed >> 33) % n;
}

static void mark(Walker *w, bool *seen) {
    if (!*seen) w->found++;
    *seen = true;
}

/* ---- where there is something new ---- */

static void list_coming(Walker *w) {
    const RunTable *table = w->table;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t p = 0; p < table->n_places; p++)
            for (uint32_t i = 0; i < table->places[p].edges.n; i++) {
                uint32_t to = table->edges[table->places[p].edges.edges[i]].to;
                if (to == NO_INDEX) continue;
                EdgeList *coming = &w->coming[to];
                if (pass && !coming->edges) {
                    coming->edges = ARENA_ARRAY(w->arena, uint32_t, coming->n);
                    coming->n = 0;
                }
                if (pass) coming->edges[coming->n] = p;
                coming->n++;
            }
}

static void measure_distances(Walker *w) {
    const RunTable *table = w->table;
    uint32_t head = 0, tail = 0;
    for (uint32_t p = 0; p < table->n_places; p++) {
        w->distance[p] = NO_INDEX;
        for (uint32_t i = 0; i < table->places[p].edges.n; i++)
            if (!w->used[table->places[p].edges.edges[i]]) w->distance[p] = 0;
        if (!w->distance[p]) w->queue[tail++] = p;
    }
    while (head < tail) {
        uint32_t p = w->queue[head++];
        for (uint32_t i = 0; i < w->coming[p].n; i++) {
            uint32_t before = w->coming[p].edges[i];
            if (w->distance[before] != NO_INDEX) continue;
            w->distance[before] = w->distance[p] + 1;
            w->queue[tail++] = before;
        }
    }
}

/* ---- what can be done now ---- */

typedef struct {
    uint32_t edge; /* NO_INDEX: time passes until a deadline is over */
    int64_t at;
    uint64_t rank; /* the smallest is done */
} Move;

static uint64_t rank_of(Walker *w, uint32_t e, bool led) {
    uint32_t to = w->table->edges[e].to;
    uint64_t far = w->distance[to == NO_INDEX ? w->run.place : to];
    uint64_t used = w->used[e] > 0xFFFF ? 0xFFFF : w->used[e];
    if (!used) return draw(w, 256);
    return ((led ? far << 20 | used : used << 8) + 1) << 8 | draw(w, 256);
}

static void offer(Move *best, Move move) {
    if (move.rank < best->rank) *best = move;
}

/* True: at that moment the edge, and no other of its label, is open. */
static bool open_alone(Walker *w, uint32_t e, int64_t at) {
    const EdgeList *leaving = &w->table->places[w->run.place].edges;
    int64_t wait_ms;
    if (run_standing(&w->run, &w->table->edges[e], at, &wait_ms) != RUN_OPEN) return false;
    for (uint32_t i = 0; i < leaving->n; i++) {
        uint32_t other = leaving->edges[i];
        if (other == e || w->labels[other] != w->labels[e]) continue;
        if (run_standing(&w->run, &w->table->edges[other], at, &wait_ms) == RUN_OPEN) return false;
    }
    return true;
}

static Move best_move(Walker *w) {
    const EdgeList *leaving = &w->table->places[w->run.place].edges;
    Move best = {NO_INDEX, 0, UINT64_MAX};
    int64_t due = run_next_due(&w->run);
    bool led = draw(w, 4) > 0;
    for (uint32_t i = 0; i < leaving->n; i++) {
        uint32_t e = leaving->edges[i];
        const RunEdge *edge = &w->table->edges[e];
        int64_t wait_ms = 0;
        RunStanding standing = run_standing(&w->run, edge, w->run.now, &wait_ms);
        if (standing == RUN_SHUT || standing == RUN_LATE) continue;
        int64_t at = w->run.now + wait_ms;
        if (edge->by_time) {
            if (due < RUN_TIME_END) offer(&best, (Move){NO_INDEX, due, rank_of(w, e, led)});
        } else if (at <= due && open_alone(w, e, at)) offer(&best, (Move){e, at, rank_of(w, e, led)});
    }
    if (due < RUN_TIME_END && best.rank == UINT64_MAX) best = (Move){NO_INDEX, due, 0};
    return best;
}

/* ---- lines ---- */

static uint32_t count_lines(Str text) {
    uint32_t n = 0;
    for (size_t i = 0; i < text.len; i++) n += text.ptr[i] == '\n';
    return n;
}

static void put_line(Walker *w, Str line) {
    Buf trace = {w->arena, NULL, 0, 0};
    Node *node = ARENA_NEW(w->arena, Node);
    run_line(&w->run, line, &trace);
    *node = (Node){.before = w->node, .line = line, .trace = buf_finish(&trace)};
    node->lines = (w->node ? w->node->lines : 0) + 1;
    node->traced = (w->node ? w->node->traced : 0) + count_lines(node->trace);
    w->node = node;
}

static void put_input(Walker *w, int64_t at, Str label, Str choices) {
    Buf buf = {w->arena, NULL, 0, 0};
    buf_int(&buf, at), buf_char(&buf, ' '), buf_str(&buf, label);
    if (choices.len) buf_char(&buf, ';'), buf_str(&buf, choices);
    put_line(w, buf_finish(&buf));
}

/* The world chooses at random what the edge leaves open. */
static Str some_choices(Walker *w, const RunEdge *edge) {
    Buf buf = {w->arena, NULL, 0, 0};
    for (uint32_t i = 0; i < edge->n_changes; i++) {
        const Change *change = &edge->changes[i];
        if (change->kind != CHANGE_TO || !(change->mask & (change->mask - 1)) || !draw(w, 2)) continue;
        uint32_t value = draw(w, w->table->facts[change->fact].n_values);
        if (!(change->mask >> value & 1) || w->run.values[change->fact] == value) continue;
        buf_char(&buf, ' '), buf_str(&buf, w->table->facts[change->fact].id);
        buf_char(&buf, '='), buf_uint(&buf, value);
    }
    return buf_finish(&buf);
}

/* ---- one step ---- */

/* Marks which deadlines are due at that moment. */
static void mark_due(Walker *w, int64_t at, bool *seen) {
    const RunTable *table = w->table;
    const RunPlace *place = &table->places[w->run.place];
    uint32_t all = w->first_due[table->n_places];
    for (uint32_t d = 0; d < place->deadlines.n; d++) {
        const RunDeadline *deadline = &place->deadlines.at[d];
        if (w->run.zero[deadline->clock] + deadline->ms == at && run_guard_holds(&w->run, deadline->when))
            mark(w, &seen[w->first_due[w->run.place] + d]);
    }
    for (uint32_t d = 0; d < table->everywhere.n; d++) {
        const RunDeadline *deadline = &table->everywhere.at[d];
        if (w->run.zero[deadline->clock] + deadline->ms == at && run_guard_holds(&w->run, deadline->when))
            mark(w, &seen[all + d]);
    }
}

static void count_edge(Walker *w) {
    if (w->run.last_edge == NO_INDEX) return;
    if (!w->used[w->run.last_edge]++) w->found++;
    w->run.last_edge = NO_INDEX;
}

/* What nobody offers is refused, and shows what time alone has done. */
static void let_pass(Walker *w, int64_t due) {
    static const int64_t around[] = {-1, 0, 1};
    bool past = due < w->run.now; /* on entry it was over already */
    mark_due(w, due, w->lapsed);
    for (size_t i = past ? 2 : due == w->run.now ? 1 : 0; i < 3 && !w->run.halted; i++)
        put_input(w, past ? w->run.now + 1 : due + around[i], STR("nothing"), STR(""));
    count_edge(w);
}

static void try_late(Walker *w, uint32_t e) {
    const RunEdge *edge = &w->table->edges[e];
    int64_t wait_ms;
    for (uint32_t b = 0; b < edge->n_bounds && !w->late[e]; b++) {
        int64_t at = w->run.zero[edge->bounds[b].clock] + edge->bounds[b].most_ms + 1;
        if (edge->bounds[b].most_ms < 0 || at < w->run.now || at > run_next_due(&w->run)) continue;
        if (run_standing(&w->run, edge, at, &wait_ms) != RUN_LATE) continue;
        mark(w, &w->late[e]);
        put_input(w, at, edge->label, STR(""));
    }
}

static void do_edge(Walker *w, Move move) {
    const RunEdge *edge = &w->table->edges[move.edge];
    int64_t due = run_next_due(&w->run);
    if (move.at > w->run.now && !w->early[move.edge]) {
        mark(w, &w->early[move.edge]);
        put_input(w, move.at - 1, edge->label, STR(""));
    }
    if (due < RUN_TIME_END && due > move.at && !draw(w, 3) && open_alone(w, move.edge, due)) move.at = due;
    if (move.at == due) mark_due(w, due, w->tied);
    put_input(w, move.at, edge->label, some_choices(w, edge));
    count_edge(w);
    if (!draw(w, 8)) try_late(w, move.edge);
}

static void step(Walker *w) {
    Move move = best_move(w);
    if (move.rank == UINT64_MAX) {
        w->run.halted = true;
        return;
    }
    if (move.edge == NO_INDEX) let_pass(w, move.at);
    else do_edge(w, move);
}

/* ---- states to go on from ---- */

static void copy_run(Walker *w, Run *to, const Run *from) {
    uint8_t *values = to->values;
    int64_t *zero = to->zero;
    if (!values) values = ARENA_ARRAY(w->arena, uint8_t, w->table->n_facts + 1u);
    if (!zero) zero = ARENA_ARRAY(w->arena, int64_t, w->table->n_clocks + 1u);
    *to = *from;
    to->values = values, to->zero = zero;
    memcpy(values, from->values, w->table->n_facts);
    memcpy(zero, from->zero, w->table->n_clocks * sizeof *zero);
}

/* Some of all states at the place, each as likely as another. */
static void save(Walker *w) {
    Archive *archive = &w->archive[w->run.place];
    if (w->run.halted) return;
    archive->seen++;
    uint32_t slot = archive->n < SAVED ? archive->n++ : draw(w, archive->seen);
    if (slot >= SAVED) return;
    copy_run(w, &archive->at[slot].run, &w->run);
    archive->at[slot].node = w->node;
}

static bool has_new(const Walker *w, uint32_t place) {
    const EdgeList *leaving = &w->table->places[place].edges;
    uint32_t *n = &w->n_used[place];
    while (*n < leaving->n && w->used[leaving->edges[*n]]) ++*n;
    return *n < leaving->n;
}

/* The place from which the fewest walks began; one with something new counts for several others. */
static void restore(Walker *w) {
    uint32_t found = w->table->joint;
    uint64_t least = UINT64_MAX;
    for (uint32_t p = 0; p < w->table->n_places; p++) {
        if (!w->archive[p].n) continue;
        uint64_t rank = has_new(w, p) ? w->archive[p].walks : ((uint64_t)w->archive[p].walks + 1) * 8;
        if (rank < least) least = rank, found = p;
    }
    Archive *archive = &w->archive[found];
    archive->walks++;
    const Saved *from = &archive->at[draw(w, archive->n)];
    copy_run(w, &w->run, &from->run);
    w->node = from->node;
}

static void begin_root(Walker *w, bool plain) {
    Buf buf = {w->arena, NULL, 0, 0};
    run_begin(&w->run, w->arena, w->table);
    w->node = NULL;
    buf_text(&buf, "start");
    for (uint32_t f = 0; f < w->table->n_facts && !plain; f++) {
        const RunFact *fact = &w->table->facts[f];
        uint32_t value = draw(w, fact->n_values);
        if (!(fact->initial >> value & 1) || w->run.values[f] == value) continue;
        buf_char(&buf, ' '), buf_str(&buf, fact->id), buf_char(&buf, '='), buf_uint(&buf, value);
    }
    put_line(w, buf_finish(&buf));
    save(w);
}

/* True: it found something new. */
static bool walk(Walker *w) {
    const Node *from;
    uint32_t before = w->found;
    Node *last = NULL;
    restore(w);
    from = w->node;
    for (uint32_t i = 0; i < STEPS && !w->run.halted; i++) {
        uint32_t found = w->found;
        step(w);
        if (w->found > found) last = w->node;
        save(w);
    }
    if (last && last != from) vec_push(w->arena, &w->ends, last);
    return w->found > before;
}

/* ---- vectors ---- */

static void list_lines(Walker *w, Str text, VectorLines *lines) {
    size_t from = 0;
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] != '\n') continue;
        vec_push(w->arena, lines, str_slice(text, from, i));
        from = i + 1;
    }
}

static void stop_vector(Walker *w, const Vectors *out, Vector *vector) {
    Run run;
    Buf stop = {w->arena, NULL, 0, 0}, trace = {w->arena, NULL, 0, 0};
    run_begin(&run, w->arena, w->table);
    vector_run(out, vector, &run, &trace);
    if (run.halted) return;
    trace.len = 0;
    buf_text(&stop, "stop "), buf_int(&stop, run.now + 1);
    run_line(&run, buf_view(&stop), &trace);
    vec_push(w->arena, &vector->input, buf_view(&stop));
    list_lines(w, buf_finish(&trace), &vector->trace);
}

/* What no vector before has, from where it leaves one of them. */
static void write_vector(Walker *w, Node *end, Vectors *out) {
    Vector vector = {0};
    uint32_t n = 0;
    Node *node;
    for (node = end; node && !node->vector; node = node->before) n++;
    if (!n) return;
    Node **own = ARENA_ARRAY(w->arena, Node *, n);
    if (node) vector.after = node->vector, vector.lines = node->lines, vector.traced = node->traced;
    for (node = end; n; node = node->before) own[--n] = node, node->vector = out->n + 1;
    for (; n < end->lines - vector.lines; n++) {
        vec_push(w->arena, &vector.input, own[n]->line);
        list_lines(w, own[n]->trace, &vector.trace);
    }
    stop_vector(w, out, &vector);
    vec_push(w->arena, out, vector);
}

/* As far as the branch it leaves goes along, then its own. */
static void run_branch(const Vectors *list, const Vector *vector, size_t lines, Run *run, Buf *trace) {
    size_t before = vector->lines < lines ? vector->lines : lines;
    if (vector->after)
        run_branch(list, &list->at[vector->after - 1], before, run, trace); /* as deep as branches leave branches */
    for (size_t i = 0; i + before < lines && i < vector->input.n; i++) run_line(run, vector->input.at[i], trace);
}

void vector_run(const Vectors *list, const Vector *vector, Run *run, Buf *trace) {
    run_branch(list, vector, vector->lines + vector->input.n, run, trace);
}

static void number_labels(Walker *w) {
    Names names;
    names_open(&names, w->arena);
    w->labels = ARENA_ARRAY(w->arena, Name, w->table->n_edges + 1u);
    for (uint32_t e = 0; e < w->table->n_edges; e++)
        if (!w->table->edges[e].by_time) w->labels[e] = name_intern(&names, w->table->edges[e].label);
}

static Walker *open_walker(Arena *arena, const RunTable *table) {
    Walker *w = ARENA_NEW(arena, Walker);
    *w = (Walker){.arena = arena, .table = table, .seed = UINT64_C(0x9E3779B97F4A7C15)};
    w->used = ARENA_ARRAY(arena, uint32_t, table->n_edges + 1u);
    w->n_used = ARENA_ARRAY(arena, uint32_t, table->n_places + 1u);
    number_labels(w);
    w->early = ARENA_ARRAY(arena, bool, table->n_edges + 1u);
    w->late = ARENA_ARRAY(arena, bool, table->n_edges + 1u);
    w->first_due = ARENA_ARRAY(arena, uint32_t, table->n_places + 1u);
    for (uint32_t p = 0; p < table->n_places; p++) w->first_due[p + 1] = w->first_due[p] + table->places[p].deadlines.n;
    uint32_t n = w->first_due[table->n_places] + table->everywhere.n;
    w->lapsed = ARENA_ARRAY(arena, bool, n + 1u);
    w->tied = ARENA_ARRAY(arena, bool, n + 1u);
    w->distance = ARENA_ARRAY(arena, uint32_t, table->n_places + 1u);
    w->queue = ARENA_ARRAY(arena, uint32_t, table->n_places + 1u);
    w->archive = ARENA_ARRAY(arena, Archive, table->n_places + 1u);
    w->coming = ARENA_ARRAY(arena, EdgeList, table->n_places + 1u);
    list_coming(w);
    return w;
}

const Vectors *table_vectors(Arena *arena, const RunTable *table) {
    Walker *w = open_walker(arena, table);
    Vectors *out = ARENA_NEW(arena, Vectors);
    uint32_t in_vain = 0;
    for (uint32_t i = 0; i < ROOTS; i++) begin_root(w, !i);
    for (uint32_t n = 0; n < MOST_WALKS && in_vain < WALKS_IN_VAIN; n++) {
        if (n % 64 == 0) measure_distances(w);
        in_vain = walk(w) ? 0 : in_vain + 1;
    }
    for (size_t i = w->ends.n; i--;) write_vector(w, w->ends.at[i], out);
    return out;
}
