/* Files, their `use`s, and every declaration by its name. */
#include "sema/program_parts.h"

enum { SUGGESTION_BUDGET = 4000000 };

bool decl_is_thing(uint8_t kind) {
    return kind == DECL_CONTROL || kind == DECL_SCENE || kind == DECL_GAUGE || kind == DECL_LIGHT ||
           kind == DECL_PERSON || kind == DECL_CALL || kind == DECL_BRIEFING;
}

const char *decl_kind_words(uint8_t kind) {
    static const char *const words[DECL_KINDS] = {
        [DECL_BAD] = "something",        [DECL_USE] = "a file",          [DECL_CONTROL] = "a control",
        [DECL_SCENE] = "a scene",        [DECL_GAUGE] = "a gauge",       [DECL_LIGHT] = "a light",
        [DECL_PERSON] = "a person",      [DECL_CALL] = "a call",         [DECL_BRIEFING] = "a briefing",
        [DECL_KIND] = "a kind",          [DECL_SOURCE] = "a source",     [DECL_LINES] = "lines of a handbook",
        [DECL_AIRCRAFT] = "an aircraft", [DECL_TAIL] = "a tail",         [DECL_PROCEDURE] = "a procedure",
        [DECL_DRILL] = "a drill",        [DECL_GROUP] = "a group",       [DECL_EVENT] = "an event",
        [DECL_STATE] = "a state",        [DECL_GATE] = "a gate",         [DECL_STANDARD] = "a standard",
        [DECL_WAIVE] = "a waiver",       [DECL_ADAPT] = "an adaptation", [DECL_DOCUMENT] = "a document",
        [DECL_FLEET] = "a fleet",        [DECL_WORDING] = "a wording"};
    return kind < DECL_KINDS ? words[kind] : "something";
}

ProgramFile *program_file_of(const Program *program, Span span) {
    const Source *source = source_at(program->job->sources, span.lo);
    return source ? map_get(&program->files, source->base + 1) : NULL;
}

bool program_first(Program *program, FindingKind kind, Span span) {
    NameMap *map = &program->reported[kind];
    if (map_get(map, span.lo + 1)) return false;
    map->arena = program->job->arena;
    map_put(map, span.lo + 1, program);
    return true;
}

/* ---- reading files ---- */

static ProgramFile *file_enter(Program *program, File *file) {
    ProgramFile *known = map_get(&program->files, file->source->base + 1);
    if (known) return known;
    known = ARENA_NEW(program->job->arena, ProgramFile);
    known->file = file;
    map_put(&program->files, file->source->base + 1, known);
    return known;
}

static void report_circle(Program *program, ProgramFile *const *stack, size_t depth, const ProgramFile *target,
                          const Decl *use) {
    Findings *findings = program->job->findings;
    size_t first = depth;
    while (first > 0 && stack[first - 1] != target) first--;
    first = first ? first - 1 : 0;
    Buf circle = {.arena = program->job->arena};
    for (size_t i = first; i < depth; i++) {
        buf_str(&circle, stack[i]->file->source->path);
        buf_text(&circle, " uses ");
    }
    buf_str(&circle, target->file->source->path);
    Finding *finding = finding_add(
        findings, FINDING_USE_CIRCLE, use->span,
        "these files use one another in a circle: %S; move what both need into a file of its own", buf_view(&circle));
    for (size_t i = first + 1; i < depth; i++)
        if (stack[i]->opened_by) finding_note(findings, finding, stack[i]->opened_by->span, "the circle goes on here");
}

static const Decl *next_use(const Decl *decl) {
    while (decl && decl->kind != DECL_USE) decl = decl->next;
    return decl;
}

/* Depth first, with a stack of its own: a chain of files may be longer than any call stack. Uses come before their users. */
static void read_from(Program *program, File *main, Loader loader) {
    Arena *arena = program->job->arena;
    ProgramFiles stack = {0};
    ProgramFile *root = file_enter(program, main);
    if (root->done || root->reading) return;
    root->reading = true;
    root->next_use = next_use(main->first);
    vec_push(arena, &stack, root);
    while (stack.n > 0) {
        ProgramFile *top = stack.at[stack.n - 1];
        const Decl *use = top->next_use;
        if (!use) {
            top->reading = false;
            top->done = true;
            vec_push(arena, &program->order, top);
            stack.n--;
            continue;
        }
        top->next_use = next_use(use->next);
        File *file = loader.load(loader.context, top->file, use);
        if (!file) {
            program->lost = true;
            continue;
        }
        ProgramFile *target = file_enter(program, file);
        if (target->reading) {
            report_circle(program, stack.at, stack.n, target, use);
            continue;
        }
        vec_push(arena, &top->uses, target);
        vec_push(arena, &target->users, top);
        if (target->done) continue;
        target->reading = true;
        target->opened_by = use;
        target->next_use = next_use(file->first);
        vec_push(arena, &stack, target);
    }
}

