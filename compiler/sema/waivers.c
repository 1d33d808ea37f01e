/* Waivers: do the lines and gates they name exist? */
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

static void report_ambiguous(Resolver *r, Word ref, Name id) {
    if (first_report(r, FINDING_WAIVE_UNKNOWN, ref.span))
        finding_add(
            r->job->findings, FINDING_WAIVE_UNKNOWN, ref.span,
            "several lines are called %N here, so it is open which is meant; give the one that is meant a label", id);
}

/* ---- waivers ---- */

static void waive_item(Resolver *r, const Decl *waive) {
    Match match = {0};
    Word ref = waive->more->ref2;
    if (!ref.name) return;
    for (size_t i = 0; i < r->items->ids.n; i++)
        match_in(r, &r->items->ids.at[i], name_text(r->job->names, ref.name), &match);
    if (match.ambiguous) report_ambiguous(r, ref, match.ambiguous);
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
