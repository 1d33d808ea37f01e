#include "check/game.h"
#include "base/limits.h"
#include <string.h>

/* ---- situations: every condition asked at the place is decided ---- */
/* A literal that decides more of the formula within the masks; false: it is decided, as far as the facts told apart decide it. */
static bool open_literal(const Formula *formula, const uint64_t *masks, const uint64_t *apart, Lit *open) {
    bool found = false;
    if (formula->always) return false;
    for (uint32_t t = 0; t < formula->n; t++) {
        const LitTerm *term = &formula->terms[t];
        const Lit *narrows = NULL;
        bool possible = true, whole = true;
        for (uint32_t l = 0; l < term->n && possible; l++) {
            const Lit *lit = &term->lits[l];
            possible = masks[lit->word] & lit->bits;
            if (!(masks[lit->word] & lit->field & ~lit->bits)) continue;
            whole = false;
            if (!narrows && (!apart || apart[lit->word] & lit->field)) narrows = lit;
        }
        if (possible && whole) return false; /* it holds as a whole */
        if (!possible || !narrows || found) continue;
        *open = *narrows;
        found = true;
    }
    return found;
}

static const uint64_t *apart_at(const Game *g, uint32_t place) {
    return g->rule.apart ? g->rule.apart + (size_t)place * g->slice->words : NULL;
}

static bool open_at(const Game *g, uint32_t place, const uint64_t *masks, Lit *open) {
    const Frame *f = g->slice->frame;
    const uint64_t *apart = apart_at(g, place);
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++) {
        const Formula *guard = g->slice->edges[f->out[k]].guard;
        if (guard && open_literal(guard, masks, apart, open)) return true;
    }
    for (uint32_t d = f->due_first[place]; d < f->due_first[place + 1]; d++) {
        const Formula *when = g->slice->dues[d].when;
        if (when && open_literal(when, masks, apart, open)) return true;
    }
    for (uint32_t k = 0; k < g->rule.n_asked; k++)
        if (open_literal(g->rule.asked[k], masks, apart, open)) return true;
    return false;
}

static uint32_t hash_of(const Game *g, uint32_t place, const uint64_t *masks) {
    uint64_t h = place + UINT64_C(0x9e3779b97f4a7c15);
    for (uint32_t w = 0; w < g->slice->words; w++) h = (h ^ masks[w]) * UINT64_C(0xff51afd7ed558ccd), h ^= h >> 29;
    return (uint32_t)(h ^ h >> 32);
}

static void slots_grow(Game *g) {
    uint32_t n = g->slots ? 2 * (g->slot_mask + 1) : 1024;
    g->slots = ARENA_ARRAY(g->arena, uint32_t, n);
    memset(g->slots, 0xff, n * sizeof *g->slots);
    g->slot_mask = n - 1;
    for (uint32_t k = 0; k < g->nodes.n; k++) {
        uint32_t *slot = &g->slots[g->nodes.at[k].hash & g->slot_mask];
        g->nodes.at[k].same = *slot;
        *slot = k;
    }
}

/* NO_INDEX: there is none yet. */
static uint32_t find_situation(const Game *g, uint32_t place, const uint64_t *masks, uint32_t hash) {
    uint32_t k = g->slots ? g->slots[hash & g->slot_mask] : NO_INDEX;
    while (k != NO_INDEX &&
           (g->nodes.at[k].place != place || memcmp(game_masks(g, k), masks, g->slice->words * sizeof *masks) != 0))
        k = g->nodes.at[k].same;
    return k;
}

static uint32_t add_situation(Game *g, uint32_t place, const uint64_t *masks, uint32_t hash) {
    uint32_t words = g->slice->words, node = (uint32_t)g->nodes.n;
    if (!g->slots || node > g->slot_mask) slots_grow(g);
    uint32_t *slot = &g->slots[hash & g->slot_mask];
    Situation one = {.place = place, .same = *slot, .hash = hash};
    *slot = node;
    vec_push(g->arena, &g->nodes, one);
    if (g->nodes.n * words > g->cap_masks) {
        size_t cap = g->cap_masks ? 2 * g->cap_masks : 64 * (size_t)words;
        g->masks = arena_resize(g->arena, g->masks, g->cap_masks * sizeof *masks, cap * sizeof *masks);
        g->cap_masks = cap;
    }
    memcpy(g->masks + (size_t)node * words, masks, words * sizeof *masks);
    g->too_many |= g->nodes.n > (g->rule.budget.zones ? g->rule.budget.zones : LIMIT_ZONES);
    return node;
}

