/* Findings and verdicts in the public shape: sorted, without doubles, with lines and columns. */
#include "workspace/publish.h"
#include "base/utf8.h"
#include "workspace/library.h"
#include <stdlib.h>
#include <string.h>

/* ---- places ---- */

static uint32_t clamp_to_line(const Source *source, Str line, uint32_t hi) {
    uint32_t end = source->base + (uint32_t)(line.ptr - source->text.ptr) + (uint32_t)line.len;
    return hi < end ? hi : end;
}

SwPlace publish_place(Unit *unit, Span span) {
    SwPlace place = {0};
    if (!span.lo && !span.hi) return place;
    Sources *sources = unit->job.sources;
    Position lo = source_position(sources, span.lo), hi = source_position(sources, span.hi);
    Str line = source_line(sources, lo.source, lo.line);
    Position end = source_position(sources, clamp_to_line(lo.source, line, span.hi));
    place.path = text_out(lo.source->path);
    place.line = lo.line, place.column = lo.column;
    place.end_line = hi.line, place.end_column = hi.column;
    place.lo = span.lo - lo.source->base, place.hi = span.hi - lo.source->base;
    place.line_text = text_out(line);
    place.cells_before = lo.width;
    place.cells = end.line == lo.line && end.width > lo.width ? end.width - lo.width : 1;
    return place;
}

/* ---- order ---- */

static int compare_numbers(uint64_t a, uint64_t b) {
    return a < b ? -1 : a > b;
}

/* Where the reader looks first: the main files in their order, line by line; the library last. */
static uint64_t place_order(uint32_t lo) {
    bool library = lo && lo < library_prepared.sources.next_base;
    return library ? (uint64_t)UINT32_MAX + lo : lo;
}

static int by_place(const void *left, const void *right) {
    const Finding *a = *(Finding *const *)left, *b = *(Finding *const *)right;
    int order = compare_numbers(place_order(a->span.lo), place_order(b->span.lo));
    if (!order) order = compare_numbers(b->severity, a->severity);
    if (!order) order = compare_numbers(a->kind, b->kind);
    if (!order) order = str_cmp(a->gate, b->gate);
    if (!order) order = str_cmp(a->message, b->message);
    if (!order) order = str_cmp(a->tail, b->tail);
    return order;
}

static bool same_but_tail(const Finding *a, const Finding *b) {
    return a->kind == b->kind && a->severity == b->severity && a->span.lo == b->span.lo && str_eq(a->gate, b->gate) &&
           str_eq(a->message, b->message) && a->waived == b->waived && a->known == b->known;
}

/* The same finding on several tails is told once, with all of them. */
static void join_tails(Unit *unit, Finding *kept, const Finding *other) {
    Str last = kept->tail; /* tails come in order: a tail named already is the last one named */
    if (last.len > other->tail.len) last = str_slice(last, last.len - other->tail.len, last.len);
    if (!kept->tail.len || str_eq(last, other->tail)) return;
    kept->tail =
        other->tail.len ? format_text(unit->job.arena, unit->job.names, "%S, %S", kept->tail, other->tail) : STR("");
}

static size_t drop_doubles(Unit *unit, Finding **list, size_t n) {
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (kept && same_but_tail(list[kept - 1], list[i])) join_tails(unit, list[kept - 1], list[i]);
        else list[kept++] = list[i];
    }
    return kept;
}

/* ---- shapes ---- */

static void publish_notes(Unit *unit, const Finding *finding, SwFinding *out) {
    for (const Note *note = finding->notes; note; note = note->next) out->n_notes++;
    for (const Fix *fix = finding->fixes; fix; fix = fix->next) out->n_fixes++;
    SwNote *notes = ARENA_ARRAY(unit->job.arena, SwNote, out->n_notes + 1);
    SwFix *fixes = ARENA_ARRAY(unit->job.arena, SwFix, out->n_fixes + 1);
    size_t i = 0;
    for (const Note *note = finding->notes; note; note = note->next)
        notes[i++] = (SwNote){publish_place(unit, note->span), text_out(note->text)};
    i = 0;
    for (const Fix *fix = finding->fixes; fix; fix = fix->next)
        fixes[i++] = (SwFix){(SwFixGrade)fix->grade, publish_place(unit, fix->span), text_out(fix->text)};
    out->notes = notes;
    out->fixes = fixes;
}

