/* Deadlines that start at a named event. From the event's edges until the line is done every place on the way has the deadline and
   a lapse. Which places these are is found backwards from the line over finished edges, with the state of one engine and whether the
   event's own fact stands (eight cases a place), so that "the crank lapsed" and "it fired" part although they meet in one place. */
#include "sema/lower.h"

/* Bits 0-3: the engine's states while the event's fact is outside its mask; bits 4-7: while it is inside. */
typedef uint8_t Cases;
enum { ALL_CASES = 0xFF };

typedef struct {
    uint32_t engine, engine_fact, fact; /* NO_INDEX: none */
    uint64_t mask, all;
    Cases *reach; /* by place - lo: what is possible there at all */
} View;

typedef struct {
    Lower *l;
    uint32_t lo, hi;
    TimedEdges edges;
    uint32_t *from_at, *from, *to_at, *to; /* edges by place: from[from_at[p] .. from_at[p + 1]) */
    VEC(View) views;
    Cases *on_way; /* by place - lo, zero between questions */
    VEC(uint32_t) touched, work;
    bool *dirty; /* by place - lo */
} Solver;

/* ---- where a lapse leads, before it is known from where ---- */
Raw timed_lapse(Lower *l, const Timed *timed) {
    Raw raw = {.kind = EDGE_LAPSE,
               .actor = ACTOR_TIME,
               .from = NO_INDEX,
               .scope = NO_INDEX,
               .drill = NO_INDEX,
               .deadline = NO_INDEX,
               .item = timed->item,
               .load = timed->load};
    way_take(l, &raw, &timed->way);
    return raw;
}

void timed_open(Lower *l) {
    l->lapses.n = 0;
    for (size_t i = 0; i < l->timed.n; i++)
        if (l->timed.at[i].lapses)
            vec_push(&l->temp, &l->lapses, ((Lapse){timed_lapse(l, &l->timed.at[i]), (uint32_t)i}));
}

/* ---- what one edge does to the cases ---- */
static Cases allowed_by_literal(const View *v, const Literal *literal) {
    if (literal->fact == v->engine_fact) return (Cases)((literal->mask & 15) | (literal->mask & 15) << 4);
    if (literal->fact != v->fact) return ALL_CASES;
    return (Cases)((literal->mask & v->all & ~v->mask ? 0x0F : 0) | (literal->mask & v->mask ? 0xF0 : 0));
}

static Cases allowed(const View *v, const Guard *guard) {
    if (!guard) return ALL_CASES;
    Cases some = 0;
    for (uint32_t t = 0; t < guard->n; t++) {
        Cases one = ALL_CASES;
        for (uint32_t i = 0; i < guard->terms[t].n; i++) one &= allowed_by_literal(v, &guard->terms[t].literals[i]);
        some |= one;
    }
    return some;
}

typedef struct {
    Cases engine;        /* 0: not changed */
    bool moved, in, out; /* the event's fact */
} Effect8;

static Effect8 effect_of(const View *v, const Edge *edge) {
    Effect8 e = {0, false, false, false};
    for (uint16_t i = 0; i < edge->n_changes; i++) {
        const Change *change = &edge->changes[i];
        if (change->fact == v->engine_fact) e.engine = change->mask & 15;
        if (change->fact != v->fact) continue;
        e.moved = true;
        e.in = (change->mask & v->mask) != 0;
        e.out = (change->mask & v->all & ~v->mask) != 0;
    }
    return e;
}

static Cases forwards(const View *v, const Edge *edge, Cases s) {
    s &= allowed(v, edge->guard);
    if (!s) return 0;
    Effect8 e = effect_of(v, edge);
    unsigned outside = s & 15u, inside = s >> 4;
    if (e.engine) {
        outside = outside ? e.engine : 0;
        inside = inside ? e.engine : 0;
    }
    unsigned any = outside | inside;
    if (e.moved) {
        outside = e.out ? any : 0;
        inside = e.in ? any : 0;
    }
    return (Cases)(outside | inside << 4);
}

