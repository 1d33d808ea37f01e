/* Procedures and drills of one tail: groups and `for` expanded, `when` on equipment decided, every line made an Item. */
#include "sema/items.h"
#include "sema/craft.h"
#include "sema/program_parts.h"

enum { EXPANDED_ITEMS = 100000 }; /* lines of one procedure once its groups are done */

/* ---- tests and lists ---- */

bool measured_written(const Measured *measured) {
    return measured->amount.span.hi != 0 || measured->name.name != 0;
}

int test_constant(const Test *test) {
    int all = -1;
    switch (test->kind) {
    case TEST_TRUE: return 1;
    case TEST_FALSE: return 0;
    case TEST_FACT:
    case TEST_SAID:
    case TEST_UNDECIDED: return -1;
    case TEST_NOT: all = test_constant(test->parts); return all < 0 ? -1 : !all;
    case TEST_FOR: return test_constant(test->parts) == 0 ? 0 : -1;
    case TEST_AND:
    case TEST_OR: break;
    }
    int absorbing = test->kind == TEST_OR;
    bool open = false;
    for (const Test *part = test->parts; part; part = part->next) {
        int value = test_constant(part);
        if (value == absorbing) return absorbing;
        if (value < 0) open = true;
    }
    return open ? -1 : !absorbing;
}

/* The very test and no copy: the steps of a gauge are written into it later. Lists hold tests through nodes of their own, so its
   `next` is free. */
const Test *test_not(Resolver *r, const Test *test) {
    Test *not = ARENA_NEW(r->job->arena, Test);
    not ->kind = TEST_NOT;
    not ->parts = (Test *)(uintptr_t)test;
    return not ;
}

void item_add(ItemList *list, Item *item) {
    if (list->last) list->last->next = item;
    else list->first = item;
    list->last = item;
}

static bool names_source(const Why *why) {
    return why && why->source.name;
}

/* A line of a group that an adaptation does was brought by it, too. */
static const TailEdit *brought_by(const Walk *w, const Stmt *stmt) {
    if (!w->r->tail->n_edits) return NULL;
    const TailEdit *edit = edit_around(w->r, w->decl, stmt->span);
    for (uint32_t i = w->n_groups; i-- > 0 && !edit;) edit = edit_around(w->r, w->decl, w->group_at[i]);
    return edit;
}

static const Why *source_around(const Walk *w, const TailEdit *brought) {
    for (uint32_t i = w->n_groups; i-- > 0;)
        if (names_source(w->groups[i]->more->why)) return w->groups[i]->more->why;
    if (brought)
        return names_source(brought->edit->why)          ? brought->edit->why
               : names_source(brought->adapt->more->why) ? brought->adapt->more->why
                                                         : NULL;
    if (names_source(w->phase_why)) return w->phase_why;
    return names_source(w->decl->more->why) ? w->decl->more->why : NULL;
}

Item *item_new(Walk *w, const Stmt *stmt, StmtKind kind) {
    Item *item = ARENA_NEW(w->r->job->arena, Item);
    item->brought = brought_by(w, stmt);
    item->phase = w->phase;
    item->around = source_around(w, item->brought);
    item->kind = kind;
    item->stmt = stmt;
    item->span = stmt->span;
    item->engine = item->label = item->thing = item->fact = item->position = item->person = NO_INDEX;
    return item;
}

Duration item_duration(Walk *w, const Measured *measured) {
    Duration duration = resolve_duration(w->r, measured, &w->scene);
    if (duration.missing) missing_add(w->r, MISSING_VALUE, duration.missing, duration.span, 0);
    return duration;
}

/* ---- groups, engines ---- */

static void report_group_circle(Walk *w, const Decl *group, Span at) {
    if (!first_report(w->r, FINDING_GROUP_CIRCLE, at)) return;
    Buf way = {.arena = w->r->job->arena};
    uint32_t from = 0;
    while (from < w->n_groups && w->groups[from] != group) from++;
    for (uint32_t i = from; i < w->n_groups; i++)
        buf_format(&way, w->r->job->names, "%N does ", w->groups[i]->name.name);
    Finding *finding = finding_add(w->r->job->findings, FINDING_GROUP_CIRCLE, at,
                                   "these groups do one another without end: %S%N; take the `do` out of one of them",
                                   buf_view(&way), group->name.name);
    for (uint32_t i = from + 1; i < w->n_groups; i++)
        finding_note(w->r->job->findings, finding, w->group_at[i], "the circle goes on here");
}

