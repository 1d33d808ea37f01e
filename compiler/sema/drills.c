/* Which drills a tail has, one for each engine where they speak of one; which procedures reach them; which let the starter go first. */
#include "sema/items.h"

/* ---- names ---- */

const Decl *drill_find(Resolver *r, Word word) {
    static const DeclKind kinds[] = {DECL_DRILL};
    return resolve_decl(r, word, kinds, 1, "a drill");
}

/* A key for a drill and an engine: a declaration is longer than the engines are many, so keys stay apart. */
static uint32_t drill_key(const Decl *decl, uint32_t engine) {
    return decl->span.lo + 1 + (engine == NO_INDEX ? 0 : engine + 1);
}

static void report_which_engine(Resolver *r, Word word, const Decl *decl, const Decl *home) {
    if (!first_report(r, FINDING_ENGINE_NOT_CHOSEN, word.span)) return;
    Finding *finding =
        finding_add(r->job->findings, FINDING_ENGINE_NOT_CHOSEN, word.span,
                    "%N is a drill for one engine; which one is meant here? put the line into `for %N { … }`",
                    word.name, r->tail->engines[0]);
    finding_note(r->job->findings, finding, decl->name.span,
                 "%N names a thing that each engine has, without saying whose", word.name);
    if (home) finding_note(r->job->findings, finding, home->name.span, "in %N", home->name.name);
}

uint32_t drill_index(Resolver *r, Word word, const Decl *decl, uint32_t engine, const Decl *home) {
    ItemWork *work = r->items;
    if (!drill_per_engine(r, decl)) {
        engine = NO_INDEX;
    } else if (r->tail->n_engines == 1) {
        engine = 0;
    } else if (engine == NO_INDEX) {
        report_which_engine(r, word, decl, home);
        return NO_INDEX;
    }
    uintptr_t have = (uintptr_t)map_get(&work->drill_at, drill_key(decl, engine));
    if (have) return (uint32_t)have - 1;
    Drill drill = {.decl = decl, .name = decl->name.name, .engine = engine};
    DrillWork more = {.decl = decl, .engine = engine};
    vec_push(r->job->arena, &work->drills, drill);
    vec_push(r->job->arena, &work->drill_work, more);
    map_put(&work->drill_at, drill_key(decl, engine), (void *)(uintptr_t)work->drills.n);
    return (uint32_t)work->drills.n - 1;
}

/* ---- one for each engine? ---- */

typedef struct {
    Resolver *r;
    NameMap *groups; /* seen in this drill */
    Decls *targets;  /* drills that lines outside `for` turn to */
    uint32_t depth;
    bool found;
} Needs;

static void needs_in(Needs *n, const Stmt *first);

static void needs_event(Needs *n, const Event *event) {
    for (; event && !n->found; event = event->next) n->found = event_needs_engine(n->r, event);
}

static void needs_action(Needs *n, const Action *action) {
    if (action->kind == ACTION_BLOCK && action->block) needs_in(n, action->block->first);
    if (action->kind != ACTION_TURN_TO) return;
    const Decl *target = find_for_tail(n->r, DECL_DRILL, action->target.name);
    if (target) vec_push(n->r->job->arena, n->targets, target);
}

static void needs_group(Needs *n, const Stmt *stmt) {
    const Decl *group = find_group(n->r, stmt->ref.name);
    if (!group || map_get(n->groups, group->span.lo + 1)) return;
    map_put(n->groups, group->span.lo + 1, n->r);
    needs_in(n, group->u.parts);
}

static void needs_stmt(Needs *n, const Stmt *stmt) {
    const StmtMore *more = stmt->more;
    switch ((StmtKind)stmt->kind) {
    case STMT_FOR: return;
    case STMT_DO:
        if (!more->block) needs_group(n, stmt);
        break;
    case STMT_CRANK: n->found = true; return;
    case STMT_SET:
    case STMT_LOOK:
    case STMT_CALL:
    case STMT_BRIEF:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
        if (ref_needs_engine(n->r, stmt->ref)) n->found = true;
        break;
    case STMT_BAD:
    case STMT_CHECK:
    case STMT_EXPECT:
    case STMT_WAIT:
    case STMT_TRY:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE:
    case STMT_GO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
    case STMT_MEMORY: break;
    }
    if (stmt->cond && cond_needs_engine(n->r, stmt->cond)) n->found = true;
    if (more->timing) needs_event(n, more->timing->after);
    if (more->action) needs_action(n, more->action);
    if (more->block) needs_in(n, more->block->first);
    if (more->between) needs_in(n, more->between->first);
    needs_in(n, more->parts);
    for (const Outcome *outcome = stmt->outcomes; outcome && !n->found; outcome = outcome->next) {
        if (outcome->cond && cond_needs_engine(n->r, outcome->cond)) n->found = true;
        needs_action(n, &outcome->action);
    }
}

