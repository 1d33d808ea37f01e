/* One output of a unit: of one tail, or of all tails of a document, which are brought to hand one after the other. */
#include "workspace/workspace.h"

static const Press *find_press(const SwHost *host, SwText *why_not) {
    *why_not = text_out(STR("there is no press to draw it"));
    const Press *press = host->press ? host->press(host->context, why_not) : NULL;
    if (press && press->version != PRESS_VERSION) {
        *why_not = text_out(STR("the press is of another version than the program"));
        return NULL;
    }
    if (press) *why_not = (SwText){0};
    return press;
}

static const Binder *find_binder(const SwHost *host, SwText *why_not) {
    *why_not = text_out(STR("there is no binder to set it"));
    const Binder *binder = host->binder ? host->binder(host->context, why_not) : NULL;
    if (binder && binder->version != BINDER_VERSION) {
        *why_not = text_out(STR("the binder is of another version than the program"));
        return NULL;
    }
    if (binder) *why_not = (SwText){0};
    return binder;
}

/* One after the other, in the room of the last. */
static void bring_to_hand(SwWorkspace *lane, UnitTail *tail) {
    if (lane->at_hand == tail) return;
    lane->at_hand = NULL;
    arena_reset(&lane->tail_arena);
    unit_make_tail(tail, &lane->tail_arena);
    lane->at_hand = tail;
}

static BackInput input_of(const UnitTail *tail, size_t edition, Job *job, Str *because) {
    *job = tail->lane->job;
    job->arena = &tail->lane->workspace->tail_arena;
    return (BackInput){.job = job,
                       .tail = tail->tail,
                       .model = tail->model,
                       .result = tail->result,
                       .edition = &tail->editions[edition],
                       .program = tail->lane->program,
                       .why_not = because};
}

static bool emit_tail(const Unit *unit, struct UnitOutput at, Sink sink, SwText *why_not) {
    UnitTail *tail = &unit->tails[at.tail];
    SwWorkspace *lane = tail->lane->workspace;
    const BackEnd *back = &back_ends[at.back_end];
    const Press *press = back->means == BY_PRESS ? find_press(&unit->workspace->host, why_not) : NULL;
    if (back->means == BY_PRESS && !press) return false;
    if (setjmp(lane->exhausted)) return false;
    bring_to_hand(lane, tail);
    Job job;
    Str because = {0};
    BackInput input = input_of(tail, at.edition, &job, &because);
    input.press = press;
    bool made = back->emit(&input, sink);
    if (!made) *why_not = text_out(str_copy(&lane->unit_arena, because));
    return made;
}

/* ---- all tails of a document ---- */

typedef struct {
    const Unit *unit;
    struct UnitOutput at; /* its first tail */
    const BackWhole *whole;
    Arena arena; /* while it is made */
    Str because;
    BackDocument document;
    const Press *press;
    void *made;
} Gathering;

static bool begin(Gathering *g) {
    const Unit *unit = g->unit;
    jmp_buf exhausted;
    g->arena.exhausted = &exhausted;
    if (setjmp(exhausted)) return false;
    const Edition *edition = &unit->tails[g->at.tail].editions[g->at.edition];
    Str *held_back = ARENA_ARRAY(&g->arena, Str, unit->n_tails + 1);
    for (size_t i = 0; i < unit->n_tails; i++) {
        const UnitTail *tail = &unit->tails[i];
        if (unit_edition(unit, tail, edition, true) < tail->n_editions) g->document.n_tails++;
        else if (unit_edition(unit, tail, edition, false) < tail->n_editions || unit_may_have(unit, tail, edition))
            held_back[g->document.n_held_back++] = tail->name;
    }
    g->document.held_back = held_back;
    g->document.arena = &g->arena;
    g->document.why_not = &g->because;
    g->made = g->whole->begin(&g->document);
    return true;
}

static bool add(Gathering *g, UnitTail *tail, size_t edition) {
    SwWorkspace *lane = tail->lane->workspace;
    g->arena.exhausted = &lane->exhausted;
    if (setjmp(lane->exhausted)) return false;
    bring_to_hand(lane, tail);
    Job job;
    BackInput input = input_of(tail, edition, &job, &g->because);
    input.press = g->press;
    g->whole->add(g->made, &input);
    return true;
}

static bool add_all(Gathering *g) {
    const Unit *unit = g->unit;
    const Edition *first = &unit->tails[g->at.tail].editions[g->at.edition];
    for (size_t i = g->at.tail; i < unit->n_tails; i++) {
        size_t edition = unit_edition(unit, &unit->tails[i], first, true);
        if (edition < unit->tails[i].n_editions && !add(g, &unit->tails[i], edition)) return false;
    }
    return true;
}

static bool end(Gathering *g, Sink sink) {
    jmp_buf exhausted;
    g->arena.exhausted = &exhausted;
    if (setjmp(exhausted)) return false;
    return g->whole->end(g->made, sink);
}

static SwText kept(SwWorkspace *workspace, Str because) {
    if (setjmp(workspace->exhausted)) return (SwText){0};
    return text_out(str_copy(&workspace->unit_arena, because));
}

static bool emit_document(const Unit *unit, struct UnitOutput at, Sink sink, SwText *why_not) {
    const BackEnd *back = &back_ends[at.back_end];
    const Binder *binder = back->means == BY_BINDER ? find_binder(&unit->workspace->host, why_not) : NULL;
    if (back->means == BY_BINDER && !binder) return false;
    const Press *press = back->means == BY_ITSELF ? NULL : find_press(&unit->workspace->host, why_not);
    if (back->means != BY_ITSELF && !press) return false;
    Gathering g = {.unit = unit, .at = at, .whole = back->whole, .document = {.binder = binder}, .press = press};
    bool made = begin(&g) && add_all(&g) && end(&g, sink);
    *why_not = kept(unit->workspace, g.because);
    arena_free(&g.arena);
    return made;
}

bool sw_emit(const SwUnit *public, size_t output, SwSink sink, SwText *why_not) {
    const Unit *unit = (const Unit *)(const void *)public;
    *why_not = (SwText){0};
    if (output >= public->n_outputs) {
        *why_not = text_out(STR("there is no such output"));
        return false;
    }
    struct UnitOutput at = unit->outputs[output];
    Sink into = {sink.context, sink.write};
    return back_ends[at.back_end].whole ? emit_document(unit, at, into, why_not) : emit_tail(unit, at, into, why_not);
}
