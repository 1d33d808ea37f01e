#include "check/ways.h"
#include "base/limits.h"
#include "check/barrier.h"
#include "check/tell.h"
#include "check/words.h"
#include <string.h>

typedef struct {
    const WaysQuestion *q;
    const Model *m;
    const GateInstance *gate;
    uint64_t *wanted; /* facts that the rule reads */
    uint64_t *apart;  /* [place * fact_words]: those that situations are told apart by, while that is enough */
    uint32_t fact_words;
    const Slice *slice;
    const Formula *state, *target, *armed; /* the rule's, in the slice; NULL: it has none */
    GameRule rule;
    Game *game;
    bool *goal; /* by situation */
    uint8_t *scope;
    bool *over;
    bool *sure, *hope; /* by situation: won whatever the times; won at best */
    bool *lost;        /* those whose loss is looked for */
    WaysAnswer answer;
} Ways;

static WaysAnswer undecided(Ways *w, Str why) {
    w->answer.kind = VERDICT_NOT_DECIDED;
    w->answer.why = why;
    return w->answer;
}

static bool to_drill(const GateInstance *gate) {
    return !gate->target;
}

/* ---- the board ---- */
static void mark_places(Ways *w) {
    uint32_t n = w->m->n_places + 1u;
    w->scope = ARENA_ARRAY(w->q->scratch, uint8_t, n);
    w->over = ARENA_ARRAY(w->q->scratch, bool, n);
    scope_mark(w->m, w->gate, w->scope);
    for (uint32_t p = 0; p < w->m->n_places; p++) {
        const Place *place = &w->m->places[p];
        w->over[p] = place->kind == PLACE_END && str_eq(name_text(w->q->job->names, place->outcome), STR("RUNNING"));
        if (to_drill(w->gate) && place->drill == w->gate->target_drill)
            w->scope[p] |= SCOPE_EXCEPTED; /* it has been entered */
        if (to_drill(w->gate) && place->kind == PLACE_END) w->scope[p] |= SCOPE_EXCEPTED;
    }
}

static void want_facts(Ways *w) {
    w->fact_words = w->q->first->taken->fact_words;
    w->wanted = ARENA_ARRAY(w->q->scratch, uint64_t, w->fact_words);
    test_facts(w->gate->state, w->wanted);
    test_facts(w->gate->target, w->wanted);
    if (to_drill(w->gate)) test_facts(w->m->tail->drills[w->gate->target_drill].armed, w->wanted);
    w->apart = ARENA_ARRAY(w->q->scratch, uint64_t, (size_t)w->m->n_places * w->fact_words);
    for (uint32_t p = 0; p < w->m->n_places; p++)
        memcpy(w->apart + (size_t)p * w->fact_words, w->wanted, w->fact_words * sizeof *w->wanted);
}

/* Of the facts told apart at each place, their bits in the words of the slice. */
static uint64_t *bits_apart(const Ways *w) {
    uint64_t *bits = ARENA_ARRAY(w->q->board, uint64_t, (size_t)w->m->n_places * w->slice->words);
    for (uint32_t fact = 0; fact < w->m->n_facts; fact++) {
        if (w->slice->fields[fact].word == NO_WORD) continue;
        Lit lit = slice_literal(w->slice, fact, 0);
        for (uint32_t p = 0; p < w->m->n_places; p++)
            if (fact_in(w->apart + (size_t)p * w->fact_words, fact))
                bits[(size_t)p * w->slice->words + lit.word] |= lit.field;
    }
    return bits;
}

/* The values that each fact may have at each place. */
static uint64_t *place_values(const FirstPass *first, const Slice *slice) {
    const Model *m = first->model;
    uint64_t *values = ARENA_ARRAY(slice->arena, uint64_t, (size_t)m->n_places * slice->words);
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        Field field = slice->fields[fact];
        if (field.word == NO_WORD) continue;
        for (uint32_t p = 0; p < m->n_places; p++)
            values[(size_t)p * slice->words + field.word] |= first->reach->masks[(size_t)p * m->n_facts + fact]
                                                             << field.shift;
    }
    return values;
}

