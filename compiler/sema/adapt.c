/* Adaptations and waivers: do the procedures, lines and gates they name exist? Adaptations are not applied by this edition. */
#include "sema/items.h"

/* ---- references to items: id, phase.id, procedure.id, procedure.phase.id ---- */

typedef struct {
    uint32_t matches;
    Name ambiguous; /* an id that several lines have */
} Match;

static bool id_matches(const Resolver *r, const IdList *list, const ItemId *entry, Str ref, bool *narrowed) {
    Names *names = r->job->names;
    Str id = name_text(names, entry->id);
    *narrowed = false;
    if (str_eq(ref, id)) return true;
    if (!str_ends(ref, id) || ref.len <= id.len || ref.ptr[ref.len - id.len - 1] != '.') return false;
    Str before = str_slice(ref, 0, ref.len - id.len - 1), procedure = name_text(names, list->name),
        phase = name_text(names, entry->phase);
    if (str_eq(before, procedure)) return true;
    *narrowed = true;
    if (!phase.len) return false;
    if (str_eq(before, phase)) return true;
    return before.len == procedure.len + 1 + phase.len && str_starts(before, procedure) &&
           before.ptr[procedure.len] == '.' && str_ends(before, phase);
}

static void match_in(const Resolver *r, const IdList *list, Str ref, Match *match) {
    for (uint32_t i = 0; i < list->n; i++) {
        bool narrowed;
        if (!id_matches(r, list, &list->ids[i], ref, &narrowed)) continue;
        match->matches++;
        uint32_t times = narrowed ? list->ids[i].times_in_phase : list->ids[i].times;
        if (times > 1) match->ambiguous = list->ids[i].id;
    }
}

static Name nearest_id(Resolver *r, const IdList *list, Name ref) {
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, ref));
    suggestion.distance = 6; /* ids are long */
    for (uint32_t i = 0; i < list->n; i++) suggestion_offer(&suggestion, list->ids[i].id);
    return suggestion.best;
}

static void report_ambiguous(Resolver *r, FindingKind kind, Word ref, Name id) {
    if (first_report(r, kind, ref.span))
        finding_add(
            r->job->findings, kind, ref.span,
            "several lines are called %N here, so it is open which is meant; give the one that is meant a label", id);
}

/* ---- adaptations ---- */

static const IdList *ids_of(const Resolver *r, Name procedure) {
    for (size_t i = 0; i < r->items->ids.n; i++)
        if (r->items->ids.at[i].name == procedure) return &r->items->ids.at[i];
    return NULL;
}

static void check_ref(Resolver *r, const IdList *list, const NameMap *added, Word ref) {
    Match match = {0};
    if (!ref.name || map_get(added, ref.name)) return;
    match_in(r, list, name_text(r->job->names, ref.name), &match);
    if (match.ambiguous) report_ambiguous(r, FINDING_ADAPT_UNKNOWN, ref, match.ambiguous);
    if (match.matches || !first_report(r, FINDING_ADAPT_UNKNOWN, ref.span)) return;
    Name near = nearest_id(r, list, ref.name);
    Finding *finding = near ? finding_add(r->job->findings, FINDING_ADAPT_UNKNOWN, ref.span,
                                          "%N has no line %N; did you mean %N?", list->name, ref.name, near)
                            : finding_add(r->job->findings, FINDING_ADAPT_UNKNOWN, ref.span, "%N has no line %N for %N",
                                          list->name, ref.name, r->tail->name);
    if (near) finding_fix(r->job->findings, finding, FIX_REVIEW, ref.span, "%N", near);
}

/* Labels of lines that the adaptation brings itself may be named further down. */
static void note_added(Resolver *r, NameMap *added, const Block *block) {
    for (const Stmt *stmt = block ? block->first : NULL; stmt; stmt = stmt->next)
        if (stmt->label.name) map_put(added, stmt->label.name, r);
}

