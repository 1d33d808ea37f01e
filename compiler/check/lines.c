/* What the first pass says of single lines: never reached, never true, already so, waiting for ever, leading nowhere. */
#include "check/firstpass.h"
#include "check/observers.h"
#include "check/words.h"
#include <string.h>

typedef struct {
    FirstPass *first;
    Job *job;
    const Model *m;
    uint32_t *group; /* by place: the first place of the same line; NO_INDEX: no item */
    uint32_t *next;  /* by place: the next place of its group; NO_INDEX: none */
    bool *seen;      /* by group: some run comes there */
    bool *done;      /* by group: some run does the line, or looks */
    uint32_t *slots; /* lines by what stands in the text: place + 1 */
    uint32_t n_slots;
    bool *waits; /* by place */
    bool *dead;  /* by group */
} Lines;

static const uint64_t *masks_at(const Lines *l, uint32_t place) {
    return l->first->reach->masks + (size_t)place * l->m->n_facts;
}

/* ---- places of one line of the text belong together: a group is written once and used often, a drill is lowered once for each
   procedure, and what is said of the line must be so in all its uses ---- */
static bool same_line(const Item *a, const Item *b) {
    if (a == b) return true;
    return a->span.hi && a->span.lo == b->span.lo && a->span.hi == b->span.hi && a->kind == b->kind &&
           a->implied == b->implied;
}

static uint32_t *item_slot(const Lines *l, const Item *item) {
    uint32_t key = item->span.hi ? (uint32_t)item->span.lo : (uint32_t)((uintptr_t)item >> 4);
    uint32_t at = key * UINT32_C(2654435761) & (l->n_slots - 1);
    while (l->slots[at] && !same_line(l->m->places[l->slots[at] - 1].item, item)) at = (at + 1) & (l->n_slots - 1);
    return &l->slots[at];
}

static void group_places(Lines *l) {
    const Model *m = l->m;
    for (l->n_slots = 64; l->n_slots < 2 * m->n_places;) l->n_slots *= 2;
    l->slots = ARENA_ARRAY(l->job->arena, uint32_t, l->n_slots);
    uint32_t *last = ARENA_ARRAY(l->job->arena, uint32_t, m->n_places + 1u); /* by group */
    for (uint32_t p = 0; p < m->n_places; p++) {
        l->group[p] = l->next[p] = NO_INDEX;
        if (!m->places[p].item || m->places[p].kind != PLACE_ITEM) continue;
        uint32_t *slot = item_slot(l, m->places[p].item);
        uint32_t group = l->group[p] = *slot ? *slot - 1 : p;
        if (*slot) l->next[last[group]] = p;
        *slot = group + 1;
        last[group] = p;
        if (pass_place(l->first, p)) l->seen[group] = true;
    }
}

static bool is_line(const Edge *edge) {
    return edge->item && (edge->kind == EDGE_ITEM || edge->kind == EDGE_OTHERWISE);
}

/* The group of the edge's line; NO_INDEX: it is no line, or one without a place. */
static uint32_t line_of(const Lines *l, const Edge *edge) {
    return is_line(edge) ? *item_slot(l, edge->item) - 1u : NO_INDEX;
}

/* A line behind a `when` that does not hold is done without a place of its own, and a place is come to though its line is passed over. */
static void mark_done(Lines *l) {
    for (uint32_t e = 0; e < l->m->first_ambient; e++) {
        uint32_t line = pass_edge(l->first, e) ? line_of(l, &l->m->edges[e]) : NO_INDEX;
        if (line != NO_INDEX) l->done[line] = true;
    }
}

/* ---- why not: the part of a condition that nothing meets, and the line that set the fact ---- */
static const Literal *barring(const Lines *l, const Edge *edge, uint32_t from) {
    const uint64_t *here = masks_at(l, from);
    for (uint32_t t = 0; edge->guard && t < edge->guard->n; t++)
        for (uint32_t k = 0; k < edge->guard->terms[t].n; k++) {
            const Literal *literal = &edge->guard->terms[t].literals[k];
            if (!(here[literal->fact] & literal->mask)) return literal;
        }
    return NULL;
}