static bool group_may_enter(Walk *w, const Decl *group, Span at) {
    for (uint32_t i = 0; i < w->n_groups; i++) {
        if (w->groups[i] != group) continue;
        report_group_circle(w, group, at);
        return false;
    }
    if (w->n_groups < LIMIT_GROUP_DEPTH) return true;
    if (first_report(w->r, FINDING_GROUP_DEEP, at))
        finding_add(w->r->job->findings, FINDING_GROUP_DEEP, at,
                    "groups do groups more than %u deep here; write the lines of %N where they are needed",
                    (uint64_t)LIMIT_GROUP_DEPTH, group->name.name);
    return false;
}

static void walk_group(Walk *w, const Stmt *stmt, ItemList *out) {
    static const DeclKind kinds[] = {DECL_GROUP};
    const Decl *group = resolve_decl(w->r, stmt->ref, kinds, 1, "a group");
    if (!group || !group_may_enter(w, group, stmt->span)) return;
    const Outcome *heading = w->heading;
    w->heading = NULL; /* the phase's way out is for the lines written in the phase */
    w->groups[w->n_groups] = group;
    w->group_at[w->n_groups++] = stmt->span;
    walk_statements(w, stmt->more->block ? stmt->more->block->first : group->u.parts, out);
    w->n_groups--;
    w->heading = heading;
}

static uint32_t engine_find(const Resolver *r, Name name) {
    for (uint32_t i = 0; i < r->tail->n_engines; i++)
        if (r->tail->engines[i] == name) return i;
    return NO_INDEX;
}

static void report_engine(Walk *w, Word word) {
    if (!first_report(w->r, FINDING_ENGINE_UNKNOWN, word.span)) return;
    Buf list = {.arena = w->r->job->arena};
    for (uint32_t i = 0; i < w->r->tail->n_engines; i++)
        buf_format(&list, w->r->job->names, i ? ", %N" : "%N", w->r->tail->engines[i]);
    if (w->r->tail->n_engines == 1)
        finding_add(w->r->job->findings, FINDING_ENGINE_UNKNOWN, word.span,
                    "%N has one engine; it has no engine called %N", w->r->tail->name, word.name);
    else
        finding_add(w->r->job->findings, FINDING_ENGINE_UNKNOWN, word.span, "%N has no engine called %N; it has %S",
                    w->r->tail->name, word.name, buf_view(&list));
}

static void walk_engine(Walk *w, const Stmt *stmt, uint32_t engine, ItemList *out) {
    uint32_t was = w->scene.engine;
    bool was_in = w->in_for;
    w->scene.engine = engine;
    w->in_for = true;
    walk_block(w, stmt->more->block, out);
    w->scene.engine = was;
    w->in_for = was_in;
}

static void walk_for(Walk *w, const Stmt *stmt, ItemList *out) {
    if (!stmt->ref.name) {
        for (uint32_t i = 0; i < w->r->tail->n_engines; i++) walk_engine(w, stmt, i, out);
        return;
    }
    uint32_t engine = engine_find(w->r, stmt->ref.name);
    if (engine == NO_INDEX) report_engine(w, stmt->ref);
    else walk_engine(w, stmt, engine, out);
}

/* ---- alternatives ---- */

static void walk_dropped(Walk *w, const Block *block) {
    ItemList nowhere = {0};
    bool was = w->dropping;
    w->dropping = true;
    walk_block(w, block, &nowhere);
    w->dropping = was;
}

static void walk_action(Walk *w, const Stmt *stmt, const Action *action, ItemList *out) {
    if (action->kind == ACTION_BLOCK) {
        walk_block(w, action->block, out);
        return;
    }
    if (action->kind == ACTION_NONE || w->dropping) return;
    Item *item = item_new(w, stmt, STMT_GO);
    item->span = action->span;
    item->go = ARENA_NEW(w->r->job->arena, ItemAction);
    action_resolve(w, action, item->go);
    id_give(w, item);
    item_add(out, item);
}

static Item *case_new(Walk *w, Item *cases, const Stmt *stmt, const Test *cond) {
    Item *part = item_new(w, stmt, STMT_CASE);
    part->cond = cond;
    if (stmt->kind == STMT_CASE && stmt->cond) id_give(w, part);
    else
        part->id = cases->body || stmt->kind == STMT_CASE
                       ? format_text(w->r->job->arena, w->r->job->names, "%S.otherwise", cases->id)
                       : cases->id;
    ItemList list = {cases->body, cases->body};
    while (list.last && list.last->next) list.last = list.last->next;
    item_add(&list, part);
    cases->body = list.first;
    return part;
}

