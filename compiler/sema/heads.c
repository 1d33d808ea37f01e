/* Procedures and drills of one tail: their heads, their drills, their ends. */
#include "sema/items.h"

typedef struct {
    const Stmt *begins, *applies, *drills, *cue, *armed, *keeps;
} Head;

static void head_put(Walk *w, const Stmt **slot, const Stmt *stmt, const char *what) {
    if (!*slot) {
        *slot = stmt;
        return;
    }
    if (!first_report(w->r, FINDING_PART_TWICE, stmt->span)) return;
    Finding *finding = finding_add(w->r->job->findings, FINDING_PART_TWICE, stmt->span,
                                   "%N says `%s` twice; put both into one line", w->decl->name.name, what);
    finding_note(w->r->job->findings, finding, (*slot)->span, "the first stands here");
}

static Head head_read(Walk *w) {
    Head head = {0};
    for (const Stmt *part = parts_of(w->r, w->decl); part; part = part->next) {
        switch ((StmtKind)part->kind) {
        case STMT_BEGINS: head_put(w, &head.begins, part, "begins with"); break;
        case STMT_APPLIES: head_put(w, &head.applies, part, "applies when"); break;
        case STMT_DRILLS: head_put(w, &head.drills, part, "drills"); break;
        case STMT_CUE: head_put(w, &head.cue, part, "cue"); break;
        case STMT_ARMED: head_put(w, &head.armed, part, "armed while"); break;
        case STMT_KEEPS_CRANKING: head_put(w, &head.keeps, part, "keeps cranking"); break;
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
        case STMT_GO:
        case STMT_PHASE:
        case STMT_MEMORY: break;
        }
    }
    return head;
}

static const Test *head_test(Walk *w, const Stmt *stmt) {
    if (!stmt || !stmt->cond) return NULL;
    w->r->undecided = w->r->unfitted = 0;
    const Test *test = resolve_test(w->r, stmt->cond, &w->scene);
    if (w->r->undecided && missing_kind(w->r, w->r->undecided) != MISSING_FITTED)
        missing_add(w->r, MISSING_VALUE, w->r->undecided, stmt->cond->span, 0);
    else if (w->r->undecided) missing_add(w->r, MISSING_FITTED, w->r->undecided, stmt->cond->span, 0);
    return test;
}

/* ---- does the text say how it ends? ---- */

static bool action_leaves(const ItemAction *action);

/* Does no run get past these lines? */
static bool leaves(const Item *item) {
    for (; item; item = item->next) {
        if (item->kind == STMT_GO && item->go && action_leaves(item->go)) return true;
        if ((item->kind == STMT_PHASE || item->kind == STMT_MEMORY) && leaves(item->body)) return true;
        if (item->kind != STMT_CASES) continue;
        bool every = item->body != NULL;
        for (const Item *part = item->body; part && every; part = part->next) every = leaves(part->body);
        if (every) return true;
    }
    return false;
}

static bool action_leaves(const ItemAction *action) {
    return action->kind != ACTION_BLOCK || leaves(action->block);
}

static void check_end(Walk *w, const Item *items) {
    if (leaves(items)) return;
    for (const Stmt *part = parts_of(w->r, w->decl); part; part = part->next)
        if (part->kind == STMT_BAD) return;
    if (!first_report(w->r, FINDING_NO_END, w->decl->name.span)) return;
    finding_add(w->r->job->findings, FINDING_NO_END, w->decl->name.span,
                w->in_drill
                    ? "after the last line of %N nothing says how it ends; end it with `end SECURED`, `end ABANDONED`, "
                      "`end READY`, or turn to another drill"
                    : "after the last line of %N nothing says how it ends; end it with `end RUNNING` or another end",
                w->decl->name.name);
}

