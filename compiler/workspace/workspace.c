#include "workspace/workspace.h"
#include "workspace/library.h"
#include <stdlib.h>
#include <string.h>

Str text_in(SwText text) {
    return (Str){text.ptr ? text.ptr : "", text.len};
}
SwText text_out(Str text) {
    return (SwText){text.ptr ? text.ptr : "", text.len};
}

/* Names and sources begin with those of the library. Its syntax trees are shared, these tables grow. */
static void begin_with_library(SwWorkspace *workspace) {
    Arena *arena = &workspace->arena;
    Names *names = &workspace->names;
    Sources *sources = &workspace->sources;
    *names = library_prepared.names;
    *sources = library_prepared.sources;
    names->arena = sources->arena = arena;
    names->text = arena_copy(arena, names->text, names->cap * sizeof *names->text);
    names->slots = arena_copy(arena, names->slots, ((size_t)names->slot_mask + 1) * sizeof *names->slots);
    sources->at = arena_copy(arena, sources->at, sources->cap * sizeof(Source *));
}

/* False: no memory. */
static bool workspace_init(SwWorkspace *workspace) {
    if (setjmp(workspace->exhausted)) return false;
    workspace->arena.exhausted = &workspace->exhausted;
    workspace->unit_arena.exhausted = &workspace->exhausted;
    workspace->tail_arena.exhausted = &workspace->exhausted;
    begin_with_library(workspace);
    workspace->texts.arena = &workspace->arena;
    return true;
}

SwWorkspace *sw_open(const SwHost *host) {
    SwWorkspace *workspace = calloc(1, sizeof *workspace);
    if (!workspace) return NULL;
    if (host) workspace->host = *host;
    if (workspace_init(workspace)) return workspace;
    sw_close(workspace);
    return NULL;
}

void sw_close(SwWorkspace *workspace) {
    if (!workspace) return;
    if (workspace->room) check_room_free(workspace->room);
    arena_free(&workspace->tail_arena);
    arena_free(&workspace->unit_arena);
    arena_free(&workspace->arena);
    free(workspace);
}

bool sw_set_text(SwWorkspace *workspace, SwText path, SwText text) {
    if (setjmp(workspace->exhausted)) return false;
    Str name = str_copy(&workspace->arena, text_in(path));
    Source *source = source_add(&workspace->sources, name, text_in(text), false);
    if (!source) return false;
    map_put(&workspace->texts, name_intern(&workspace->names, name), source);
    return true;
}

/* What the aircraft leaves open makes the gates over it undecided; the others can be proved all the same. */
static bool leaves_open(FindingKind kind) {
    return kind == FINDING_VALUE_MISSING || kind == FINDING_EQUIPMENT_UNDECIDED;
}

/* Errors of the text, which leave no model worth proving. */
static bool has_errors(Unit *unit) {
    for (; unit->n_judged < unit->findings.list.n; unit->n_judged++) {
        const Finding *finding = unit->findings.list.at[unit->n_judged];
        unit->text_wrong |= finding->severity == SEVERITY_ERROR && !leaves_open(finding->kind);
    }
    return unit->text_wrong;
}

static bool any_broken(const Unit *unit) {
    for (size_t i = 0; i < unit->files.n; i++)
        if (unit->files.at[i]->broken) return true;
    return false;
}

static bool tail_wanted(const Unit *unit, const Decl *decl) {
    Str wanted = text_in(unit->goal.tail);
    return !wanted.len || str_eq(wanted, name_text(unit->job.names, decl->name.name));
}

/* Outputs, and the code an approval is compared with, are made from the model. */
static bool keeps_tails(const Unit *unit) {
    if (unit->goal.kind == SW_GOAL_ISSUE) return true;
    if (unit->goal.kind == SW_GOAL_GATES || unit->goal.kind == SW_GOAL_LINES) return false;
    const Decl **documents;
    size_t n = program_all(unit->program, DECL_DOCUMENT, &documents);
    for (size_t i = 0; i < n; i++)
        for (const DocLine *line = documents[i]->u.doclines; line; line = line->next)
            if (line->kind == DOC_APPROVED) return true;
    return false;
}

static void prove_tail(Unit *unit, UnitTail *at, Job job) {
    SwWorkspace *workspace = unit->workspace;
    size_t lowered = job.findings->list.n;
    at->model = model_lower(&job, at->tail);
    findings_of_tail(&job, at->tail, lowered);
    if (!at->model || has_errors(unit)) return;
    CheckBudget budget = {0, workspace->host.stop, workspace->host.context};
    if (!workspace->room) workspace->room = check_room_new(&workspace->arena);
    job.findings = &unit->proofs;
    size_t n = unit->proofs.list.n;
    at->result = check_model_in(workspace->room, &job, at->model, budget);
    if (unit->goal.details) check_details(workspace->room);
    if (unit->goal.details && unit->goal.kind == SW_GOAL_CHECK) check_text_times(workspace->room);
    unit_make_editions(unit, at->tail->decl, at);
    unit_publish_proof(unit, at, n);
}

