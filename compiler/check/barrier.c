#include "check/barrier.h"
#include "check/tell.h"
#include "check/words.h"
#include <string.h>

static bool is_last(const Barrier *b, uint32_t node) {
    const Game *g = b->game;
    const Situation *here = &g->nodes.at[node];
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
        ArcClass class = game_class(g, &g->arcs.at[a]);
        EdgeKind kind = b->m->edges[g->arcs.at[a].edge].kind;
        if (class == ARC_PILOT || class == ARC_LAPSE || kind == EDGE_RUN_DOWN || kind == EDGE_STOP) return false;
    }
    return true;
}

/* How it goes on from a lost situation. */
typedef struct {
    uint32_t *by;  /* by situation: the arc that led there first; NO_INDEX: none */
    uint32_t last; /* where nothing goes on; NO_INDEX: it goes round */
    uint32_t turn; /* then the arc that closes the round; NO_INDEX: none was found */
} Barring;

/* Does the arc lead back to where the way to it came through, by steps of the text and not by cues alone? */
static bool closes_round(const Barrier *b, const Barring *way, uint32_t closing) {
    const Game *g = b->game;
    bool text = false;
    for (uint32_t a = closing; a != NO_INDEX; a = way->by[g->arcs.at[a].from]) {
        ArcClass class = game_class(g, &g->arcs.at[a]);
        if (class == ARC_CUE) return false;
        text |= class == ARC_PILOT || class == ARC_LAPSE;
        if (g->arcs.at[a].from == g->arcs.at[closing].to) return text;
    }
    return false;
}

static Barring barring_way(const Barrier *b, uint32_t from) {
    const Game *g = b->game;
    Barring way = {ARENA_ARRAY(b->scratch, uint32_t, g->nodes.n + 1u), NO_INDEX, NO_INDEX};
    uint32_t *queue = ARENA_ARRAY(b->scratch, uint32_t, g->nodes.n + 1u), head = 0, tail = 0;
    memset(way.by, 0xff, g->nodes.n * sizeof *way.by);
    queue[tail++] = from;
    while (head < tail && way.last == NO_INDEX) {
        uint32_t v = queue[head++];
        const Situation *here = &g->nodes.at[v];
        if (is_last(b, v)) way.last = v;
        for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs && way.last == NO_INDEX; a++) {
            uint32_t to = g->arcs.at[a].to;
            if (game_class(g, &g->arcs.at[a]) == ARC_NONE || b->hope[to]) continue;
            if (to == from || way.by[to] != NO_INDEX) {
                if (way.turn == NO_INDEX && closes_round(b, &way, a)) way.turn = a;
                continue;
            }
            way.by[to] = a;
            queue[tail++] = to;
        }
    }
    return way;
}

static Str step_words(const Barrier *b, const Arc *arc) {
    const Edge *edge = &b->m->edges[arc->edge];
    const Item *item = edge->item ? edge->item : b->m->places[b->game->nodes.at[arc->from].place].item;
    Str what = item ? words_item(b->job, b->m, item) : STR("");
    Arena *arena = b->job->arena;
    if (edge->kind == EDGE_FIRE) return STR("the engine fires");
    if (edge->kind == EDGE_RUN_DOWN) return STR("the engine comes to rest");
    if (edge->kind == EDGE_STOP) return STR("the engine stops");
    if (edge->kind == EDGE_LAPSE) return format_text(arena, NULL, "time is up: %S", what);
    if (edge->kind == EDGE_OTHERWISE) return format_text(arena, NULL, "%S: not so", what);
    if (edge->kind == EDGE_ENTER_DRILL && edge->drill != NO_INDEX)
        return format_text(arena, NULL, "\"%S\" is entered", b->m->tail->drills[edge->drill].title);
    return what;
}

enum { STEPS_TOLD = 12 };
static void note_steps(const Barrier *b, Finding *finding, const uint32_t *by, uint32_t last) {
    const Game *g = b->game;
    uint32_t n = 0, k = 0, steps[STEPS_TOLD] = {0};
    for (uint32_t v = last; by[v] != NO_INDEX; v = g->arcs.at[by[v]].from) n++;
    for (uint32_t v = last; by[v] != NO_INDEX; v = g->arcs.at[by[v]].from, k++)
        if (n - 1 - k < STEPS_TOLD) steps[n - 1 - k] = by[v];
    Buf buf = {.arena = b->job->arena};
    Str before = STR("");
    for (k = 0; k < n && k < STEPS_TOLD; k++) {
        Str words = step_words(b, &g->arcs.at[steps[k]]);
        if (words.len && !str_eq(words, before)) buf_format(&buf, NULL, buf.len ? "; %S" : "%S", words);
        before = words;
    }
    if (n > STEPS_TOLD) buf_text(&buf, "; and so on");
    if (buf.len) finding_note(b->job->findings, finding, (Span){0, 0}, "from there: %S", buf_view(&buf));
}

static Str state_name(const Barrier *b, Name name, const Test *test) {
    return name ? name_text(b->job->names, name) : words_test(b->job, b->m, test);
}

static Str target_words(const Barrier *b) {
    const Gate *gate = b->gate->gate;
    if (!b->gate->target) return STR("an end");
    return state_name(b, gate ? gate->rule.target.name : 0, b->gate->target);
}

static void note_round(const Barrier *b, Finding *finding, const Barring *way) {
    Str target = target_words(b);
    if (way->turn == NO_INDEX) {
        finding_note(b->job->findings, finding, (Span){0, 0}, "it can go on for ever without %S", target);
        return;
    }
    const Arc *turn = &b->game->arcs.at[way->turn];
    const Item *item = b->m->places[b->game->nodes.at[turn->to].place].item;
    note_steps(b, finding, way->by, turn->from);
    finding_note(b->job->findings, finding, item_span(item),
                 "then (%S) it leads back here, and can go round for ever without %S", step_words(b, turn), target);
}

static void note_end(const Barrier *b, Finding *finding, uint32_t last) {
    Findings *findings = b->job->findings;
    Str target = target_words(b);
    const Place *place = &b->m->places[b->game->nodes.at[last].place];
    Span span = item_span(place->item);
    Str item = place->item ? words_item(b->job, b->m, place->item) : STR("this line");
    if (place->kind == PLACE_END)
        finding_note(findings, finding, span, "it comes to the end %N without %S", place->outcome, target);
    else
        finding_note(findings, finding, span,
                     "it can stay here for ever without %S: %S need not come true, and nothing else is said", target,
                     item);
}

void barrier_note(const Barrier *b, Finding *finding, uint32_t node) {
    Barring way = barring_way(b, node);
    if (way.last == NO_INDEX) {
        note_round(b, finding, &way);
        return;
    }
    note_steps(b, finding, way.by, way.last);
    note_end(b, finding, way.last);
}
