/* What the standards of the tails say of the program's own checks. Applied at the end: a warning that a school holds to be an error leaves
   the text as provable as before. */
#include "workspace/workspace.h"

typedef struct {
    const Decl *standard;
    CheckRank ranks[FINDING_COUNT];
} Table;

typedef struct {
    Unit *unit;
    VEC(Table *) tables; /* one a standard */
    NameMap of_tail;     /* Name of a tail -> Table */
} Ranking;

static Table *table_of(Ranking *ranking, const Decl *standard) {
    for (size_t i = 0; i < ranking->tables.n; i++)
        if (ranking->tables.at[i]->standard == standard) return ranking->tables.at[i];
    Table *table = ARENA_NEW(ranking->unit->job.arena, Table);
    table->standard = standard;
    standard_check_ranks(ranking->unit->program, standard, table->ranks);
    vec_push(ranking->unit->job.arena, &ranking->tables, table);
    return table;
}

/* A finding of no tail is one of all: the strictest counts. */
static void rank_for_all(const Ranking *ranking, Finding *finding) {
    bool said = false;
    Severity strictest = SEVERITY_NOTE;
    for (size_t i = 0; i < ranking->tables.n; i++) {
        CheckRank rank = ranking->tables.at[i]->ranks[finding->kind];
        if (!rank.said) continue;
        said = true;
        if (rank.severity > strictest) strictest = rank.severity;
    }
    if (said) finding->severity = strictest;
}

static void rank_finding(const Ranking *ranking, Finding *finding) {
    if (finding->gate.len) return;
    if (!finding->tail.len) {
        rank_for_all(ranking, finding);
        return;
    }
    const Table *table = map_get(&ranking->of_tail, name_find(ranking->unit->job.names, finding->tail));
    if (table && table->ranks[finding->kind].said) finding->severity = table->ranks[finding->kind].severity;
}

void unit_apply_ranks(Unit *unit) {
    Ranking ranking = {.unit = unit, .of_tail = {.arena = unit->job.arena}};
    size_t n = program_tail_count(unit->program);
    for (size_t i = 0; i < n; i++) {
        const Decl *tail = program_tail_decl(unit->program, i), *standard = program_standard(unit->program, tail);
        if (standard) map_put(&ranking.of_tail, tail->name.name, table_of(&ranking, standard));
    }
    for (size_t i = 0; ranking.tables.n && i < unit->findings.list.n; i++)
        rank_finding(&ranking, unit->findings.list.at[i]);
}
