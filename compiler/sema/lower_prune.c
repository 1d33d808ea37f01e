/* Which of the split edges can be taken at all. The positions of the controls that matter to engines and duties, and the engines'
   states, are followed through a procedure and its drills, each thing by itself; variants that no state meets are left out, and
   what holds wherever an edge is offered is not asked again. Everything left out could never be taken. */
#include "sema/lower.h"

typedef struct {
    Lower *l;
    uint32_t lo, hi, n; /* places; things followed */
    size_t edge_lo, ambient_lo;
    const Edges *engines;
    uint64_t *at;            /* n masks a place; all zero: not come to yet */
    uint64_t *anywhere;      /* union over the places a drill can be entered from */
    uint32_t *first, *edges; /* by place - lo */
    bool *dirty;             /* by place - lo: its states grew */
    uint32_t here;           /* the place visited */
    bool back;               /* one before it grew */
    uint64_t *mid, *out;     /* room for one transfer */
} Pruner;

static uint64_t *masks_at(const Pruner *p, uint32_t place) {
    return p->at + (size_t)(place - p->lo) * p->n;
}

static uint32_t slot_of(const Pruner *p, uint32_t fact) {
    return fact < p->l->n_reads ? p->l->slot_of[fact] : NO_INDEX;
}

/* The states that meet the term; false: none. */
static bool meet(const Pruner *p, const Term *term, const uint64_t *from, uint64_t *to) {
    memcpy(to, from, p->n * sizeof *to);
    for (uint32_t i = 0; i < term->n; i++) {
        uint32_t slot = slot_of(p, term->literals[i].fact);
        if (slot == NO_INDEX) continue;
        to[slot] &= term->literals[i].mask;
        if (!to[slot]) return false;
    }
    return true;
}

static bool join(const Pruner *p, uint64_t *to, const uint64_t *from) {
    bool grew = false;
    for (uint32_t i = 0; i < p->n; i++) {
        grew = grew || (from[i] & ~to[i]);
        to[i] |= from[i];
    }
    return grew;
}

/* What the edge makes of the states; false where none can take it. */
static bool transfer(Pruner *p, const Edge *edge, const uint64_t *from) {
    uint64_t *out = p->out;
    if (!edge->guard) {
        memcpy(out, from, p->n * sizeof *out);
    } else {
        bool some = false;
        memset(out, 0, p->n * sizeof *out);
        for (uint32_t t = 0; t < edge->guard->n; t++) {
            if (!meet(p, &edge->guard->terms[t], from, p->mid)) continue;
            some = true;
            (void)join(p, out, p->mid);
        }
        if (!some) return false;
    }
    for (uint16_t i = 0; i < edge->n_changes; i++) {
        uint32_t slot = slot_of(p, edge->changes[i].fact);
        if (slot != NO_INDEX && edge->changes[i].kind == CHANGE_TO) out[slot] = edge->changes[i].mask;
    }
    return true;
}

static void come_to(Pruner *p, uint32_t place) {
    if (place < p->lo || place >= p->hi) return;
    if (!join(p, masks_at(p, place), p->out)) return;
    p->dirty[place - p->lo] = true;
    p->back = p->back || place <= p->here;
}

/* Where a time that starts at an event lapses to: from which places is found later, with what is found here. */
static void lapse(Pruner *p, const Raw *raw) {
    memcpy(p->out, p->anywhere, p->n * sizeof *p->out);
    for (uint16_t i = 0; i < raw->load.n_changes; i++) {
        const Change *change = &raw->load.changes[i];
        uint32_t slot = change->kind == CHANGE_TO ? slot_of(p, change->fact) : NO_INDEX;
        if (slot != NO_INDEX) p->out[slot] = change->mask;
    }
    come_to(p, place_of(p->l, raw->to));
}

static void enter_drills(Pruner *p, uint32_t place) {
    Lower *l = p->l;
    if (l->places.at[place].kind != PLACE_ITEM || !join(p, p->anywhere, masks_at(p, place))) return;
    for (size_t i = p->ambient_lo; i < l->ambient.n; i++) {
        if (transfer(p, &l->ambient.at[i], p->anywhere)) come_to(p, l->ambient.at[i].to);
    }
    for (size_t i = 0; i < l->lapses.n; i++) lapse(p, &l->lapses.at[i].raw);
}