/* ---- every situation that the text can come to ---- */
static uint64_t *pile_up(Game *g, const uint64_t *masks) {
    for (uint32_t w = 0; w < g->slice->words; w++) vec_push(g->arena, &g->pile, masks[w]);
    return g->pile.at + g->pile.n - g->slice->words;
}

/* What is not told apart is as it may be at the place; what no longer matters is full. False: no run comes there so. */
static bool settle(const Game *g, uint32_t place, uint64_t *masks) {
    size_t at = (size_t)place * g->slice->words;
    const uint64_t *dead = g->slice->dead + at, *values = g->rule.values + at, *apart = apart_at(g, place);
    for (uint32_t w = 0; w < g->slice->words; w++) {
        for (uint64_t gone = masks[w] & ~values[w]; gone;) {
            uint64_t field = g->slice->field_of[w * 64 + (uint32_t)__builtin_ctzll(gone)];
            if (!(masks[w] & values[w] & field)) return false;
            gone &= ~field;
        }
        masks[w] = (apart ? (masks[w] & apart[w]) | ~apart[w] : masks[w]) & values[w];
        masks[w] |= dead[w];
    }
    return true;
}

static void lead_to(Game *g, Arc arc, uint32_t node) {
    arc.to = node;
    if (arc.from != NO_INDEX) vec_push(g->arena, &g->arcs, arc);
}

/* Cuts the masks into situations of the place; each is led to by the arc. A part that is a situation already need not be looked at. */
static void arrive(Game *g, Arc arc, uint32_t place, const uint64_t *masks) {
    uint64_t part[MASK_WORDS];
    Lit open;
    pile_up(g, masks);
    while (g->pile.n && !g->too_many) {
        g->pile.n -= g->slice->words;
        memcpy(part, g->pile.at + g->pile.n, g->slice->words * sizeof *part);
        uint32_t hash = hash_of(g, place, part), known = find_situation(g, place, part, hash);
        if (known != NO_INDEX) {
            lead_to(g, arc, known);
        } else if (open_at(g, place, part, &open)) {
            pile_up(g, part)[open.word] &= ~open.bits;
            pile_up(g, part)[open.word] &= ~open.field | open.bits;
        } else {
            lead_to(g, arc, add_situation(g, place, part, hash));
        }
    }
}

static void assign(const SliceEdge *edge, uint64_t *masks) {
    for (uint32_t a = 0; a < edge->n_assigns; a++) {
        const Assign *one = &edge->assigns[a];
        uint64_t values = masks[one->word] & one->field, top = one->field & ~(one->field >> 1);
        uint64_t now = one->counts_at == 255 ? one->set : ((values << 1) & one->field) | (values & top);
        masks[one->word] = (masks[one->word] & ~one->field) | now;
    }
}

static void expand(Game *g, uint32_t node) {
    const Frame *f = g->slice->frame;
    uint32_t words = g->slice->words, place = g->nodes.at[node].place;
    uint64_t masks[MASK_WORDS];
    g->nodes.at[node].first_arc = (uint32_t)g->arcs.n;
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1] && !g->too_many; k++) {
        const SliceEdge *edge = &g->slice->edges[f->out[k]];
        memcpy(masks, game_masks(g, node), words * sizeof *masks);
        if (edge->guard && !edge->guard->always && !formula_possible(edge->guard, masks)) continue;
        Arc arc = {.from = node, .edge = f->out[k], .unsure = edge->guard && !formula_certain(edge->guard, masks)};
        assign(edge, masks);
        uint32_t to = edge_target(&g->model->edges[f->out[k]], place);
        if (settle(g, to, masks)) arrive(g, arc, to, masks);
    }
    g->nodes.at[node].n_arcs = (uint32_t)g->arcs.n - g->nodes.at[node].first_arc;
}

