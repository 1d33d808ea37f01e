/* Is a survivor equal to the good text in all that gates are about? Asked of the oracles, not of the explorer:
   1. each gate has the verdict it had;
   2. the same procedures and drills can end, RUNNING and not, with and without more starts (what the words for the ends promise, their gates say);
   3. in random runs, made by the interpreter and judged by the rules' plain meaning, no proved gate is broken;
   4. at the ends of these runs nothing that the changed lines are about stands so that a gate at stake would take it otherwise than what
      is seen there in runs of the good text.
   An outcome that turns to another drill is equal only where that drill leaves each control that the first one moves, and a gate asks for at an
   end, as the first one may leave it, and allows no start that the first one would not. */
#include "mutate.h"
#include <stdlib.h>
#include <string.h>

enum { RUNS = 300, GOOD_RUNS = 20000, EDGES = 120 };

/* ---- a set of hashes ---- */
typedef struct {
    uint64_t *slots;
    uint32_t n, mask;
} Set;

static bool set_has(const Set *set, uint64_t key) {
    if (!set->slots) return false;
    for (uint32_t k = (uint32_t)key & set->mask; set->slots[k]; k = (k + 1) & set->mask)
        if (set->slots[k] == key) return true;
    return false;
}
static void set_put(Set *set, uint64_t key) {
    if (set_has(set, key)) return;
    if (set->n * 2 >= set->mask) {
        Set old = *set;
        *set = (Set){NULL, 0, old.slots ? old.mask * 2 + 1 : 1023};
        set->slots = calloc(set->mask + 1u, sizeof *set->slots);
        for (uint32_t k = 0; old.slots && k <= old.mask; k++)
            if (old.slots[k]) set_put(set, old.slots[k]);
        free(old.slots);
    }
    uint32_t k = (uint32_t)key & set->mask;
    while (set->slots[k]) k = (k + 1) & set->mask;
    set->slots[k] = key;
    set->n++;
}

static uint64_t hash_on(uint64_t hash, Str text) {
    for (size_t k = 0; k < text.len; k++) hash = (hash ^ (uint8_t)text.ptr[k]) * UINT64_C(1099511628211);
    return (hash ^ 0xff) * UINT64_C(1099511628211);
}

/* ---- ends ---- */
typedef struct {
    const Names *names;
    const Model *model;
} In;

static Str procedure_of(const In *in, const Place *place) {
    return name_text(in->names, in->model->tail->procedures[place->procedure].name);
}
static Str drill_of(const In *in, const Place *place) {
    return place->drill == NO_INDEX ? STR("") : name_text(in->names, in->model->tail->drills[place->drill].name);
}

static uint64_t end_key(const In *in, const Place *place) {
    bool running = str_eq(name_text(in->names, place->outcome), STR("RUNNING"));
    uint64_t hash = hash_on(UINT64_C(1469598103934665603), procedure_of(in, place));
    hash = hash_on(hash_on(hash, drill_of(in, place)), running ? STR("running") : STR("still"));
    return hash_on(hash, place->no_more_starts ? STR("no more") : STR("more"));
}

/* What stands at the ends of a drill, wherever it was come to from. */
static uint64_t fact_key(const In *in, Str where, uint32_t fact, uint8_t value) {
    const Fact *f = &in->model->facts[fact];
    uint64_t hash = hash_on(UINT64_C(1469598103934665603), where);
    return hash_on(hash_on(hash, name_text(in->names, f->name)), f->value_names[value]);
}
static Str where_of(const In *in, const Place *place) {
    return place->drill == NO_INDEX ? procedure_of(in, place) : drill_of(in, place);
}

static const char *say_end(const In *in, const Place *place, const char *what, char *why, size_t room) {
    Str procedure = procedure_of(in, place), drill = drill_of(in, place),
        outcome = name_text(in->names, place->outcome);
    snprintf(why, room, "%s: end %.*s of %.*s%s%.*s%s", what, (int)outcome.len, outcome.ptr,
             (int)(drill.len ? drill.len : procedure.len), drill.len ? drill.ptr : procedure.ptr,
             drill.len ? " in " : "", (int)(drill.len ? procedure.len : 0), procedure.ptr,
             place->no_more_starts ? ", no more starts" : "");
    return why;
}