/* All that is made of one tail lies in the arena; what is told of it is copied out. */
static void compile_tail(Unit *unit, const Decl *decl, Arena *arena) {
    Job job = unit->job;
    job.arena = arena;
    UnitTail at = {program_tail(&job, unit->program, decl), NULL, NULL, NULL, 0, false};
    /* Lines are also listed of a text with errors: whoever mends them wants to know how lines are named. */
    if (at.tail && unit->goal.kind == SW_GOAL_LINES) unit_publish_lines(unit, at.tail, &job);
    else if (at.tail && !has_errors(unit)) {
        if (unit->goal.kind == SW_GOAL_GATES) unit_publish_gates(unit, at.tail);
        else if (!at.tail->lines_open) prove_tail(unit, &at, job); /* else its lines are not all there */
    }
    if (arena == unit->job.arena && at.tail) vec_push(arena, &unit->tails, at);
    else arena_reset(arena);
}

/* Tail after tail is resolved and proved. Once the text shows an error the other tails are only resolved, so that one run
   reports every error of the text, and what was proved before is dropped: the text will change. */
static void compile_tails(Unit *unit) {
    Arena *arena = keeps_tails(unit) ? unit->job.arena : &unit->workspace->tail_arena;
    size_t n = program_tail_count(unit->program), found = 0;
    for (size_t i = 0; i < n; i++) {
        const Decl *decl = program_tail_decl(unit->program, i);
        if (!tail_wanted(unit, decl)) continue;
        found++;
        compile_tail(unit, decl, arena);
    }
    if (!found && unit->goal.tail.len && !has_errors(unit))
        finding_add(&unit->findings, FINDING_NO_SUCH_TAIL, (Span){0, 0}, "no tail is called \"%S\" here",
                    text_in(unit->goal.tail));
    if (has_errors(unit) && unit->goal.kind != SW_GOAL_LINES) unit_drop_proofs(unit);
    findings_append(&unit->findings, &unit->proofs);
}

static void compile_meaning(Unit *unit) {
    size_t n = unit->files.n; /* a `use` adds files while the program is read */
    File *const *files = arena_copy(unit->job.arena, unit->files.at, n * sizeof(File *));
    unit->program = program_open(&unit->job, files, n, unit_loader(unit));
    if (any_broken(unit)) return;
    compile_tails(unit);
    unit_apply_ranks(unit);
    unit_apply_waivers(unit);
    unit_apply_known(unit);
    if (unit->goal.list_known) unit_list_known(unit);
}

static Unit *unit_open(SwWorkspace *workspace, const SwGoal *goal) {
    if (workspace->room) check_room_free(workspace->room); /* after a proof that was left half done, too */
    arena_free(&workspace->tail_arena);
    arena_free(&workspace->unit_arena);
    workspace->unit = NULL;
    Unit *unit = ARENA_NEW(&workspace->unit_arena, Unit);
    unit->workspace = workspace;
    unit->findings.arena = unit->proofs.arena = &workspace->unit_arena;
    unit->findings.names = unit->proofs.names = &workspace->names;
    unit->job = (Job){&workspace->unit_arena, &workspace->names, &workspace->sources, &unit->findings};
    unit->goal = *goal;
    workspace->unit = unit;
    return unit;
}

const SwUnit *sw_compile(SwWorkspace *workspace, const SwText *paths, size_t n_paths, const SwGoal *goal) {
    if (setjmp(workspace->exhausted)) return NULL;
    Unit *unit = unit_open(workspace, goal);
    unit_read_files(unit, paths, n_paths);
    if (goal->kind != SW_GOAL_PARSE && !any_broken(unit) && unit->n_main) compile_meaning(unit);
    unit_judge_tails(unit);
    unit_publish(unit);
    if (goal->kind == SW_GOAL_ISSUE) unit_list_outputs(unit);
    return &unit->public;
}

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

bool sw_emit(const SwUnit *public, size_t output, SwSink sink, SwText *why_not) {
    const Unit *unit = (const Unit *)(const void *)public;
    *why_not = (SwText){0};
    if (output >= public->n_outputs) {
        *why_not = text_out(STR("there is no such output"));
        return false;
    }
    if (setjmp(unit->workspace->exhausted)) return false;
    struct UnitOutput at = unit->outputs[output];
    const UnitTail *tail = &unit->tails.at[at.tail];
    const BackEnd *back = &back_ends[at.back_end];
    const Press *press = back->drawn ? find_press(&unit->workspace->host, why_not) : NULL;
    if (back->drawn && !press) return false;
    Str because = {0};
    BackInput input = {.job = &unit->job,
                       .tail = tail->tail,
                       .model = tail->model,
                       .result = tail->result,
                       .edition = &tail->editions[at.edition],
                       .press = press,
                       .program = unit->program,
                       .why_not = &because};
    bool made = back->emit(&input, (Sink){sink.context, sink.write});
    if (!made) *why_not = text_out(because);
    return made;
}
