/* Tails: each is resolved in turn, for what its lines have wrong; then those that differ are proved, as many at a time as there are lanes,
   and a proof holds for every tail with the same key. */
#include "sema/tail_key.h"
#include "workspace/lanes.h"
#include <string.h>

/* What the aircraft leaves open makes the gates over it undecided; the others can be proved all the same. What is missing beside the
   handbook changes no proof. */
static bool leaves_open(FindingKind kind) {
    return kind == FINDING_VALUE_MISSING || kind == FINDING_EQUIPMENT_UNDECIDED || kind == FINDING_HANDBOOK_LINE_LEFT ||
           kind == FINDING_HANDBOOK_LINE_UNKNOWN || kind == FINDING_DIFFERENCE_NO_REASON;
}

/* Errors of the text, which leave no model worth proving. */
static bool errors_from(const Findings *findings, size_t first) {
    for (size_t i = first; i < findings->list.n; i++)
        if (findings->list.at[i]->severity == SEVERITY_ERROR && !leaves_open(findings->list.at[i]->kind)) return true;
    return false;
}

static bool has_errors(const Findings *findings) {
    return errors_from(findings, 0);
}

/* No model is worth proving of what was found in lowering. For a draft, which says NOT PROVED on every page, an engine of which it is not said
   when it comes to rest may come to rest at any time. */
static bool lowered_wrong(const Unit *unit, const Findings *lowered) {
    for (size_t i = 0; i < lowered->list.n; i++) {
        const Finding *finding = lowered->list.at[i];
        bool stands = leaves_open(finding->kind) || (unit->goal.draft && finding->kind == FINDING_RUN_DOWN_MISSING);
        if (finding->severity == SEVERITY_ERROR && !stands) return true;
    }
    return false;
}

typedef struct {
    Unit *unit;
    size_t n_lanes;
    UnitTail **by_mark; /* open hash over the marks */
    size_t mask;
    VEC(UnitTail *) pending; /* for the lanes */
    bool keeps, codes;    /* outputs may be wanted; the editions want their codes */
} Tails;

/* ---- which there are ---- */
static bool tail_wanted(const Unit *unit, const Decl *decl) {
    Str wanted = text_in(unit->goal.tail);
    return !wanted.len || str_eq(wanted, name_text(unit->job.names, decl->name.name));
}

static Findings no_findings(const Unit *unit) {
    return (Findings){.arena = unit->job.arena, .names = unit->job.names};
}

static void list_tails(Unit *unit) {
    size_t n = program_tail_count(unit->program);
    unit->tails = ARENA_ARRAY(unit->job.arena, UnitTail, n + 1);
    for (size_t i = 0; i < n; i++) {
        const Decl *decl = program_tail_decl(unit->program, i);
        if (!tail_wanted(unit, decl)) continue;
        UnitTail *at = &unit->tails[unit->n_tails++];
        at->index = i;
        at->lane = unit;
        at->name = name_text(unit->job.names, decl->name.name);
        at->read = at->lowered = at->proofs = no_findings(unit);
    }
    if (!unit->n_tails && unit->goal.tail.len && !has_errors(&unit->findings))
        finding_add(&unit->findings, FINDING_NO_SUCH_TAIL, (Span){0, 0}, "no tail is called \"%S\" here",
                    text_in(unit->goal.tail));
}

/* ---- those that are one ---- */
static void open_marks(Tails *t) {
    size_t n = 4;
    while (n < 2 * t->unit->n_tails) n *= 2;
    t->by_mark = ARENA_ARRAY(t->unit->job.arena, UnitTail *, n);
    t->mask = n - 1;
}

/* ---- one tail ---- */
static const Decl *decl_of(const Unit *lane, const UnitTail *at) {
    return program_tail_decl(lane->program, at->index);
}

static Job job_of(const UnitTail *at, Arena *arena, Findings *findings) {
    Job job = at->lane->job;
    job.arena = arena;
    job.findings = findings;
    return job;
}

static void resolve_again(UnitTail *at, Arena *arena) {
    Job job = job_of(at, arena, NULL);
    at->tail = program_tail_again(&job, at->lane->program, decl_of(at->lane, at));
}

/* Most tails have a mark of their own, and need no key. */
static const Sha256Digest *key_of(UnitTail *at) {
    const Tail *at_hand = at->tail;
    if (at->keyed) return &at->key;
    if (!at_hand) resolve_again(at, &at->lane->workspace->tail_arena);
    Job job = at->lane->job;
    at->key = tail_key(&job, at->tail);
    at->keyed = true;
    if (!at_hand) at->tail = NULL;
    return &at->key;
}