static void needs_in(Needs *n, const Stmt *first) {
    if (n->depth > LIMIT_NESTING * 4) return;
    n->depth++;
    for (const Stmt *stmt = first; stmt && !n->found; stmt = stmt->next) needs_stmt(n, stmt);
    n->depth--;
}

typedef struct {
    bool found;
    bool asked, each; /* with what its targets need: known, and the answer */
    Decls targets;
} DrillNeeds;

static DrillNeeds *needs_of(Resolver *r, const Decl *drill) {
    NameMap *known = &r->items->needs;
    DrillNeeds *needs = map_get(known, drill->span.lo + 1);
    if (needs) return needs;
    needs = ARENA_NEW(r->job->arena, DrillNeeds);
    NameMap groups = {.arena = r->job->arena};
    Needs walk = {r, &groups, &needs->targets, 0, false};
    needs_in(&walk, parts_of(r, drill));
    needs->found = walk.found;
    map_put(known, drill->span.lo + 1, needs);
    return needs;
}

/* A drill is one for each engine where it, or a drill that it turns to, names a thing of an engine without saying whose. */
bool drill_per_engine(Resolver *r, const Decl *drill) {
    DrillNeeds *own = needs_of(r, drill);
    if (own->asked || own->found) return own->found || own->each;
    Decls stack = {0};
    NameMap seen = {.arena = r->job->arena};
    bool found = false;
    vec_push(r->job->arena, &stack, drill);
    map_put(&seen, drill->span.lo + 1, r);
    while (stack.n > 0 && !found) {
        const DrillNeeds *needs = needs_of(r, stack.at[--stack.n]);
        found = needs->found;
        for (size_t i = 0; i < needs->targets.n && !found; i++) {
            const Decl *target = needs->targets.at[i];
            if (map_get(&seen, target->span.lo + 1)) continue;
            map_put(&seen, target->span.lo + 1, r);
            vec_push(r->job->arena, &stack, target);
        }
    }
    own->asked = true;
    own->each = found;
    return found;
}

/* ---- which procedure reaches which drill ---- */

typedef void (*SeeAction)(void *context, const ItemAction *action, const Item *item);

static void each_action(const Item *item, SeeAction see, void *context) {
    for (; item; item = item->next) {
        if (item->go) see(context, item->go, item);
        each_action(item->body, see, context);
        each_action(item->between, see, context);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
            see(context, &outcome->action, item);
            each_action(outcome->action.block, see, context);
        }
    }
}

typedef struct {
    uint32_t *list; /* drills reached, in order */
    Span *from;     /* where in the procedure each is first reached; 0,0: through its `drills` line */
    bool *in;
    uint32_t n;
    Span at; /* of the action looked at now; for drills of drills the same as of the drill they come from */
    bool own;
} Reach;

static void reach_add(Reach *reach, uint32_t drill, Span at) {
    if (drill == NO_INDEX || reach->in[drill]) return;
    reach->in[drill] = true;
    reach->from[drill] = at;
    reach->list[reach->n++] = drill;
}

static void reach_action(void *context, const ItemAction *action, const Item *item) {
    Reach *reach = context;
    (void)item;
    if (action->kind == ACTION_TURN_TO)
        reach_add(reach, action->drill, reach->own && action->written ? action->written->span : reach->at);
}

static bool has_phase(const Resolver *r, const Procedure *procedure, Name phase) {
    for (const Stmt *part = parts_of(r, procedure->decl); part; part = part->next)
        if (part->kind == STMT_PHASE && part->ref.name == phase) return true;
    return false;
}

typedef struct {
    Resolver *r;
    const Procedure *procedure;
    const Drill *drill;
    Span at;
} PhaseCheck;

static Span drills_word(const Procedure *procedure, Name drill) {
    const WordList *word = procedure->drills_line ? procedure->drills_line->more->words : NULL;
    for (; word; word = word->next)
        if (word->word.name == drill) return word->word.span;
    return procedure->drills_line ? procedure->drills_line->span : procedure->decl->name.span;
}

static void check_phase(void *context, const ItemAction *action, const Item *item) {
    PhaseCheck *check = context;
    Resolver *r = check->r;
    (void)item;
    if (action->kind != ACTION_END || !action->again_at || has_phase(r, check->procedure, action->again_at)) return;
    Span at = check->at.hi ? check->at : drills_word(check->procedure, check->drill->name);
    if (!first_report(r, FINDING_PHASE_UNKNOWN, at)) return;
    Finding *finding =
        finding_add(r->job->findings, FINDING_PHASE_UNKNOWN, at,
                    "%N ends with `start again at %N`, and %N, from which it is entered, has no phase %N",
                    check->drill->name, action->again_at, check->procedure->name, action->again_at);
    if (action->written) finding_note(r->job->findings, finding, action->written->span, "the drill ends here");
}