static const Formula *formula_of(const Ways *w, Arena *arena, const Test *test) {
    const Guard *guard = guard_from_test(arena, w->m->facts, test, false);
    return guard ? formula_of_guard(arena, w->slice, guard) : NULL;
}

static const Test *armed_test(const Model *m, const GateInstance *gate) {
    return to_drill(gate) ? m->tail->drills[gate->target_drill].armed : NULL;
}

/* False: `answer` says why a condition cannot be asked. */
static bool make_conditions(Ways *w) {
    Arena *arena = w->q->scratch;
    const Test *armed = armed_test(w->m, w->gate);
    w->state = formula_of(w, arena, w->gate->state);
    w->target = w->gate->target ? formula_of(w, arena, w->gate->target) : NULL;
    w->armed = armed ? formula_of(w, arena, armed) : NULL;
    if (w->state && (!w->gate->target || w->target) && (!armed || w->armed)) return true;
    undecided(w, STR("its condition leans on something that is not decided or has too many alternatives"));
    return false;
}

/* False: `answer` says why there is none. */
static bool make_rule(Ways *w) {
    w->slice = slice_make(w->q->scratch, w->q->first->taken, w->wanted);
    if (w->slice->too_large) {
        undecided(w, STR("the procedures keep too many things apart, or a time is longer than three days"));
        return false;
    }
    if (!make_conditions(w)) return false;
    const Formula *conditions[] = {w->state, w->armed, w->target}, **asked;
    asked = ARENA_ARRAY(w->q->scratch, const Formula *, sizeof conditions / sizeof *conditions);
    w->rule = (GameRule){.asked = asked, .budget = w->q->budget, .values = place_values(w->q->first, w->slice)};
    for (size_t k = 0; k < sizeof conditions / sizeof *conditions; k++)
        if (conditions[k]) asked[w->rule.n_asked++] = conditions[k];
    return true;
}

static bool is_goal(const Ways *w, uint32_t node) {
    uint32_t place = w->game->nodes.at[node].place;
    if (to_drill(w->gate)) return w->m->places[place].kind == PLACE_END;
    return w->over[place] || formula_possible(w->target, game_masks(w->game, node));
}

static void mark_goal(Ways *w) {
    w->goal = ARENA_ARRAY(w->q->board, bool, w->game->nodes.n + 1u);
    for (uint32_t v = 0; v < w->game->nodes.n; v++) w->goal[v] = is_goal(w, v);
}

/* In place of the board before. False: `answer` says why there is none. */
static bool make_board(Ways *w, bool exact) {
    arena_reset(w->q->board);
    w->rule.apart = exact ? NULL : bits_apart(w);
    w->game = game_make(w->q->board, w->slice, w->rule);
    w->answer.zones = (uint32_t)w->game->nodes.n;
    if (w->game->too_many) undecided(w, STR("its search grew beyond the budget"));
    if (w->game->stopped) undecided(w, STR("the search was stopped"));
    if (w->game->too_many || w->game->stopped) return false;
    mark_goal(w);
    return true;
}

static bool asked(const Ways *w, uint32_t node) {
    uint32_t place = w->game->nodes.at[node].place;
    bool in_force = (w->scope[place] & (SCOPE_WITHIN | SCOPE_EXCEPTED | SCOPE_JOINT)) == SCOPE_WITHIN;
    return in_force && !w->over[place] && w->m->places[place].kind != PLACE_JOINT &&
           formula_possible(w->state, game_masks(w->game, node));
}

static void count_tested(Ways *w) {
    bool *seen = ARENA_ARRAY(w->q->scratch, bool, w->m->n_places + 1u);
    for (uint32_t v = 0; v < w->game->nodes.n; v++) {
        uint32_t place = w->game->nodes.at[v].place;
        if (!asked(w, v) || seen[place] || !pass_place(w->q->first, place)) continue;
        seen[place] = true;
        w->answer.tested++;
    }
}