static void begin(Game *g) {
    const Model *m = g->model;
    uint64_t masks[MASK_WORDS] = {0};
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        if (g->slice->fields[fact].word == NO_WORD) continue;
        Lit lit = slice_literal(g->slice, fact, m->initial[fact]);
        masks[lit.word] |= lit.bits;
    }
    if (settle(g, m->joint, masks)) arrive(g, (Arc){.from = NO_INDEX}, m->joint, masks);
}

/* ---- whose move an edge is ---- */
static bool shows_world(const Model *m, const Edge *edge) {
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        FactKind kind = m->facts[edge->changes[c].fact].kind;
        if (kind == FACT_SCENE || kind == FACT_GAUGE || kind == FACT_TREND || kind == FACT_ANSWER) return true;
    }
    return false;
}

static ArcClass class_of(const Game *g, const Edge *edge) {
    switch (edge->kind) {
    case EDGE_BEGIN:
    case EDGE_GIVE_UP: return ARC_NONE;
    case EDGE_JOIN:
        return edge->to != NO_INDEX && g->model->places[edge->to].kind == PLACE_JOINT ? ARC_NONE : ARC_PILOT;
    case EDGE_LAPSE: return ARC_LAPSE;
    case EDGE_ENTER_DRILL: return edge->actor == ACTOR_PILOT ? ARC_PILOT : ARC_CUE;
    case EDGE_FIRE:
    case EDGE_RUN_DOWN:
    case EDGE_STOP: return ARC_OTHER;
    case EDGE_ITEM:
    case EDGE_OTHERWISE:
    case EDGE_RELEASE: break;
    }
    if (edge->actor == ACTOR_ENGINE) return ARC_OTHER;
    if (edge->actor == ACTOR_TIME) return ARC_LAPSE;
    if (edge->actor == ACTOR_PILOT) return ARC_PILOT;
    /* What must be seen need not come; what only has to stand, as a position does, is seen at once. */
    bool somebody = edge->item && edge->item->person != NO_INDEX;
    return somebody || shows_world(g->model, edge) ? ARC_OTHER : ARC_PILOT;
}

static void class_edges(Game *g) {
    g->classes = ARENA_ARRAY(g->arena, uint8_t, g->model->n_edges + 1u);
    for (uint32_t e = 0; e < g->model->n_edges; e++) g->classes[e] = (uint8_t)class_of(g, &g->model->edges[e]);
}

static void index_back(Game *g) {
    uint32_t n = (uint32_t)g->nodes.n;
    g->back_first = ARENA_ARRAY(g->arena, uint32_t, n + 2u);
    g->back = ARENA_ARRAY(g->arena, uint32_t, g->arcs.n + 1u);
    for (size_t a = 0; a < g->arcs.n; a++) g->back_first[g->arcs.at[a].to + 2]++;
    for (uint32_t k = 2; k < n + 2; k++) g->back_first[k] += g->back_first[k - 1];
    for (size_t a = 0; a < g->arcs.n; a++) g->back[g->back_first[g->arcs.at[a].to + 1]++] = (uint32_t)a;
}

Game *game_make(Arena *arena, const Slice *slice, GameRule rule) {
    Game *g = ARENA_NEW(arena, Game);
    *g = (Game){.arena = arena, .slice = slice, .model = slice->frame->model, .rule = rule};
    class_edges(g);
    begin(g);
    for (uint32_t node = 0; node < g->nodes.n && !g->too_many && !g->stopped; node++) {
        expand(g, node);
        g->stopped = node % 512 == 511 && rule.budget.stop && rule.budget.stop(rule.budget.context);
    }
    if (g->too_many || g->stopped) return g;
    index_back(g);
    return g;
}

/* ---- parts: situations between which engine and world can go to and fro without the pilot ---- */
typedef struct {
    const Game *game;
    bool sure;
    uint32_t *part, *first, *same; /* by situation its part; by part its situations, linked by `same` */
    uint32_t n;
    uint32_t *order, *low, *next, *stack, *call, n_stack, n_call, count;
} Parts;

static bool bounded(const Game *g, const Arc *arc) {
    return g->model->edges[arc->edge].n_bounds > 0;
}

