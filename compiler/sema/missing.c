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
    if (kind == MISSING_VALUE && map_get(&r->program->poisoned[DECL_AIRCRAFT], name))
        return; /* told: no aircraft gives it */
    Missing *entry = missing_entry(r, kind, name, at);
    if (!gate) {
        if (!entry->n_items++) entry->at = at;
        return;
    }
    if (entry->last == gate) return;
    entry->last = gate;
    entry->n_waiting++;
    buf_format(&entry->waiting, r->job->names, entry->waiting.len ? ", %N" : "%N", gate);
}

static bool is_band(const Resolver *r, Name name) {
    Str text = name_text(r->job->names, name);
    return memchr(text.ptr, ' ', text.len) != NULL;
}

static Finding *report(Resolver *r, const Missing *entry) {
    Findings *findings = r->job->findings;
    const Tail *tail = r->tail;
    Span at = tail->aircraft->name.span;
    switch (entry->kind) {
    case MISSING_VALUE:
        return finding_add(findings, FINDING_VALUE_MISSING, at,
                           is_band(r, entry->name)
                               ? "nothing says what %N is for %N; state it in a `band` line, with its source"
                               : "nothing says what %N is for %N; state it in a `value` line, with its source",
                           entry->name, tail->name);
    case MISSING_LABEL:
        return finding_add(findings, FINDING_VALUE_MISSING, at,
                           "no line of %N is labelled %N, and a drill that it takes over asks for that line: begin the "
                           "line that it means with `%N:`",
                           tail->name, entry->name, entry->name);
    case MISSING_FITTED:
        return finding_add(
            findings, FINDING_EQUIPMENT_UNDECIDED, at,
            "for %N it is not said whether %N is fitted; write `fitted %N` or `not fitted %N`: nothing is guessed",
            tail->name, entry->name, entry->name, entry->name);
    case MISSING_DUTY:
        return finding_add(findings, FINDING_VALUE_MISSING, at,
                           "nothing says what the duty of the %N is for %N (`duty %N up to … on, … rest`), so nobody "
                           "can tell whether it is kept",
                           entry->name, tail->name, entry->name);
    case MISSING_DRILL:
        return finding_add(
            findings, FINDING_DRILL_MISSING, at,
            "%N has no drill %N in any of its procedures, and what it is for may happen in them: take it "
            "over with a `drills` line, or write one of that name",
            tail->name, entry->name);
    }
    return NULL;
}

/* One finding for an aircraft and a name: further tails of the aircraft that lack it are notes on it. */
static void report_once(Resolver *r, const Missing *entry) {
    NameMap *map = &r->program->reported[FINDING_VALUE_MISSING];
    Name key = name_intern(r->job->names, format_text(r->job->arena, r->job->names, "%u %N %N", (uint64_t)entry->kind,
                                                      r->tail->aircraft->name.name, entry->name));
    Finding *finding = map_get(map, key);
    if (finding) {
        finding_note(r->job->findings, finding, r->tail->decl->name.span, "%N lacks it, too", r->tail->name);
        return;
    }
    finding = report(r, entry);
    map->arena = r->program->job->arena; /* longer than this tail */
    map_put(map, key, finding);
    if (entry->n_waiting)
        finding_note(r->job->findings, finding, (Span){0, 0},
                     entry->kind == MISSING_DRILL ? "asked for by: %S"
                     : entry->n_waiting == 1      ? "this gate waits for it: %S"
                                                  : "these gates wait for it: %S",
                     buf_view(&entry->waiting));
    finding_note(r->job->findings, finding, entry->at, "it is first needed here");
}

/* What only rules wait for does not matter where there is no procedure. */
void missing_report(Resolver *r) {
    if (r->program->again) return;
    for (size_t i = 0; i < r->items->missing.n; i++) {
        const Missing *entry = &r->items->missing.at[i];
        if (entry->n_items || r->tail->n_procedures) report_once(r, entry);
        r->tail->lines_open |= entry->n_items > 0 && entry->kind != MISSING_FITTED && !is_band(r, entry->name);
    }
}