static bool acts(const Item *item) {
    for (; item; item = item->next) {
        bool remark = item->kind == STMT_NOTE || item->kind == STMT_CAUTION || item->kind == STMT_WARNING;
        bool only_looks = item->kind == STMT_CHECK || item->kind == STMT_EXPECT || item->kind == STMT_WAIT ||
                          item->kind == STMT_LOOK || item->kind == STMT_WATCH || item->kind == STMT_GO;
        bool holder =
            item->kind == STMT_MEMORY || item->kind == STMT_CASES || item->kind == STMT_CASE || item->kind == STMT_TRY;
        if (!remark && !only_looks && !holder) return true;
        if (item->go && item->go->kind == ACTION_TURN_TO) return true;
        if (acts(item->body)) return true;
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.kind == ACTION_TURN_TO || acts(outcome->action.block)) return true;
    }
    return false;
}

/* ---- procedures ---- */

static Walk walk_begin(Resolver *r, const Decl *decl, uint32_t engine, bool drill) {
    Walk w = {.r = r, .work = r->items, .decl = decl, .in_drill = drill};
    w.scene = (Scene){.engine = engine, .home = decl};
    return w;
}

/* `applies when` can be taken for granted within the procedure where nobody can change what it asks for. */
static bool lasting(const Resolver *r, const Test *test) {
    if (test->kind == TEST_FACT) {
        FactKind kind = r->facts.at[test->fact].kind;
        return kind == FACT_SCENE || kind == FACT_GAUGE;
    }
    for (const Test *part = test->parts; part; part = part->next)
        if (!lasting(r, part)) return false;
    return true;
}

/* A procedure for equipment that this tail has not drops out, as a line would. */
static bool never_applies(const Procedure *procedure) {
    return procedure->applies && test_constant(procedure->applies) == 0;
}

static void procedure_resolve(Resolver *r, const Decl *decl) {
    Walk w = walk_begin(r, decl, NO_INDEX, false);
    Head head = head_read(&w);
    Procedure procedure = {
        .decl = decl, .name = decl->name.name, .index = (uint32_t)r->items->procedures.n, .drills_line = head.drills};
    procedure.title = text_raw(r->job, decl->text);
    procedure.begins = head_test(&w, head.begins);
    procedure.applies = head_test(&w, head.applies);
    if (never_applies(&procedure)) return;
    if (procedure.applies) {
        test_freeze(r, procedure.applies);
        if (lasting(r, procedure.applies)) w.assume = procedure.applies;
    }
    drills_taken(&w, &procedure);
    ItemList items = {0};
    walk_statements(&w, parts_of(r, decl), &items);
    procedure.items = items.first;
    give_ups_resolve(items.first, NULL, 0);
    check_end(&w, items.first);
    procedure.dropped = w.dropped.at;
    procedure.n_dropped = (uint32_t)w.dropped.n;
    ids_keep(&w);
    vec_push(r->job->arena, &r->items->procedures, procedure);
}

/* ---- drills ---- */

static void check_armed(Walk *w, const Head *head) {
    if (!head->cue == !head->armed) return;
    const Stmt *alone = head->cue ? head->cue : head->armed;
    if (!first_report(w->r, FINDING_DRILL_HALF_ARMED, alone->span)) return;
    finding_add(w->r->job->findings, FINDING_DRILL_HALF_ARMED, alone->span,
                head->cue ? "%N has a cue, but nothing says when it counts; add `armed while …`"
                          : "%N is armed, but nothing says what calls for it; add a `cue`, or take `armed while` away "
                            "if it is only turned to",
                w->decl->name.name);
}