static Cases backwards(const View *v, const Edge *edge, Cases s) {
    Effect8 e = effect_of(v, edge);
    unsigned outside = s & 15u, inside = s >> 4;
    if (e.moved) outside = inside = (e.out ? outside : 0) | (e.in ? inside : 0);
    if (e.engine) {
        outside = outside & e.engine ? 15 : 0;
        inside = inside & e.engine ? 15 : 0;
    }
    return (Cases)((outside | inside << 4) & allowed(v, edge->guard));
}

static bool carries(const Edge *edge, uint32_t clock) {
    for (uint16_t i = 0; i < edge->n_resets; i++) {
        if (edge->resets[i] == clock) return true;
    }
    return false;
}

/* ---- the procedure's edges by place ---- */
static const Edge *edge_at(const Solver *s, uint32_t index) {
    return &s->l->edges.at[s->edges.edge_lo + index];
}

static uint32_t *index_by(Solver *s, size_t n, bool by_to, uint32_t **at) {
    uint32_t places = s->hi - s->lo;
    *at = ARENA_ARRAY(s->l->arena, uint32_t, (size_t)places + 2);
    uint32_t *list = ARENA_ARRAY(s->l->arena, uint32_t, n + 1);
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < n; i++) {
            uint32_t place = by_to ? edge_at(s, (uint32_t)i)->to : edge_at(s, (uint32_t)i)->from;
            if (place < s->lo || place >= s->hi) continue;
            if (pass) {
                list[(*at)[place - s->lo + 1]++] = (uint32_t)i;
            } else {
                (*at)[place - s->lo + 2]++;
            }
        }
        for (uint32_t p = 2; !pass && p <= places + 1; p++) (*at)[p] += (*at)[p - 1];
    }
    return list;
}

static void solver_open(Solver *s) {
    Lower *l = s->l;
    size_t n = l->edges.n - s->edges.edge_lo; /* lapses are added behind them meanwhile */
    s->from = index_by(s, n, false, &s->from_at);
    s->to = index_by(s, n, true, &s->to_at);
    s->on_way = ARENA_ARRAY(l->arena, Cases, s->hi - s->lo);
    s->dirty = ARENA_ARRAY(l->arena, bool, (size_t)(s->hi - s->lo) + 1);
}

/* ---- what is possible at each place ---- */
static void reach_add(Solver *s, View *v, uint32_t place, Cases cases) {
    if (place < s->lo || place >= s->hi) return;
    Cases *at = &v->reach[place - s->lo];
    unsigned mask = s->l->engine_masks.at[(size_t)(place - s->lo) * s->l->tail->n_engines + v->engine] & 15u;
    cases &= (Cases)(mask | mask << 4);
    if (!(cases & ~*at)) return;
    *at |= cases;
    s->dirty[place - s->lo] = true;
}

static bool engine_still(const Solver *s, const View *v, uint32_t place) {
    const Place *at = &s->l->places.at[place];
    return at->own_engine_edges ||
           s->l->engine_masks.at[(size_t)(place - s->lo) * s->l->tail->n_engines + v->engine] == 1 << ENGINE_STOPPED;
}

/* By the order of their places. What is possible where giving up leads to needs its deadlines, too. */
static void reach_give_ups(Solver *s, View *v, uint32_t place) {
    const Lower *l = s->l;
    size_t lo = s->edges.give_up_lo, hi = l->give_ups.n;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (l->give_ups.at[mid].from < place) lo = mid + 1;
        else hi = mid;
    }
    for (; lo < l->give_ups.n && l->give_ups.at[lo].from == place; lo++)
        reach_add(s, v, l->give_ups.at[lo].to, forwards(v, &l->give_ups.at[lo], v->reach[place - s->lo]));
}

static void reach_visit(Solver *s, View *v, uint32_t place) {
    Cases here = v->reach[place - s->lo];
    for (uint32_t i = s->from_at[place - s->lo]; i < s->from_at[place - s->lo + 1]; i++) {
        const Edge *edge = edge_at(s, s->from[i]);
        reach_add(s, v, edge->to, forwards(v, edge, here));
    }
    reach_give_ups(s, v, place);
    for (size_t i = 0; i < s->edges.engines->n && !engine_still(s, v, place); i++) {
        reach_add(s, v, place, forwards(v, &s->edges.engines->at[i], here));
    }
}

