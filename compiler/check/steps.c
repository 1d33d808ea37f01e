#include "check/steps.h"
#include "check/words.h"

typedef struct {
    const Broken *b;
    const Job *job;
    const Model *model;
    const Path *path;
    uint64_t *read, *asked; /* facts that the gate reads; those of its condition */
    VEC(TraceStep) steps;
    uint32_t silent;
} Teller;

Str steps_line(const Job *job, const Item *item) {
    if (!item || !item->span.hi) return STR("");
    return format_text(job->arena, NULL, "line %u", (uint64_t)source_position(job->sources, item->span.lo).line);
}

/* ---- a move in words ---- */
static Str procedure_title(const Model *m, uint32_t place) {
    const Place *p = &m->places[place];
    return p->procedure == NO_INDEX ? STR("") : m->tail->procedures[p->procedure].title;
}

static Str engine_words(const Broken *b, const Edge *edge) {
    const Tail *tail = b->model->tail;
    if (tail->n_engines < 2) return STR("the engine");
    for (uint32_t c = 0; c < edge->n_changes; c++)
        for (uint32_t e = 0; e < tail->n_engines; e++)
            if (tail->engine_facts[e] == edge->changes[c].fact)
                return format_text(b->job->arena, b->job->names, "the %N engine", tail->engines[e]);
    return STR("the engine");
}

static const Mark *answer_mark(const Edge *edge) {
    for (uint32_t k = 0; k < edge->n_marks; k++)
        if (edge->marks[k].kind == ON_ANSWERED) return &edge->marks[k];
    return NULL;
}

static Str answer_words(const Broken *b, const Mark *mark) {
    return format_text(b->job->arena, b->job->names, "\"%S\" is answered %S", words_fact(b->job, b->model, mark->fact),
                       words_values(b->job, b->model, mark->fact, mark->mask));
}

static bool only_again(const Item *item) {
    return item && item->outcomes && !item->outcomes->next && item->outcomes->action.kind == ACTION_AGAIN;
}

/* Where an outcome leads, behind what it is. */
static Str leads_to(const Broken *b, const Edge *edge, uint32_t to, Str what) {
    const Place *place = &b->model->places[to];
    if (edge->drill != NO_INDEX)
        return format_text(b->job->arena, NULL, "%S: turn to \"%S\"", what, b->model->tail->drills[edge->drill].title);
    if (place->kind == PLACE_END) return format_text(b->job->arena, b->job->names, "%S: end %N", what, place->outcome);
    if (only_again(edge->item)) return format_text(b->job->arena, NULL, "%S: again", what);
    return what;
}

static Str outcome_words(const Broken *b, const Edge *edge, Str what, uint32_t to) {
    const Mark *answer = answer_mark(edge);
    Str found = answer ? answer_words(b, answer) : format_text(b->job->arena, NULL, "%S: not so", what);
    return leads_to(b, edge, to, found);
}

Str steps_move(const Broken *b, const Path *path, uint32_t move) {
    Arena *arena = b->job->arena;
    const Edge *edge = witness_edge(b->search, path, move);
    uint32_t to = witness_place(b->search, path, move);
    const Item *item = witness_line(b->search, path, move);
    Str what = item ? words_item(b->job, b->model, item) : STR("");
    const Mark *answer = answer_mark(edge);
    switch (edge->kind) {
    case EDGE_BEGIN: return format_text(arena, NULL, "\"%S\" begins", procedure_title(b->model, to));
    case EDGE_JOIN: {
        const Item *next = b->model->places[to].item;
        return next ? format_text(arena, NULL, "start again, on with: %S", words_item(b->job, b->model, next))
                    : STR("a start follows the end");
    }
    case EDGE_ENTER_DRILL:
        if (edge->drill == NO_INDEX) return STR("a drill is entered");
        return format_text(arena, NULL, "the cue of \"%S\" comes: the drill is entered",
                           b->model->tail->drills[edge->drill].title);
    case EDGE_FIRE: return format_text(arena, NULL, "%S fires", engine_words(b, edge));
    case EDGE_RUN_DOWN: return format_text(arena, NULL, "%S comes to rest", engine_words(b, edge));
    case EDGE_STOP: return format_text(arena, NULL, "%S stops", engine_words(b, edge));
    case EDGE_RELEASE:
        return item ? format_text(arena, NULL, "let go: the end of \"%S\"", what) : STR("the starter is let go");
    case EDGE_GIVE_UP:
        return leads_to(b, edge, to, format_text(arena, NULL, item ? "gives up before: %S" : "gives up%S", what));
    case EDGE_LAPSE: return leads_to(b, edge, to, format_text(arena, NULL, "time is up: %S", what));
    case EDGE_OTHERWISE: return outcome_words(b, edge, what, to);
    case EDGE_ITEM:
        if (item && item->kind == STMT_TRY) return STR("to the first line of the try");
        return answer ? answer_words(b, answer) : what;
    }
    return what;
}

