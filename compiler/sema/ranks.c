#include "sema/ranks.h"

/* ---- words ---- */

bool rank_severity(const Names *names, Name word, Severity *out) {
    Str text = name_text(names, word);
    if (!word || str_eq(text, STR("should"))) *out = SEVERITY_WARNING;
    else if (str_eq(text, STR("must"))) *out = SEVERITY_ERROR;
    else if (str_eq(text, STR("note"))) *out = SEVERITY_NOTE;
    else return false;
    return true;
}

bool source_has_path(const Source *source, Str path) {
    if (str_eq(source->path, path)) return true;
    if (!str_ends(source->path, STR(".start"))) return false;
    Str bare = str_slice(source->path, 0, source->path.len - 6);
    return str_eq(bare, path) || (str_ends(bare, path) && bare.ptr[bare.len - path.len - 1] == '/') ||
           (str_ends(source->path, path) && source->path.ptr[source->path.len - path.len - 1] == '/');
}

Decls standards_held(const Program *program, Word word) {
    Decls held = {0};
    const Decl *named = program_find(program, DECL_STANDARD, word.name);
    if (named) vec_push(program->job->arena, &held, named);
    Str path = name_text(program->job->names, word.name);
    const Decls *all = &program->all[DECL_STANDARD];
    for (size_t i = 0; !named && i < all->n; i++) {
        const Source *source = source_at(program->job->sources, all->at[i]->span.lo);
        if (source && source_has_path(source, path)) vec_push(program->job->arena, &held, all->at[i]);
    }
    return held;
}

static int check_of(const Names *names, Name name) {
    Str text = name_text(names, name);
    for (int kind = 1; kind < FINDING_COUNT; kind++)
        if (str_eq(text, str_of(finding_info[kind].id))) return kind;
    return FINDING_NONE;
}

/* ---- what a standard says in the end: what it builds on first, then its own lines ---- */

typedef struct {
    Word word;
    Severity severity;
    Name rank, standard; /* the word that ranks, and whose line it is */
} Said;

typedef struct {
    Program *program;
    NameMap at; /* Name of a gate or a check -> Said */
    VEC(Said *) list;
    const Decl *standards[STANDARD_DEPTH];
    uint32_t n_standards;
} Ranks;

static void say(Ranks *ranks, const Decl *standard, const Standing *standing) {
    Arena *arena = ranks->program->job->arena;
    Said said = {.rank = standing->rank.name, .standard = standard->name.name};
    if (!rank_severity(ranks->program->job->names, standing->rank.name, &said.severity)) return;
    for (const WordList *word = standing->words; word; word = word->next) {
        Said *entry = map_get(&ranks->at, word->word.name);
        if (!entry) {
            entry = ARENA_NEW(arena, Said);
            map_put(&ranks->at, word->word.name, entry);
            vec_push(arena, &ranks->list, entry);
        }
        said.word = word->word;
        *entry = said;
    }
}

static void say_own(Ranks *ranks, const Decl *standard) {
    for (const Standing *standing = standard->u.standing; standing; standing = standing->next)
        if (standing->kind == STANDING_RANK) say(ranks, standard, standing);
}

static void say_all(Ranks *ranks, const Decl *standard) {
    for (uint32_t i = 0; i < ranks->n_standards; i++)
        if (ranks->standards[i] == standard) return;
    if (ranks->n_standards == STANDARD_DEPTH) return;
    ranks->standards[ranks->n_standards++] = standard;
    for (const Standing *standing = standard->u.standing; standing; standing = standing->next)
        for (const WordList *word = standing->kind == STANDING_HOLDS ? standing->words : NULL; word;
             word = word->next) {
            Decls held = standards_held(ranks->program, word->word);
            for (size_t i = 0; i < held.n; i++) say_all(ranks, held.at[i]);
        }
    say_own(ranks, standard);
}

static Ranks *ranks_new(Program *program) {
    Ranks *ranks = ARENA_NEW(program->job->arena, Ranks);
    ranks->program = program;
    ranks->at.arena = program->job->arena;
    return ranks;
}

void standard_check_ranks(Program *program, const Decl *standard, CheckRank ranks[FINDING_COUNT]) {
    Ranks *said = ranks_new(program);
    say_all(said, standard);
    for (int kind = 0; kind < FINDING_COUNT; kind++) ranks[kind] = (CheckRank){false, SEVERITY_NOTE};
    for (size_t i = 0; i < said->list.n; i++) {
        int kind = check_of(program->job->names, said->list.at[i]->word.name);
        if (kind && finding_info[kind].severity < SEVERITY_ERROR)
            ranks[kind] = (CheckRank){true, said->list.at[i]->severity};
    }
}

/* ---- ranks that cannot count ---- */

/* Errors of the text leave nothing to prove, whatever a school thinks of them. */
static void check_fixed(Program *program, const Standing *standing) {
    Severity severity;
    if (!rank_severity(program->job->names, standing->rank.name, &severity) || severity == SEVERITY_ERROR) return;
    for (const WordList *word = standing->words; word; word = word->next) {
        int kind = check_of(program->job->names, word->word.name);
        if (!kind || finding_info[kind].severity < SEVERITY_ERROR || program_find(program, DECL_GATE, word->word.name))
            continue;
        if (program_first(program, FINDING_RANK_FIXED, word->word.span))
            finding_add(program->job->findings, FINDING_RANK_FIXED, word->word.span,
                        "%N cannot be ranked down to %N: with it nothing sound can be proved or printed; only checks "
                        "that are a warning or a note by themselves can be ranked",
                        word->word.name, standing->rank.name);
    }
}

static void report_odds(Program *program, Word held, const Said *one, const Said *other) {
    Finding *finding =
        finding_add(program->job->findings, FINDING_STANDARDS_AT_ODDS, held.span,
                    "%N has %N as %N, %N has it as %N, and nothing here says which counts; say so with `rank %N as …`",
                    one->standard, one->word.name, one->rank, other->standard, other->rank, one->word.name);
    finding_note(program->job->findings, finding, one->word.span, "%N ranks it here", one->standard);
    finding_note(program->job->findings, finding, other->word.span, "%N ranks it here", other->standard);
}

static void compare_held(Ranks *first, const Ranks *own, const Decl *standard, Word word) {
    Program *program = first->program;
    Ranks *held = ranks_new(program);
    held->standards[held->n_standards++] = standard; /* a circle ends here */
    Decls standards = standards_held(program, word);
    for (size_t i = 0; i < standards.n; i++) say_all(held, standards.at[i]);
    for (size_t i = 0; i < held->list.n; i++) {
        Said *said = held->list.at[i];
        const Said *earlier = map_get(&first->at, said->word.name);
        if (!earlier) map_put(&first->at, said->word.name, said);
        else if (earlier->severity != said->severity && !map_get(&own->at, said->word.name))
            report_odds(program, word, earlier, said);
    }
}

void ranks_check(Program *program, const Decl *standard) {
    Ranks *own = ranks_new(program), *first = ranks_new(program);
    say_own(own, standard);
    for (const Standing *standing = standard->u.standing; standing; standing = standing->next) {
        if (standing->kind == STANDING_RANK) check_fixed(program, standing);
        if (standing->kind != STANDING_HOLDS) continue;
        for (const WordList *word = standing->words; word; word = word->next)
            compare_held(first, own, standard, word->word);
    }
}