static UnitTail *first_of_key(Tails *t, UnitTail *at) {
    at->mark = tail_mark(&t->unit->job, at->tail);
    size_t slot = (size_t)at->mark & t->mask;
    for (; t->by_mark[slot]; slot = (slot + 1) & t->mask) {
        UnitTail *other = t->by_mark[slot];
        if (other->mark == at->mark && !memcmp(key_of(other), key_of(at), sizeof at->key)) return other;
    }
    t->by_mark[slot] = at;
    return at;
}

static void put_away(UnitTail *at) {
    at->tail = NULL;
    at->model = NULL;
    at->result = NULL;
    arena_reset(&at->lane->workspace->tail_arena);
}

static void prove(const Tails *t, UnitTail *at) {
    Unit *lane = at->lane;
    SwWorkspace *workspace = lane->workspace;
    Job job = job_of(at, &workspace->tail_arena, &at->lowered);
    at->model = model_lower(&job, at->tail);
    findings_of_tail(&job, at->tail, 0);
    if (!at->model || lowered_wrong(lane, &at->lowered)) return;
    CheckBudget budget = {0, workspace->host.stop, workspace->host.context};
    if (!workspace->room) workspace->room = check_room_new(&workspace->arena);
    job.findings = &at->proofs;
    at->result = check_model_in(workspace->room, &job, at->model, budget);
    at->n_proved = at->proofs.list.n;
    bool details = lane->goal.details, check = lane->goal.kind == SW_GOAL_CHECK;
    if (details) check_details(workspace->room);
    if (details && check) check_text_times(workspace->room);
    at->proved = true;
    unit_make_editions(at, t->codes);
    unit_publish_proof(at);
    if (t->keeps) at->kept = check_result_keep(lane->job.arena, at->result);
}

/* ---- in the lanes ---- */
/* What its lines have wrong has been told. */
static void prove_in_lane(void *context, Unit *lane, size_t i) {
    const Tails *t = context;
    UnitTail *at = t->pending.at[i];
    at->lane = lane;
    at->lowered = at->proofs = no_findings(lane);
    resolve_again(at, &lane->workspace->tail_arena);
    if (at->tail) prove(t, at);
    put_away(at);
}

/* Places in a tail's own lines are its alone. */
static bool in_own_lines(const Unit *unit, const UnitTail *at, Span span) {
    Span own = decl_of(unit, at)->span;
    return span.lo >= own.lo && span.lo < own.hi;
}

static bool tells_of_own_lines(const Unit *unit, const UnitTail *at) {
    for (size_t i = 0; i < at->n_proved; i++) {
        const Finding *finding = at->proofs.list.at[i];
        if (in_own_lines(unit, at, finding->span)) return true;
        for (const Note *note = finding->notes; note; note = note->next)
            if (in_own_lines(unit, at, note->span)) return true;
    }
    return false;
}

/* Whose proof another's holds for, and who has to be gone through all the same. */
static void second_look(Tails *t) {
    t->pending.n = 0;
    for (size_t i = 0; i < t->unit->n_tails; i++) {
        UnitTail *at = &t->unit->tails[i];
        if (!at->same) continue;
        bool holds = at->same->proved && !at->same->lowered.list.n && !tells_of_own_lines(t->unit, at->same);
        if (!holds) at->same = NULL;
        if (!holds || t->codes) vec_push(t->unit->job.arena, &t->pending, at);
    }
}

/* The model and the result as they were when it was proved. */
static void lower_again(UnitTail *at, Arena *arena) {
    Findings told = {.arena = arena, .names = at->lane->job.names};
    Job job = job_of(at, arena, &told);
    at->model = model_lower(&job, at->tail);
    at->result = check_result_for(arena, at->same ? at->same->kept : at->kept, at->tail);
}

static void second_in_lane(void *context, Unit *lane, size_t i) {
    const Tails *t = context;
    UnitTail *at = t->pending.at[i];
    if (!at->same) {
        prove_in_lane(context, lane, i);
        return;
    }
    at->lane = lane;
    at->proofs = no_findings(lane);
    resolve_again(at, &lane->workspace->tail_arena);
    lower_again(at, &lane->workspace->tail_arena);
    unit_make_editions(at, t->codes);
    put_away(at);
}

static void run_lanes(Tails *t, void (*each)(void *, Unit *, size_t)) {
    lanes_run(t->unit, (LaneWork){t, each}, t->pending.n);
}