const Item *steps_item(const Broken *b, const Path *path, uint32_t move) {
    EdgeKind kind = witness_edge(b->search, path, move)->kind;
    if (kind == EDGE_JOIN) return b->model->places[witness_place(b->search, path, move)].item;
    bool none = kind == EDGE_FIRE || kind == EDGE_RUN_DOWN || kind == EDGE_STOP || kind == EDGE_BEGIN;
    return none ? NULL : witness_line(b->search, path, move);
}

/* Who acts, for a reader: the model says who chooses. */
static Actor actor_of(const Edge *edge) {
    if (edge->kind == EDGE_BEGIN || edge->kind == EDGE_JOIN) return ACTOR_PILOT;
    if (answer_mark(edge)) return ACTOR_PERSON;
    if (edge->kind != EDGE_ITEM && edge->kind != EDGE_OTHERWISE) return edge->actor;
    if (edge->item && edge->item->person != NO_INDEX) return ACTOR_PERSON;
    bool looks = edge->item && (edge->item->kind == STMT_CHECK || edge->item->kind == STMT_LOOK);
    return looks ? ACTOR_PILOT : edge->actor;
}

static bool changes_shown(const Teller *t, const Edge *edge, const Change *change) {
    if (change->kind == CHANGE_COUNT || edge->kind == EDGE_JOIN || edge->kind == EDGE_BEGIN) return false;
    const Fact *fact = &t->model->facts[change->fact];
    if (fact->kind == FACT_COUNT || fact->kind == FACT_LABEL || fact->kind == FACT_HELD || fact->kind == FACT_WATCHED ||
        fact->kind == FACT_ANSWER)
        return false;
    bool own = edge->item && (edge->item->kind == STMT_SET || edge->item->kind == STMT_LOOK) &&
               edge->item->fact == change->fact && edge->item->mask == change->mask;
    return !own && change->mask != fact_full(fact);
}

/* What became of the facts in this edge, where it is not the line's own words again. */
static Str edge_facts(const Teller *t, const Edge *edge) {
    Buf buf = {.arena = t->job->arena};
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        const Change *change = &edge->changes[c];
        if (!changes_shown(t, edge, change)) continue;
        if (buf.len) buf_text(&buf, ", ");
        buf_format(&buf, t->job->names, "%S %S", words_fact(t->job, t->model, change->fact),
                   words_values(t->job, t->model, change->fact, change->mask));
    }
    return buf_view(&buf);
}

/* ---- what has to do with the gate ---- */
bool edge_carries(const Observer *o, uint32_t edge, uint32_t roles) {
    const EdgeEvents *events = &o->events[o->event_of[edge]];
    if (events->roles & roles) return true;
    for (uint32_t k = 0; k < events->n_watches; k++)
        if (ROLE_BIT(o->watches[events->first_watch + k].role) & roles) return true;
    return false;
}

static uint64_t known(const Search *s, uint32_t node, uint32_t fact) {
    Lit lit = slice_literal(s->slice, fact, 0);
    return node_masks(s, node)[lit.word] & lit.field;
}