static void note_setter(const Lines *l, Finding *finding, uint32_t fact, uint64_t values) {
    for (uint32_t e = 0; e < l->m->n_edges; e++) {
        const Edge *edge = &l->m->edges[e];
        if (!edge->item || !pass_edge(l->first, e)) continue;
        for (uint32_t c = 0; c < edge->n_changes; c++) {
            if (edge->changes[c].fact != fact || edge->changes[c].kind != CHANGE_TO || edge->changes[c].mask & ~values)
                continue;
            finding_note(l->job->findings, finding, edge->item->span, "%S is %S since here",
                         words_fact(l->job, l->m, fact), words_values(l->job, l->m, fact, values));
            return;
        }
    }
}

static void note_barrier(const Lines *l, Finding *finding, const Edge *edge, uint32_t from) {
    const Literal *literal = barring(l, edge, from);
    if (!literal) return;
    uint64_t values = masks_at(l, from)[literal->fact];
    finding_note(l->job->findings, finding, item_span(edge->item), "it needs %S %S, and there %S can only be %S",
                 words_fact(l->job, l->m, literal->fact), words_values(l->job, l->m, literal->fact, literal->mask),
                 words_fact(l->job, l->m, literal->fact), words_values(l->job, l->m, literal->fact, values));
    note_setter(l, finding, literal->fact, values);
}

/* ---- never reached ---- */
static bool drill_seen(const Lines *l, uint32_t drill) {
    bool any = false;
    for (uint32_t p = 0; p < l->m->n_places; p++) {
        if (l->m->places[p].drill != drill || l->m->places[p].procedure == NO_INDEX) continue;
        any = true;
        if (pass_place(l->first, p)) return true;
    }
    for (uint32_t e = 0; e < l->m->n_give_ups; e++)
        if (l->m->give_ups[e].drill == drill && pass_place(l->first, l->m->give_ups[e].from)) return true;
    return !any; /* not lowered: no procedure names it */
}

static Span decl_span(const Decl *decl) {
    return decl ? (decl->name.span.hi ? decl->name.span : decl->span) : (Span){0, 0};
}

static void unseen_drills(Lines *l) {
    for (uint32_t d = 0; d < l->m->tail->n_drills; d++) {
        const Drill *drill = &l->m->tail->drills[d];
        if (drill_seen(l, d)) continue;
        Finding *finding = finding_add(l->job->findings, FINDING_DRILL_NEVER_ENTERED, decl_span(drill->decl),
                                       "no path of these procedures enters \"%S\"", drill->title);
        finding_note(l->job->findings, finding, (Span){0, 0}, "%s",
                     drill->cue ? "what calls for it cannot come while it is armed: see its `cue` and its `armed while`"
                                : "it has no cue and no line that is reached turns to it");
    }
}

static bool procedure_seen(const Lines *l, uint32_t procedure) {
    for (uint32_t p = l->m->procedure_lo[procedure]; p < l->m->procedure_hi[procedure]; p++)
        if (pass_place(l->first, p)) return true;
    return l->m->procedure_lo[procedure] == l->m->procedure_hi[procedure];
}

static void unseen_procedures(Lines *l) {
    for (uint32_t k = 0; l->m->procedure_lo && k < l->m->tail->n_procedures; k++) {
        const Procedure *procedure = &l->m->tail->procedures[k];
        if (!procedure_seen(l, k))
            finding_add(l->job->findings, FINDING_NEVER_REACHED, decl_span(procedure->decl),
                        "\"%S\" never begins: its `begins with` and `applies when` cannot hold together",
                        procedure->title);
    }
}

/* Drills of the library are written for aircraft of all sorts: that one of their lines has nothing to do on this one is no news. */
static bool of_library(const Lines *l, const Item *item) {
    const Source *source = source_at(l->job->sources, item->span.lo);
    return source && source->library;
}

