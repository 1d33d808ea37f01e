/* What the aircraft's text does not say and something depends on: one finding for each name, listing the gates that wait for it. */
#include "sema/items.h"

MissingKind missing_kind(const Resolver *r, Name name) {
    const uint32_t *at = map_get(&r->things, name);
    return at && r->tail->things[*at - 1].fitted == FITTED_UNDECIDED ? MISSING_FITTED : MISSING_VALUE;
}

static Missing *missing_entry(Resolver *r, MissingKind kind, Name name, Span at) {
    ItemWork *work = r->items;
    for (size_t i = 0; i < work->missing.n; i++)
        if (work->missing.at[i].kind == kind && work->missing.at[i].name == name) return &work->missing.at[i];
    Missing entry = {.kind = kind, .name = name, .at = at, .waiting = {.arena = r->job->arena}};
    vec_push(r->job->arena, &work->missing, entry);
    return &work->missing.at[work->missing.n - 1];
}

void missing_add(Resolver *r, MissingKind kind, Name name, Span at, Name gate) {
    const uint32_t *thing = map_get(&r->things, name);
    if (thing && r->tail->things[*thing - 1].inoperative) return; /* stated; what leans on it is not decided */
    Missing *entry = missing_entry(r, kind, name, at);
    if (!gate) {
        if (!entry->n_items++) entry->at = at;
        return;
    }
    entry->n_waiting++;
    buf_format(&entry->waiting, r->job->names, entry->waiting.len ? ", %N" : "%N", gate);
}

static Finding *report(Resolver *r, const Missing *entry) {
    Findings *findings = r->job->findings;
    Span at = r->tail->decl->name.span;
    switch (entry->kind) {
    case MISSING_VALUE:
        return finding_add(findings, FINDING_VALUE_MISSING, at, "%N gives no %N; state it with its source, from the handbook", r->tail->name, entry->name);
    case MISSING_FITTED:
        return finding_add(findings, FINDING_EQUIPMENT_UNDECIDED, at,
            "for %N it is not said whether %N is fitted; write `fitted %N` or `not fitted %N`: nothing is guessed", r->tail->name, entry->name,
            entry->name, entry->name);
    case MISSING_DUTY:
        return finding_add(findings, FINDING_VALUE_MISSING, at,
            "%N states no duty of the %N (`duty %N up to … on, … rest`), so nobody can say whether it is kept", r->tail->name, entry->name, entry->name);
    }
    return NULL;
}

void missing_report(Resolver *r) {
    for (size_t i = 0; i < r->items->missing.n; i++) {
        const Missing *entry = &r->items->missing.at[i];
        Finding *finding = report(r, entry);
        finding->tail = name_text(r->job->names, r->tail->name);
        if (entry->n_waiting)
            finding_note(r->job->findings, finding, (Span){0, 0}, entry->n_waiting == 1 ? "this gate waits for it: %S" : "these gates wait for it: %S",
                buf_view(&entry->waiting));
        finding_note(r->job->findings, finding, entry->at, "it is first needed here");
    }
}
