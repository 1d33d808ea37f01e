#include "check/nearest.h"
#include "check/steps.h"
#include "check/words.h"

/* A rule broken by a step is kept where the same line is done without breaking it; one broken by time, where what it waits for comes. */
typedef struct {
    Sought sought;
    const Broken *b;
    const Edge *last; /* of the broken path; NULL: time broke it */
    const Item *line;
    uint32_t entered; /* the move that entered the drill of the break; 0: it stands in none */
    uint32_t from;    /* the move after which another way is looked for */
    uint32_t kept_at; /* move at which the broken path itself kept it before, at the same line; 0: none */
} Nearest;

static bool same_text(const Item *a, const Item *b) {
    return a == b || (a && b && a->span.hi && a->span.lo == b->span.lo && a->span.hi == b->span.hi);
}

static bool same_line(const Nearest *n, const Edge *edge, const Item *line) {
    return edge->kind == n->last->kind && edge->drill == n->last->drill && same_text(line, n->line);
}

static bool keeps_line(const Sought *sought, const Step *step, const Move *move) {
    const Nearest *n = (const Nearest *)(const void *)sought;
    const Edge *edge = &n->b->model->edges[step->edge];
    (void)move;
    return same_line(n, edge, edge->item ? edge->item : n->b->model->places[step->from].item);
}

static bool keeps_time(const Sought *sought, const Step *step, const Move *move) {
    const Observer *o = step->observer;
    (void)sought;
    return o->states[step->state].limit >= 0 && o->states[move->state].limit < 0 &&
           !(o->scope[step->to] & SCOPE_EXCEPTED);
}

/* What another start would do is no answer to how this one keeps the rule, and no drill breaks in that does not on the broken path. */
static bool on_the_way(const Sought *sought, const Edge *edge) {
    const Nearest *n = (const Nearest *)(const void *)sought;
    if (edge->kind != EDGE_ENTER_DRILL) return edge->kind != EDGE_JOIN;
    for (uint32_t k = n->b->path->n; k-- > n->from + 1;)
        if (witness_edge(n->b->search, n->b->path, k) == edge) return true;
    return false;
}

static uint32_t kept_before(const Nearest *n) {
    const Path *path = n->b->path;
    for (uint32_t k = path->n - 1; k-- > 1;)
        if (same_line(n, witness_edge(n->b->search, path, k), witness_line(n->b->search, path, k))) return k;
    return 0;
}

/* In a drill, what was done before it was entered is past mending by its lines. */
static uint32_t drill_entered(const Nearest *n) {
    const Search *s = n->b->search;
    const Path *path = n->b->path;
    uint32_t k = path->n - 2, drill = n->b->model->places[witness_place(s, path, k)].drill;
    if (drill == NO_INDEX) return 0;
    while (k > 0 && n->b->model->places[witness_place(s, path, k - 1)].drill == drill) k--;
    return k;
}

/* From the last node of the broken path back: the first from which what is sought can be come to has the longest beginning. */
static SearchEnd look_back(Nearest *n) {
    enum { ZONES_MOST = 20000 };
    const Path *path = n->b->path;
    Search *s = n->b->search;
    uint32_t first = n->last ? path->n - 1 : path->n, least = witness_reset(s, path);
    if (n->last) least = n->kept_at > n->entered ? n->kept_at : n->entered;
    search_again(s, &n->sought, ZONES_MOST);
    for (n->from = first; n->from-- > least;) {
        SearchEnd end = search_from(s, path->nodes[n->from]);
        if (end != SEARCH_HOLDS) return end;
        if (n->from && witness_edge(s, path, n->from)->kind == EDGE_ENTER_DRILL)
            search_again(s, &n->sought, ZONES_MOST); /* this drill may now break in at other lines, too */
    }
    return SEARCH_HOLDS;
}

/* ---- in words ---- */
static Str say(const Nearest *n, const char *format, Str one, Str two, Str three) {
    return format_text(n->b->job->arena, n->b->job->names, format, one, two, three);
}

static Str move_at(const Nearest *n, const Path *path, uint32_t move) {
    Str text = steps_move(n->b, path, move), line = steps_line(n->b->job, steps_item(n->b, path, move));
    return line.len ? say(n, "%S (%S)%S", text, line, STR("")) : text;
}

static Str clock_at(const Nearest *n, const Path *path, uint32_t move) {
    return words_clock(n->b->job, path->at_ms[move]);
}

static bool drills_break_in(const Nearest *n) {
    const Model *m = n->b->model;
    for (uint32_t e = 0; e < m->n_edges; e++)
        if (m->edges[e].kind == EDGE_ENTER_DRILL) return true;
    return false;
}