static SwFinding publish_finding(Unit *unit, const Finding *finding) {
    SwFinding out = {.message = text_out(finding->message),
                     .tail = text_out(finding->tail),
                     .severity = (SwSeverity)finding->severity,
                     .waived = finding->waived,
                     .known = finding->known};
    out.id = finding->gate.len ? text_out(finding->gate) : text_out(str_of(finding_info[finding->kind].id));
    out.place = publish_place(unit, finding->span);
    publish_notes(unit, finding, &out);
    if (finding->trace) publish_trace(unit, finding->trace, &out);
    return out;
}

static void count(SwUnit *public, Severity severity, size_t n) {
    switch (severity) {
    case SEVERITY_NOTE:
        public
        ->notes += n;
        break;
    case SEVERITY_WARNING:
        public
        ->warnings += n;
        break;
    case SEVERITY_ERROR:
        public
        ->errors += n;
        break;
    case SEVERITY_UNDECIDED:
        public
        ->undecided += n;
        break;
    }
}

static void share_paths(Unit *unit, Finding *const *list, size_t n, SwFinding *out) {
    SharedPath *traced = ARENA_ARRAY(unit->job.arena, SharedPath, n + 1);
    size_t n_traced = 0;
    for (size_t i = 0; i < n; i++)
        if (list[i]->trace && list[i]->trace->n_moves && !list[i]->waived && !list[i]->known)
            traced[n_traced++] = (SharedPath){list[i], i};
    publish_shared(unit, traced, n_traced, out);
}

static void publish_findings(Unit *unit) {
    Finding **list = unit->findings.list.at;
    size_t n = unit->findings.list.n;
    if (n) qsort(list, n, sizeof(Finding *), by_place);
    n = drop_doubles(unit, list, n);
    SwFinding *out = ARENA_ARRAY(unit->job.arena, SwFinding, n + 1);
    for (size_t i = 0; i < n; i++) {
        out[i] = publish_finding(unit, list[i]);
        if (list[i]->waived) unit->public.waived++;
        else if (list[i]->known) unit->public.known++;
        else count(&unit->public, list[i]->severity, 1);
    }
    for (int severity = SEVERITY_NOTE; severity <= SEVERITY_UNDECIDED; severity++)
        count(&unit->public, (Severity)severity, unit->findings.beyond[severity]);
    share_paths(unit, list, n, out);
    unit->public.findings = out;
    unit->public.n_findings = n;
}

/* ---- proofs ---- */

static SwText kept(Unit *unit, Str text) {
    return text_out(str_copy(unit->job.arena, text));
}

/* Most verdicts have none of what follows, and there is one of each rule for each tail: no room is taken for nothing. */
static void publish_tests(Unit *unit, const Verdict *verdict, SwVerdict *out) {
    if (!verdict->n_tests) return;
    SwTest *list = ARENA_ARRAY(unit->job.arena, SwTest, verdict->n_tests + 1u);
    for (uint32_t k = 0; k < verdict->n_tests; k++) {
        const TestedBy *test = &verdict->tests[k];
        const uint32_t *lines = arena_copy(unit->job.arena, test->lines, test->n_lines * sizeof *lines);
        list[k] = (SwTest){kept(unit, test->what), text_out(test->file), lines, test->n_lines, test->points};
    }
    out->tests = list;
    out->n_tests = verdict->n_tests;
}

static SwTimeLimit publish_limit(Unit *unit, const TimeLimit *limit) {
    return (SwTimeLimit){kept(unit, limit->what), (SwTimeKind)limit->kind, limit->ms, (SwSpare)limit->spare,
                         limit->spare_ms};
}

static void publish_limits(Unit *unit, const Verdict *verdict, SwVerdict *out) {
    if (!verdict->n_limits) return;
    SwTimeLimit *list = ARENA_ARRAY(unit->job.arena, SwTimeLimit, verdict->n_limits + 1u);
    for (uint32_t k = 0; k < verdict->n_limits; k++) list[k] = publish_limit(unit, &verdict->limits[k]);
    out->limits = list;
    out->n_limits = verdict->n_limits;
}

static SwText assumption_id(int kind) {
    return text_out(str_of(assumption_ids[kind]));
}

static void publish_assumes(Unit *unit, const Verdict *verdict, SwVerdict *out) {
    SwText list[ASSUMED_KINDS];
    for (int kind = 0; kind < ASSUMED_KINDS; kind++)
        if (verdict_assumes(verdict, (AssumptionKind)kind)) list[out->n_assumes++] = assumption_id(kind);
    if (out->n_assumes) out->assumes = arena_copy(unit->job.arena, list, out->n_assumes * sizeof *list);
}