static void reach_solve(Solver *s, View *v) {
    Lower *l = s->l;
    for (uint32_t p = s->lo; p < s->hi; p++) {
        for (uint32_t i = s->to_at[p - s->lo]; i < s->to_at[p - s->lo + 1]; i++) {
            const Edge *edge = edge_at(s, s->to[i]);
            if (edge->from < s->lo || edge->from >= s->hi) reach_add(s, v, p, forwards(v, edge, ALL_CASES));
        }
    }
    for (size_t i = s->edges.ambient_lo; i < l->ambient.n; i++) {
        const Edge *edge = &l->ambient.at[i];
        reach_add(s, v, edge->to, forwards(v, edge, ALL_CASES));
    }
    for (size_t i = 0; i < l->lapses.n; i++) reach_add(s, v, place_of(l, l->lapses.at[i].raw.to), ALL_CASES);
    for (bool more = true; more;) {
        more = false;
        for (uint32_t place = s->lo; place < s->hi; place++) {
            if (!s->dirty[place - s->lo]) continue;
            s->dirty[place - s->lo] = false;
            reach_visit(s, v, place);
            more = true;
        }
    }
}

static uint32_t engine_of(const Solver *s, const Timed *timed, const Trigger *trigger) {
    const Tail *tail = s->l->tail;
    if (trigger && trigger->fact < s->l->facts.n) {
        uint32_t engine = s->l->facts.at[trigger->fact].engine;
        if (engine < tail->n_engines) return engine;
        for (uint32_t i = 0; i < tail->n_engines; i++) {
            if (tail->engine_facts[i] == trigger->fact) return i;
        }
    }
    return timed->item->engine < tail->n_engines ? timed->item->engine : 0;
}

static View *view_for(Solver *s, const Timed *timed) {
    Lower *l = s->l;
    const Trigger *trigger = timed->item->after;
    View view = {.engine = engine_of(s, timed, trigger), .fact = NO_INDEX};
    view.engine_fact = l->engines[view.engine].fact;
    if (trigger && (trigger->kind == ON_BECOMES || trigger->kind == ON_LEAVES) && trigger->fact != view.engine_fact) {
        view.fact = trigger->fact;
        view.mask = trigger->mask;
        view.all = fact_all(&l->facts.at[view.fact]);
    }
    for (size_t i = 0; i < s->views.n; i++) {
        View *old = &s->views.at[i];
        if (old->engine_fact == view.engine_fact && old->fact == view.fact && old->mask == view.mask) return old;
    }
    view.reach = ARENA_ARRAY(l->arena, Cases, s->hi - s->lo);
    vec_push(l->arena, &s->views, view);
    View *made = &s->views.at[s->views.n - 1];
    reach_solve(s, made);
    return made;
}

/* ---- the way back to the event ---- */
static void way_add(Solver *s, const View *v, uint32_t place, Cases cases) {
    Cases *at = &s->on_way[place - s->lo];
    cases &= v->reach[place - s->lo];
    if (!(cases & ~*at)) return;
    if (!*at) vec_push(s->l->arena, &s->touched, place);
    *at |= cases;
    vec_push(s->l->arena, &s->work, place);
}

/* A drill, an end or a beginning lies between: what was open before it is closed. */
static bool enters(const Solver *s, const Edge *edge) {
    return edge->drill != NO_INDEX || edge->kind == EDGE_JOIN || edge->from < s->lo || edge->from >= s->hi;
}

/* The same where another time lapsed: from its line, or from wherever its drill was turned to. */
static bool way_back_over_lapses(Solver *s, const View *v, uint32_t place) {
    Lower *l = s->l;
    bool open = false;
    for (size_t i = 0; i < l->lapses.n; i++) {
        const Lapse *lapse = &l->lapses.at[i];
        if (place_of(l, lapse->raw.to) != place) continue;
        const Frontier *at = &l->timed.at[lapse->timed].at;
        if (lapse->raw.drill != NO_INDEX) open = true;
        else
            for (size_t k = 0; k < at->n; k++) way_add(s, v, at->at[k].place, ALL_CASES);
    }
    return open;
}