/* ---- what is lost ---- */
/* Its cue may break in here: the place is one of those that it is lowered for, and `armed` holds. */
static bool armed_at(const Ways *w, uint32_t node) {
    const Frame *f = w->q->first->edges;
    uint32_t place = w->game->nodes.at[node].place;
    const Formula *armed = w->armed;
    if (!armed || (!armed->always && !formula_possible(armed, game_masks(w->game, node)))) return false;
    for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++) {
        const Edge *edge = &w->m->edges[f->out[k]];
        if (edge->kind == EDGE_ENTER_DRILL && edge->actor != ACTOR_PILOT && edge->drill == w->gate->target_drill)
            return true;
    }
    return false;
}

static bool enters_target(const Ways *w, uint32_t node) {
    const Game *g = w->game;
    if (w->m->places[g->nodes.at[node].place].drill != w->gate->target_drill) return false;
    for (uint32_t k = g->back_first[node]; k < g->back_first[node + 1]; k++)
        if (game_class(g, &g->arcs.at[g->back[k]]) == ARC_CUE) return true;
    return false;
}

static bool is_lost(const Ways *w, uint32_t node, const bool *won) {
    if (!to_drill(w->gate)) return asked(w, node) && !won[node];
    if (asked(w, node) && !armed_at(w, node)) return true;
    return enters_target(w, node) && !won[node];
}

static uint32_t find_lost(Ways *w, const bool *won) {
    uint32_t n = 0;
    w->lost = ARENA_ARRAY(w->q->board, bool, w->game->nodes.n + 1u);
    for (uint32_t v = 0; v < w->game->nodes.n; v++) n += w->lost[v] = is_lost(w, v, won);
    return n;
}

/* ---- what would have to be told apart ---- */
/* Adds to what is told apart at the place the facts that leave the condition open there; false: none that is new. */
static bool tell_apart(Ways *w, const Guard *guard, uint32_t place) {
    const uint64_t *here = w->q->first->reach->masks + (size_t)place * w->m->n_facts;
    uint64_t *apart = w->apart + (size_t)place * w->fact_words;
    bool more = false;
    for (uint32_t t = 0; guard && t < guard->n; t++)
        for (uint32_t l = 0; l < guard->terms[t].n; l++) {
            const Literal *literal = &guard->terms[t].literals[l];
            if (fact_in(apart, literal->fact) || !(here[literal->fact] & ~literal->mask)) continue;
            fact_put(apart, literal->fact);
            more = true;
        }
    return more;
}

typedef enum { OPEN_BEFORE_WON, OPEN_OF_THE_TEXT, OPEN_ANY, N_OPEN } OpenKind;

static bool tell_node_apart(Ways *w, uint32_t node, OpenKind kind) {
    const Game *g = w->game;
    const Situation *here = &g->nodes.at[node];
    const Frame *f = w->slice->frame;
    bool more = false;
    for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
        const Arc *arc = &g->arcs.at[a];
        bool text = game_class(g, arc) == ARC_PILOT || game_class(g, arc) == ARC_LAPSE;
        if (!arc->unsure || (kind != OPEN_ANY && !text) || (kind == OPEN_BEFORE_WON && !g->uncued[arc->to])) continue;
        more |= tell_apart(w, w->m->edges[arc->edge].guard, here->place);
    }
    for (uint32_t k = f->due_first[here->place]; kind != OPEN_BEFORE_WON && k < f->due_first[here->place + 1]; k++)
        more |= tell_apart(w, f->due[k]->when, here->place);
    return more;
}

/* From the lost situations on through those not won, those that are lost even if no cue leads astray. */
typedef struct {
    uint32_t *nodes, n;
} Region;

