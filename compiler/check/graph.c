/* Loops that can be gone round without any time passing. Starts that follow starts are not loops of the text. */
#include "check/firstpass.h"
#include "check/words.h"
#include <string.h>

typedef struct {
    const FirstPass *first;
    const Model *m;
    bool *cut;      /* by edge: it takes time, or counts */
    uint32_t *part; /* by place: its strongly connected part */
    uint32_t *low, *order, *stack, *call, *next;
    bool *on_stack;
    uint32_t n_parts;
} Graph;

static bool follows(const Graph *g, uint32_t e) {
    const Edge *edge = &g->m->edges[e];
    return pass_edge(g->first, e) && !g->cut[e] && edge->to != NO_INDEX && edge->kind != EDGE_JOIN &&
           edge->kind != EDGE_BEGIN;
}

static void close_part(Graph *g, uint32_t root, uint32_t *depth) {
    uint32_t place;
    do {
        place = g->stack[--*depth];
        g->on_stack[place] = false;
        g->part[place] = g->n_parts;
    } while (place != root);
    g->n_parts++;
}

/* Strongly connected parts, without recursion. */
static void walk(Graph *g, uint32_t root, uint32_t *count, uint32_t *depth) {
    uint32_t calls = 0;
    g->call[calls++] = root;
    while (calls) {
        uint32_t p = g->call[calls - 1];
        if (!g->next[p]) {
            g->order[p] = g->low[p] = ++*count;
            g->stack[(*depth)++] = p;
            g->on_stack[p] = true;
        }
        bool deeper = false;
        while (!deeper && g->next[p] < g->m->places[p].n_edges) {
            uint32_t e = g->m->places[p].first_edge + g->next[p]++, to = g->m->edges[e].to;
            if (!follows(g, e)) continue;
            if (!g->order[to]) {
                g->call[calls++] = to;
                deeper = true;
            } else if (g->on_stack[to] && g->order[to] < g->low[p]) g->low[p] = g->order[to];
        }
        if (deeper) continue;
        if (!g->m->places[p].n_edges) g->next[p] = 1;
        if (g->low[p] == g->order[p]) close_part(g, p, depth);
        if (--calls && g->low[p] < g->low[g->call[calls - 1]]) g->low[g->call[calls - 1]] = g->low[p];
    }
}

static void find_parts(Graph *g) {
    uint32_t n = g->m->n_places, count = 0, depth = 0;
    memset(g->order, 0, n * sizeof *g->order);
    memset(g->next, 0, n * sizeof *g->next);
    g->n_parts = 0;
    for (uint32_t p = 0; p < n; p++)
        if (!g->order[p]) walk(g, p, &count, &depth);
}

static bool inside(const Graph *g, uint32_t e) {
    const Edge *edge = &g->m->edges[e];
    return e < g->m->first_ambient && follows(g, e) && g->part[edge->from] == g->part[edge->to];
}

static bool zeroed_inside(const Graph *g, uint32_t clock, uint32_t part) {
    for (uint32_t e = 0; e < g->m->first_ambient; e++)
        if (inside(g, e) && g->part[g->m->edges[e].from] == part &&
            frame_clears(g->first->frame, &g->m->edges[e], clock))
            return true;
    return false;
}

/* Every way of its condition needs the fact within a mask; 0: it does not. */
static uint64_t needed(const Guard *guard, uint32_t fact) {
    uint64_t all = 0;
    for (uint32_t t = 0; guard && t < guard->n; t++) {
        uint64_t one = 0;
        for (uint32_t l = 0; l < guard->terms[t].n; l++)
            if (guard->terms[t].literals[l].fact == fact) one = guard->terms[t].literals[l].mask;
        if (!one) return 0;
        all |= one;
    }
    return all;
}

static bool restored_inside(const Graph *g, uint32_t fact, uint64_t mask, uint32_t part) {
    for (uint32_t e = 0; e < g->m->first_ambient; e++) {
        if (!inside(g, e) || g->part[g->m->edges[e].from] != part) continue;
        for (uint32_t c = 0; c < g->m->edges[e].n_changes; c++)
            if (g->m->edges[e].changes[c].fact == fact && g->m->edges[e].changes[c].mask & mask) return true;
    }
    return false;
}

/* It undoes what it needs, and nothing on the way round restores that: an answer that comes once. */
static bool comes_once(const Graph *g, uint32_t e) {
    const Edge *edge = &g->m->edges[e];
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        uint64_t mask = needed(edge->guard, edge->changes[c].fact);
        if (!mask || edge->changes[c].kind != CHANGE_TO || edge->changes[c].mask & mask) continue;
        if (!restored_inside(g, edge->changes[c].fact, mask, g->part[edge->from])) return true;
    }
    return false;
}

static bool takes_time(const Graph *g, uint32_t e) {
    const Edge *edge = &g->m->edges[e];
    if (comes_once(g, e)) return true;
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].kind == CHANGE_COUNT) return true;
    for (uint32_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].least_ms >= 1000 && zeroed_inside(g, edge->bounds[b].clock, g->part[edge->from]))
            return true;
    return false;
}

static bool cut_more(Graph *g) {
    bool any = false;
    bool *cut = ARENA_ARRAY(g->first->job->arena, bool, g->m->n_edges + 1u);
    for (uint32_t e = 0; e < g->m->first_ambient; e++) cut[e] = inside(g, e) && takes_time(g, e);
    for (uint32_t e = 0; e < g->m->first_ambient; e++) {
        any |= cut[e];
        g->cut[e] |= cut[e];
    }
    return any;
}

static void report_loops(const Graph *g) {
    Job *job = g->first->job;
    bool *told = ARENA_ARRAY(job->arena, bool, g->n_parts + 1u);
    for (uint32_t e = 0; e < g->m->first_ambient; e++) {
        const Edge *edge = &g->m->edges[e];
        if (!inside(g, e) || told[g->part[edge->from]]) continue;
        told[g->part[edge->from]] = true;
        const Item *item = edge->item ? edge->item : g->m->places[edge->from].item;
        if (!item) continue;
        Finding *finding = finding_add(job->findings, FINDING_LOOP_WITHOUT_TIME, item->span,
                                       "from here (%S) the text leads back here without any time passing",
                                       words_item(job, g->m, item));
        finding_note(job->findings, finding, (Span){0, 0},
                     "a way back needs a wait, a rest or `again after` of at least 1 s");
    }
}

void graph_report(FirstPass *first) {
    const Model *m = first->model;
    Arena *arena = first->job->arena;
    uint32_t n = m->n_places + 1;
    Graph g = {.first = first,
               .m = m,
               .cut = ARENA_ARRAY(arena, bool, m->n_edges + 1u),
               .part = ARENA_ARRAY(arena, uint32_t, n),
               .low = ARENA_ARRAY(arena, uint32_t, n),
               .order = ARENA_ARRAY(arena, uint32_t, n),
               .stack = ARENA_ARRAY(arena, uint32_t, n),
               .call = ARENA_ARRAY(arena, uint32_t, n),
               .next = ARENA_ARRAY(arena, uint32_t, n),
               .on_stack = ARENA_ARRAY(arena, bool, n)};
    do find_parts(&g);
    while (cut_more(&g));
    report_loops(&g);
}