static void walk_arm(Walk *w, Item *cases, Item *part, uint32_t arm, const Block *block, const Action *action,
                     const Stmt *stmt) {
    Branch branch = {w->branch, cases, arm};
    w->branch = arena_copy(w->r->job->arena, &branch, sizeof branch);
    ItemList body = {0};
    if (block) walk_block(w, block, &body);
    if (action) walk_action(w, stmt, action, &body);
    part->body = body.first;
    w->branch = branch.up;
}

static const Action *otherwise_of(const Stmt *stmt) {
    for (const Outcome *outcome = stmt->outcomes; outcome; outcome = outcome->next)
        if (!outcome->cond) return &outcome->action;
    return NULL;
}

/* The condition of an alternative; what is missing for it is noted. */
static const Test *alternative_test(Walk *w, const Cond *cond) {
    w->r->undecided = w->r->unfitted = 0;
    const Test *test = resolve_test(w->r, cond, &w->scene);
    if (w->r->undecided) missing_add(w->r, missing_kind(w->r, w->r->undecided), w->r->undecided, cond->span, 0);
    return test;
}

static void when_decided(Walk *w, const Stmt *stmt, bool holds, const Action *otherwise, ItemList *out) {
    if (holds) {
        walk_block(w, stmt->more->block, out);
        if (otherwise && otherwise->kind == ACTION_BLOCK) walk_dropped(w, otherwise->block);
        return;
    }
    walk_dropped(w, stmt->more->block);
    if (otherwise) walk_action(w, stmt, otherwise, out);
}

static void walk_when(Walk *w, const Stmt *stmt, ItemList *out) {
    const Action *otherwise = otherwise_of(stmt);
    if (w->dropping) {
        walk_block(w, stmt->more->block, out);
        if (otherwise) walk_action(w, stmt, otherwise, out);
        return;
    }
    const Test *test = alternative_test(w, stmt->cond);
    int constant = test_constant(test);
    if (constant >= 0) {
        when_decided(w, stmt, constant == 1, otherwise, out);
        return;
    }
    Item *cases = item_new(w, stmt, STMT_CASES);
    id_give(w, cases);
    Item *yes = case_new(w, cases, stmt, test);
    walk_arm(w, cases, yes, 0, stmt->more->block, NULL, stmt);
    Item *no = case_new(w, cases, stmt, test_not(w->r, test));
    walk_arm(w, cases, no, 1, NULL, otherwise, stmt);
    if (yes->body || no->body) item_add(out, cases); /* else all of it is about what this tail has not */
}

/* What none of the alternatives before takes. */
static const Test *none_of(Walk *w, const Item *cases) {
    const Test *all = NULL;
    for (const Item *part = cases->body; part; part = part->next) {
        const Test *not = test_not(w->r, part->cond);
        all = all ? test_and(w->r, all, not ) : not ;
    }
    if (all) return all;
    Test *always = ARENA_NEW(w->r->job->arena, Test);
    always->kind = TEST_TRUE;
    return always;
}

static void walk_cases(Walk *w, const Stmt *stmt, ItemList *out) {
    if (w->dropping) {
        for (const Stmt *part = stmt->more->parts; part; part = part->next) walk_block(w, part->more->block, out);
        return;
    }
    Item *cases = item_new(w, stmt, STMT_CASES);
    CasesWork work = {cases, w->assume, false};
    id_give(w, cases);
    item_add(out, cases);
    uint32_t arm = 0;
    for (const Stmt *part = stmt->more->parts; part; part = part->next) {
        const Test *test = part->cond ? alternative_test(w, part->cond) : none_of(w, cases);
        if (!part->cond) work.has_otherwise = true;
        if (part->cond && test_constant(test) == 0) {
            walk_dropped(w, part->more->block);
            continue;
        }
        Item *item = case_new(w, cases, part, test);
        walk_arm(w, cases, item, arm++, part->more->block, NULL, part);
    }
    vec_push(w->r->job->arena, &w->work->cases, work);
}

/* ---- lines ---- */

static void walk_between(Walk *w, const Block *block, ItemList *out) {
    const Outcome *heading = w->heading;
    bool was = w->in_between;
    uint32_t tries = w->tries;
    w->heading = NULL;
    w->in_between = true;
    w->tries = 0;
    walk_block(w, block, out);
    w->heading = heading;
    w->in_between = was;
    w->tries = tries;
}