static Region lost_region(const Ways *w) {
    const Game *g = w->game;
    uint32_t *queue = ARENA_ARRAY(w->q->board, uint32_t, g->nodes.n + 1u), tail = 0;
    bool *seen = ARENA_ARRAY(w->q->board, bool, g->nodes.n + 1u);
    for (uint32_t v = 0; v < g->nodes.n; v++)
        if ((seen[v] = w->lost[v])) queue[tail++] = v;
    for (uint32_t head = 0; head < tail; head++) {
        const Situation *here = &g->nodes.at[queue[head]];
        for (uint32_t a = here->first_arc; a < here->first_arc + here->n_arcs; a++) {
            uint32_t to = g->arcs.at[a].to;
            if (seen[to] || w->sure[to]) continue;
            seen[to] = true;
            queue[tail++] = to;
        }
    }
    Region region = {queue, 0};
    for (uint32_t k = 0; k < tail; k++)
        if (!g->uncued[queue[k]]) queue[region.n++] = queue[k];
    return region;
}

/* What is told apart where the game is lost is so already on the way there. False: it was. */
static bool spread_apart(Ways *w, const Region *region) {
    const Game *g = w->game;
    bool more = false;
    for (uint32_t n = region->n; n-- > 0;) {
        uint32_t v = region->nodes[n];
        const uint64_t *here = w->apart + (size_t)g->nodes.at[v].place * w->fact_words;
        for (uint32_t k = g->back_first[v]; k < g->back_first[v + 1]; k++) {
            uint64_t *from = w->apart + (size_t)g->nodes.at[g->arcs.at[g->back[k]].from].place * w->fact_words;
            for (uint32_t word = 0; word < w->fact_words; word++) {
                more |= here[word] & ~from[word];
                from[word] |= here[word];
            }
        }
    }
    return more;
}

/* Where it is lost more is told apart, and no more than is needed: what stands open before a won situation first. False: there is
   nothing more to be told apart. */
static bool refine(Ways *w) {
    Region region = lost_region(w);
    bool more = false;
    for (OpenKind kind = 0; kind < N_OPEN && !more; kind++)
        for (uint32_t k = 0; k < region.n; k++) more |= tell_node_apart(w, region.nodes[k], kind);
    return more || spread_apart(w, &region);
}

/* ---- is there time to come there? ---- */
static void lost_step(Step *step) {
    const Formula *lost = step->observer->cases[step->to];
    Move move = MOVE(0);
    if (lost && formula_possible(lost, step->after)) move.bad = true;
    step_go(step, step->after, move);
}

static void add_term(const Ways *w, Formula *formula, uint32_t node) {
    const uint64_t *masks = game_masks(w->game, node);
    LitTerm *term = &formula->terms[formula->n++];
    term->lits = ARENA_ARRAY(w->q->scratch, Lit, w->m->n_facts + 1u);
    for (uint32_t fact = 0; fact < w->m->n_facts; fact++) {
        if (w->slice->fields[fact].word == NO_WORD) continue;
        Lit lit = slice_literal(w->slice, fact, fact_full(&w->m->facts[fact]));
        lit.bits = masks[lit.word] & lit.field;
        if (lit.bits != lit.field) term->lits[term->n++] = lit;
    }
    if (!term->n) formula->always = true;
}