/* True where the place can be come to without the event. */
static bool way_back(Solver *s, const View *v, uint32_t clock, uint32_t place) {
    Lower *l = s->l;
    Cases here = s->on_way[place - s->lo];
    bool open = way_back_over_lapses(s, v, place);
    for (size_t i = 0; i < s->edges.engines->n && !engine_still(s, v, place); i++) {
        const Edge *edge = &s->edges.engines->at[i];
        if (!carries(edge, clock)) way_add(s, v, place, backwards(v, edge, here));
    }
    for (uint32_t i = s->to_at[place - s->lo]; i < s->to_at[place - s->lo + 1]; i++) {
        const Edge *edge = edge_at(s, s->to[i]);
        if (carries(edge, clock)) continue;
        if (enters(s, edge)) {
            open = open || (forwards(v, edge, ALL_CASES) & here);
        } else {
            way_add(s, v, edge->from, backwards(v, edge, here));
        }
    }
    for (size_t i = s->edges.ambient_lo; i < l->ambient.n; i++) {
        const Edge *edge = &l->ambient.at[i];
        if (edge->to == place && !carries(edge, clock)) open = open || (forwards(v, edge, ALL_CASES) & here);
    }
    return open;
}

static bool way_solve(Solver *s, const View *v, const Timed *timed) {
    bool open = false;
    for (size_t i = 0; i < timed->at.n; i++) {
        const Guard *guard = guard_make(s->l->arena, s->l->facts.at, timed->at.at[i].when, false, &s->l->over);
        way_add(s, v, timed->at.at[i].place, allowed(v, guard));
    }
    while (s->work.n) {
        uint32_t place = s->work.at[--s->work.n];
        open |= way_back(s, v, timed->clock, place);
    }
    return open;
}

/* ---- deadlines and lapses ---- */
/* What tells the cases on the way from the others that are possible here. */
static const Test *way_when(Solver *s, const View *v, uint32_t place) {
    Arena *arena = s->l->arena;
    Cases here = s->on_way[place - s->lo], all = v->reach[place - s->lo];
    if (here == all) return NULL;
    unsigned outside = here & 15u, inside = here >> 4;
    if (v->fact == NO_INDEX || outside == inside) return test_fact(arena, v->engine_fact, outside | inside);
    const Test *event = test_fact(arena, v->fact, v->mask);
    const Test *in = test_both(arena, event, test_fact(arena, v->engine_fact, inside));
    const Test *out = test_both(arena, test_inverse(arena, event), test_fact(arena, v->engine_fact, outside));
    return test_either(arena, inside ? in : test_const(false), outside ? out : test_const(false));
}

static void lapse_put(Solver *s, const Timed *timed, uint32_t place, const Test *when, const Test *still, int64_t ms) {
    Lower *l = s->l;
    uint32_t deadline = deadline_put(l, place, when, timed->clock, ms);
    if (deadline == NO_INDEX || !timed->lapses) return;
    Raw raw = timed_lapse(l, timed);
    raw.from = place;
    raw.deadline = deadline;
    raw.when = test_both(l->arena, when, still);
    load_bound(l, &raw.load, timed->clock, ms, -1);
    crank_leave(l, place, &raw);
    raw_finish(l, &raw, &l->edges);
}

static void deadlines_at(Solver *s, const View *v, const Timed *timed, uint32_t place, const DurationCase *limit) {
    Arena *arena = s->l->arena;
    const Test *when = test_both(arena, way_when(s, v, place), limit->when);
    bool own = false;
    for (size_t i = 0; i < timed->at.n; i++) {
        const Entry *entry = &timed->at.at[i];
        if (entry->place != place) continue;
        own = true;
        lapse_put(s, timed, place, test_both(arena, when, entry->when), timed->still, limit->ms);
    }
    if (!own) lapse_put(s, timed, place, when, NULL, limit->ms);
}