static SwVerdict publish_verdict(Unit *unit, const UnitTail *at, const Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    Str engine = gate->engine == NO_INDEX ? STR("") : name_text(unit->job.names, at->tail->engines[gate->engine]);
    SwVerdict out = {.tail = text_out(at->name),
                     .gate = text_out(name_text(unit->job.names, gate->name)),
                     .engine = text_out(engine),
                     .title = kept(unit, gate->title),
                     .rule = kept(unit, gate->in_words),
                     .why = kept(unit, verdict->why),
                     .kind = (SwVerdictKind)verdict->kind,
                     .with_pace = verdict->with_pace,
                     .triggered = verdict->triggered};
    publish_tests(unit, verdict, &out);
    publish_limits(unit, verdict, &out);
    publish_assumes(unit, verdict, &out);
    return out;
}

static void publish_assumptions(UnitTail *at) {
    for (uint32_t k = 0; k < at->result->n_assumptions; k++) {
        const Assumption *one = &at->result->assumptions[k];
        SwAssumption out = {assumption_id(one->kind), kept(at->lane, one->text), text_out(at->name), one->every_rule,
                            one->ms};
        vec_push(at->lane->job.arena, &at->assumptions, out);
    }
}

static void publish_text_times(UnitTail *at) {
    Unit *lane = at->lane;
    for (uint32_t k = 0; k < at->result->n_text_times; k++) {
        const TextTime *time = &at->result->text_times[k];
        SwTextTime out = {kept(lane, time->line), publish_place(lane, (Span){time->at, time->at + 1}),
                          text_out(at->name), publish_limit(lane, &time->limit)};
        vec_push(lane->job.arena, &at->text_times, out);
    }
}

void unit_publish_proof(UnitTail *at) {
    Arena *arena = at->lane->job.arena;
    for (uint32_t i = 0; i < at->result->n_verdicts; i++) {
        const Verdict *verdict = &at->result->verdicts[i];
        vec_push(arena, &at->verdicts, publish_verdict(at->lane, at, verdict));
        vec_push(arena, &at->told, verdict->finding);
    }
    publish_assumptions(at);
    publish_text_times(at);
    for (size_t n = 0; n < at->n_proved; n++) {
        Finding *finding = at->proofs.list.at[n];
        if (finding->trace) finding->trace = trace_keep(arena, finding->trace);
    }
}

/* ---- gates ---- */
static const SwGateStanding standings[] = {[GATE_APPLIES] = SW_GATE_APPLIES,
                                           [GATE_NOT_APPLICABLE] = SW_GATE_NOT_APPLICABLE,
                                           [GATE_NOT_DECIDED] = SW_GATE_WAITS};

void unit_publish_gates(UnitTail *at) {
    Unit *unit = at->lane;
    for (uint32_t i = 0; i < at->tail->n_gates; i++) {
        const GateInstance *gate = &at->tail->gates[i];
        SwGate out = {.tail = text_out(at->name),
                      .gate = text_out(name_text(unit->job.names, gate->name)),
                      .title = kept(unit, gate->title),
                      .rule = kept(unit, gate->standing == GATE_NOT_APPLICABLE ? STR("") : gate->in_words),
                      .why = kept(unit, gate->standing == GATE_APPLIES ? STR("") : gate->why_not),
                      .severity = (SwSeverity)gate->severity,
                      .standing = standings[gate->standing]};
        if (gate->engine != NO_INDEX)
            out.engine = text_out(name_text(unit->job.names, at->tail->engines[gate->engine]));
        vec_push(unit->job.arena, &at->gates, out);
    }
    at->counted = true;
}

/* ---- what the tails gave ---- */
#define APPEND(unit, list, more)                                                                     \
    do {                                                                                             \
        for (size_t k_ = 0; k_ < (more).n; k_++) vec_push((unit)->job.arena, (list), (more).at[k_]); \
    } while (0)

/* What was found of the tail that was proved, as found of this one. */
static void take_findings(Unit *unit, UnitTail *at) {
    Findings list = {.arena = unit->job.arena, .names = unit->job.names};
    for (size_t i = 0; i < at->same->n_proved; i++) {
        const Finding *from = at->same->proofs.list.at[i];
        Finding *finding = arena_copy(unit->job.arena, from, sizeof *from);
        finding->tail = from->tail.len ? at->name : from->tail;
        if (from->trace) finding->trace = arena_copy(unit->job.arena, from->trace, sizeof *from->trace);
        vec_push(unit->job.arena, &list.list, finding);
    }
    at->n_proved = list.list.n;
    findings_append(&list, &at->proofs);
    at->proofs = list;
}

static Finding *as_found_here(const UnitTail *at, const Finding *there) {
    for (size_t i = 0; there && i < at->same->n_proved; i++)
        if (at->same->proofs.list.at[i] == there) return at->proofs.list.at[i];
    return NULL;
}