/* A run is bad as soon as it comes to one of the lost situations. */
static Observer *lost_observer(const Ways *w) {
    Arena *arena = w->q->scratch;
    uint32_t *count = ARENA_ARRAY(arena, uint32_t, w->m->n_places + 1u);
    Formula **by_place = ARENA_ARRAY(arena, Formula *, w->m->n_places + 1u);
    for (uint32_t v = 0; v < w->game->nodes.n; v++) count[w->game->nodes.at[v].place] += w->lost[v];
    for (uint32_t v = 0; v < w->game->nodes.n; v++) {
        uint32_t place = w->game->nodes.at[v].place;
        if (!w->lost[v]) continue;
        if (!by_place[place]) {
            by_place[place] = ARENA_NEW(arena, Formula);
            by_place[place]->terms = ARENA_ARRAY(arena, LitTerm, count[place]);
        }
        add_term(w, by_place[place], v);
    }
    const Formula **cases = ARENA_ARRAY(arena, const Formula *, w->m->n_places + 1u);
    for (uint32_t p = 0; p < w->m->n_places; p++) cases[p] = by_place[p];
    Observer *o = ARENA_NEW(arena, Observer);
    o->step = lost_step;
    o->cases = cases;
    o->scope = w->scope;
    o->lower = o->upper = -1;
    observer_states(o, arena, 1);
    o->event_of = ARENA_ARRAY(arena, uint32_t, w->m->n_edges + 1u);
    o->events = ARENA_ARRAY(arena, EdgeEvents, 1);
    return o;
}

static Search *search_lost(Ways *w, bool apart) {
    enum { MORE = 4 };
    CheckBudget budget = w->q->budget;
    if (apart) budget.zones = MORE * (budget.zones ? budget.zones : LIMIT_ZONES);
    Search *search = search_new(w->q->scratch, w->slice, lost_observer(w), w->q->store, budget);
    search->apart = apart;
    search_run(search);
    w->answer.zones += w->q->store->n_nodes;
    return search;
}

/* ---- the break ---- */
/* The lost situation that the run came to. */
static uint32_t lost_node(const Ways *w, const Search *search) {
    const uint64_t *masks = node_masks(search, search->bad);
    uint32_t place = node_bucket(search, search->bad)->place;
    for (uint32_t v = 0; v < w->game->nodes.n; v++) {
        if (!w->lost[v] || w->game->nodes.at[v].place != place) continue;
        bool meets = true;
        const uint64_t *have = game_masks(w->game, v);
        for (uint32_t word = 0; word < w->slice->words; word++)
            for (uint64_t rest = have[word]; rest;) {
                uint64_t field = w->slice->field_of[word * 64 + (uint32_t)__builtin_ctzll(rest)];
                meets = meets && masks[word] & have[word] & field;
                rest &= ~field;
            }
        if (meets) return v;
    }
    return NO_INDEX;
}

static Finding *tell_untraced(const Ways *w) {
    return tell_gate(w->q->job, w->gate, gate_span(w->gate), STR("a path breaks this; it is too long to be told"));
}

static void tell_lost(Ways *w) {
    Search *search = search_lost(w, true);
    w->answer.kind = VERDICT_BROKEN;
    if (search->end != SEARCH_BROKEN) {
        w->answer.finding = tell_untraced(w);
        return;
    }
    Path path = witness_path(w->q->scratch, search);
    Broken broken = {w->q->job, w->m, w->gate, search, &path, 0};
    uint32_t node = lost_node(w, search);
    bool unarmed = node != NO_INDEX && to_drill(w->gate) && asked(w, node) && !armed_at(w, node);
    broken.part = unarmed; /* of the drill: 1, it is not armed; 0, it has no end for sure */
    w->answer.finding = tell_finding(w->q->job, &broken, w->q->scratch);
    if (node == NO_INDEX || unarmed) return;
    Barrier barrier = {w->q->job, w->m, w->gate, w->game, w->hope, w->q->scratch};
    barrier_note(&barrier, w->answer.finding, node);
}

/* False: it is settled. What is lost even at best and can be come to breaks the rule. */
static bool lost_at_best(Ways *w) {
    if (!find_lost(w, w->hope)) return true;
    SearchEnd end = search_lost(w, false)->end;
    if (end == SEARCH_HOLDS) return true;
    if (end == SEARCH_BROKEN) tell_lost(w);
    else undecided(w, end == SEARCH_BUDGET ? STR("its search grew beyond the budget") : STR("the search was stopped"));
    return false;
}

