/* One tail: what it inherits, and in which order its parts are made. */
#include "sema/craft.h"
#include "front/front.h"
#include "sema/program_parts.h"
#include <string.h>

/* ---- what a tail inherits ---- */

/* From the aircraft down to the tail. */
bool craft_levels(Resolver *r, const Decl *tail_decl, const Decl ***levels, size_t *n) {
    Decls up = {0};
    Program *program = r->program;
    size_t most = program->all[DECL_TAIL].n + 1;
    for (const Decl *at = tail_decl; at && most > 0; most--) {
        vec_push(r->job->arena, &up, at);
        if (at->kind == DECL_AIRCRAFT) break;
        const Decl *parent = program_find(program, DECL_TAIL, at->more->ref.name);
        at = parent ? parent : program_find(program, DECL_AIRCRAFT, at->more->ref.name);
    }
    for (size_t i = 0; i < up.n / 2; i++) {
        const Decl *swap = up.at[i];
        up.at[i] = up.at[up.n - 1 - i];
        up.at[up.n - 1 - i] = swap;
    }
    *levels = up.at;
    *n = up.n;
    return up.n > 0 && up.at[0]->kind == DECL_AIRCRAFT;
}

/* What lines replace one another: those for one name; of `print`, for it or for one position of it; of the rest, all of the kind. */
static Name line_key(Resolver *r, const Craft *craft) {
    switch ((CraftKind)craft->kind) {
    case CRAFT_BAND:
    case CRAFT_DUTY: return ref_split(r, craft->ref).name;
    case CRAFT_VALUE: return craft->ref.name;
    case CRAFT_PRINT:
        return name_intern(r->job->names,
                           format_text(r->job->arena, r->job->names, "%N %N", craft->ref.name, craft->pos.name));
    case CRAFT_ENGINES:
    case CRAFT_PACE: return 1;
    case CRAFT_KIND:
    case CRAFT_FITTED:
    case CRAFT_NOT_FITTED:
    case CRAFT_INOPERATIVE:
    case CRAFT_DRILLS: return 0; /* these add up */
    }
    return 0;
}

CraftLines craft_lines(Resolver *r, const Decl *tail_decl, CraftKind kind) {
    Arena *arena = r->job->arena;
    const Decl **levels;
    size_t n;
    VEC(CraftLine) lines = {0};
    NameMap owner = {.arena = arena}; /* key -> the level whose lines for it hold */
    (void)craft_levels(r, tail_decl, &levels, &n);
    for (size_t i = n; i-- > 0;)
        for (const Craft *craft = levels[i]->u.craft; craft; craft = craft->next) {
            Name key = craft->kind == kind ? line_key(r, craft) : 0;
            if (key && !map_get(&owner, key)) map_put(&owner, key, (void *)(uintptr_t)levels[i]);
        }
    for (size_t i = 0; i < n; i++)
        for (const Craft *craft = levels[i]->u.craft; craft; craft = craft->next) {
            if (craft->kind != kind) continue;
            Name key = line_key(r, craft);
            if (!key || map_get(&owner, key) == levels[i]) vec_push(arena, &lines, ((CraftLine){craft, levels[i]}));
        }
    return (CraftLines){lines.at, lines.n};
}

/* ---- engines, kinds, pace ---- */

static void engines_make(Resolver *r, const Decl *tail_decl) {
    Tail *tail = r->tail;
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_ENGINES);
    tail->engines = ARENA_ARRAY(r->job->arena, Name, LIMIT_ENGINES);
    for (size_t i = 0; i < lines.n; i++)
        for (const WordList *word = lines.at[i].craft->words; word; word = word->next) {
            Name name = word->word.name;
            bool other = str_eq(name_text(r->job->names, name), STR("other"));
            if (!name) continue;
            if (engine_named(r, name) != NO_INDEX || other || tail->n_engines == LIMIT_ENGINES) {
                if (!first_report(r, FINDING_ENGINES_WRONG, word->word.span)) continue;
                finding_add(r->job->findings, FINDING_ENGINES_WRONG, word->word.span,
                            other ? "%N cannot name an engine: it means the other engine of two"
                            : tail->n_engines == LIMIT_ENGINES ? "%N is one engine too many: an aircraft has at most 8"
                                                               : "%N is named twice",
                            name);
                continue;
            }
            tail->engines[tail->n_engines++] = name;
        }
    if (!tail->n_engines) tail->engines[tail->n_engines++] = name_intern(r->job->names, STR("engine"));
}