static void reach_check(Resolver *r, const Procedure *procedure, Reach *reach) {
    ItemWork *work = r->items;
    reach->n = 0;
    reach->own = true;
    memset(reach->in, 0, work->drills.n * sizeof *reach->in);
    for (uint32_t i = 0; i < procedure->n_drills; i++) reach_add(reach, procedure->drills[i], (Span){0, 0});
    each_action(procedure->items, reach_action, reach);
    reach->own = false;
    for (uint32_t i = 0; i < reach->n; i++) {
        const Drill *drill = &work->drills.at[reach->list[i]];
        reach->at = reach->from[reach->list[i]];
        each_action(drill->items, reach_action, reach);
        PhaseCheck check = {r, procedure, drill, reach->at};
        each_action(drill->items, check_phase, &check);
    }
}

void drills_finish(Resolver *r) {
    ItemWork *work = r->items;
    Arena *arena = r->job->arena;
    size_t n = work->drills.n;
    if (!n) return;
    Reach reach = {.list = ARENA_ARRAY(arena, uint32_t, n),
                   .from = ARENA_ARRAY(arena, Span, n),
                   .in = ARENA_ARRAY(arena, bool, n)};
    for (size_t i = 0; i < work->procedures.n; i++) reach_check(r, &work->procedures.at[i], &reach);
}

/* ---- letting the starter go first ---- */

bool thing_powered(const Resolver *r, const Thing *thing) {
    for (uint32_t i = 0; i < r->tail->n_things; i++) {
        const Thing *source = &r->tail->things[i];
        for (uint32_t p = 0; source->fitted != FITTED_NO && p < source->n_positions; p++)
            if (source->positions[p].powers && source->positions[p].effect_of == thing->name) return true;
    }
    return false;
}

typedef struct {
    bool can, cannot;
} May;

/* Can the test be true, can it be false, while `fact` has `value`; every other fact may have any. */
static May may_hold(const Test *test, uint32_t fact, uint32_t value) {
    May all = {true, true};
    switch (test->kind) {
    case TEST_TRUE: return (May){true, false};
    case TEST_FALSE: return (May){false, true};
    case TEST_FACT:
        if (test->fact != fact) return all;
        all.can = test->mask >> value & 1;
        return (May){all.can, !all.can};
    case TEST_NOT: all = may_hold(test->parts, fact, value); return (May){all.cannot, all.can};
    case TEST_FOR: return (May){may_hold(test->parts, fact, value).can, true};
    case TEST_SAID:
    case TEST_UNDECIDED: return all;
    case TEST_AND:
    case TEST_OR: break;
    }
    bool any_can = false, every_can = true, any_cannot = false, every_cannot = true;
    for (const Test *part = test->parts; part; part = part->next) {
        May may = may_hold(part, fact, value);
        any_can |= may.can;
        every_can &= may.can;
        any_cannot |= may.cannot;
        every_cannot &= may.cannot;
    }
    return test->kind == TEST_AND ? (May){every_can, any_cannot} : (May){any_can, every_cannot};
}

static bool entered_turning(const Drill *drill, const Thing *starter) {
    for (uint32_t p = 0; p < starter->n_positions && drill->cue && drill->armed; p++) {
        if (!starter->positions[p].turns) continue;
        if (may_hold(drill->armed, starter->fact, p).can && may_hold(drill->cue, starter->fact, p).can) return true;
    }
    return false;
}

static const Item *first_act(const Item *item) {
    for (; item; item = item->next) {
        if (item->kind == STMT_MEMORY && item->body) return first_act(item->body);
        if (item->kind != STMT_NOTE && item->kind != STMT_CAUTION && item->kind != STMT_WARNING &&
            item->kind != STMT_MEMORY)
            return item;
    }
    return NULL;
}

/* Are the first acts settings, one of which lets this starter go before anything else is done? */
static bool let_go_already(const Drill *drill, const Thing *starter, const Resolver *r) {
    const Item *item = first_act(drill->items);
    for (; item && item->kind == STMT_SET && item->thing != NO_INDEX; item = item->next) {
        const Thing *thing = &r->tail->things[item->thing];
        if (item->fact == starter->fact) return item->position != NO_INDEX && !starter->positions[item->position].turns;
        if (thing->name != starter->name) return false; /* the other engine's starter may go first */
    }
    return false;
}