static bool all_still(const Pruner *p, uint32_t place) {
    for (uint32_t e = 0; e < p->l->tail->n_engines; e++) {
        if (masks_at(p, place)[p->l->slot_of[p->l->engines[e].fact]] != UINT64_C(1) << ENGINE_STOPPED) return false;
    }
    return true;
}

static void visit(Pruner *p, uint32_t place) {
    Lower *l = p->l;
    bool own = l->places.at[place].own_engine_edges || all_still(p, place);
    for (size_t i = 0; i < p->engines->n && !own; i++) {
        if (transfer(p, &p->engines->at[i], masks_at(p, place))) come_to(p, place);
    }
    for (uint32_t i = p->first[place - p->lo]; i < p->first[place - p->lo + 1]; i++) {
        const Edge *edge = &l->edges.at[p->edges[i]];
        if (transfer(p, edge, masks_at(p, place))) come_to(p, edge->to);
    }
    enter_drills(p, place);
}

static void solve(Pruner *p) {
    Lower *l = p->l;
    uint64_t *any = ARENA_ARRAY(l->arena, uint64_t, (size_t)p->n + 1);
    for (uint32_t i = 0; i < l->n_reads; i++) {
        if (l->slot_of[i] != NO_INDEX) any[l->slot_of[i]] = fact_all(&l->facts.at[i]);
    }
    for (size_t i = p->edge_lo; i < l->edges.n; i++) {
        const Edge *edge = &l->edges.at[i];
        if (edge->from >= p->lo && edge->from < p->hi) continue;
        if (transfer(p, edge, any)) come_to(p, edge->to);
    }
    do { /* places were made in the order of the text: most is known after one sweep */
        p->back = false;
        for (p->here = p->lo; p->here < p->hi; p->here++) {
            if (!p->dirty[p->here - p->lo]) continue;
            p->dirty[p->here - p->lo] = false;
            visit(p, p->here);
        }
    } while (p->back);
}

/* ---- leaving out ---- */
/* The guard with what cannot be and what always is left out; false: nothing can meet it. */
static bool simplify(Pruner *p, const Guard **guard, const uint64_t *masks) {
    Lower *l = p->l;
    if (!*guard) return true;
    Guard *out = NULL;
    for (uint32_t t = 0; t < (*guard)->n; t++) {
        const Term *term = &(*guard)->terms[t];
        if (!meet(p, term, masks, p->mid)) continue;
        if (!out) {
            out = ARENA_NEW(l->arena, Guard);
            out->terms = ARENA_ARRAY(l->arena, Term, (*guard)->n);
        }
        Term *left = &out->terms[out->n++];
        left->literals = ARENA_ARRAY(l->arena, Literal, (size_t)term->n + 1);
        for (uint32_t i = 0; i < term->n; i++) {
            uint32_t slot = slot_of(p, term->literals[i].fact);
            if (slot == NO_INDEX || (masks[slot] & ~term->literals[i].mask))
                left->literals[left->n++] = term->literals[i];
        }
    }
    if (!out) return false;
    guard_absorb(out);
    *guard = out->n == 1 && !out->terms->n ? NULL : out;
    return true;
}

static bool same_line(const Edge *a, const Edge *b) {
    return a->from == b->from && a->kind == b->kind && a->item == b->item;
}

/* One variant of each line stays even where none can be taken: the first pass tells why. */
static void edges_compact(Pruner *p, uint32_t *moved) {
    Lower *l = p->l;
    size_t n = p->edge_lo;
    for (size_t i = p->edge_lo; i < l->edges.n;) {
        size_t first = i, kept = n;
        for (; i < l->edges.n && same_line(&l->edges.at[i], &l->edges.at[first]); i++) {
            Edge edge = l->edges.at[i];
            bool inside = edge.from >= p->lo && edge.from < p->hi && masks_at(p, edge.from)[0];
            moved[i - p->edge_lo] = NO_INDEX;
            if (inside && !simplify(p, &edge.guard, masks_at(p, edge.from))) continue;
            moved[i - p->edge_lo] = (uint32_t)n;
            l->edges.at[n++] = edge;
        }
        EdgeKind kind = l->edges.at[first].kind;
        if (n > kept || (kind != EDGE_ITEM && kind != EDGE_OTHERWISE)) continue;
        moved[first - p->edge_lo] = (uint32_t)n;
        l->edges.at[n++] = l->edges.at[first];
    }
    l->edges.n = n;
}