/* ---- one tail of the good text ---- */
typedef struct {
    const Model *model;
    Sampler *sampler;
    Run *run;
    uint8_t *chosen;
    bool *all, *at_stake; /* by fact */
    Set ends, seen;
    uint64_t runs;
} GoodTail;

struct Equal {
    const Subject *subject;
    GoodTail tails[TAILS_MOST];
    size_t n;
};

static bool pace_counts(const CheckResult *result) {
    for (uint32_t v = 0; v < result->n_verdicts; v++)
        if (result->verdicts[v].with_pace) return true;
    return false;
}

/* What was the case at the ends that the run came to, by `see`. */
typedef bool SeeFact(void *context, const Place *place, uint32_t fact, uint8_t value);
static bool look_at_ends(const Run *run, const bool *facts, SeeFact *see, void *context) {
    for (uint32_t k = 1; k < run->n; k++) {
        const Place *place = &run->model->places[run->moments[k].to];
        if (place->kind != PLACE_END || run->moments[k].to == run->moments[k].from) continue;
        for (uint32_t f = 0; f < run->model->tail->n_facts; f++)
            if (facts[f] && !see(context, place, f, run->moments[k].after[f])) return false;
    }
    return true;
}

typedef struct {
    In in;
    GoodTail *good;
} Noting;
static bool note_fact(void *context, const Place *place, uint32_t fact, uint8_t value) {
    Noting *n = context;
    set_put(&n->good->seen, fact_key(&n->in, where_of(&n->in, place), fact, value));
    return true;
}

static void sample_good(const struct Equal *e, GoodTail *g, uint64_t until) {
    Noting noting = {{&e->subject->good.workspace->names, g->model}, g};
    for (; g->runs < until; g->runs++) {
        if (sample_run(g->sampler, g->run, g->chosen)) abort();
        look_at_ends(g->run, g->all, note_fact, &noting);
    }
}

static void open_tail(struct Equal *e, GoodTail *g, const Model *model) {
    g->model = model;
    g->sampler = sampler_new(model, 5);
    g->run = run_new(model, EDGES);
    g->chosen = calloc(model->n_facts + 1u, 1);
    g->all = calloc(model->tail->n_facts + 1u, sizeof *g->all);
    g->at_stake = calloc(model->tail->n_facts + 1u, sizeof *g->at_stake);
    for (uint32_t f = 0; f < model->tail->n_facts; f++) g->all[f] = true;
    In in = {&e->subject->good.workspace->names, model};
    for (uint32_t p = 0; p < model->n_places; p++)
        if (model->places[p].kind == PLACE_END) set_put(&g->ends, end_key(&in, &model->places[p]));
}

struct Equal *equal_open(const Subject *subject) {
    struct Equal *e = calloc(1, sizeof *e);
    e->subject = subject;
    for (; e->n < subject->n_tails; e->n++) open_tail(e, &e->tails[e->n], subject->models[e->n]);
    return e;
}

void equal_close(struct Equal *e) {
    for (size_t t = 0; t < e->n; t++) {
        GoodTail *g = &e->tails[t];
        sampler_free(g->sampler);
        run_free(g->run);
        free(g->chosen);
        free(g->all);
        free(g->at_stake);
        free(g->ends.slots);
        free(g->seen.slots);
    }
    free(e);
}

/* ---- one tail of the mutant ---- */
typedef struct {
    struct Equal *e;
    GoodTail *good;
    In in;
    const Mutant *mutant;
    uint32_t *good_facts; /* by fact of the mutant: the good text's of that name; NO_INDEX: not at stake */
    char *why;
    size_t room;
} Comparing;

/* What is no more done at all is never done wrongly, and ends are compared by themselves; but a drill that is gone, or something that nobody
   looks for any more, is lost. */
static bool kept_in_vain(const GateInstance *gate) {
    static const RuleKind of_acts[] = {RULE_AT_EACH,       RULE_BEFORE_EACH,  RULE_BEFORE_FIRST, RULE_EVERY_END,
                                       RULE_AT_MOST_SINCE, RULE_AT_MOST_REST, RULE_WINDOW};
    for (size_t k = 0; k < sizeof of_acts / sizeof *of_acts; k++)
        if (gate->rule == of_acts[k]) return !gate->n_within;
    return false;
}