static void check_adaptation(Resolver *r, const Decl *adapt) {
    const IdList *list = ids_of(r, adapt->name.name);
    if (!list) {
        static const DeclKind kinds[] = {DECL_PROCEDURE, DECL_DRILL};
        const Decl *decl = resolve_decl(r, adapt->name, kinds, 2, "a procedure or a drill");
        if (decl && first_report(r, FINDING_ADAPT_UNKNOWN, adapt->name.span))
            finding_add(r->job->findings, FINDING_ADAPT_UNKNOWN, adapt->name.span,
                        decl->kind == DECL_DRILL
                            ? "no procedure of %N comes to the drill %N"
                            : "for %N the procedure %N can never apply: it is for equipment that is not fitted",
                        r->tail->name, adapt->name.name);
    } else {
        NameMap added = {.arena = r->job->arena};
        for (const Edit *edit = adapt->u.edits; edit; edit = edit->next) {
            check_ref(r, list, &added, edit->ref);
            check_ref(r, list, &added, edit->to);
            note_added(r, &added, edit->block);
        }
    }
    if (first_report(r, FINDING_ADAPT_LATER, adapt->name.span))
        finding_add(r->job->findings, FINDING_ADAPT_LATER, adapt->name.span,
                    "this edition does not apply adaptations yet: %N would be proved and printed for %N without these "
                    "changes, so nothing is issued for it; "
                    "write a procedure of its own for %N meanwhile",
                    adapt->name.name, r->tail->name, r->tail->name);
}

void adaptations_check(Resolver *r) {
    const Decl **adapts;
    size_t n = program_all(r->program, DECL_ADAPT, &adapts);
    for (size_t i = 0; i < n; i++)
        if (adapts[i]->more->words && program_is_for(r->program, adapts[i], r->tail->decl))
            check_adaptation(r, adapts[i]);
}

/* ---- waivers ---- */

static void waive_item(Resolver *r, const Decl *waive) {
    Match match = {0};
    Word ref = waive->more->ref2;
    if (!ref.name) return;
    for (size_t i = 0; i < r->items->ids.n; i++)
        match_in(r, &r->items->ids.at[i], name_text(r->job->names, ref.name), &match);
    if (match.ambiguous) report_ambiguous(r, FINDING_WAIVE_UNKNOWN, ref, match.ambiguous);
    if (match.matches || !first_report(r, FINDING_WAIVE_UNKNOWN, ref.span)) return;
    Name near = 0;
    for (size_t i = 0; i < r->items->ids.n && !near; i++) near = nearest_id(r, &r->items->ids.at[i], ref.name);
    if (near)
        finding_add(r->job->findings, FINDING_WAIVE_UNKNOWN, ref.span, "%N has no line %N; did you mean %N?",
                    r->tail->name, ref.name, near);
    else
        finding_add(r->job->findings, FINDING_WAIVE_UNKNOWN, ref.span,
                    "%N has no line %N, so this waiver silences nothing", r->tail->name, ref.name);
}

static void waive_gate(Resolver *r, const Decl *waive) {
    const Decl *gate = program_find(r->program, DECL_GATE, waive->more->ref.name);
    if (!gate || !gate->u.gate->never_waived || !first_report(r, FINDING_WAIVE_NEVER, waive->more->ref.span)) return;
    Finding *finding = finding_add(r->job->findings, FINDING_WAIVE_NEVER, waive->more->ref.span,
                                   "%N says of itself `never waived`: it can be neither waived nor ranked down",
                                   waive->more->ref.name);
    finding_note(r->job->findings, finding, gate->name.span, "the gate stands here");
}

void waivers_check(Resolver *r) {
    const Decl **waivers;
    size_t n = program_waivers(r->program, &waivers);
    for (size_t i = 0; i < n; i++) {
        if (!program_is_for(r->program, waivers[i], r->tail->decl)) continue;
        waive_gate(r, waivers[i]);
        if (waivers[i]->more->words) waive_item(r, waivers[i]); /* without `on` it may fit another tail */
    }
}