static void lost_for_sure(Ways *w) {
    w->answer.kind = VERDICT_PROVED;
    if (!find_lost(w, w->sure)) return;
    const Search *search = search_lost(w, false);
    if (search->end == SEARCH_HOLDS) return;
    if (search->end == SEARCH_STOPPED) undecided(w, STR("the search was stopped"));
    else if (search->end == SEARCH_BUDGET) undecided(w, STR("its search grew beyond the budget"));
    else {
        const Item *item = w->m->places[node_bucket(search, search->bad)->place].item;
        Str where = item ? words_item(w->q->job, w->m, item) : STR("a line");
        undecided(w, format_text(w->q->job->arena, NULL,
                                 "whether there is a way depends on how the times add up, and ways are looked for "
                                 "without clocks (at: %S)",
                                 where));
    }
}

/* Coarse boards first: on them situations differ by what matters only. What is lost on the last of them is looked at on the exact one.
   False: `answer` says why it was not played. */
enum { ROUNDS_MOST = 8 };
static bool play(Ways *w) {
    bool exact = false, settled = false;
    for (uint32_t round = 1; !settled; round++) {
        if (!make_board(w, exact)) return false;
        w->sure = game_solve(w->game, w->q->board, w->goal, true);
        settled = !find_lost(w, w->sure) || exact;
        if (!settled) exact = round == ROUNDS_MOST || !refine(w);
        if (settled || !exact || !w->q->coarse_only) continue;
        undecided(w, STR("it is not settled on coarse boards"));
        return false;
    }
    return true;
}

/* ---- one board for all rules ---- */
struct WaysBoard {
    const Slice *slice;
    Game *game;            /* NULL: there is none, it would grow too large */
    const bool *ends_sure; /* by situation: an end can be forced; NULL: not asked so far */
};

/* The conditions that any of the rules asks for, and the facts that they read. */
typedef struct {
    const Test **at;
    uint32_t n;
    uint64_t *facts;
} AllAsked;

static void asked_put(AllAsked *all, const Test *test) {
    if (!test) return;
    all->at[all->n++] = test;
    test_facts(test, all->facts);
}

static AllAsked asked_of_all(const Ways *w) {
    const Tail *tail = w->m->tail;
    Arena *own = w->q->own;
    AllAsked all = {ARENA_ARRAY(own, const Test *, 2 * (size_t)tail->n_gates + 1), 0,
                    ARENA_ARRAY(own, uint64_t, w->fact_words)};
    for (uint32_t g = 0; g < tail->n_gates; g++) {
        const GateInstance *gate = &tail->gates[g];
        if (gate->rule != RULE_CAN_REACH || gate->standing != GATE_APPLIES || !gate->state) continue;
        if (to_drill(gate) && gate->target_drill >= tail->n_drills) continue;
        asked_put(&all, gate->state);
        asked_put(&all, to_drill(gate) ? armed_test(w->m, gate) : gate->target);
    }
    return all;
}

/* At every place, all of these facts. */
static uint64_t *apart_everywhere(Arena *arena, const Model *m, const Slice *slice, const uint64_t *facts) {
    uint64_t *apart = ARENA_ARRAY(arena, uint64_t, (size_t)m->n_places * slice->words);
    for (uint32_t fact = 0; fact < m->n_facts; fact++) {
        if (!fact_in(facts, fact)) continue;
        Lit lit = slice_literal(slice, fact, 0);
        for (uint32_t p = 0; p < m->n_places; p++) apart[(size_t)p * slice->words + lit.word] |= lit.field;
    }
    return apart;
}

static bool same_formula(const Formula *a, const Formula *b) {
    if (a->n != b->n || a->always != b->always) return false;
    for (uint32_t t = 0; t < a->n; t++) {
        if (a->terms[t].n != b->terms[t].n) return false;
        for (uint32_t l = 0; l < a->terms[t].n; l++) {
            const Lit *x = &a->terms[t].lits[l], *y = &b->terms[t].lits[l];
            if (x->word != y->word || x->field != y->field || x->bits != y->bits) return false;
        }
    }
    return true;
}