static bool to_and_fro(const Parts *p, const Arc *arc) {
    const Game *g = p->game;
    bool won = g->goal[arc->from] || g->goal[arc->to];
    return !won && game_class(g, arc) == ARC_OTHER && (p->sure || !bounded(g, arc));
}

static void close_part(Parts *p, uint32_t root) {
    uint32_t node;
    do {
        node = p->stack[--p->n_stack];
        p->part[node] = p->n;
        p->same[node] = p->first[p->n];
        p->first[p->n] = node;
    } while (node != root);
    p->n++;
}

static void enter_node(Parts *p, uint32_t node) {
    p->order[node] = p->low[node] = ++p->count;
    p->next[node] = p->game->nodes.at[node].first_arc;
    p->stack[p->n_stack++] = node;
    p->call[p->n_call++] = node;
}

/* One step from the node on top of the walk. */
static void walk_on(Parts *p) {
    const Game *g = p->game;
    uint32_t v = p->call[p->n_call - 1], end = g->nodes.at[v].first_arc + g->nodes.at[v].n_arcs;
    while (p->next[v] < end) {
        const Arc *arc = &g->arcs.at[p->next[v]++];
        if (!to_and_fro(p, arc)) continue;
        if (!p->order[arc->to]) {
            enter_node(p, arc->to);
            return;
        }
        if (p->part[arc->to] == NO_INDEX && p->order[arc->to] < p->low[v]) p->low[v] = p->order[arc->to];
    }
    if (p->low[v] == p->order[v]) close_part(p, v);
    if (!--p->n_call) return;
    uint32_t up = p->call[p->n_call - 1];
    if (p->low[v] < p->low[up]) p->low[up] = p->low[v];
}

static Parts find_parts(const Game *g, Arena *arena, bool sure) {
    size_t n = g->nodes.n + 1;
    Parts p = {.game = g, .sure = sure};
    uint32_t **lists[] = {&p.part, &p.first, &p.same, &p.order, &p.low, &p.next, &p.stack, &p.call};
    for (size_t k = 0; k < sizeof lists / sizeof *lists; k++) *lists[k] = ARENA_ARRAY(arena, uint32_t, n);
    memset(p.part, 0xff, n * sizeof *p.part);
    memset(p.first, 0xff, n * sizeof *p.first);
    for (uint32_t v = 0; v < g->nodes.n; v++) {
        if (p.order[v]) continue;
        enter_node(&p, v);
        while (p.n_call) walk_on(&p);
    }
    return p;
}

/* ---- who can force what ---- */
typedef struct {
    Game *game;
    Parts parts;
    bool sure;
    bool *won;
    const bool *stays; /* where a cue may lead to */
    uint32_t *queue;   /* of parts */
    bool *queued;
    uint32_t head, tail;
} Solver;

/* Nothing that the other side may do here leads astray. */
static bool withstands(const Solver *s, uint32_t node) {
    const Game *g = s->game;
    const Situation *here = &g->nodes.at[node];
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
        const Arc *arc = &g->arcs.at[a];
        ArcClass class = game_class(g, arc);
        if (class == ARC_NONE || class == ARC_PILOT || (!s->sure && (class == ARC_LAPSE || bounded(g, arc)))) continue;
        if (class == ARC_CUE ? s->stays[arc->to] : s->won[arc->to]) continue;
        if (class == ARC_OTHER && s->parts.part[arc->to] == s->parts.part[node]) continue;
        return false;
    }
    return true;
}

/* The arc is another outcome of the same line. */
static bool same_line(const Model *m, const Arc *a, const Arc *b) {
    const Edge *one = &m->edges[a->edge], *other = &m->edges[b->edge];
    return a == b || a->edge == b->edge ||
           (one->item && one->item == other->item && (one->kind == EDGE_RELEASE) == (other->kind == EDGE_RELEASE));
}

static bool same_bounds(const Edge *a, const Edge *b) {
    if (a->n_bounds != b->n_bounds) return false;
    for (uint32_t k = 0; k < a->n_bounds; k++)
        if (a->bounds[k].clock != b->bounds[k].clock || a->bounds[k].least_ms != b->bounds[k].least_ms ||
            a->bounds[k].most_ms != b->bounds[k].most_ms)
            return false;
    return true;
}

