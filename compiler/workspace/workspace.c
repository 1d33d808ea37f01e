#include "workspace/workspace.h"
#include "workspace/lanes.h"
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
    lanes_close(workspace);
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

static bool any_broken(const Unit *unit) {
    for (size_t i = 0; i < unit->files.n; i++)
        if (unit->files.at[i]->broken) return true;
    return false;
}

Unit *unit_open(SwWorkspace *workspace, const SwGoal *goal) {
    if (workspace->room) check_room_free(workspace->room); /* after a proof that was left half done, too */
    lanes_close(workspace);
    arena_free(&workspace->tail_arena);
    arena_free(&workspace->unit_arena);
    workspace->unit = NULL;
    workspace->at_hand = NULL;
    Unit *unit = ARENA_NEW(&workspace->unit_arena, Unit);
    unit->workspace = workspace;
    unit->findings.arena = &workspace->unit_arena;
    unit->findings.names = &workspace->names;
    unit->job = (Job){&workspace->unit_arena, &workspace->names, &workspace->sources, &unit->findings};
    unit->goal = *goal;
    workspace->unit = unit;
    return unit;
}

void unit_read(Unit *unit, const SwText *paths, size_t n_paths) {
    unit->paths = paths;
    unit->n_paths = n_paths;
    unit_read_files(unit, paths, n_paths);
    if (unit->goal.kind == SW_GOAL_PARSE || any_broken(unit) || !unit->n_main) return;
    size_t n = unit->files.n; /* a `use` adds files while the program is read */
    File *const *files = arena_copy(unit->job.arena, unit->files.at, n * sizeof(File *));
    Program *program = program_open(&unit->job, files, n, unit_loader(unit));
    if (!any_broken(unit)) unit->program = program;
}

static void compile_meaning(Unit *unit) {
    unit_read_earlier(unit);
    unit_compile_tails(unit);
    unit_apply_ranks(unit);
    unit_judge_days(unit);
    unit_apply_known(unit);
    if (unit->goal.list_known) unit_list_known(unit);
}

const SwUnit *sw_compile(SwWorkspace *workspace, const SwText *paths, size_t n_paths, const SwGoal *goal) {
    if (setjmp(workspace->exhausted)) return NULL;
    Unit *unit = unit_open(workspace, goal);
    unit_read(unit, paths, n_paths);
    if (unit->program) compile_meaning(unit);
    unit_judge_tails(unit);
    unit_publish(unit);
    if (goal->kind == SW_GOAL_ISSUE) unit_list_outputs(unit);
    return &unit->public;
}