static void kinds_make(Resolver *r, const Decl *tail_decl) {
    static const DeclKind kinds[] = {DECL_KIND};
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_KIND);
    for (size_t i = 0; i < lines.n; i++)
        for (const WordList *word = lines.at[i].craft->words; word; word = word->next) {
            const Decl *kind = resolve_decl(r, word->word, kinds, 1, "a kind of aircraft");
            if (kind) map_put(&r->kinds, word->word.name, (void *)(uintptr_t)kind);
        }
}

static void pace_make(Resolver *r, const Decl *tail_decl) {
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_PACE);
    const Scene scene = {.engine = NO_INDEX, .home = tail_decl};
    for (size_t i = 0; i < lines.n; i++) {
        Duration pace = resolve_duration(r, &lines.at[i].craft->time, &scene);
        if (pace.n == 1 && !pace.cases[0].when && pace.cases[0].ms > 0) r->tail->pace_ms = pace.cases[0].ms;
        else if (pace.span.hi && (pace.n > 0 || pace.missing) && first_report(r, FINDING_TIME_IMPOSSIBLE, pace.span))
            finding_add(r->job->findings, FINDING_TIME_IMPOSSIBLE, pace.span,
                        "the pace is one time above zero, the same in every case");
    }
}

/* The longest case: a bound on how long the engine may go on turning. */
static void run_down_make(Resolver *r) {
    Tail *tail = r->tail;
    Name name = name_find(r->job->names, STR("run-down"));
    uint32_t n = 0;
    const Value *values = name ? values_named(r, name, &n) : NULL;
    int64_t longest = -1;
    for (uint32_t i = 0; i < n; i++) {
        Measured measured = {.amount = values[i].craft->amount};
        const Scene scene = {.engine = NO_INDEX};
        Duration time = resolve_duration(r, &measured, &scene);
        if (time.n == 1 && time.cases[0].ms > longest) longest = time.cases[0].ms;
    }
    tail->run_down_ms = ARENA_ARRAY(r->job->arena, int64_t, tail->n_engines);
    for (uint32_t i = 0; i < tail->n_engines; i++) tail->run_down_ms[i] = longest;
}

/* ---- the tail ---- */

static void lines_held(Resolver *r, const Decl *tail_decl) {
    VEC(CraftLine) held = {0};
    for (int kind = CRAFT_ENGINES; kind <= CRAFT_DRILLS; kind++) {
        CraftLines lines = craft_lines(r, tail_decl, (CraftKind)kind);
        for (size_t i = 0; i < lines.n; i++) vec_push(r->job->arena, &held, lines.at[i]);
    }
    r->tail->held = held.at;
    r->tail->n_held = (uint32_t)held.n;
}

static void scratch_open(Resolver *r) {
    Arena *arena = r->job->arena;
    r->things.arena = r->values.arena = r->kinds.arena = r->spoilt.arena = arena;
    r->scratch = ARENA_NEW(arena, Scratch);
    r->scratch->events.arena = arena;
    for (int i = 0; i <= LIMIT_ENGINES; i++) {
        r->scratch->label_facts[i].arena = arena;
        r->scratch->states[i][0].arena = r->scratch->states[i][1].arena = arena;
    }
}

bool craft_resolve(Resolver *r, const Decl *tail_decl) {
    Tail *tail = r->tail;
    const Decl *aircraft = program_aircraft(r->program, tail_decl);
    if (!aircraft) return false;
    scratch_open(r);
    tail->decl = tail_decl;
    tail->aircraft = aircraft;
    tail->name = tail_decl->name.name;
    tail->title = text_raw(r->job, tail_decl->text);
    program_see(r->program, aircraft, tail_decl);
    engines_make(r, tail_decl);
    kinds_make(r, tail_decl);
    things_make(r, tail_decl);
    values_make(r, tail_decl);
    bands_make(r, tail_decl);
    duties_make(r, tail_decl);
    pace_make(r, tail_decl);
    run_down_make(r);
    prints_make(r, tail_decl);
    lines_held(r, tail_decl);
    r->undecided = r->unfitted = 0;
    return true;
}