static void walk_try(Walk *w, Item *item) {
    ItemList body = {0}, between = {0};
    uint32_t cranks = w->cranks_written;
    w->tries++;
    walk_block(w, item->stmt->more->block, &body);
    w->tries--;
    item->body = body.first;
    if (item->stmt->more->between) walk_between(w, item->stmt->more->between, &between);
    item->between = between.first;
    const Timing *timing = item->stmt->more->timing;
    if ((timing && measured_written(&timing->time)) || w->cranks_written > cranks) return;
    if (first_report(w->r, FINDING_TRY_NO_COUNT, item->span))
        finding_add(w->r->job->findings, FINDING_TRY_NO_COUNT, (Span){item->span.lo, item->span.lo + 3},
                    "this try does not crank, so no starter's duty says how often; write `try up to 3 times {`, with "
                    "your number");
}

static void walk_phase(Walk *w, Item *item) {
    Name phase = w->phase;
    const Why *why = w->phase_why;
    w->phase = item->stmt->ref.name;
    w->phase_why = item->stmt->why;
    w->heading = item->stmt->outcomes;
    ItemList body = {0};
    walk_block(w, item->stmt->more->block, &body);
    item->body = body.first;
    w->heading = NULL;
    w->phase = phase;
    w->phase_why = why;
    const Outcome *heading = item->stmt->outcomes;
    if (!heading || heading->cond || heading->action.kind == ACTION_BLOCK) return;
    ItemAction *action = ARENA_NEW(w->r->job->arena, ItemAction);
    action_resolve(w, &heading->action, action);
    item->give_up = action;
}

static bool leaves_for_good(const ItemAction *action) {
    return action->kind == ACTION_TURN_TO || action->kind == ACTION_END;
}

/* Lines of groups are in the phase that does them; what a block of an outcome does is within the line's own surroundings. */
void give_ups_resolve(Item *first, const ItemAction *around, uint32_t depth) {
    for (Item *item = first; item && depth < 4 * LIMIT_NESTING; item = item->next) {
        const ItemAction *own = item->give_up && leaves_for_good(item->give_up) ? item->give_up : around;
        for (const ItemOutcome *o = item->outcomes; o; o = o->next) {
            give_ups_resolve(o->action.block, around, depth + 1);
            if (!o->cond && leaves_for_good(&o->action)) own = &o->action;
        }
        /* What a crank says is for an engine that was cranked and did not start: before that, what is around it. */
        item->give_up = own;
        item->give_up_before = item->kind == STMT_CRANK && around ? around : own;
        give_ups_resolve(item->body, own, depth + 1);
        give_ups_resolve(item->between, own, depth + 1);
    }
}

static void walk_inside(Walk *w, Item *item) {
    if (item->kind == STMT_TRY) {
        walk_try(w, item);
    } else if (item->kind == STMT_PHASE) {
        walk_phase(w, item);
        return; /* its `otherwise` is for its lines */
    } else if (item->stmt->more->block) {
        ItemList body = {0};
        if (item->kind == STMT_CRANK) w->cranks++;
        walk_block(w, item->stmt->more->block, &body);
        if (item->kind == STMT_CRANK) w->cranks--;
        item->body = body.first;
    }
    if (item->kind == STMT_CRANK) w->cranks++;
    outcomes_resolve(w, item);
    if (item->kind == STMT_CRANK) w->cranks--;
}

/* A line of a drill that is taken over, about what only other kinds of aircraft have: nobody misses it. */
static bool of_other_kinds(const Walk *w, const Stmt *stmt) {
    if (!in_library(w->r, stmt->span)) return false;
    const Named *thing = map_get(&w->r->program->things, ref_split(w->r, stmt->ref).name);
    return w->dropping || (thing && !program_sees(w->r->program, thing->decl));
}

static void drop_item(Walk *w, Item *item) {
    if (of_other_kinds(w, item->stmt)) return;
    item->named = id_words(w, item->stmt);
    item->id = name_text(w->r->job->names, item->named);
    vec_push(w->r->job->arena, &w->dropped, item);
}

static bool too_many(Walk *w, const Stmt *stmt) {
    if (++w->n_items < EXPANDED_ITEMS) return false;
    if (w->n_items == EXPANDED_ITEMS && first_report(w->r, FINDING_GROUP_DEEP, w->decl->name.span))
        finding_add(w->r->job->findings, FINDING_GROUP_DEEP, w->decl->name.span,
                    "%N has more than %u lines once its groups are written out; the rest is not read",
                    w->decl->name.name, (uint64_t)EXPANDED_ITEMS);
    (void)stmt;
    return true;
}

static void walk_item(Walk *w, const Stmt *stmt, ItemList *out) {
    if (too_many(w, stmt)) return;
    Item *item = item_new(w, stmt, (StmtKind)stmt->kind);
    if (w->dropping) {
        drop_item(w, item);
        if (stmt->more->block) walk_block(w, stmt->more->block, out);
        return;
    }
    if (item->kind == STMT_CRANK) w->cranks_written++;
    Fill fill = item_fill(w, item);
    if (fill == FILL_DROP) drop_item(w, item);
    if (fill != FILL_KEEP) return;
    id_give(w, item);
    label_give(w, item);
    item_add(out, item);
    walk_inside(w, item);
}