static void tell_unseen(Lines *l, uint32_t group, const Edge *edge, uint32_t from) {
    const Item *item = l->m->places[group].item;
    if (of_library(l, item)) return;
    Finding *finding = finding_add(l->job->findings, FINDING_NEVER_REACHED, item->span,
                                   "no path comes to this line: %S", words_item(l->job, l->m, item));
    note_barrier(l, finding, edge, from);
}

/* Does another line go on from here than this one? Then it is passed over. */
static bool passed_over(const Lines *l, uint32_t place, uint32_t line) {
    const Place *here = &l->m->places[place];
    for (uint32_t k = 0; k < here->n_edges; k++) {
        uint32_t other =
            pass_edge(l->first, here->first_edge + k) ? line_of(l, &l->m->edges[here->first_edge + k]) : NO_INDEX;
        if (other != NO_INDEX && other != line) return true;
    }
    return false;
}

/* Told where the unreached begins: at lines that are passed over where they are offered, and at those that follow directly on reached ones. */
static void unseen_lines(Lines *l) {
    const Frame *f = l->first->edges;
    bool *told = ARENA_ARRAY(l->job->arena, bool, l->m->n_places + 1u);
    for (uint32_t p = 0; p < l->m->n_places; p++) {
        if (!pass_place(l->first, p) || l->m->places[p].kind == PLACE_JOINT) continue;
        for (uint32_t k = f->out_first[p]; k < f->out_first[p + 1]; k++) {
            if (pass_edge(l->first, f->out[k])) continue;
            const Edge *edge = &l->m->edges[f->out[k]];
            uint32_t to = edge_target(edge, p), line = line_of(l, edge);
            uint32_t group = line != NO_INDEX && !l->done[line] && passed_over(l, p, line) ? line : l->group[to];
            if (group == NO_INDEX || l->done[group] || told[group] || (group != line && l->seen[group])) continue;
            if (l->m->places[group].drill != l->m->places[p].drill) continue; /* told of the drill as a whole */
            told[group] = true;
            tell_unseen(l, group, edge, p);
        }
    }
}

/* ---- checks ---- */
static bool is_check(const Item *item) {
    return item->kind == STMT_CHECK || item->kind == STMT_LOOK || item->kind == STMT_EXPECT;
}

static bool has_otherwise(const Item *item) {
    for (const ItemOutcome *o = item->outcomes; o; o = o->next)
        if (!o->cond) return true;
    return false;
}

static void never_true(Lines *l, uint32_t group) {
    const Item *item = l->m->places[group].item;
    const Edge *pass = NULL;
    uint32_t from = NO_INDEX;
    for (uint32_t p = group; p != NO_INDEX; p = l->next[p]) {
        if (!pass_place(l->first, p)) continue;
        for (uint32_t k = 0; k < l->m->places[p].n_edges; k++) {
            uint32_t e = l->m->places[p].first_edge + k;
            const Edge *edge = &l->m->edges[e];
            if (edge->kind != EDGE_ITEM || edge->item != l->m->places[p].item) continue;
            if (pass_edge(l->first, e)) return;
            pass = edge;
            from = p;
        }
    }
    if (!pass) return;
    Finding *finding = finding_add(l->job->findings, FINDING_NEVER_HOLDS, item->span, "this can never hold: %S",
                                   words_item(l->job, l->m, item));
    note_barrier(l, finding, pass, from);
}

static bool engine_may_turn(const Lines *l, uint32_t place) {
    const Tail *tail = l->m->tail;
    for (uint32_t e = 0; e < tail->n_engines; e++)
        if (masks_at(l, place)[tail->engine_facts[e]] & ~(UINT64_C(1) << ENGINE_STOPPED)) return true;
    return false;
}