static const char *verdicts_differ(const CheckResult *good, const CheckResult *mutant, const Names *names, char *why,
                                   size_t room) {
    if (!mutant || good->n_verdicts != mutant->n_verdicts) return "other gates apply";
    for (uint32_t v = 0; v < good->n_verdicts; v++) {
        if (good->verdicts[v].kind == mutant->verdicts[v].kind) continue;
        if (good->verdicts[v].kind == VERDICT_NEVER_TESTED && mutant->verdicts[v].kind == VERDICT_PROVED) continue;
        if (mutant->verdicts[v].kind == VERDICT_NEVER_TESTED && kept_in_vain(mutant->verdicts[v].gate)) continue;
        Str gate = name_text(names, mutant->verdicts[v].gate->name);
        snprintf(why, room, "%.*s is now: %s", (int)gate.len, gate.ptr, verdict_words[mutant->verdicts[v].kind]);
        return why;
    }
    return NULL;
}

static const char *ends_differ(Comparing *c) {
    Set ends = {0};
    const Model *good = c->good->model, *model = c->in.model;
    const char *differs = NULL;
    for (uint32_t p = 0; p < model->n_places && !differs; p++) {
        if (model->places[p].kind != PLACE_END) continue;
        uint64_t key = end_key(&c->in, &model->places[p]);
        set_put(&ends, key);
        if (!set_has(&c->good->ends, key)) differs = say_end(&c->in, &model->places[p], "new", c->why, c->room);
    }
    In in = {&c->e->subject->good.workspace->names, good};
    for (uint32_t p = 0; p < good->n_places && !differs; p++)
        if (good->places[p].kind == PLACE_END && !set_has(&ends, end_key(&in, &good->places[p])))
            differs = say_end(&in, &good->places[p], "gone", c->why, c->room);
    free(ends.slots);
    return differs;
}

/* How the gates at stake take a value: a bit for each, set where its condition has the value among those that it asks for. */
static uint64_t taken_as(const Comparing *c, const Model *m, const Names *names, uint32_t fact, uint8_t value) {
    uint64_t taken = 0;
    for (uint32_t g = 0; g < m->tail->n_gates; g++)
        if (m->tail->gates[g].standing == GATE_APPLIES &&
            gate_at_stake(c->mutant, name_text(names, m->tail->gates[g].name)))
            taken = taken << 1 | (gate_demands(m, &m->tail->gates[g], fact) >> value & 1);
    return taken;
}

static bool seen_alike(const Comparing *c, Str where, uint32_t fact, uint64_t taken) {
    const Names *names = &c->e->subject->good.workspace->names;
    In in = {names, c->good->model};
    for (uint8_t v = 0; v < c->good->model->facts[fact].n_values; v++)
        if (set_has(&c->good->seen, fact_key(&in, where, fact, v)) &&
            taken_as(c, c->good->model, names, fact, v) == taken)
            return true;
    return false;
}

static bool fact_known(void *context, const Place *place, uint32_t fact, uint8_t value) {
    Comparing *c = context;
    Str where = where_of(&c->in, place);
    uint32_t good_fact = c->good_facts[fact];
    const Fact *f = &c->in.model->facts[fact];
    bool same_steps = f->kind != FACT_GAUGE;
    uint64_t key = fact_key(&c->in, where, fact, value), taken = taken_as(c, c->in.model, c->in.names, fact, value);
    if (same_steps && set_has(&c->good->seen, key)) return true;
    while (!seen_alike(c, where, good_fact, taken) && c->good->runs < GOOD_RUNS)
        sample_good(c->e, c->good, c->good->runs + RUNS);
    if (seen_alike(c, where, good_fact, taken)) return true;
    Str name = name_text(c->in.names, f->name);
    char what[120];
    snprintf(what, sizeof what, "%.*s may be %.*s", (int)name.len, name.ptr, (int)f->value_names[value].len,
             f->value_names[value].ptr);
    say_end(&c->in, place, what, c->why, c->room);
    return false;
}

