/* The lines of one procedure as a tree of its own, in which an adaptation can change them. */
#include "sema/adapt.h"
#include "sema/craft.h"

enum { COPIED_LINES = 100000 }; /* past it groups stay as they are: the walk over them tells that they are too many */

void line_link(Line *line, LineList *list, Line *before) {
    line->list = list;
    line->next = before;
    line->prev = before ? before->prev : list->last;
    *(line->prev ? &line->prev->next : &list->first) = line;
    *(before ? &before->prev : &list->last) = line;
}

void line_unlink(Line *line) {
    *(line->prev ? &line->prev->next : &line->list->first) = line->next;
    *(line->next ? &line->next->prev : &line->list->last) = line->prev;
    line->prev = line->next = NULL;
}

bool line_is_remark(const Line *line) {
    return line->stmt->kind == STMT_NOTE || line->stmt->kind == STMT_CAUTION || line->stmt->kind == STMT_WARNING;
}

/* ---- ids ---- */

/* What stands in the head of a procedure or drill has none; nor have lines that are written out. */
static bool has_id(const Stmt *stmt) {
    static const bool without[STMT_MEMORY + 1] = {
        [STMT_BAD] = true,    [STMT_FOR] = true,     [STMT_DO] = true,
        [STMT_BEGINS] = true, [STMT_APPLIES] = true, [STMT_DRILLS] = true,
        [STMT_CUE] = true,    [STMT_ARMED] = true,   [STMT_KEEPS_CRANKING] = true};
    return stmt->label.name || (!without[stmt->kind] && !(stmt->kind == STMT_CASE && !stmt->cond));
}

static void give_id(LineTree *tree, Line *line, Name engine) {
    Names *names = tree->r->job->names;
    if (!has_id(line->stmt)) return;
    line->id = id_words(tree->walk, line->stmt);
    if (engine) line->id = name_intern(names, format_text(tree->r->job->arena, names, "%N.%N", engine, line->id));
    line->same = map_get(&tree->by_id, line->id);
    map_put(&tree->by_id, line->id, line);
}

static bool about_unfitted(const Resolver *r, const Stmt *stmt) {
    if (!stmt->ref.name || stmt->kind == STMT_PHASE || stmt->kind == STMT_DO || stmt->kind == STMT_FOR) return false;
    const uint32_t *at = map_get(&r->things, ref_split(r, stmt->ref).name);
    return at && r->tail->things[*at - 1].fitted == FITTED_NO;
}

/* ---- copies ---- */

/* A list inside `owner`: of what stands there, with what is taken from the list around it. */
static void copy_list(LineTree *tree, const LineList *around, const Stmt *stmts, Stmt **head, Line *owner) {
    LineList *list = ARENA_NEW(tree->r->job->arena, LineList);
    *list = *around;
    list->first = list->last = NULL;
    list->head = head;
    list->owner = owner;
    if (owner) owner->holds = true;
    list->depth++;
    vec_push(tree->r->job->arena, &tree->lists, list);
    lines_put(tree, list, stmts, NULL);
}

static Block *copy_block(LineTree *tree, const LineList *around, const Block *block, Line *owner) {
    Block *copy = arena_copy(tree->r->job->arena, block, sizeof *block);
    copy_list(tree, around, block->first, &copy->first, owner);
    return copy;
}

static void copy_outcomes(LineTree *tree, const LineList *around, Line *line) {
    for (Outcome **at = &line->stmt->outcomes; *at; at = &(*at)->next) {
        *at = arena_copy(tree->r->job->arena, *at, sizeof **at);
        Action *action = &(*at)->action;
        if (action->kind == ACTION_BLOCK && action->block)
            action->block = copy_block(tree, around, action->block, line);
    }
}

static bool may_write_out(const LineTree *tree, const Decl *group) {
    bool open = tree->n_groups == LIMIT_GROUP_DEPTH || tree->n_lines >= COPIED_LINES;
    for (uint32_t i = 0; !open && i < tree->n_groups; i++) open = tree->groups[i] == group;
    return !open;
}