static void waits_for_ever(Lines *l, uint32_t group) {
    const Item *item = l->m->places[group].item;
    bool waits = false, turning = false, open = false;
    for (uint32_t p = group; p != NO_INDEX; p = l->next[p]) {
        if (!l->waits[p]) continue;
        waits = true;
        turning |= engine_may_turn(l, p);
        open |= l->m->places[p].n_deadlines > 0;
    }
    if (!waits) return;
    const char *more = turning ? ", and the engine may be turning here" : open ? ", and a time is running here" : "";
    Finding *finding =
        finding_add(l->job->findings, FINDING_WAITS_FOR_EVER, item->span,
                    "nothing says what is done if this does not come true%s: %S", more, words_item(l->job, l->m, item));
    finding_note(
        l->job->findings, finding, (Span){0, 0},
        "say it: `, otherwise turn to DRILL`, `, otherwise end ABANDONED`, or in a try `, otherwise again after TIME`");
    if (turning || open) finding->severity = SEVERITY_WARNING;
}

/* ---- set to what it already must be ---- */
static void already_set(Lines *l, uint32_t group) {
    const Item *item = l->m->places[group].item;
    if (of_library(l, item)) return;
    for (uint32_t p = group; p != NO_INDEX; p = l->next[p]) {
        const Item *use = l->m->places[p].item;
        if (use->kind != STMT_SET || use->implied || use->count || use->fact == NO_INDEX || !use->mask) return;
        if (pass_place(l->first, p) && masks_at(l, p)[use->fact] != use->mask) return;
    }
    Finding *finding =
        finding_add(l->job->findings, FINDING_ALREADY_SET, item->span,
                    "%S already stands at %S on every path: this line changes nothing",
                    words_fact(l->job, l->m, item->fact), words_values(l->job, l->m, item->fact, item->mask));
    note_setter(l, finding, item->fact, item->mask);
}

/* ---- read before it is known ---- */
static uint64_t every_value(const Fact *fact) {
    return fact->n_values >= 64 ? UINT64_MAX : (UINT64_C(1) << fact->n_values) - 1;
}

static bool sets(const Edge *edge, uint32_t fact) {
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].fact == fact) return true;
    return false;
}

/* Does taking the edge leave the fact as open as it was? */
static bool leaves_open(const Lines *l, const Edge *edge, uint32_t fact) {
    uint64_t all = every_value(&l->m->facts[fact]);
    for (uint32_t c = 0; c < edge->n_changes; c++)
        if (edge->changes[c].fact == fact) return edge->changes[c].mask == all;
    bool asked = edge->guard && edge->guard->n;
    for (uint32_t t = 0; asked && t < edge->guard->n; t++) {
        const Term *term = &edge->guard->terms[t];
        bool here = false;
        for (uint32_t k = 0; k < term->n; k++) here |= term->literals[k].fact == fact && term->literals[k].mask != all;
        asked = here;
    }
    return !asked;
}

/* By place: the first procedure through which some way leads there on which nobody put the control anywhere or looked at it; NO_INDEX: none
   does. */
static uint32_t *open_places(const Lines *l, uint32_t fact) {
    const Frame *f = l->first->search->frame;
    uint32_t *through = ARENA_ARRAY(l->job->arena, uint32_t, l->m->n_places + 1u);
    uint32_t *work = ARENA_ARRAY(l->job->arena, uint32_t, l->m->n_places + 1u), n = 0;
    for (uint32_t p = 0; p < l->m->n_places; p++) through[p] = NO_INDEX;
    through[l->m->joint] = l->m->tail->n_procedures; /* there nothing is known */
    work[n++] = l->m->joint;
    for (uint32_t at = 0; at < n; at++) {
        uint32_t place = work[at];
        for (uint32_t k = f->out_first[place]; k < f->out_first[place + 1]; k++) {
            const Edge *edge = &l->m->edges[f->out[k]];
            if (edge->to == NO_INDEX || through[edge->to] != NO_INDEX || !pass_edge(l->first, f->out[k])) continue;
            if (!leaves_open(l, edge, fact)) continue;
            bool begins = edge->kind == EDGE_BEGIN;
            through[edge->to] = begins ? l->m->places[edge->to].procedure : through[place];
            work[n++] = edge->to;
        }
    }
    return through;
}