static void drill_resolve(Resolver *r, size_t index) {
    DrillWork work = r->items->drill_work.at[index];
    Walk w = walk_begin(r, work.decl, work.engine, true);
    Head head = head_read(&w);
    Drill drill = r->items->drills.at[index];
    drill.title = text_raw(r->job, work.decl->text);
    w.scene.in_cue = true;
    drill.cue = head_test(&w, head.cue);
    w.scene.in_cue = false;
    drill.armed = head_test(&w, head.armed);
    drill.keeps_cranking = head.keeps != NULL;
    check_armed(&w, &head);
    ItemList items = {0};
    walk_statements(&w, parts_of(r, work.decl), &items);
    drill.items = items.first;
    check_end(&w, items.first);
    if (!acts(items.first) && first_report(r, FINDING_DRILL_NO_ACTION, work.decl->name.span))
        finding_add(r->job->findings, FINDING_DRILL_NO_ACTION, work.decl->name.span,
                    "%N tells the crew to do nothing; a drill has at least one line that sets, says or does something",
                    work.decl->name.name);
    drill.dropped = w.dropped.at;
    drill.n_dropped = (uint32_t)w.dropped.n;
    ids_keep(&w);
    r->items->drills.at[index] = drill;
}

/* ---- all of a tail ---- */

static bool same_aircraft(const Decl *a, const Decl *b) {
    if (!a->more->words || !b->more->words) return !a->more->words && !b->more->words;
    for (const WordList *x = a->more->words; x; x = x->next)
        for (const WordList *y = b->more->words; y; y = y->next)
            if (x->word.name == y->word.name) return true;
    return false;
}

/* Names are unique per aircraft. Pairs for the very same aircraft are found without any tail (name-twice); these meet only here. */
static void check_names(Resolver *r, DeclKind kind) {
    const Decl **decls;
    size_t n = program_all_for(r->program, kind, r->tail->decl, &decls);
    for (size_t i = 0; i < n; i++) {
        const Decl *decl = decls[i];
        if (!decl->name.name || (program_in_library(r->program, decl) && !program_sees(r->program, decl))) continue;
        const Decl *other = find_for_tail(r, DECL_PROCEDURE, decl->name.name);
        if (!other || other == decl) other = find_for_tail(r, DECL_DRILL, decl->name.name);
        if (!other || other == decl || (other->kind == decl->kind && !decl->more->words != !other->more->words))
            continue;
        if (same_aircraft(decl, other) || !first_report(r, FINDING_PROCEDURE_TWICE, decl->name.span)) continue;
        Finding *finding =
            finding_add(r->job->findings, FINDING_PROCEDURE_TWICE, decl->name.span,
                        "%N has %s called %N already; procedures and drills of one aircraft have names of their own",
                        r->tail->name, decl_kind_words(other->kind), decl->name.name);
        finding_note(r->job->findings, finding, other->name.span, "the other stands here");
    }
}

void items_resolve(Resolver *r) {
    Arena *arena = r->job->arena;
    ItemWork *work = ARENA_NEW(arena, ItemWork);
    r->items = work;
    work->labels.arena = work->drill_at.arena = work->needs.arena = work->walked.arena = arena;
    work->trees.arena = work->adapted.arena = arena;
    adaptations_apply(r);
    labels_collect(r);
    check_names(r, DECL_PROCEDURE);
    check_names(r, DECL_DRILL);
    const Decl **decls;
    size_t n = program_all_for(r->program, DECL_PROCEDURE, r->tail->decl, &decls);
    for (size_t i = 0; i < n; i++)
        if (find_for_tail(r, DECL_PROCEDURE, decls[i]->name.name) == decls[i]) procedure_resolve(r, decls[i]);
    for (size_t i = 0; i < work->drills.n; i++) drill_resolve(r, i); /* grows while it goes */
    drills_finish(r);
    drills_release(r);
    r->tail->procedures = work->procedures.at;
    r->tail->n_procedures = (uint32_t)work->procedures.n;
    r->tail->drills = work->drills.at;
    r->tail->n_drills = (uint32_t)work->drills.n;
    adaptations_check(r);
}

void items_check(Resolver *r) {
    for (size_t i = 0; i < r->items->cases.n; i++) cases_check(r, &r->items->cases.at[i]);
    missing_report(r); /* the last: lines, gates and texts have asked for what they need */
}