static Str tell_none(const Nearest *n) {
    const Path *path = n->b->path;
    Str line = steps_line(n->b->job, n->line),
        unless = drills_break_in(n) ? STR(", unless another drill breaks in") : STR("");
    uint32_t reset = witness_reset(n->b->search, path);
    if (!n->last)
        return say(n, "After %S, at %S, no path keeps it%S", move_at(n, path, reset), clock_at(n, path, reset), unless);
    if (!line.len) line = steps_move(n->b, path, path->n - 1);
    if (n->kept_at > n->entered)
        return say(n, "On this path it was still kept at %S, %S; what comes after that breaks it%S",
                   clock_at(n, path, n->kept_at), line, STR(""));
    if (!n->entered) return say(n, "No path of this start that comes to %S keeps it%S%S", line, unless, STR(""));
    uint32_t drill = n->b->model->places[witness_place(n->b->search, path, n->entered)].drill;
    return say(n, "Once \"%S\" is entered as here, no path to %S keeps it%S", n->b->model->tail->drills[drill].title,
               line, unless);
}

/* Facts that stand otherwise on the other path, after a move that both make. */
static Str facts_apart(const Nearest *n, const Path *other, uint32_t move) {
    const Search *s = n->b->search;
    const uint64_t *here = node_masks(s, n->b->path->nodes[move]), *there = node_masks(s, other->nodes[move]);
    Buf buf = {.arena = n->b->job->arena};
    for (uint32_t fact = 0; fact < n->b->model->n_facts; fact++) {
        if (s->slice->fields[fact].word == NO_WORD) continue;
        Lit lit = slice_literal(s->slice, fact, 0);
        if (!((here[lit.word] ^ there[lit.word]) & lit.field)) continue;
        uint8_t shift = s->slice->fields[fact].shift;
        buf_format(&buf, n->b->job->names, buf.len ? ", %S %S, not %S" : "%S %S, not %S",
                   words_fact(n->b->job, n->b->model, fact),
                   words_values(n->b->job, n->b->model, fact, (there[lit.word] & lit.field) >> shift),
                   words_values(n->b->job, n->b->model, fact, (here[lit.word] & lit.field) >> shift));
    }
    return buf_view(&buf);
}

static bool same_move(const Nearest *n, const Path *other, uint32_t move) {
    const Search *s = n->b->search;
    if (move >= n->b->path->n) return false;
    const Edge *a = witness_edge(s, n->b->path, move), *b = witness_edge(s, other, move);
    return a->kind == b->kind && a->to == b->to &&
           same_text(witness_line(s, n->b->path, move), witness_line(s, other, move));
}

static Str tell_parting(const Nearest *n, const Path *other, uint32_t shared, bool goes_on) {
    const Path *path = n->b->path;
    uint32_t move = shared + 1;
    Str what = move_at(n, other, move);
    if (same_move(n, other, move)) {
        Str facts = facts_apart(n, other, move);
        if (other->at_ms[move] != path->at_ms[move])
            return say(n, "The nearest path that keeps it has the same steps, but %S at %S, not at %S", what,
                       clock_at(n, other, move), clock_at(n, path, move));
        if (facts.len)
            return say(n, "The nearest path that keeps it has the same steps, with %S%S%S", facts, STR(""), STR(""));
    }
    if (move >= path->n)
        return say(n, "The nearest path that keeps it does not wait so long: %S by %S%S", what,
                   words_clock(n->b->job, path->at_ms[path->n] - 1), STR(""));
    Str after = shared ? say(n, ", after %S%S%S", move_at(n, path, shared), STR(""), STR("")) : STR("");
    const char *format = goes_on
                             ? "The nearest path that keeps it parts from this one at %S%S; in place of %S it goes on"
                             : "The nearest path that keeps it parts from this one at %S%S: not %S, but %S";
    return format_text(n->b->job->arena, NULL, format, clock_at(n, path, shared), after, move_at(n, path, move), what);
}

static void tell_other(const Nearest *n, Trace *trace, const Path *other) {
    uint32_t shared = 0;
    while (shared + 1 < other->n && shared + 1 < n->b->path->n &&
           other->nodes[shared + 1] == n->b->path->nodes[shared + 1])
        shared++;
    trace->parting = shared;
    bool goes_on = shared + 2 < other->n;
    trace->nearest = tell_parting(n, other, shared, goes_on);
    if (goes_on) trace->instead = steps_tell(n->b, other, shared);
}

/* An observer that guesses where a window begins keeps a rule by guessing otherwise. */
static bool guesses(const Broken *b) {
    return b->gate->rule == RULE_WINDOW || (b->gate->rule == RULE_DUTY && b->part);
}

void nearest_tell(const Broken *b, Arena *scratch, Trace *trace, Path *path) {
    if (guesses(b)) return;
    Nearest n = {.b = b};
    bool by_time = b->path->by_time;
    n.sought = (Sought){by_time ? keeps_time : keeps_line, on_the_way};
    uint32_t bad = b->search->bad;
    if (!by_time) {
        n.last = witness_edge(b->search, b->path, b->path->n - 1);
        n.line = witness_line(b->search, b->path, b->path->n - 1);
        n.kept_at = kept_before(&n);
        n.entered = drill_entered(&n);
    }
    SearchEnd end = look_back(&n);
    if (end == SEARCH_BROKEN) {
        Path other = witness_path(scratch, b->search);
        tell_other(&n, trace, &other);
        if (path) *path = other;
    }
    if (end == SEARCH_HOLDS) trace->nearest = tell_none(&n);
    b->search->bad = bad;
}