static const char *stmt_words(StmtKind kind) {
    switch (kind) {
    case STMT_PHASE: return "a phase";
    case STMT_BEGINS: return "`begins with`";
    case STMT_APPLIES: return "`applies when`";
    case STMT_DRILLS: return "`drills`";
    case STMT_CUE: return "`cue`";
    case STMT_ARMED: return "`armed while`";
    case STMT_KEEPS_CRANKING: return "`keeps cranking`";
    case STMT_MEMORY: return "`memory`";
    case STMT_BAD:
    case STMT_SET:
    case STMT_CHECK:
    case STMT_EXPECT:
    case STMT_LOOK:
    case STMT_CALL:
    case STMT_BRIEF:
    case STMT_WAIT:
    case STMT_CRANK:
    case STMT_TRY:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE:
    case STMT_FOR:
    case STMT_DO:
    case STMT_GO: break;
    }
    return "this line";
}

static void report_misplaced(Walk *w, const Stmt *stmt, const char *where) {
    if (!first_report(w->r, FINDING_PART_MISPLACED, stmt->span)) return;
    Span head = {stmt->span.lo, stmt->span.lo + 1};
    finding_add(w->r->job->findings, FINDING_PART_MISPLACED, head, "%s stands only %s",
                stmt_words((StmtKind)stmt->kind), where);
}

static void walk_part(Walk *w, const Stmt *stmt, ItemList *out) {
    bool phase = stmt->kind == STMT_PHASE;
    if (phase && (w->in_drill || w->n_groups)) report_misplaced(w, stmt, "in a procedure, not in a drill or a group");
    else if (!phase && (!w->in_drill || w->n_groups))
        report_misplaced(w, stmt, "in a drill, not in a procedure or a group");
    else walk_item(w, stmt, out);
}

static void walk_statement(Walk *w, const Stmt *stmt, ItemList *out) {
    switch ((StmtKind)stmt->kind) {
    case STMT_BAD:
    case STMT_CASE: return;
    case STMT_DO: walk_group(w, stmt, out); return;
    case STMT_FOR: walk_for(w, stmt, out); return;
    case STMT_WHEN: walk_when(w, stmt, out); return;
    case STMT_CASES: walk_cases(w, stmt, out); return;
    case STMT_PHASE:
    case STMT_MEMORY: walk_part(w, stmt, out); return;
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
        if (w->in_drill || w->n_groups || w->nesting > 1) report_misplaced(w, stmt, "at the head of a procedure");
        return;
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
        if (!w->in_drill || w->n_groups || w->nesting > 1) report_misplaced(w, stmt, "at the head of a drill");
        return;
    case STMT_SET:
    case STMT_CHECK:
    case STMT_EXPECT:
    case STMT_LOOK:
    case STMT_CALL:
    case STMT_BRIEF:
    case STMT_WAIT:
    case STMT_CRANK:
    case STMT_TRY:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_GO: walk_item(w, stmt, out); return;
    }
}

static void report_warning_last(Walk *w, const Stmt *last) {
    if (!first_report(w->r, FINDING_WARNING_LAST, last->span)) return;
    const char *what = last->kind == STMT_NOTE ? "note" : last->kind == STMT_CAUTION ? "caution" : "warning";
    finding_add(w->r->job->findings, FINDING_WARNING_LAST, last->span,
                "no line follows this %s; a %s is read before the line it belongs to, so put it above that line", what,
                what);
}

void walk_statements(Walk *w, const Stmt *first, ItemList *out) {
    if (w->nesting >= LIMIT_NESTING * 4) {
        if (first && first_report(w->r, FINDING_GROUP_DEEP, first->span))
            finding_add(w->r->job->findings, FINDING_GROUP_DEEP, first->span,
                        "blocks within groups are nested more than %u deep here", (uint64_t)(LIMIT_NESTING * 4));
        return;
    }
    w->nesting++;
    for (const Stmt *stmt = first; stmt; stmt = stmt->next) {
        walk_statement(w, stmt, out);
        bool remark = stmt->kind == STMT_NOTE || stmt->kind == STMT_CAUTION || stmt->kind == STMT_WARNING;
        if (remark && !stmt->next) report_warning_last(w, stmt);
    }
    w->nesting--;
}

void walk_block(Walk *w, const Block *block, ItemList *out) {
    if (block) walk_statements(w, block->first, out);
}