/* Is a fact that the gate reads another after the move than before? */
static bool moves_read(const Teller *t, uint32_t k, const Edge *edge) {
    const Search *s = t->b->search;
    for (uint32_t c = 0; c < edge->n_changes; c++) {
        uint32_t fact = edge->changes[c].fact;
        if (!fact_in(t->read, fact) || s->slice->fields[fact].word == NO_WORD) continue;
        if (known(s, t->path->nodes[k - 1], fact) != known(s, t->path->nodes[k], fact)) return true;
    }
    return false;
}

/* Lines of the pilot that the gate does not speak of, away from where it breaks, are only counted. */
static bool routine(const Teller *t, uint32_t k, const Edge *edge) {
    enum { LAST = 2 };
    const Search *s = t->b->search;
    if (k + LAST >= t->path->n || edge->kind != EDGE_ITEM || edge->drill != NO_INDEX || answer_mark(edge)) return false;
    if (t->model->places[witness_place(s, t->path, k)].kind == PLACE_END) return false;
    if (s->observer->event_of[s->store->nodes[t->path->nodes[k]].edge]) return false;
    if (node_bucket(s, t->path->nodes[k - 1])->state != node_bucket(s, t->path->nodes[k])->state) return false;
    return !moves_read(t, k, edge);
}

static void add_step(Teller *t, uint32_t move, TracePart part, TraceStep step, const Item *item) {
    step.move = move;
    step.part = part;
    step.silent = t->silent;
    step.item = item ? item->id : STR("");
    step.span = item_span(item);
    if (!step.facts.ptr) step.facts = STR("");
    vec_push(t->job->arena, &t->steps, step);
}

/* ---- lines that a condition left out ---- */
static bool line_matters(const Teller *t, const Item *item) {
    const uint32_t asked = ~(ROLE_BIT(ROLE_TRIGGER) | ROLE_BIT(ROLE_SINCE));
    for (uint32_t e = 0; e < t->model->first_ambient; e++) {
        const Edge *edge = &t->model->edges[e];
        if (edge->item != item) continue;
        if (edge_carries(t->b->search->observer, e, asked)) return true;
        for (uint32_t c = 0; c < edge->n_changes; c++)
            if (fact_in(t->asked, edge->changes[c].fact)) return true;
    }
    return false;
}

typedef struct {
    const Item *first, *end; /* from the one up to the other */
    bool inside, over;
    uint32_t depth, move;
    int64_t at_ms;
} LeftOut;

static void tell_left_out(Teller *t, const LeftOut *range, const Item *item, const Item *in_case) {
    Str text = format_text(t->job->arena, NULL, "left out: %S", words_item(t->job, t->model, item));
    TraceStep step = {.actor = ACTOR_PILOT, .text = text, .at_ms = range->at_ms};
    if (in_case && in_case->cond)
        step.facts =
            format_text(t->job->arena, NULL, "it is done only when %S", words_test(t->job, t->model, in_case->cond));
    add_step(t, range->move, PART_LEFT_OUT, step, item);
}

/* In the order of the text; what is done between tries is no part of it. */
static void walk_left_out(Teller *t, LeftOut *range, const Item *list, const Item *in_case) {
    enum { DEEPEST = 256 };
    if (++range->depth > DEEPEST) range->over = true;
    for (const Item *item = list; item && !range->over; item = item->next) {
        range->over = item == range->end;
        range->inside |= item == range->first;
        if (range->over) break;
        if (range->inside && line_matters(t, item)) tell_left_out(t, range, item, in_case);
        walk_left_out(t, range, item->body, item->kind == STMT_CASE ? item : in_case);
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) walk_left_out(t, range, o->action.block, in_case);
    }
    range->depth--;
}