/* What waiting brings at a situation. */
typedef struct {
    bool due, engine_due; /* a time of the text, of an engine, is running */
    bool perhaps_due;     /* a time of the text may be running */
    bool lapses;          /* some lapse is open */
} Waiting;

static Waiting waiting_at(const Game *g, uint32_t node) {
    const Situation *here = &g->nodes.at[node];
    const Frame *f = g->slice->frame;
    Waiting w = {.due = false};
    for (uint32_t d = f->due_first[here->place]; d < f->due_first[here->place + 1]; d++) {
        const Formula *when = g->slice->dues[d].when;
        if (when && !when->always && !formula_possible(when, game_masks(g, node))) continue;
        bool own = f->due[d] >= g->model->deadlines && f->due[d] < g->model->deadlines + g->model->n_deadlines;
        bool certain = !when || formula_certain(when, game_masks(g, node));
        if (own) *(certain ? &w.due : &w.perhaps_due) = true;
        else w.engine_due |= certain;
    }
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++)
        w.lapses |= game_class(g, &g->arcs.at[a]) == ARC_LAPSE && !g->arcs.at[a].unsure;
    w.perhaps_due &= !w.due;
    return w;
}

static int64_t most_of(const Edge *edge) {
    for (uint32_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].most_ms >= 0) return edge->bounds[b].most_ms;
    return -1;
}

/* The line can be done, or what happens instead is won too. */
static bool line_comes(const Edge *edge, const Waiting *w) {
    if (!edge->n_bounds) return true;
    if (w->due) return w->lapses;
    return most_of(edge) < 0 && (!w->perhaps_due || w->lapses);
}

/* One of the two can be done whatever the clock says. */
static bool cover(const Edge *early, const Edge *late) {
    if (early->n_bounds != 1 || late->n_bounds != 1 || early->bounds[0].clock != late->bounds[0].clock) return false;
    if (early->bounds[0].least_ms > 0 || late->bounds[0].most_ms >= 0) return false;
    return late->bounds[0].least_ms <= early->bounds[0].most_ms + 1;
}

/* ---- of what is not told apart: do the conditions together leave nothing out? ---- */
enum { ARCS_MOST = 16, PARTS_MOST = 256 };
typedef struct {
    const Formula *guards[ARCS_MOST];
    uint32_t n;
} Together;

static bool some_certain(const Together *t, const uint64_t *masks) {
    for (uint32_t k = 0; k < t->n; k++)
        if (!t->guards[k] || formula_certain(t->guards[k], masks)) return true;
    return false;
}

static bool some_open(const Together *t, const uint64_t *masks, Lit *open) {
    for (uint32_t k = 0; k < t->n; k++)
        if (open_literal(t->guards[k], masks, NULL, open)) return true;
    return false;
}

static bool leave_nothing(Game *g, const Together *t, const uint64_t *masks) {
    uint64_t part[MASK_WORDS];
    size_t before = g->pile.n;
    uint32_t n = 0;
    bool whole = true;
    Lit open;
    pile_up(g, masks);
    while (whole && g->pile.n > before) {
        g->pile.n -= g->slice->words;
        memcpy(part, g->pile.at + g->pile.n, g->slice->words * sizeof *part);
        if (some_certain(t, part)) continue;
        whole = n++ < PARTS_MOST && some_open(t, part, &open);
        if (!whole) break;
        pile_up(g, part)[open.word] &= ~open.bits;
        pile_up(g, part)[open.word] &= ~open.field | open.bits;
    }
    g->pile.n = before;
    return whole;
}

/* Doing the line of this arc leads to a won situation whatever is found. */
static bool line_wins(const Solver *s, uint32_t node, const Arc *line, const Waiting *w) {
    const Game *g = s->game;
    const Situation *here = &g->nodes.at[node];
    Together together = {.n = 0};
    bool comes = false;
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
        const Arc *arc = &g->arcs.at[a];
        const Edge *edge = &g->model->edges[arc->edge];
        if (game_class(g, arc) != ARC_PILOT || !same_line(g->model, line, arc)) continue;
        if (!s->sure && !same_bounds(edge, &g->model->edges[line->edge])) continue;
        if (!s->won[arc->to]) return false;
        if (arc->unsure && line_comes(edge, w) && together.n < ARCS_MOST)
            together.guards[together.n++] = g->slice->edges[arc->edge].guard;
        comes |=
            !arc->unsure && (line_comes(edge, w) || (!line->unsure && (cover(edge, &g->model->edges[line->edge]) ||
                                                                       cover(&g->model->edges[line->edge], edge))));
    }
    return comes || !s->sure || (together.n && leave_nothing(s->game, &together, game_masks(g, node)));
}