/* A control that decides whether the edge is taken, and may stand anywhere here. What the edge itself moves is split for the engine's sake. */
static uint32_t unknown_control(const Lines *l, const Edge *edge, const uint64_t *here) {
    uint32_t unknown = NO_INDEX;
    for (uint32_t t = 0; edge->guard && t < edge->guard->n; t++) {
        const Term *term = &edge->guard->terms[t];
        bool possible = true, certain = true;
        uint32_t open = NO_INDEX;
        for (uint32_t k = 0; k < term->n; k++) {
            const Literal *literal = &term->literals[k];
            const Fact *fact = &l->m->facts[literal->fact];
            possible = possible && here[literal->fact] & literal->mask;
            if (!(here[literal->fact] & ~literal->mask)) continue;
            certain = false;
            if (fact->kind == FACT_CONTROL && here[literal->fact] == every_value(fact) && !sets(edge, literal->fact))
                open = literal->fact;
        }
        if (certain) return NO_INDEX;
        if (possible && unknown == NO_INDEX) unknown = open;
    }
    return unknown;
}

/* A check asks for itself; what is done, or left out, by where a control stands leans on somebody having put it there. */
static void read_before_known(Lines *l) {
    bool *told = ARENA_ARRAY(l->job->arena, bool, l->m->n_facts + 1u);
    uint32_t **open = ARENA_ARRAY(l->job->arena, uint32_t *, l->m->n_facts + 1u);
    for (uint32_t e = 0; e < l->m->first_ambient; e++) {
        const Edge *edge = &l->m->edges[e];
        if (edge->kind != EDGE_ITEM || !edge->item || edge->item->implied || is_check(edge->item) ||
            !pass_edge(l->first, e))
            continue;
        uint32_t fact = unknown_control(l, edge, masks_at(l, edge->from));
        if (fact == NO_INDEX || told[fact]) continue;
        if (!open[fact]) open[fact] = open_places(l, fact);
        uint32_t through = open[fact][edge->from];
        if (through == NO_INDEX) continue; /* it stands here in each of its positions, but somebody put it there */
        told[fact] = true;
        Finding *finding =
            finding_add(l->job->findings, FINDING_READ_BEFORE_KNOWN, edge->item->span,
                        "this depends on how %S stands, and on some path no line before has set it or looked at it: %S",
                        words_fact(l->job, l->m, fact), words_item(l->job, l->m, edge->item));
        finding_note(l->job->findings, finding, (Span){0, 0},
                     "set it, check it, or say in `begins with` where it stands");
        if (l->m->places[edge->from].drill != NO_INDEX && through < l->m->tail->n_procedures)
            finding_note(l->job->findings, finding, decl_span(l->m->tail->procedures[through].decl),
                         "this one leads here without saying it");
    }
}

/* ---- what the nodes of the search tell ---- */
static bool due_here(const Lines *l, uint32_t node, uint32_t place) {
    const Search *s = l->first->search;
    for (uint32_t d = s->frame->due_first[place]; d < s->frame->due_first[place + 1]; d++) {
        const SliceDue *due = &s->slice->dues[d];
        if (!due->when || formula_possible(due->when, node_masks(s, node))) return true;
    }
    return false;
}