/* Another line would have been next here, had its condition held: it and what follows it up to the line that was done are left out. */
static void lines_left_out(Teller *t, uint32_t k) {
    const Search *s = t->b->search;
    const Edge *edge = witness_edge(s, t->path, k);
    uint32_t from = witness_place(s, t->path, k - 1);
    const Place *place = &t->model->places[from];
    if (edge->kind != EDGE_ITEM || !edge->item || place->procedure == NO_INDEX) return;
    for (uint32_t e = place->first_edge; e < place->first_edge + place->n_edges; e++) {
        const Edge *other = &t->model->edges[e];
        if (other == edge || other->item == edge->item) return; /* what comes before it was done or stood before */
        if (other->kind != EDGE_ITEM || !other->item || answer_mark(other)) continue;
        size_t before = t->steps.n;
        LeftOut range = {.first = other->item, .end = edge->item, .move = k, .at_ms = t->path->at_ms[k]};
        const Tail *tail = t->model->tail;
        walk_left_out(t, &range,
                      place->drill != NO_INDEX ? tail->drills[place->drill].items
                                               : tail->procedures[place->procedure].items,
                      NULL);
        if (!range.over) t->steps.n = before; /* the line is done in another order */
        return;
    }
}

/* ---- the steps ---- */
/* What no reader would call a step: the following beginning says it, or the line that is come to. */
static bool is_silent(const Teller *t, uint32_t k, const Edge *edge) {
    const Place *to = &t->model->places[witness_place(t->b->search, t->path, k)];
    if (edge->kind == EDGE_JOIN) return to->kind != PLACE_ITEM || !to->item;
    bool settles =
        edge->kind == EDGE_ITEM && to->kind == PLACE_ITEM && edge->item && edge->item == to->item && !edge->n_changes;
    return settles && !t->b->search->observer->event_of[t->b->search->store->nodes[t->path->nodes[k]].edge];
}

static void tell_move(Teller *t, uint32_t k) {
    const Edge *edge = witness_edge(t->b->search, t->path, k);
    int64_t at = t->path->at_ms[k], passed = at - t->path->at_ms[k - 1];
    lines_left_out(t, k);
    if (passed < 1000 && !is_silent(t, k, edge) && routine(t, k, edge)) return;
    if (passed >= 1000) {
        Str text = format_text(t->job->arena, NULL, "%S pass", words_time(t->job, passed));
        add_step(t, k, PART_TIME, (TraceStep){.actor = ACTOR_TIME, .text = text, .at_ms = at}, NULL);
    }
    if (is_silent(t, k, edge)) {
        t->silent++;
        return;
    }
    TraceStep step = {
        .actor = actor_of(edge), .text = steps_move(t->b, t->path, k), .facts = edge_facts(t, edge), .at_ms = at};
    add_step(t, k, PART_MOVE, step, steps_item(t->b, t->path, k));
}

static void tell_waiting(Teller *t) {
    uint32_t n = t->path->n;
    const Place *place = &t->model->places[witness_place(t->b->search, t->path, n - 1)];
    int64_t gap = t->path->at_ms[n] - t->path->at_ms[n - 1];
    Str wait = words_time(t->job, gap > 0 ? gap - 1 : 0);
    Str text =
        format_text(t->job->arena, NULL,
                    place->kind == PLACE_END ? "just over %S pass after the end" : "just over %S pass here", wait);
    TraceStep step = {.actor = ACTOR_TIME, .text = text, .at_ms = t->path->at_ms[n]};
    add_step(t, n, PART_WAIT, step, place->item);
}

TraceSteps steps_tell(const Broken *b, const Path *path, uint32_t from) {
    Teller t = {.b = b, .job = b->job, .model = b->model, .path = path};
    t.read = ARENA_ARRAY(b->job->arena, uint64_t, b->model->n_facts / 64 + 1u);
    t.asked = ARENA_ARRAY(b->job->arena, uint64_t, b->model->n_facts / 64 + 1u);
    observer_facts(b->model, b->gate, false, t.read);
    test_facts(b->gate->cond, t.asked);
    for (uint32_t k = from + 1; k < path->n; k++) tell_move(&t, k);
    if (path->by_time) tell_waiting(&t);
    return (TraceSteps){t.steps.at, t.steps.n};
}