static void take_proof(Unit *unit, UnitTail *at) {
    const UnitTail *same = at->same;
    Arena *arena = unit->job.arena;
    take_findings(unit, at);
    at->verdicts.n = at->told.n = at->assumptions.n = at->text_times.n = 0;
    APPEND(unit, &at->assumptions, same->assumptions);
    APPEND(unit, &at->text_times, same->text_times);
    for (size_t i = 0; i < same->told.n; i++) vec_push(arena, &at->told, as_found_here(at, same->told.at[i]));
    for (size_t i = 0; i < at->assumptions.n; i++) at->assumptions.at[i].tail = text_out(at->name);
    for (size_t i = 0; i < at->text_times.n; i++) at->text_times.at[i].tail = text_out(at->name);
}

/* In the words of the unit that was asked for. */
static void name_traces(const Unit *unit, const UnitTail *at) {
    for (size_t i = 0; i < at->n_proved; i++) {
        Trace *trace = at->proofs.list.at[i]->trace;
        if (trace) trace->tail = name_find(unit->job.names, at->name);
    }
}

static void collect_verdicts(Unit *unit, const UnitTail *at) {
    const UnitTail *from = at->same ? at->same : at;
    for (size_t i = 0; i < from->verdicts.n; i++) {
        SwVerdict verdict = from->verdicts.at[i];
        verdict.tail = text_out(at->name);
        vec_push(unit->job.arena, &unit->verdicts, verdict);
    }
    APPEND(unit, &unit->told, at->told);
}

static void collect_proof(Unit *unit, UnitTail *at) {
    if (at->same) take_proof(unit, at);
    name_traces(unit, at);
    findings_append(&unit->findings, &at->proofs);
    collect_verdicts(unit, at);
    APPEND(unit, &unit->assumptions, at->assumptions);
    APPEND(unit, &unit->text_times, at->text_times);
    at->counted |= at->same || at->proved;
}

/* Once the lines of a tail show an error the text will change: nothing proved of it is told. */
void unit_collect(Unit *unit, size_t first_wrong, bool read_whole) {
    bool whole = first_wrong == unit->n_tails, lines = unit->goal.kind == SW_GOAL_LINES;
    for (size_t i = 0; i < unit->n_tails; i++) findings_append(&unit->findings, &unit->tails[i].read);
    for (size_t i = 0; i < unit->n_tails && i <= first_wrong && read_whole; i++)
        findings_append(&unit->findings, &unit->tails[i].lowered);
    for (size_t i = 0; i < unit->n_tails; i++) {
        UnitTail *at = &unit->tails[i];
        if (whole) collect_proof(unit, at);
        at->counted &= whole || lines;
        if (!at->counted) continue;
        APPEND(unit, &unit->gates, at->gates);
        APPEND(unit, &unit->lines, at->lines);
        unit->public.tails++;
        unit->public.procedures += at->n_procedures;
    }
}

/* Where each verdict is told, and whether that is waived: known at the end. */
static void publish_judged(Unit *unit) {
    for (size_t i = 0; i < unit->verdicts.n; i++) {
        const Finding *finding = unit->told.at[i];
        if (!finding) continue;
        unit->verdicts.at[i].place = publish_place(unit, finding->span);
        unit->verdicts.at[i].waived = finding->waived;
        unit->verdicts.at[i].known = finding->known;
    }
}

static void publish_inputs(Unit *unit) {
    SwText *paths = ARENA_ARRAY(unit->job.arena, SwText, unit->files.n + unit->earlier.n + 1);
    for (size_t i = 0; i < unit->files.n; i++)
        if (!unit->files.at[i]->source->library)
            paths[unit->public.n_inputs++] = text_out(unit->files.at[i]->source->path);
    for (size_t i = 0; i < unit->earlier.n; i++) paths[unit->public.n_inputs++] = text_out(unit->earlier.at[i]->path);
    unit->public.inputs = paths;
}

void unit_publish(Unit *unit) {
    publish_inputs(unit);
    publish_findings(unit);
    publish_judged(unit);
    unit->public.verdicts = unit->verdicts.at;
    unit->public.n_verdicts = unit->verdicts.n;
    unit->public.assumptions = unit->assumptions.at;
    unit->public.n_assumptions = unit->assumptions.n;
    unit->public.gates = unit->gates.at;
    unit->public.n_gates = unit->gates.n;
    unit->public.lines = unit->lines.at;
    unit->public.n_lines = unit->lines.n;
    unit->public.text_times = unit->text_times.at;
    unit->public.n_text_times = unit->text_times.n;
}