/* ---- all ---- */
/* The first below that one whose model cannot be made of its lines. */
static size_t first_with_errors(const Unit *unit, size_t below) {
    for (size_t i = 0; i < unit->n_tails && i < below; i++)
        if (lowered_wrong(unit, &unit->tails[i].lowered)) return i;
    return below;
}

static bool proves(const Unit *unit) {
    return unit->goal.kind == SW_GOAL_CHECK || unit->goal.kind == SW_GOAL_ISSUE;
}

static void hold_against_handbook(UnitTail *at) {
    const Decl *decl = decl_of(at->lane, at);
    if (at->tail->adapted || decl->kind == DECL_TAIL) at->tail->handbook = program_handbook(at->lane->program, decl);
}

/* What several tails have wrong is told once: so far says whether those before it are whole. */
static bool read_one(Tails *t, UnitTail *at, bool so_far) {
    Unit *unit = t->unit;
    Job job = job_of(at, &unit->workspace->tail_arena, &at->read);
    size_t told = unit->findings.list.n; /* of what several tails share it is told there */
    at->tail = program_tail(&job, unit->program, decl_of(unit, at));
    bool whole = at->tail && !has_errors(&at->read) && !errors_from(&unit->findings, told);
    if (at->tail) at->n_procedures = at->tail->n_procedures;
    if (so_far && whole && proves(unit)) { /* else its lines are not all there */
        hold_against_handbook(at);
        handbook_check(&job, unit->program, at->tail);
    }
    /* Lines are also listed of a text with errors: whoever mends them wants to know how lines are named. */
    if (at->tail && unit->goal.kind == SW_GOAL_LINES) unit_publish_lines(at, &job);
    return whole;
}

/* A tail with another's key waits for its proof; with one lane what is new is proved at once, while it is at hand. */
static void go_on(Tails *t, UnitTail *at) {
    if (at->tail->lines_open) return; /* its lines are not all there */
    if (t->unit->n_tails > 1) {
        const UnitTail *first = first_of_key(t, at);
        if (first != at) at->same = first;
    }
    if (at->same && !t->codes) unit_make_editions(at, false);
    if (at->same) return;
    if (t->n_lanes > 1) vec_push(t->unit->job.arena, &t->pending, at);
    else prove(t, at);
}

/* Gives the first whose lines show an error. The others are resolved all the same, so that one run reports every error of the text, but not
   proved: the text will change. */
static size_t read_all(Tails *t) {
    Unit *unit = t->unit;
    size_t wrong = has_errors(&unit->findings) ? 0 : unit->n_tails;
    bool some_wrong = false;
    for (size_t i = 0; i < unit->n_tails; i++) {
        UnitTail *at = &unit->tails[i];
        if (!read_one(t, at, wrong > i) && wrong > i) wrong = i;
        bool goes_on = i < wrong && !some_wrong;
        if (goes_on && unit->goal.kind == SW_GOAL_GATES) unit_publish_gates(at);
        else if (goes_on && proves(unit)) go_on(t, at);
        some_wrong |= lowered_wrong(unit, &at->lowered);
        put_away(at);
    }
    return wrong;
}

static size_t open_lanes(Unit *unit) {
    size_t wanted = unit->workspace->host.workers;
    if (wanted > unit->n_tails) wanted = unit->n_tails;
    return wanted > 1 && proves(unit) && !has_errors(&unit->findings) ? lanes_open(unit, wanted) : 1;
}

void unit_compile_tails(Unit *unit) {
    list_tails(unit);
    Tails *t = ARENA_NEW(unit->job.arena, Tails);
    t->unit = unit;
    t->codes = unit_wants_codes(unit);
    t->keeps = t->codes || unit->goal.kind == SW_GOAL_ISSUE;
    t->n_lanes = open_lanes(unit);
    open_marks(t);
    size_t first_wrong = read_all(t);
    bool read_whole = first_wrong == unit->n_tails;
    if (read_whole) run_lanes(t, prove_in_lane);
    first_wrong = first_with_errors(unit, first_wrong);
    if (first_wrong == unit->n_tails) {
        second_look(t);
        run_lanes(t, second_in_lane);
    }
    unit_collect(unit, first_wrong, read_whole);
}

void unit_make_tail(UnitTail *at, Arena *arena) {
    resolve_again(at, arena);
    hold_against_handbook(at);
    lower_again(at, arena);
    for (uint32_t i = 0; i < at->result->n_verdicts; i++) at->result->verdicts[i].finding = at->told.at[i];
}