/* ---- names ---- */

static bool declares_name(DeclKind kind) {
    return kind != DECL_WORDING && kind != DECL_LINES && kind != DECL_WAIVE && kind != DECL_ADAPT && kind != DECL_USE &&
           kind != DECL_BAD;
}

/* Things have one space of names, states and kinds another, and so on: the other kind in the space of this one; itself where it
   has its own. */
static DeclKind mate_of(DeclKind kind) {
    static const DeclKind pairs[][2] = {
        {DECL_STATE, DECL_KIND}, {DECL_PROCEDURE, DECL_DRILL}, {DECL_AIRCRAFT, DECL_TAIL}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        for (int k = 0; k < 2; k++)
            if (pairs[i][k] == kind) return pairs[i][1 - k];
    return kind;
}

static const Named *other_in_space(const Program *program, const Decl *decl) {
    Name name = decl->name.name;
    if (decl_is_thing(decl->kind)) return map_get(&program->things, name);
    const Named *own = map_get(&program->by_kind[decl->kind], name);
    DeclKind mate = mate_of((DeclKind)decl->kind);
    return own || mate == (DeclKind)decl->kind ? own : map_get(&program->by_kind[mate], name);
}

static bool shares_aircraft(const Decl *a, const Decl *b) {
    if (!a->more->words || !b->more->words) return !a->more->words && !b->more->words;
    for (const WordList *x = a->more->words; x; x = x->next)
        for (const WordList *y = b->more->words; y; y = y->next)
            if (x->word.name == y->word.name) return true;
    return false;
}

/* Drills and groups of the library are there to be replaced by what an aircraft's own text calls so; and those for one kind of engine
   may be called like those for another. */
static bool replaces_library(const Program *program, const Decl *a, const Decl *b) {
    if (a->kind != b->kind || (a->kind != DECL_DRILL && a->kind != DECL_GROUP)) return false;
    return program_file_of(program, a->span) != program_file_of(program, b->span) &&
           (program_in_library(program, a) || program_in_library(program, b));
}

/* Procedures and drills may have one name for several aircraft. The comparison stops after a while: a file with one name
   a million times over must stay linear. */
static const Decl *clash(const Program *program, const Named *named, const Decl *decl) {
    bool per_aircraft = decl->kind == DECL_PROCEDURE || decl->kind == DECL_DRILL;
    int left = 64;
    for (; named && left > 0; named = named->next, left--) {
        if (replaces_library(program, named->decl, decl)) continue;
        if (!per_aircraft || shares_aircraft(named->decl, decl)) return named->decl;
    }
    return NULL;
}

static void report_twice(Program *program, const Decl *decl, const Decl *first) {
    Findings *findings = program->job->findings;
    Finding *finding =
        finding_add(findings, FINDING_NAME_TWICE, decl->name.span,
                    "%N is declared twice; the first is %s; a name means one thing, so rename one of them",
                    decl->name.name, decl_kind_words(first->kind));
    finding_note(findings, finding, first->name.span, "the first %N stands here", decl->name.name);
}

static void index_name(Program *program, const Decl *decl) {
    Arena *arena = program->job->arena;
    Name name = decl->name.name;
    if (!name) return;
    if (decl_is_thing(decl->kind) && name == program->engine)
        finding_add(program->job->findings, FINDING_NAME_TWICE, decl->name.span,
                    "engine is built in (STOPPED, TURNING, RUNNING, one for each engine); give this another name");
    const Named *other = other_in_space(program, decl);
    const Decl *first = other ? clash(program, other, decl) : NULL;
    if (first) report_twice(program, decl, first);
    Named *named = ARENA_NEW(arena, Named);
    named->decl = decl;
    Named *head = map_get(&program->by_kind[decl->kind], name);
    if (head) {
        head->last->next = named;
        head->last = named;
    } else {
        named->last = named;
        map_put(&program->by_kind[decl->kind], name, named);
    }
    if (decl_is_thing(decl->kind) && !map_get(&program->things, name)) map_put(&program->things, name, named);
}

/* What aircraft give, whichever: so that a word nobody gives can be told from one that only this aircraft lacks. */
static void index_craft(Program *program, const Decl *decl) {
    for (Craft *craft = decl->u.craft; craft; craft = craft->next) {
        for (const BandPart *part = craft->bands; part; part = part->next)
            if (part->name.name) map_put(&program->bands, part->name.name, craft);
        if (craft->kind == CRAFT_VALUE && craft->ref.name) map_put(&program->values, craft->ref.name, craft);
        if (craft->kind != CRAFT_ENGINES) continue;
        for (const WordList *word = craft->words; word; word = word->next)
            if (word->word.name) map_put(&program->engines, word->word.name, craft);
    }
}

static void index_decl(Program *program, const Decl *decl) {
    if (decl->kind >= DECL_KINDS || decl->kind == DECL_BAD) {
        program->lost = true;
        return;
    }
    vec_push(program->job->arena, &program->all[decl->kind], decl);
    if (decl_is_thing(decl->kind)) vec_push(program->job->arena, &program->things_in_order, decl);
    if (declares_name((DeclKind)decl->kind)) index_name(program, decl);
    if (decl->kind == DECL_AIRCRAFT || decl->kind == DECL_TAIL) index_craft(program, decl);
    if (decl->kind != DECL_STANDARD) return;
    for (const Standing *standing = decl->u.standing; standing; standing = standing->next)
        if (standing->kind == STANDING_GATE && standing->gate) index_name(program, standing->gate);
}

/* ---- tails ---- */

const Decl *program_parent(const Program *program, const Decl *tail) {
    const Named *named = map_get(&program->by_kind[DECL_TAIL], tail->more->ref.name);
    if (!named) named = map_get(&program->by_kind[DECL_AIRCRAFT], tail->more->ref.name);
    return named ? named->decl : NULL;
}

static TailRoot *root_entry(Program *program, const Decl *decl) {
    TailRoot *root = map_get(&program->roots, decl->span.lo + 1);
    if (root) return root;
    root = ARENA_NEW(program->job->arena, TailRoot);
    root->decl = decl;
    if (decl->kind == DECL_AIRCRAFT) root->aircraft = decl;
    map_put(&program->roots, decl->span.lo + 1, root);
    return root;
}

static void report_tail_circle(Program *program, const Decl *decl) {
    Finding *finding = finding_add(program->job->findings, FINDING_NAME_CIRCLE, decl->more->ref.span,
                                   "%N is derived from itself; one tail of the circle must be derived from an aircraft",
                                   decl->name.name);
    const Decl *at = program_parent(program, decl);
    for (int steps = 0; at && at != decl && at->kind == DECL_TAIL && steps < 8;
         steps++, at = program_parent(program, at))
        finding_note(program->job->findings, finding, at->name.span, "then %N is derived from %N", at->name.name,
                     at->more->ref.name);
}

/* Walks up to what is known and writes the answer to everything on the way. */
static const Decl *find_root(Program *program, const Decl *decl) {
    Decls way = {0};
    const Decl *at = decl, *aircraft = NULL;
    while (at) {
        TailRoot *root = root_entry(program, at);
        if (root->walking) {
            report_tail_circle(program, at);
            break;
        }
        if (at->kind == DECL_AIRCRAFT || root->aircraft) {
            aircraft = root->aircraft;
            break;
        }
        if (map_get(&program->reported[FINDING_NAME_CIRCLE], at->more->ref.span.lo + 1)) break;
        root->walking = true;
        vec_push(program->job->arena, &way, at);
        at = program_parent(program, at);
    }
    for (size_t i = 0; i < way.n; i++) {
        TailRoot *root = root_entry(program, way.at[i]);
        root->walking = false;
        root->aircraft = aircraft;
        if (!aircraft) (void)program_first(program, FINDING_NAME_CIRCLE, way.at[i]->more->ref.span);
    }
    return aircraft;
}

const Decl *program_aircraft(const Program *program, const Decl *tail_decl) {
    const TailRoot *root = map_get(&program->roots, tail_decl->span.lo + 1);
    return root ? root->aircraft : NULL;
}

static void find_tails(Program *program) {
    Arena *arena = program->job->arena;
    for (size_t i = 0; i < program->all[DECL_AIRCRAFT].n; i++)
        (void)root_entry(program, program->all[DECL_AIRCRAFT].at[i]);
    for (size_t i = 0; i < program->all[DECL_TAIL].n; i++) {
        const Decl *aircraft = find_root(program, program->all[DECL_TAIL].at[i]);
        if (aircraft) map_put(&program->with_tails, aircraft->span.lo + 1, root_entry(program, aircraft));
    }
    for (size_t f = 0; f < program->order.n; f++) {
        const File *file = program->order.at[f]->file;
        if (file->source->library) continue;
        for (const Decl *decl = file->first; decl; decl = decl->next) {
            bool bare = decl->kind == DECL_AIRCRAFT && !map_get(&program->with_tails, decl->span.lo + 1);
            if (decl->kind == DECL_TAIL || bare) vec_push(arena, &program->tails, decl);
        }
    }
}

/* ---- the calls of program.h ---- */

static void open_maps(Program *program) {
    Arena *arena = program->job->arena;
    program->files.arena = arena;
    program->things.arena = program->roots.arena = program->with_tails.arena = arena;
    program->bands.arena = program->values.arena = program->engines.arena = program->labels.arena = arena;
    program->handbooks.arena = program->measures.arena = program->needs.arena = program->words_checked.arena = arena;
    for (size_t i = 0; i < DECL_KINDS; i++) program->by_kind[i].arena = arena;
    for (size_t i = 0; i <= DECL_KINDS; i++) program->poisoned[i].arena = arena;
}

Program *program_open(Job *job, File *const *files, size_t n_files, Loader loader) {
    Program *program = ARENA_NEW(job->arena, Program);
    program->job = job;
    program->suggestions = SUGGESTION_BUDGET;
    program->for_index = program_for_new(job->arena);
    program->engine = name_intern(job->names, STR("engine"));
    open_maps(program);
    for (size_t i = 0; i < n_files; i++) read_from(program, files[i], loader);
    for (size_t i = 0; i < program->order.n; i++)
        for (const Decl *decl = program->order.at[i]->file->first; decl; decl = decl->next) index_decl(program, decl);
    find_tails(program);
    program_check(program);
    return program;
}

size_t program_tail_count(const Program *program) {
    return program->tails.n;
}
const Decl *program_tail_decl(const Program *program, size_t index) {
    return program->tails.at[index];
}

const Decl *program_find(const Program *program, DeclKind kind, Name name) {
    const Named *named = map_get(&program->by_kind[kind], name);
    return named ? named->decl : NULL;
}

size_t program_all(const Program *program, DeclKind kind, const Decl ***decls) {
    *decls = program->all[kind].at;
    return program->all[kind].n;
}

bool program_in_library(const Program *program, const Decl *decl) {
    const Source *source = source_at(program->job->sources, decl->span.lo);
    return source && source->library;
}

/* The tail's own name or one of those it is derived from. */
static bool is_of(const Program *program, Name name, const Decl *tail_decl) {
    size_t most = program->all[DECL_TAIL].n + 1;
    for (const Decl *at = tail_decl; at && most > 0; most--) {
        if (at->name.name == name) return true;
        at = at->kind == DECL_TAIL ? program_parent(program, at) : NULL;
    }
    return false;
}

bool program_is_for(const Program *program, const Decl *decl, const Decl *tail_decl) {
    if (!decl->more->words) return true;
    for (const WordList *word = decl->more->words; word; word = word->next)
        if (is_of(program, word->word.name, tail_decl)) return true;
    return false;
}

size_t program_documents(const Program *program, const Decl *tail_decl, const Decl ***documents) {
    return program_all_for(program, DECL_DOCUMENT, tail_decl, documents);
}

size_t program_waivers(const Program *program, const Decl ***waivers) {
    return program_all(program, DECL_WAIVE, waivers);
}

/* ---- which files an aircraft's text can see ---- */

/* Along uses, or along users, from a file. */
static void mark_files(Program *program, ProgramFile *from, bool users) {
    ProgramFiles stack = {0};
    uint32_t stamp = program->stamp;
    vec_push(program->job->arena, &stack, from);
    while (stack.n > 0) {
        ProgramFile *file = stack.at[--stack.n];
        file->seen = stamp;
        const ProgramFiles *next = users ? &file->users : &file->uses;
        for (size_t i = 0; i < next->n; i++)
            if (next->at[i]->seen != stamp) vec_push(program->job->arena, &stack, next->at[i]);
    }
}

void program_see(Program *program, const Decl *aircraft, const Decl *tail_decl) {
    ProgramFile *a = program_file_of(program, aircraft->span), *b = program_file_of(program, tail_decl->span);
    if (!a || !b || (program->visible_a == a && program->visible_b == b)) return;
    program->visible_a = a;
    program->visible_b = b;
    program->stamp++;
    mark_files(program, a, false);
    if (b->seen != program->stamp) mark_files(program, b, false);
    for (size_t i = 0; i < a->users.n; i++)
        if (a->users.at[i]->seen != program->stamp) mark_files(program, a->users.at[i], true);
    for (size_t i = 0; b != a && i < b->users.n; i++)
        if (b->users.at[i]->seen != program->stamp) mark_files(program, b->users.at[i], true);
}

bool program_sees(const Program *program, const Decl *decl) {
    const ProgramFile *file = program_file_of(program, decl->span);
    return file && file->seen == program->stamp;
}