static Item *release_item(Resolver *r, const Drill *drill, const Thing *starter, uint32_t position) {
    Arena *arena = r->job->arena;
    Stmt *stmt = ARENA_NEW(arena, Stmt);
    Span at = drill->decl->name.span;
    *stmt = (Stmt){.kind = STMT_SET,
                   .span = at,
                   .ref = {starter->name, at},
                   .pos = {starter->positions[position].name, at},
                   .more = &stmt_no_more};
    Item *item = ARENA_NEW(arena, Item);
    *item = (Item){.kind = STMT_SET,
                   .stmt = stmt,
                   .span = at,
                   .engine = starter->engine,
                   .label = NO_INDEX,
                   .implied = true,
                   .thing = thing_index(r, starter),
                   .fact = starter->fact,
                   .mask = UINT64_C(1) << position,
                   .position = position,
                   .person = NO_INDEX};
    bool several = starter->engine != NO_INDEX && r->tail->n_engines > 1;
    item->id = format_text(arena, r->job->names, several ? "%N.implied-release" : "implied-release",
                           several ? r->tail->engines[starter->engine] : starter->name);
    return item;
}

/* Into the first memory block where nothing but remarks stands before it, else to the front. */
static void release_put(Drill *drill, Item *release) {
    for (Item *item = drill->items; item; item = item->next) {
        if (item->kind == STMT_MEMORY) {
            release->next = item->body;
            item->body = release;
            return;
        }
        if (item->kind != STMT_NOTE && item->kind != STMT_CAUTION && item->kind != STMT_WARNING) break;
    }
    release->next = drill->items;
    drill->items = release;
}

static bool turns_powered(const Resolver *r, const Thing *thing, uint32_t *rest) {
    bool turns = false;
    if (thing->kind != THING_CONTROL || thing->fitted == FITTED_NO) return false;
    *rest = NO_INDEX;
    for (uint32_t p = 0; p < thing->n_positions; p++) {
        if (thing->positions[p].turns) turns = true;
        else if (*rest == NO_INDEX) *rest = p;
    }
    return turns && *rest != NO_INDEX && thing_powered(r, thing);
}

static bool of_drill(const Drill *drill, const Thing *starter) {
    return starter->engine == NO_INDEX || drill->engine == NO_INDEX || starter->engine == drill->engine;
}

/* The others' starters first, so that the own comes to stand before them. */
static void release_first(Resolver *r, Drill *drill, bool engaged) {
    for (int own = 0; own < 2; own++)
        for (uint32_t i = r->tail->n_things; i-- > 0;) {
            const Thing *starter = &r->tail->things[i];
            uint32_t rest;
            if (of_drill(drill, starter) != (own == 1) || !turns_powered(r, starter, &rest)) continue;
            if (!entered_turning(drill, starter) && !(engaged && own)) continue;
            if (!let_go_already(drill, starter, r)) release_put(drill, release_item(r, drill, starter, rest));
        }
}

typedef struct {
    Resolver *r;
    bool *changed;
} Engage;

static void engage_target(Engage *engage, const ItemAction *action) {
    ItemWork *work = engage->r->items;
    if (action->kind != ACTION_TURN_TO || action->drill == NO_INDEX || work->drill_work.at[action->drill].engaged)
        return;
    work->drill_work.at[action->drill].engaged = true;
    work->drill_work.at[action->drill].engaged_at = action->written ? action->written->span : (Span){0, 0};
    *engage->changed = true;
}

/* A drill that keeps cranking is entered with the starter in: so is what it turns to before a crank of its own has ended. True: the
   starter has been let go by then. */
static bool engage_before_release(Engage *engage, const Item *item) {
    for (; item; item = item->next) {
        const Thing *thing = item->thing != NO_INDEX ? &engage->r->tail->things[item->thing] : NULL;
        bool lets_go = item->kind == STMT_SET && thing && item->position != NO_INDEX &&
                       !thing->positions[item->position].turns && thing_powered(engage->r, thing);
        if (item->go) engage_target(engage, item->go);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            engage_target(engage, &outcome->action);
        if (lets_go || item->kind == STMT_CRANK || engage_before_release(engage, item->body)) return true;
    }
    return false;
}

void drills_release(Resolver *r) {
    ItemWork *work = r->items;
    bool changed = true;
    while (changed) {
        changed = false;
        for (size_t i = 0; i < work->drills.n; i++) {
            Engage engage = {r, &changed};
            if (work->drills.at[i].keeps_cranking) (void)engage_before_release(&engage, work->drills.at[i].items);
        }
    }
    for (size_t i = 0; i < work->drills.n; i++)
        if (!work->drills.at[i].keeps_cranking) release_first(r, &work->drills.at[i], work->drill_work.at[i].engaged);
}