static void report_start(Solver *s, const Timed *timed) {
    Lower *l = s->l;
    if (!told_once(l, timed->item->span, 7)) return;
    Str name = event_words(l, timed->item);
    Finding *finding = finding_add(l->job->findings, FINDING_DEADLINE_WITHOUT_START, timed->item->span,
                                   "this line counts its time from `%S`, but it can be come to without that", name);
    bool in_drill = timed->at.n && l->places.at[timed->at.at->place].drill != NO_INDEX;
    finding_note(l->job->findings, finding, (Span){0, 0}, "%s",
                 in_drill ? "a drill begins anew: what happened before it was entered does not count; name something "
                            "that happens in it"
                          : "name something that every way to this line passes");
}

static bool waits_for_world(const Item *item) {
    if (!item) return false;
    bool open = item->kind == STMT_CHECK || item->kind == STMT_LOOK;
    return item->kind == STMT_EXPECT || item->kind == STMT_CRANK || (item->kind == STMT_CALL && item->answer) ||
           (open && !outcome_otherwise(item));
}

/* Does the edge lead from the event on to the timed line? A place is shared by lines that part there by what is so: only those that
   go on from a case on the way count. */
static bool on_the_way(const Solver *s, const View *v, const Timed *timed, uint32_t place, const Edge *edge) {
    if (edge->to < s->lo || edge->to >= s->hi || carries(edge, timed->clock)) return false;
    return forwards(v, edge, s->on_way[place - s->lo]) & s->on_way[edge->to - s->lo];
}

static bool takes_long(const Timed *timed, const Edge *edge, int64_t ms) {
    for (uint16_t b = 0; b < edge->n_bounds; b++)
        if (edge->bounds[b].least_ms > ms) return true;
    return edge->item != timed->item && waits_for_world(edge->item);
}

static void report_commitment(Solver *s, const Timed *timed, const Item *between) {
    Lower *l = s->l;
    if (!told_once(l, timed->item->span, 8)) return;
    Finding *finding = finding_add(l->job->findings, FINDING_PACE_OF_SET, timed->item->span,
                                   "this cannot be promised: a line before it may take longer than the time allowed");
    if (between && between != timed->item)
        finding_note(
            l->job->findings, finding, between->span,
            "this line comes between, and how long it takes is not in the pilot's hands, or is longer than that");
    finding_note(l->job->findings, finding, (Span){0, 0},
                 "move this line before it, or let the time count from something later (`within … after …`)");
}

/* A commitment of the pilot: only acts whose least times fit may lie between. */
static void check_commitment(Solver *s, const View *v, const Timed *timed, int64_t ms) {
    for (size_t i = 0; i < s->touched.n; i++) {
        uint32_t place = s->touched.at[i];
        for (uint32_t k = s->from_at[place - s->lo]; k < s->from_at[place - s->lo + 1]; k++) {
            const Edge *edge = edge_at(s, s->from[k]);
            if (takes_long(timed, edge, ms) && on_the_way(s, v, timed, place, edge))
                report_commitment(s, timed, edge->item);
        }
    }
}

static void timed_one(Solver *s, const Timed *timed) {
    const View *v = view_for(s, timed);
    s->touched.n = 0;
    if (way_solve(s, v, timed)) report_start(s, timed);
    for (uint32_t k = 0; timed->limit && k < timed->limit->n && !timed->asks_only; k++) {
        if (!timed->lapses) check_commitment(s, v, timed, timed->limit->cases[k].ms);
        for (size_t i = 0; i < s->touched.n; i++) deadlines_at(s, v, timed, s->touched.at[i], &timed->limit->cases[k]);
    }
    for (size_t i = 0; i < s->touched.n; i++) s->on_way[s->touched.at[i] - s->lo] = 0;
}

void timed_solve(Lower *l, uint32_t lo, uint32_t hi, TimedEdges edges) {
    if (!l->timed.n || !l->tail->n_engines) return;
    Solver solver = {.l = l, .lo = lo, .hi = hi, .edges = edges};
    solver_open(&solver);
    for (size_t i = 0; i < l->timed.n; i++) timed_one(&solver, &l->timed.at[i]);
}