/* Many rules ask for the same. */
static bool among(const Formula *formula, const Formula *const *list, uint32_t n) {
    for (uint32_t k = 0; k < n; k++)
        if (same_formula(list[k], formula)) return true;
    return false;
}

static Game *shared_game(const Ways *w, const AllAsked *all) {
    enum { SITUATIONS_A_PLACE = 16 };
    const WaysQuestion *q = w->q;
    const Formula **asked = ARENA_ARRAY(q->own, const Formula *, all->n + 1u);
    GameRule rule = {.asked = asked, .budget = q->budget, .values = place_values(q->first, w->slice)};
    for (uint32_t k = 0; k < all->n; k++) {
        const Formula *formula = formula_of(w, q->own, all->at[k]);
        if (formula && !among(formula, asked, rule.n_asked)) asked[rule.n_asked++] = formula;
    }
    rule.apart = apart_everywhere(q->own, w->m, w->slice, all->facts);
    uint32_t most = SITUATIONS_A_PLACE * w->m->n_places;
    if (!rule.budget.zones || rule.budget.zones > most) rule.budget.zones = most;
    Game *game = game_make(q->own, w->slice, rule);
    return game->too_many || game->stopped ? NULL : game;
}

/* Told apart is what any of the rules asks for. Most of them are settled so, without a board of their own. */
static WaysBoard *shared_make(const Ways *w) {
    WaysBoard *board = ARENA_NEW(w->q->own, WaysBoard);
    AllAsked all = asked_of_all(w);
    Ways of_all = {.q = w->q, .m = w->m, .slice = slice_make(w->q->own, w->q->first->taken, all.facts)};
    board->slice = of_all.slice;
    if (!board->slice->too_large) board->game = shared_game(&of_all, &all);
    return board;
}

static const bool *shared_sure(Ways *w, WaysBoard *board) {
    if (to_drill(w->gate) && board->ends_sure) return board->ends_sure;
    mark_goal(w);
    const bool *sure = game_solve(board->game, w->q->board, w->goal, true);
    if (to_drill(w->gate)) board->ends_sure = sure = arena_copy(w->q->own, sure, board->game->nodes.n + 1u);
    return sure;
}

/* False: it is not, and nothing is said. */
static bool proved_on_shared(Ways *w) {
    WaysBoard **board = w->q->shared;
    if (!*board) *board = shared_make(w);
    w->game = (*board)->game;
    w->slice = (*board)->slice;
    if (!w->game || !make_conditions(w)) return false;
    arena_reset(w->q->board);
    if (find_lost(w, shared_sure(w, *board))) return false;
    w->answer.zones = (uint32_t)w->game->nodes.n;
    count_tested(w);
    return true;
}

static WaysAnswer proved(Ways *w) {
    w->answer.kind = w->answer.tested ? VERDICT_PROVED : VERDICT_NEVER_TESTED;
    return w->answer;
}

WaysAnswer ways_decide(const WaysQuestion *question) {
    Ways w = {.q = question, .m = question->first->model, .gate = question->gate};
    w.answer.why = STR("");
    if (to_drill(w.gate) && w.gate->target_drill >= w.m->tail->n_drills)
        return undecided(&w, STR("it is not known what is to be reached"));
    if (!w.gate->state) return undecided(&w, STR("it is not known which state is meant"));
    mark_places(&w);
    want_facts(&w);
    if (proved_on_shared(&w)) return proved(&w);
    if (!make_rule(&w) || !play(&w)) return w.answer;
    count_tested(&w);
    if (find_lost(&w, w.sure)) {
        w.hope = game_solve(w.game, w.q->board, w.goal, false);
        if (lost_at_best(&w)) lost_for_sure(&w);
    } else w.answer.kind = VERDICT_PROVED; /* what is won for sure is won at best, too */
    return w.answer.kind == VERDICT_PROVED ? proved(&w) : w.answer;
}