/* Is there, among the values kept here, a case in which none of the place's own lines goes on; or does it hang on what the world shows? */
static bool may_stay(const Lines *l, uint32_t node, uint32_t place) {
    const Search *s = l->first->search;
    const Place *p = &l->m->places[place];
    uint64_t parts[4 * MASK_WORDS];
    bool world = false, sure = false;
    for (uint32_t k = 0; k < p->n_edges; k++) {
        uint32_t e = p->first_edge + k;
        const Edge *edge = &l->m->edges[e];
        if (edge->kind != EDGE_ITEM && edge->kind != EDGE_OTHERWISE) continue;
        for (uint32_t c = 0; c < edge->n_changes; c++) {
            FactKind kind = l->m->facts[edge->changes[c].fact].kind;
            world |= kind == FACT_SCENE || kind == FACT_GAUGE || kind == FACT_TREND;
        }
        const Formula *guard = s->slice->edges[e].guard;
        sure |= !guard || !formula_parts(guard, node_masks(s, node), s->slice->words, false, parts,
                                         4 * MASK_WORDS / s->slice->words);
    }
    return world || !sure;
}

/* Values kept here with which no edge can be taken, whatever the time. */
static bool some_stuck(const Lines *l, uint32_t node, uint32_t place) {
    const Search *s = l->first->search;
    const Frame *f = s->frame;
    uint32_t n = f->out_first[place + 1] - f->out_first[place];
    const Formula *guards[64];
    uint64_t parts[4 * MASK_WORDS];
    if (n > 64) return false;
    for (uint32_t k = 0; k < n; k++) {
        guards[k] = s->slice->edges[f->out[f->out_first[place] + k]].guard;
        if (!guards[k] || guards[k]->always) return false;
    }
    const Formula *any = formula_any(l->job->arena, guards, n);
    return formula_parts(any, node_masks(s, node), s->slice->words, false, parts, 4 * MASK_WORDS / s->slice->words) > 0;
}

static void read_nodes(Lines *l) {
    const Store *store = l->first->search->store;
    for (uint32_t n = 0; n < store->n_nodes; n++) {
        const Node *node = &store->nodes[n];
        if (node->gone || node->still) continue;
        uint32_t place = node_bucket(l->first->search, n)->place, group = l->group[place];
        if (group == NO_INDEX) continue;
        const Item *item = l->m->places[place].item;
        bool check = item->kind == STMT_CHECK || item->kind == STMT_LOOK;
        if (check && !has_otherwise(item) && !l->waits[place] && !due_here(l, n, place))
            l->waits[place] = may_stay(l, n, place);
        if (!check && !l->dead[group]) l->dead[group] = !node->moved || some_stuck(l, n, place);
    }
}

static void dead_end(Lines *l, uint32_t group) {
    const Item *item = l->m->places[group].item;
    Finding *finding = finding_add(l->job->findings, FINDING_DEAD_END, item->span,
                                   "on some path nobody can go on from this line: %S", words_item(l->job, l->m, item));
    finding_note(
        l->job->findings, finding, (Span){0, 0},
        "no line can be done, nothing more happens by itself, and waiting does not help; give that case a line, an "
        "`otherwise` or an end");
}

void lines_report(FirstPass *first) {
    const Model *m = first->model;
    Lines l = {.first = first, .job = first->job, .m = m};
    l.group = ARENA_ARRAY(first->job->arena, uint32_t, m->n_places + 1u);
    l.next = ARENA_ARRAY(first->job->arena, uint32_t, m->n_places + 1u);
    l.seen = ARENA_ARRAY(first->job->arena, bool, m->n_places + 1u);
    l.done = ARENA_ARRAY(first->job->arena, bool, m->n_places + 1u);
    l.waits = ARENA_ARRAY(first->job->arena, bool, m->n_places + 1u);
    l.dead = ARENA_ARRAY(first->job->arena, bool, m->n_places + 1u);
    group_places(&l);
    mark_done(&l);
    read_nodes(&l);
    unseen_procedures(&l);
    unseen_drills(&l);
    unseen_lines(&l);
    read_before_known(&l);
    for (uint32_t p = 0; p < m->n_places; p++) {
        if (l.group[p] != p || !l.seen[p]) continue;
        if (is_check(m->places[p].item)) never_true(&l, p);
        waits_for_ever(&l, p);
        if (l.dead[p]) dead_end(&l, p);
        already_set(&l, p);
    }
}