static bool waiting_wins(const Solver *s, uint32_t node, const Waiting *w) {
    const Game *g = s->game;
    const Situation *here = &g->nodes.at[node];
    bool any = false, all = true, lapse = false;
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
        const Arc *arc = &g->arcs.at[a];
        EdgeKind kind = g->model->edges[arc->edge].kind;
        if (game_class(g, arc) == ARC_LAPSE && s->won[arc->to] && !arc->unsure) lapse = true;
        if (kind != EDGE_RUN_DOWN && kind != EDGE_STOP) continue;
        any |= s->won[arc->to] && !arc->unsure;
        all &= s->won[arc->to];
    }
    if (!s->sure) return lapse || (w->engine_due && any);
    if (w->perhaps_due) return false;
    if (w->due) return lapse; /* in `withstands`, all of them */
    return w->engine_due && any && all;
}

static bool advances(const Solver *s, uint32_t node) {
    const Game *g = s->game;
    const Situation *here = &g->nodes.at[node];
    Waiting w = waiting_at(g, node);
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++)
        if (s->won[g->arcs.at[a].to] && game_class(g, &g->arcs.at[a]) == ARC_PILOT &&
            line_wins(s, node, &g->arcs.at[a], &w))
            return true;
    return waiting_wins(s, node, &w);
}

static void ask_back(Solver *s, uint32_t node) {
    const Game *g = s->game;
    for (uint32_t k = g->back_first[node]; k < g->back_first[node + 1]; k++) {
        uint32_t from = g->arcs.at[g->back[k]].from, part = s->parts.part[from];
        if (s->won[from] || s->queued[part]) continue;
        s->queued[part] = true;
        s->queue[s->tail] = part;
        s->tail = (s->tail + 1) % (s->parts.n + 1);
    }
}

static void ask_part(Solver *s, uint32_t part) {
    s->queued[part] = false;
    for (uint32_t v = s->parts.first[part]; v != NO_INDEX; v = s->parts.same[v])
        if (!withstands(s, v) || !advances(s, v)) return;
    for (uint32_t v = s->parts.first[part]; v != NO_INDEX; v = s->parts.same[v]) s->won[v] = true;
    for (uint32_t v = s->parts.first[part]; v != NO_INDEX; v = s->parts.same[v]) ask_back(s, v);
}

static void attract(Solver *s) {
    const Game *g = s->game;
    for (uint32_t v = 0; v < g->nodes.n; v++) s->won[v] = g->goal[v];
    for (uint32_t v = 0; v < g->nodes.n; v++)
        if (g->goal[v]) ask_back(s, v);
    while (s->head != s->tail) {
        uint32_t part = s->queue[s->head];
        s->head = (s->head + 1) % (s->parts.n + 1);
        ask_part(s, part);
    }
}

/* A cue may break in anywhere on the way, and must not lead to where the way is lost. */
bool *game_solve(Game *g, Arena *arena, const bool *goal, bool sure) {
    size_t n = g->nodes.n + 1;
    bool *stays = ARENA_ARRAY(arena, bool, n), *won = ARENA_ARRAY(arena, bool, n);
    memset(stays, true, n);
    g->goal = goal;
    Solver s = {.game = g, .parts = find_parts(g, arena, sure), .sure = sure, .won = won, .stays = stays};
    s.queue = ARENA_ARRAY(arena, uint32_t, s.parts.n + 1u);
    s.queued = ARENA_ARRAY(arena, bool, s.parts.n + 1u);
    for (;;) {
        attract(&s);
        if (!g->uncued) g->uncued = arena_copy(arena, won, n * sizeof *won);
        if (!memcmp(won, stays, g->nodes.n)) return won;
        memcpy(stays, won, g->nodes.n);
    }
}