static const char *rules_broken(const Comparing *c, const Run *run, const CheckResult *result) {
    for (uint32_t v = 0; v < result->n_verdicts; v++) {
        const Verdict *verdict = &result->verdicts[v];
        if (verdict->kind != VERDICT_PROVED || !rule_speaks_of_runs(verdict->gate->rule)) continue;
        if ((verdict->with_pace && !run->paced) || !rule_judge(run, verdict->gate).broken) continue;
        Str gate = name_text(c->in.names, verdict->gate->name);
        snprintf(c->why, c->room, "THE CHECKER IS WRONG: %.*s is proved, and a run breaks it", (int)gate.len, gate.ptr);
        return c->why;
    }
    return NULL;
}

/* The mutant's facts of the names of those at stake: things that stand somewhere, not who holds what or which line was done. */
static bool *facts_here(Comparing *c) {
    const Tail *good = c->good->model->tail, *tail = c->in.model->tail;
    const Names *names = &c->e->subject->good.workspace->names;
    bool *facts = calloc(tail->n_facts + 1u, sizeof *facts);
    for (uint32_t f = 0; f < tail->n_facts; f++) {
        c->good_facts[f] = NO_INDEX;
        for (uint32_t g = 0; g < good->n_facts; g++)
            if (good->facts[g].kind == tail->facts[f].kind && good->facts[g].kind <= FACT_GAUGE &&
                str_eq(name_text(names, good->facts[g].name), name_text(c->in.names, tail->facts[f].name)))
                c->good_facts[f] = g;
        facts[f] = c->good_facts[f] != NO_INDEX && c->good->at_stake[c->good_facts[f]];
    }
    return facts;
}

static const char *runs_differ(Comparing *c, const CheckResult *result) {
    const Model *m = c->in.model;
    Sampler *sampler = sampler_new(m, 9);
    Run *run = run_new(m, EDGES);
    uint8_t *chosen = calloc(m->n_facts + 1u, 1);
    c->good_facts = calloc(m->tail->n_facts + 1u, sizeof *c->good_facts);
    bool *facts = facts_here(c), paced = pace_counts(result);
    const char *differs = NULL;
    for (uint32_t k = 0; k < RUNS && !differs; k++) {
        run->paced = paced && k % 2;
        if (sample_run(sampler, run, chosen)) abort();
        differs = rules_broken(c, run, result);
        if (!differs && !look_at_ends(run, facts, fact_known, c)) differs = c->why;
    }
    run_free(run);
    sampler_free(sampler);
    free(chosen);
    free(facts);
    free(c->good_facts);
    return differs;
}

/* ---- an outcome turned elsewhere ---- */
static bool always_last(const Model *m, Name drill) {
    for (uint32_t p = 0; p < m->n_places; p++) {
        const Place *place = &m->places[p];
        if (place->kind == PLACE_END && place->drill != NO_INDEX && m->tail->drills[place->drill].name == drill &&
            !place->no_more_starts)
            return false;
    }
    return true;
}

/* Where a drill may leave a control, whatever it stood at before: from its lines alone, without times. */
typedef struct {
    const Model *m;
    uint32_t fact;
    Name drill;
    uint64_t *masks; /* by place */
    bool moved, changed;
} Leaving;

static bool in_drill(const Leaving *l, uint32_t place) {
    const Place *p = &l->m->places[place];
    return p->drill != NO_INDEX && l->m->tail->drills[p->drill].name == l->drill;
}

static void leave_edge(Leaving *l, const Edge *edge) {
    if (edge->to == NO_INDEX || !in_drill(l, edge->to)) return;
    bool inside = edge->from != NO_INDEX && in_drill(l, edge->from);
    uint64_t mask = inside ? l->masks[edge->from] : ~UINT64_C(0);
    for (uint32_t k = 0; edge->guard && edge->guard->n == 1 && k < edge->guard->terms[0].n; k++)
        if (edge->guard->terms[0].literals[k].fact == l->fact) mask &= edge->guard->terms[0].literals[k].mask;
    for (uint32_t c = 0; c < edge->n_changes && mask; c++) {
        if (edge->changes[c].fact != l->fact) continue;
        mask = edge->changes[c].mask;
        l->moved |= inside;
    }
    l->changed |= (mask & ~l->masks[edge->to]) != 0;
    l->masks[edge->to] |= mask;
}