/* Edges that enter a drill from everywhere: measured by what is possible anywhere. One stays of each drill. */
static void ambient_compact(Pruner *p) {
    Lower *l = p->l;
    size_t n = p->ambient_lo;
    for (size_t i = p->ambient_lo; i < l->ambient.n;) {
        size_t kept = n;
        Edge one = l->ambient.at[i];
        for (; i < l->ambient.n && l->ambient.at[i].drill == one.drill; i++) {
            Edge edge = l->ambient.at[i];
            if (p->anywhere[0] && !simplify(p, &edge.guard, p->anywhere)) continue;
            l->ambient.at[n++] = edge;
        }
        if (n == kept) l->ambient.at[n++] = one;
    }
    l->ambient.n = n;
}

static void deadlines_compact(Pruner *p, size_t deadline_lo, const uint32_t *moved) {
    Lower *l = p->l;
    size_t n = deadline_lo;
    for (size_t i = deadline_lo; i < l->deadlines.n; i++) {
        Placed placed = l->deadlines.at[i];
        bool known = masks_at(p, placed.place)[0] != 0;
        if (known && !simplify(p, &placed.deadline.when, masks_at(p, placed.place))) continue;
        uint32_t *lapse = &placed.deadline.lapse;
        if (*lapse != NO_INDEX) *lapse = moved[*lapse - p->edge_lo];
        l->deadlines.at[n] = placed;
        l->deadline_edges.at[n++] = l->deadline_edges.at[i];
    }
    l->deadlines.n = l->deadline_edges.n = n;
}

static void index_edges(Pruner *p) {
    Lower *l = p->l;
    uint32_t places = p->hi - p->lo;
    p->first = ARENA_ARRAY(l->arena, uint32_t, (size_t)places + 2);
    p->edges = ARENA_ARRAY(l->arena, uint32_t, l->edges.n - p->edge_lo + 1);
    for (size_t i = p->edge_lo; i < l->edges.n; i++) {
        uint32_t from = l->edges.at[i].from;
        if (from >= p->lo && from < p->hi) p->first[from - p->lo + 2]++;
    }
    for (uint32_t i = 2; i <= places + 1; i++) p->first[i] += p->first[i - 1];
    for (size_t i = p->edge_lo; i < l->edges.n; i++) {
        uint32_t from = l->edges.at[i].from;
        if (from >= p->lo && from < p->hi) p->edges[p->first[from - p->lo + 1]++] = (uint32_t)i;
    }
}

/* What timed_solve asks: the engines' states by place. */
static void engines_keep(Pruner *p) {
    Lower *l = p->l;
    l->engine_masks.n = 0;
    for (uint32_t place = p->lo; place < p->hi; place++) {
        for (uint32_t e = 0; e < l->tail->n_engines; e++) {
            uint64_t mask = masks_at(p, place)[l->slot_of[l->engines[e].fact]];
            vec_push(&l->temp, &l->engine_masks, (uint8_t)mask);
        }
    }
}

void edges_prune(Lower *l, uint32_t lo, size_t edge_lo, size_t ambient_lo, size_t deadline_lo, const Edges *engines) {
    if (!l->n_slots) return;
    Pruner p = {.l = l,
                .lo = lo,
                .hi = (uint32_t)l->places.n,
                .n = l->n_slots,
                .edge_lo = edge_lo,
                .ambient_lo = ambient_lo,
                .engines = engines};
    p.at = ARENA_ARRAY(l->arena, uint64_t, (size_t)(p.hi - lo) * p.n);
    p.anywhere = ARENA_ARRAY(l->arena, uint64_t, p.n);
    p.mid = ARENA_ARRAY(l->arena, uint64_t, p.n);
    p.out = ARENA_ARRAY(l->arena, uint64_t, p.n);
    p.dirty = ARENA_ARRAY(l->arena, bool, (size_t)(p.hi - lo) + 1);
    index_edges(&p);
    solve(&p);
    uint32_t *moved = ARENA_ARRAY(l->arena, uint32_t, l->edges.n - edge_lo + 1);
    edges_compact(&p, moved);
    deadlines_compact(&p, deadline_lo, moved);
    ambient_compact(&p);
    engines_keep(&p);
}