/* A group's lines become the procedure's own: a `do` with a block. */
static void write_out(LineTree *tree, const LineList *around, Line *line, StmtMore *more) {
    const Decl *group = find_group(tree->r, line->stmt->ref.name);
    if (!group || !may_write_out(tree, group)) return;
    tree->groups[tree->n_groups++] = group;
    Block lines = {group->span, group->u.parts};
    more->block = copy_block(tree, around, &lines, line);
    tree->n_groups--;
}

static int decided(const LineTree *tree, const Stmt *stmt) {
    bool alternative = stmt->kind == STMT_WHEN || stmt->kind == STMT_CASE;
    return alternative && stmt->cond ? cond_by_kind(tree->r, stmt->cond) : -1;
}

static void copy_inside(LineTree *tree, Line *line) {
    Stmt *stmt = line->stmt;
    LineList inner = *line->list, other = *line->list;
    if (inner.depth > LIMIT_NESTING * 4) return; /* told where the lines are walked */
    int holds = decided(tree, stmt);
    inner.dropped |= holds == 0;
    other.dropped |= holds == 1;
    if (stmt->kind == STMT_FOR && tree->r->tail->n_engines > 1) inner.engine = stmt->ref.name;
    copy_outcomes(tree, &other, line);
    if (stmt->more == &stmt_no_more && stmt->kind != STMT_DO) return;
    StmtMore *more = arena_copy(tree->r->job->arena, stmt->more, sizeof *more);
    stmt->more = more;
    if (stmt->kind == STMT_DO) write_out(tree, &inner, line, more);
    else if (more->block) more->block = copy_block(tree, &inner, more->block, line);
    if (more->between) more->between = copy_block(tree, &inner, more->between, line);
    if (more->parts) copy_list(tree, &inner, more->parts, &more->parts, line);
}

static void put_line(LineTree *tree, LineList *list, const Stmt *stmt, Name engine, Line *before) {
    Line *line = ARENA_NEW(tree->r->job->arena, Line);
    line->stmt = arena_copy(tree->r->job->arena, stmt, sizeof *stmt);
    line->dropped = list->dropped || about_unfitted(tree->r, stmt);
    if (engine) line->stmt->ref.name = engine;
    give_id(tree, line, list->engine);
    line_link(line, list, before);
    tree->n_lines++;
    copy_inside(tree, line);
}

/* What stands in `for each engine` is a line of its own for each of them. */
void lines_put(LineTree *tree, LineList *list, const Stmt *stmts, Line *before) {
    const Tail *tail = tree->r->tail;
    for (const Stmt *stmt = stmts; stmt; stmt = stmt->next) {
        bool each = stmt->kind == STMT_FOR && !stmt->ref.name && tail->n_engines > 1;
        for (uint32_t i = 0; i < (each ? tail->n_engines : 1); i++)
            put_line(tree, list, stmt, each ? tail->engines[i] : 0, before);
    }
}

Name line_phase(const Line *line) {
    const Line *owner = line->list->owner;
    while (owner && owner->stmt->kind != STMT_PHASE) owner = owner->list->owner;
    return owner ? owner->stmt->ref.name : 0;
}

LineTree *lines_open(Resolver *r, const Decl *decl) {
    Arena *arena = r->job->arena;
    LineTree *tree = ARENA_NEW(arena, LineTree);
    tree->r = r;
    tree->decl = decl;
    tree->walk = ARENA_NEW(arena, Walk);
    tree->walk->r = r;
    tree->by_id.arena = arena;
    copy_list(tree, &(LineList){0}, decl->u.parts, &tree->parts, NULL);
    return tree;
}

const Stmt *lines_close(LineTree *tree) {
    for (size_t i = 0; i < tree->lists.n; i++) {
        const LineList *list = tree->lists.at[i];
        *list->head = list->first ? list->first->stmt : NULL;
        for (Line *line = list->first; line; line = line->next) line->stmt->next = line->next ? line->next->stmt : NULL;
    }
    return tree->parts;
}