/* 0: it never moves it. */
static uint64_t left_by(const Model *m, Name drill, uint32_t fact) {
    Leaving l = {m, fact, drill, calloc(m->n_places, sizeof(uint64_t)), false, true};
    while (l.changed) {
        l.changed = false;
        for (uint32_t e = 0; e < m->n_edges; e++) leave_edge(&l, &m->edges[e]);
    }
    uint64_t left = 0, all = ~UINT64_C(0) >> (64 - m->facts[fact].n_values);
    for (uint32_t p = 0; p < m->n_places; p++)
        if (m->places[p].kind == PLACE_END && in_drill(&l, p)) left |= l.masks[p];
    free(l.masks);
    return l.moved ? left & all : 0;
}

/* Whether some gate asks at an end how the control stands; not what turns the engine, which every drill lets go. */
static bool asked_at_ends(const Tail *tail, const Model *m, uint32_t fact) {
    const Thing *thing = m->facts[fact].thing;
    for (uint32_t k = 0; k < thing->n_positions; k++)
        if (thing->positions[k].turns) return false;
    for (uint32_t g = 0; g < tail->n_gates; g++)
        if ((tail->gates[g].rule == RULE_EVERY_END || tail->gates[g].rule == RULE_END_OF) &&
            tail->gates[g].standing == GATE_APPLIES && gate_demands(m, &tail->gates[g], fact))
            return true;
    return false;
}

static uint32_t fact_of_name(const Comparing *c, Str name) {
    for (uint32_t f = 0; f < c->in.model->tail->n_facts; f++)
        if (c->in.model->facts[f].kind == FACT_CONTROL &&
            str_eq(name_text(c->in.names, c->in.model->facts[f].name), name))
            return f;
    return NO_INDEX;
}

static const char *turning_differs(const Comparing *c) {
    const Model *good = c->good->model;
    const Names *names = &c->e->subject->good.workspace->names;
    Str from = name_text(names, c->mutant->turned_from), to = name_text(names, c->mutant->turned_to);
    Name other_drill = name_find(c->in.names, to);
    if (always_last(good, c->mutant->turned_from) && !always_last(c->in.model, other_drill))
        return "a start may follow";
    for (uint32_t f = 0; f < good->tail->n_facts; f++) {
        if (good->facts[f].kind != FACT_CONTROL || !asked_at_ends(good->tail, good, f)) continue;
        Str name = name_text(names, good->facts[f].name);
        uint32_t here = fact_of_name(c, name);
        uint64_t first = left_by(good, c->mutant->turned_from, f);
        uint64_t other = here == NO_INDEX ? 0 : left_by(c->in.model, other_drill, here);
        if (!first || (other && !(other & ~first))) continue;
        snprintf(c->why, c->room, "%.*s would set %.*s", (int)from.len, from.ptr, (int)name.len, name.ptr);
        return c->why;
    }
    return NULL;
}

const char *equal_differs(struct Equal *e, const Mutant *m, const Compiled *mutant, char *why, size_t room) {
    if (mutant->unit->n_tails != e->n) return "other tails";
    const char *differs = NULL;
    for (uint32_t t = 0; t < e->n && !differs; t++) {
        const UnitTail *tail = &mutant->unit->tails[t];
        GoodTail *good = &e->tails[t];
        Arena arena = {0};
        Job job = mutant->unit->job;
        job.arena = &arena;
        facts_at_stake(e->subject, m, t, good->at_stake);
        differs = verdicts_differ(e->subject->good.unit->tails[t].result, tail->result, &mutant->workspace->names,
                                  why, room);
        if (!differs) {
            Comparing c = {e, good, {&mutant->workspace->names, model_lower(&job, tail->tail)}, m, NULL, why, room};
            differs = m->turned_to ? turning_differs(&c) : ends_differ(&c);
            if (!differs && !m->turned_to) differs = runs_differ(&c, tail->result);
        }
        arena_free(&arena);
    }
    return differs;
}