const Decl *program_standard(const Program *program, const Decl *tail_decl) {
    const Decl **documents;
    size_t n = program_documents(program, tail_decl, &documents);
    for (size_t i = 0; i < n; i++)
        for (const DocLine *line = documents[i]->u.doclines; line; line = line->next) {
            const Decl *standard = line->kind == DOC_STANDARD && line->words
                                       ? program_find(program, DECL_STANDARD, line->words->word.name)
                                       : NULL;
            if (standard) return standard;
        }
    return NULL;
}

/* What is missing names its tails itself; a name that nobody declared is told once for all. */
void findings_of_tail(const Job *job, const Tail *tail, size_t first) {
    for (size_t i = first; tail->adapted && i < job->findings->list.n; i++) {
        Finding *finding = job->findings->list.at[i];
        bool of_all = finding->kind == FINDING_NAME_UNKNOWN || finding->kind == FINDING_VALUE_MISSING ||
                      finding->kind == FINDING_EQUIPMENT_UNDECIDED;
        if (!of_all) finding->tail = name_text(job->names, tail->name);
    }
}

Tail *program_tail(Job *job, Program *program, const Decl *tail_decl) {
    Tail *tail = ARENA_NEW(job->arena, Tail);
    Resolver *r = ARENA_NEW(job->arena, Resolver);
    r->job = job;
    r->program = program;
    r->tail = tail;
    if (!craft_resolve(r, tail_decl)) return NULL;
    size_t n = job->findings->list.n;
    items_resolve(r);
    texts_check(r);
    house_check(r);
    tail->adapted = r->adapted;
    findings_of_tail(job, tail, n);
    r->adapted = false;
    gates_resolve(r, program_standard(program, tail_decl));
    gauges_finish(r);
    n = job->findings->list.n;
    r->adapted = tail->adapted;
    items_check(r);
    findings_of_tail(job, tail, n);
    r->adapted = false;
    tail->facts = r->facts.at;
    tail->n_facts = (uint32_t)r->facts.n;
    words_check(r);
    return tail;
}

Tail *program_tail_again(const Job *job, Program *program, const Decl *tail_decl) {
    Findings told = {.arena = job->arena, .names = job->names};
    Job again = *job;
    again.findings = &told;
    program->again = true;
    Tail *tail = program_tail(&again, program, tail_decl);
    program->again = false;
    return tail;
}

/* Made quietly, with a memory of its own for what has been reported: what is wrong is told of the tails. */
static Tail *as_written(Program *program, const Decl *aircraft) {
    NameMap *reported = arena_copy(program->job->arena, program->reported, sizeof program->reported);
    NameMap *poisoned = arena_copy(program->job->arena, program->poisoned, sizeof program->poisoned);
    memset(program->reported, 0, sizeof program->reported);
    memset(program->poisoned, 0, sizeof program->poisoned);
    for (size_t i = 0; i < sizeof program->poisoned / sizeof *program->poisoned; i++)
        program->poisoned[i].arena = program->job->arena;
    Job *job = arena_copy(program->job->arena, program->job, sizeof *job);
    job->findings = ARENA_NEW(program->job->arena, Findings);
    *job->findings = (Findings){.arena = program->job->arena, .names = program->job->names};
    Resolver *r = ARENA_NEW(program->job->arena, Resolver);
    Tail *tail = ARENA_NEW(program->job->arena, Tail);
    *r = (Resolver){.job = job, .program = program, .tail = tail, .as_written = true};
    bool made = craft_resolve(r, aircraft);
    if (made) {
        items_resolve(r);
        gauges_finish(r);
        tail->facts = r->facts.at;
        tail->n_facts = (uint32_t)r->facts.n;
    }
    memcpy(program->reported, reported, sizeof program->reported);
    memcpy(program->poisoned, poisoned, sizeof program->poisoned);
    return made ? tail : NULL;
}

const Tail *program_handbook(Program *program, const Decl *tail_decl) {
    const Decl *aircraft = program_aircraft(program, tail_decl);
    if (!aircraft) return NULL;
    Tail *made = map_get(&program->handbooks, aircraft->span.lo + 1);
    if (made) return made;
    made = as_written(program, aircraft);
    if (made) map_put(&program->handbooks, aircraft->span.lo + 1, made);
    return made;
}
