/* Which gates a tail is held to, and how severely: all of the library and the files, or what a standard says. */
#include "sema/ranks.h"
#include "sema/rules.h"

typedef struct {
    Resolver *r;
    ChosenGates chosen;
    NameMap at; /* Name of a gate -> index + 1 in chosen */
    const Decl *standards[STANDARD_DEPTH];
    uint32_t n_standards;
} Choice;

/* ---- severities ---- */

static Severity severity_read(Resolver *r, Word word) {
    Severity severity = SEVERITY_WARNING;
    if (rank_severity(r->job->names, word.name, &severity) || !first_report(r, FINDING_SEVERITY_UNKNOWN, word.span))
        return severity;
    finding_add(r->job->findings, FINDING_SEVERITY_UNKNOWN, word.span,
                "%N is no severity: must (an error), should (a warning) or note", word.name);
    return severity;
}

/* ---- choosing ---- */

static void choose(Choice *choice, const Decl *gate) {
    Resolver *r = choice->r;
    uint32_t *at = map_get(&choice->at, gate->name.name);
    if (at) return; /* held twice is held once */
    Chosen chosen = {gate, severity_read(r, gate->u.gate->severity)};
    vec_push(r->job->arena, &choice->chosen, chosen);
    at = ARENA_NEW(r->job->arena, uint32_t);
    *at = (uint32_t)choice->chosen.n;
    map_put(&choice->at, gate->name.name, at);
}

static void choose_standard(Choice *choice, const Decl *standard);

/* A path that leads nowhere was reported with the program. */
static void choose_file(Choice *choice, Word word) {
    Resolver *r = choice->r;
    Str path = name_text(r->job->names, word.name);
    Decls standards = standards_held(r->program, word);
    for (size_t i = 0; i < standards.n; i++) choose_standard(choice, standards.at[i]);
    if (program_find(r->program, DECL_STANDARD, word.name)) return;
    const Decl **gates;
    size_t n = program_all(r->program, DECL_GATE, &gates);
    for (size_t i = 0; i < n; i++) {
        const Source *source = source_at(r->job->sources, gates[i]->span.lo);
        if (source && source_has_path(source, path)) choose(choice, gates[i]);
    }
}

static void rank_gate(Choice *choice, Chosen *chosen, Word word, Severity severity, Name rank) {
    Resolver *r = choice->r;
    const Gate *gate = chosen->decl->u.gate;
    Severity own = SEVERITY_WARNING;
    (void)rank_severity(r->job->names, gate->severity.name, &own);
    if (!gate->never_waived || severity >= own) {
        chosen->severity = severity;
        return;
    }
    if (!first_report(r, FINDING_RANK_NEVER, word.span)) return;
    Finding *finding = finding_add(r->job->findings, FINDING_RANK_NEVER, word.span,
                                   "%N says of itself `never waived`: it cannot be ranked down to %N", word.name, rank);
    finding_note(r->job->findings, finding, chosen->decl->name.span, "the gate stands here");
}

/* A gate that stands somewhere, but not in this standard. Names that mean nothing were reported with the program. */
static void report_rank(Choice *choice, Word word) {
    Resolver *r = choice->r;
    const Decl *gate = program_find(r->program, DECL_GATE, word.name);
    if (!gate || !first_report(r, FINDING_RANK_UNKNOWN, word.span)) return;
    Finding *finding = finding_add(
        r->job->findings, FINDING_RANK_UNKNOWN, word.span,
        "this standard does not hold the gate %N, so its rank changes nothing; hold its file, too", word.name);
    finding_note(r->job->findings, finding, gate->name.span, "the gate stands here");
}

static void apply_rank(Choice *choice, const Standing *standing) {
    Severity severity = severity_read(choice->r, standing->rank);
    for (const WordList *word = standing->words; word; word = word->next) {
        uint32_t *at = map_get(&choice->at, word->word.name);
        if (at) rank_gate(choice, &choice->chosen.at[*at - 1], word->word, severity, standing->rank.name);
        else report_rank(choice, word->word);
    }
}

/* What it holds, its own gates, then its ranks: so a school may rank what another standard has ranked. */
static void choose_standard(Choice *choice, const Decl *standard) {
    for (uint32_t i = 0; i < choice->n_standards; i++)
        if (choice->standards[i] == standard) return;
    if (choice->n_standards == STANDARD_DEPTH) return;
    choice->standards[choice->n_standards++] = standard;
    for (const Standing *standing = standard->u.standing; standing; standing = standing->next) {
        for (const WordList *word = standing->kind == STANDING_HOLDS ? standing->words : NULL; word; word = word->next)
            choose_file(choice, word->word);
        if (standing->kind == STANDING_GATE && standing->gate) choose(choice, standing->gate);
    }
    for (const Standing *standing = standard->u.standing; standing; standing = standing->next)
        if (standing->kind == STANDING_RANK) apply_rank(choice, standing);
}

static void choose_all(Choice *choice) {
    const Decl **gates;
    size_t n = program_all(choice->r->program, DECL_GATE, &gates);
    for (int library = 1; library >= 0; library--)
        for (size_t i = 0; i < n; i++) {
            bool of_library = program_in_library(choice->r->program, gates[i]);
            if (of_library == (library == 1) && (of_library || program_sees(choice->r->program, gates[i])))
                choose(choice, gates[i]);
        }
}

/* ---- what a standard leaves out ---- */

static bool fits(Resolver *r, const Decl *gate) {
    const Cond *applies = gate->u.gate->applies;
    int by_kind = applies ? cond_by_kind(r, applies) : 1; /* nearly always enough */
    if (by_kind >= 0) return by_kind == 1;
    Scene scene = {.engine = NO_INDEX, .home = gate};
    return test_constant(resolve_test(r, applies, &scene)) == 1;
}

static void list_left_out(Choice *choice, const Decl *standard) {
    Resolver *r = choice->r;
    const Decl **gates;
    size_t n = program_all(r->program, DECL_GATE, &gates), left = 0;
    Buf list = {.arena = r->job->arena};
    for (size_t i = 0; i < n; i++) {
        if (!program_in_library(r->program, gates[i]) || map_get(&choice->at, gates[i]->name.name) ||
            !fits(r, gates[i]))
            continue;
        left++;
        buf_format(&list, r->job->names, list.len ? ", %N" : "%N", gates[i]->name.name);
    }
    if (!left || !first_report(r, FINDING_STANDARD_LEAVES_OUT, standard->name.span)) return;
    Finding *finding = finding_add(r->job->findings, FINDING_STANDARD_LEAVES_OUT, standard->name.span,
                                   "%N leaves out %u gates of the library that fit %N: nobody proves them",
                                   standard->name.name, (uint64_t)left, r->tail->name);
    finding_note(r->job->findings, finding, (Span){0, 0}, "%S", buf_view(&list));
}

ChosenGates gates_choose(Resolver *r, const Decl *standard) {
    Choice *choice = ARENA_NEW(r->job->arena, Choice);
    choice->r = r;
    choice->at.arena = r->job->arena;
    if (standard) {
        choose_standard(choice, standard);
        list_left_out(choice, standard);
    } else {
        choose_all(choice);
    }
    return choice->chosen;
}
