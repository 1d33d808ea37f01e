/* Which drills can break into a procedure: those of its own `drills` line, then those that its aircraft takes over for all procedures;
   by name, or all drills of a file that have a cue. */
#include "sema/craft.h"
#include "sema/items.h"
#include "sema/program_parts.h"

typedef struct {
    Walk *w;
    VEC(uint32_t) list;
    NameMap files; /* base of a source + 1 -> set: its drills are taken */
} Taking;

static bool have(const Taking *taking, uint32_t drill) {
    for (size_t i = 0; i < taking->list.n; i++)
        if (taking->list.at[i] == drill) return true;
    return false;
}

/* True: it is there now; false: it was before, or it cannot be told for which engine. */
static bool take(Taking *taking, Word word, const Decl *drill) {
    Resolver *r = taking->w->r;
    uint32_t copies = drill_per_engine(r, drill) ? r->tail->n_engines : 1;
    bool fresh = false;
    for (uint32_t engine = 0; engine < copies; engine++) {
        uint32_t at = drill_index(r, word, drill, engine, taking->w->decl);
        if (at == NO_INDEX || have(taking, at)) continue;
        vec_push(r->job->arena, &taking->list, at);
        fresh = true;
    }
    return fresh;
}

/* ---- all drills of a file ---- */

static const Cond *head_cond(const Resolver *r, const Decl *drill, StmtKind kind) {
    for (const Stmt *part = parts_of(r, drill); part; part = part->next)
        if (part->kind == kind) return part->cond;
    return NULL;
}

/* What asks for equipment or a kind that the aircraft has not: such a drill is not for it. */
static bool never_holds(Resolver *r, const Decl *drill, const Cond *cond) {
    Scene scene = {.engine = drill_per_engine(r, drill) ? 0 : NO_INDEX, .in_cue = true, .home = drill};
    Name undecided = r->undecided, unfitted = r->unfitted;
    bool never = test_constant(resolve_test(r, cond, &scene)) == 0;
    r->undecided = undecided;
    r->unfitted = unfitted;
    return never;
}

static void take_of_file(Taking *taking, Word word, const Decl *decl) {
    Resolver *r = taking->w->r;
    const Decl *drill = find_for_tail(r, DECL_DRILL, decl->name.name); /* its own, where it has one of that name */
    const Cond *cue = drill ? head_cond(r, drill, STMT_CUE) : NULL;
    const Cond *armed = cue ? head_cond(r, drill, STMT_ARMED) : NULL;
    if (!armed || never_holds(r, drill, armed) || never_holds(r, drill, cue)) return;
    (void)take(taking, word, drill);
}

static const ProgramFile *file_of_drills(const Program *program, Str path) {
    for (size_t i = 0; i < program->order.n; i++)
        if (str_eq(program->order.at[i]->file->source->path, path)) return program->order.at[i];
    return NULL;
}

/* The files that it uses come first; their drills belong to the family, too. */
static void take_file(Taking *taking, Word word, const ProgramFile *first) {
    Arena *arena = taking->w->r->job->arena;
    VEC(const ProgramFile *) stack = {0};
    taking->files.arena = arena;
    vec_push(arena, &stack, first);
    while (stack.n > 0) {
        const ProgramFile *file = stack.at[--stack.n];
        uint32_t key = file->file->source->base + 1;
        if (map_get(&taking->files, key)) continue;
        map_put(&taking->files, key, taking);
        for (size_t i = 0; i < file->uses.n; i++) vec_push(arena, &stack, file->uses.at[i]);
        for (const Decl *decl = file->file->first; decl; decl = decl->next)
            if (decl->kind == DECL_DRILL) take_of_file(taking, word, decl);
    }
}

/* ---- words of a line ---- */

static bool is_path(const Resolver *r, Word word) {
    Str text = name_text(r->job->names, word.name);
    return memchr(text.ptr, '/', text.len) != NULL;
}

static void take_path(Taking *taking, Word word) {
    Resolver *r = taking->w->r;
    const ProgramFile *file = file_of_drills(r->program, name_text(r->job->names, word.name));
    if (file) take_file(taking, word, file);
    else if (first_report(r, FINDING_NAME_UNKNOWN, word.span))
        finding_add(r->job->findings, FINDING_NAME_UNKNOWN, word.span,
                    "%N is no file of drills that is read here; bring it in with `use %N`", word.name, word.name);
}

static void take_words(Taking *taking, const WordList *word, bool own_line) {
    Resolver *r = taking->w->r;
    for (; word; word = word->next) {
        if (is_path(r, word->word)) {
            take_path(taking, word->word);
            continue;
        }
        const Decl *drill = drill_find(r, word->word);
        if (!drill || take(taking, word->word, drill) || !own_line) continue;
        if (first_report(r, FINDING_CLAUSE_TWICE, word->word.span))
            finding_add(r->job->findings, FINDING_CLAUSE_TWICE, word->word.span, "%N stands in this line already",
                        word->word.name);
    }
}

void drills_taken(Walk *w, Procedure *procedure) {
    Taking taking = {.w = w};
    if (procedure->drills_line) take_words(&taking, procedure->drills_line->more->words, true);
    CraftLines lines = craft_lines(w->r, w->r->tail->decl, CRAFT_DRILLS);
    for (size_t i = 0; i < lines.n; i++) take_words(&taking, lines.at[i].craft->words, false);
    procedure->drills = taking.list.at;
    procedure->n_drills = (uint32_t)taking.list.n;
}
