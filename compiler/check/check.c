/* All gates of one model, and the first pass. */
#include "base/limits.h"
#include "check/assumed.h"
#include "check/deadlines.h"
#include "check/given_up.h"
#include "check/merge.h"
#include "check/slack.h"
#include "check/sweep.h"
#include "check/tell.h"
#include "check/tested.h"
#include "check/untested.h"
#include "check/ways.h"
#include "check/words.h"
#include <string.h>

const char *const verdict_words[] = {"proved as written", "broken", "never tested", "not applicable", "not decided"};

enum { N_VIEWS = 4 };
typedef struct Checker Checker;
struct Checker {
    Job *job;
    const Model *model;
    CheckBudget budget;
    uint64_t spent;  /* zones of all searches so far */
    OtherTime other; /* a time asked for otherwise than it stands, to see what it has to spare */
    FirstPass *first;
    Frame *paced;          /* made when first needed */
    Frame *wider[N_VIEWS]; /* likewise, where the first pass came to its end */
    Arena *own;            /* the views of the model: gone with this check */
    Arena *shared;         /* `ways`: gone when all rules are judged */
    Arena *scratch;        /* gone with each gate */
    Arena *board;          /* gone with each game */
    Store *store;
    CheckResult *result;
    WaysBoard *ways;   /* likewise */
    Checker *coasting; /* likewise */
};

/* ---- verdicts without a search ---- */
static void not_decided(Checker *c, Verdict *verdict, Str why) {
    verdict->kind = VERDICT_NOT_DECIDED;
    verdict->why = why;
    const GateInstance *gate = verdict->gate;
    Span span = gate->why_span.hi ? gate->why_span : gate_span(gate);
    verdict->finding =
        finding_add(c->job->findings, FINDING_NOT_DECIDED, span, "%S: not decided, %S", gate_title(c->job, gate), why);
    verdict->finding->severity = SEVERITY_UNDECIDED;
    verdict->finding->gate = name_text(c->job->names, gate->name);
}

static void never_tested(Checker *c, Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    verdict->kind = VERDICT_NEVER_TESTED;
    Str why = verdict->why = untested_why(c->first, gate);
    if (untested_is_told(c->model, gate)) return;
    verdict->finding = finding_add(c->job->findings, FINDING_NEVER_TESTED, gate_span(gate),
                                   why.len ? "%S: nothing here puts this to the test, for %S"
                                           : "%S: nothing here puts this to the test%S",
                                   gate_title(c->job, gate), why);
    verdict->finding->gate = name_text(c->job->names, gate->name);
}

static uint32_t count_bits(const uint64_t *set, uint32_t n) {
    uint32_t count = 0;
    for (uint32_t w = 0; w <= n / 64; w++) count += (uint32_t)__builtin_popcountll(set[w]);
    return count;
}

/* ---- one search ---- */
typedef struct {
    Verdict *verdict;
    const Observer *observer;
    const Slice *slice;
    uint32_t part;
    bool narrows; /* see search.h */
} Trial;

static Search *run_search(Checker *c, const Trial *trial) {
    Search *search = search_new(c->scratch, trial->slice, trial->observer, c->store, c->budget);
    search->narrows = trial->narrows;
    if (!sweep_fits(search) || sweep_run(search) == SEARCH_BUDGET) search_run(search);
    trial->verdict->zones += c->store->n_nodes;
    c->spent += c->store->n_nodes;
    return search;
}

/* Once more for the path, with more room: nodes are kept apart. */
static Search *run_apart(Checker *c, const Trial *trial) {
    enum { MORE = 4 };
    CheckBudget budget = c->budget;
    budget.zones = MORE * (budget.zones ? budget.zones : LIMIT_ZONES);
    Search *search = search_new(c->scratch, trial->slice, trial->observer, c->store, budget);
    search->apart = true;
    search_run(search);
    c->spent += c->store->n_nodes;
    return search;
}

static Trial trial_make(Checker *c, Verdict *verdict, uint32_t part, const Frame *frame, Str *why) {
    const GateInstance *gate = verdict->gate;
    uint64_t *facts = ARENA_ARRAY(c->scratch, uint64_t, frame->fact_words);
    observer_facts(c->model, gate, frame->unread, facts);
    Trial trial = {.verdict = verdict, .part = part, .slice = slice_make(c->scratch, frame, facts)};
    if (trial.slice->too_large) {
        *why = STR("the procedures keep too many things apart, or a time is longer than three days");
        return trial;
    }
    ObserverPlan plan = {c->scratch, trial.slice, gate, part, c->other};
    trial.observer = observer_make(&plan, why);
    return trial;
}

static void report_broken(Checker *c, const Trial *trial) {
    Search *search = run_apart(c, trial);
    const GateInstance *gate = trial->verdict->gate;
    if (search->end != SEARCH_BROKEN) {
        trial->verdict->kind = VERDICT_BROKEN;
        trial->verdict->finding =
            finding_add(c->job->findings, FINDING_BROKEN, gate_span(gate),
                        "%S: a path breaks this; it is too long to be told", gate_title(c->job, gate));
        trial->verdict->finding->severity = gate->severity;
        trial->verdict->finding->gate = name_text(c->job->names, gate->name);
        return;
    }
    Path path = witness_path(c->scratch, search);
    Broken broken = {c->job, c->model, trial->verdict->gate, search, &path, trial->part};
    trial->verdict->kind = VERDICT_BROKEN;
    trial->verdict->finding = tell_finding(c->job, &broken, c->scratch);
    trial->verdict->witness = trial->verdict->finding->trace;
}

static bool paced_frame(Checker *c) {
    if (c->model->tail->pace_ms <= 0 || c->model->pace_clock == NO_INDEX) return false;
    if (!c->paced) c->paced = frame_make(c->own, c->first->taken, NULL, true);
    return c->paced->paces != NULL;
}

/* Broken without the pace: with it, the rule may hold, and then the verdict says so. */
static bool holds_at_pace(Checker *c, const Trial *trial) {
    if (!paced_frame(c)) return false;
    Str why = STR("");
    Trial paced = trial_make(c, trial->verdict, trial->part, c->paced, &why);
    if (!paced.observer) return false;
    Search *search = run_search(c, &paced);
    if (search->end != SEARCH_HOLDS) return false;
    trial->verdict->with_pace = true;
    return true;
}

/* Wider views of the model, from the cheapest on: most rules are kept whatever the time and the facts they do not speak of. */
static const struct {
    bool timed, read, few;
} views[N_VIEWS] = {{false, false, false}, {false, true, false}, {true, false, true}, {true, false, false}};

static const Frame *view_frame(Checker *c, const GateInstance *gate, uint32_t view) {
    if (views[view].few) {
        uint64_t *clocks = ARENA_ARRAY(c->scratch, uint64_t, c->model->n_clocks / 64 + 1u);
        observer_clocks(c->model, gate, c->scratch, clocks);
        return frame_few(c->scratch, view_frame(c, gate, view + 1), clocks);
    }
    if (!c->wider[view]) c->wider[view] = frame_wider(c->own, c->first->taken, views[view].timed, views[view].read);
    return c->wider[view];
}

static bool holds_in_view(Checker *c, Verdict *verdict, uint32_t part, uint32_t view) {
    Str why = STR("");
    Trial trial = trial_make(c, verdict, part, view_frame(c, verdict->gate, view), &why);
    if (!trial.observer) return false;
    Search *search = run_search(c, &trial);
    if (search->end != SEARCH_HOLDS) return false;
    uint32_t tested = count_bits(search->edge_tested, c->model->n_edges);
    if (tested > verdict->triggered) verdict->triggered = tested;
    return true;
}

/* Without time such a rule can only be broken. */
static bool speaks_of_time(const GateInstance *gate) {
    if (gate->rule == RULE_RESPONSE || gate->rule == RULE_LASTS || gate->rule == RULE_DUTY) return true;
    for (uint32_t k = 0; k < gate->n_steps; k++)
        if (!gate->steps[k].event && (gate->steps[k].least_ms > 0 || gate->steps[k].most_ms >= 0)) return true;
    return gate->rule == RULE_NEVER_AFTER && gate->time.n;
}

static bool overspent(const Checker *c) {
    return c->spent > LIMIT_TAIL_ZONES;
}

static bool holds_in_some_view(Checker *c, Verdict *verdict, uint32_t part) {
    for (uint32_t view = 0; view < N_VIEWS; view++)
        if ((views[view].timed ? !overspent(c) : !speaks_of_time(verdict->gate)) &&
            holds_in_view(c, verdict, part, view))
            return true;
    return false;
}

/* False: the verdict is settled. */
static bool try_part(Checker *c, Verdict *verdict, uint32_t part) {
    if (holds_in_some_view(c, verdict, part)) return true;
    if (overspent(c)) {
        not_decided(c, verdict, STR("the proofs of this tail together grew beyond their budget"));
        return false;
    }
    Str why = STR("");
    Trial trial = trial_make(c, verdict, part, c->first->taken, &why);
    if (!trial.observer) {
        not_decided(c, verdict, why);
        return false;
    }
    Search *search = run_search(c, &trial);
    uint32_t tested = count_bits(search->edge_tested, c->model->n_edges);
    if (tested > verdict->triggered) verdict->triggered = tested;
    switch (search->end) {
    case SEARCH_HOLDS: return true;
    case SEARCH_BROKEN:
        if (holds_at_pace(c, &trial)) return true;
        report_broken(c, &trial);
        return false;
    case SEARCH_BUDGET: not_decided(c, verdict, STR("its search grew beyond the budget")); return false;
    case SEARCH_STOPPED: not_decided(c, verdict, STR("the search was stopped")); return false;
    }
    return false;
}

static WaysQuestion ways_question(Checker *c, const GateInstance *gate, bool coarse_only) {
    return (WaysQuestion){.job = c->job,
                          .first = c->first,
                          .gate = gate,
                          .scratch = c->scratch,
                          .board = c->board,
                          .store = c->store,
                          .budget = c->budget,
                          .coarse_only = coarse_only,
                          .own = c->shared,
                          .shared = &c->ways};
}

static void prove(Checker *c, Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    if (gate->why_not.len) {
        never_tested(c, verdict);
        return;
    }
    if (!rule_has_search(gate->rule)) {
        WaysQuestion question = ways_question(c, gate, false);
        WaysAnswer answer = gate->rule == RULE_CASES ? variants_decide(&question) : ways_decide(&question);
        verdict->kind = answer.kind;
        verdict->triggered = answer.tested;
        verdict->zones = answer.zones;
        if (answer.kind == VERDICT_NOT_DECIDED) not_decided(c, verdict, answer.why);
        if (answer.kind == VERDICT_NEVER_TESTED) never_tested(c, verdict);
        if (answer.kind == VERDICT_BROKEN) verdict->finding = answer.finding, verdict->witness = answer.finding->trace;
        return;
    }
    Quick quick = firstpass_quick(c->first, gate, c->scratch);
    verdict->triggered = quick.tested;
    if (quick.decided) {
        verdict->kind = VERDICT_PROVED;
        if (!quick.tested) never_tested(c, verdict);
        return;
    }
    uint32_t parts = observer_parts(c->model, gate);
    for (uint32_t part = 0; part < parts; part++)
        if (!try_part(c, verdict, part)) return;
    verdict->kind = VERDICT_PROVED;
    if (!verdict->triggered) never_tested(c, verdict);
}

static void judge(Checker *c, Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    if (!c->model->tail->n_procedures && gate->standing != GATE_NOT_APPLICABLE) {
        verdict->kind = VERDICT_NEVER_TESTED; /* nothing to be told */
        verdict->why = STR("no procedure is for it");
        return;
    }
    switch (gate->standing) {
    case GATE_APPLIES: prove(c, verdict); return;
    case GATE_NOT_APPLICABLE:
        verdict->kind = VERDICT_NOT_APPLICABLE;
        verdict->why = gate->why_not;
        return;
    case GATE_NOT_DECIDED: not_decided(c, verdict, gate->why_not); return;
    }
}

/* ---- on request: what a verdict leans on, what its times have to spare ---- */
static const Search *search_in(Checker *c, Verdict *verdict, uint32_t part, const Frame *frame) {
    Str why = STR("");
    Trial trial = trial_make(c, verdict, part, frame, &why);
    if (!trial.observer) return NULL;
    trial.narrows = c->other.time && c->other.ms != TIME_NEVER_ENOUGH && trial.observer->window;
    return run_search(c, &trial);
}

static const Answer no_answer = {NOT_KNOWN, -1, -1, false, false};

/* What its clock reads where a run breaks it is that of the zone there: a search forgets only how late a clock is beyond all that it is
   asked for. */
static Answer answer_by_break(const Search *search) {
    Answer answer = {NOT_HELD, -1, -1, false, false};
    const Bucket *bucket = node_bucket(search, search->bad);
    uint32_t place = bucket->place,
             clocks = search->frame->clocks_first[place + 1] - search->frame->clocks_first[place];
    if (!search->observer->states[bucket->state].clocked) return answer;
    const int32_t *zone = search->store->zones + search->store->nodes[search->bad].zone;
    uint32_t row = clocks + 1, rows = clocks + 2;
    answer.least = -zone[row];
    if (zone[row * rows] < ZONE_INF) answer.most = zone[row * rows];
    return answer;
}

static Answer answer_of(const Search *search) {
    if (!search) return no_answer;
    if (search->narrowed) return (Answer){NOT_HELD, *search->observer->window, -1, true, search->end == SEARCH_HOLDS};
    if (search->end == SEARCH_HOLDS) return (Answer){HELD, -1, -1, false, false};
    return search->end == SEARCH_BROKEN ? answer_by_break(search) : no_answer;
}

static bool view_speaks(const GateInstance *gate, uint32_t view) {
    return views[view].timed || !speaks_of_time(gate);
}

/* With one time asked for otherwise. A view in which the rule does not hold as it stands need not be asked. */
typedef struct {
    Checker *c;
    Verdict *verdict;
    uint32_t part, view; /* the first view in which that part of the rule holds; N_VIEWS: in none */
} Asker;

static void ask_part(Asker *a, uint32_t part) {
    Verdict copy = *a->verdict;
    a->part = part;
    a->view = a->verdict->with_pace ? N_VIEWS : 0;
    while (a->view < N_VIEWS && !(view_speaks(copy.gate, a->view) && holds_in_view(a->c, &copy, part, a->view)))
        a->view++;
}

static Answer holds_with(void *context, uint32_t part, OtherTime other) {
    Asker *a = context;
    Checker *c = a->c;
    Verdict copy = *a->verdict;
    Answer answer = no_answer;
    if (a->part != part) ask_part(a, part);
    c->other = other;
    for (uint32_t view = a->view; view < N_VIEWS && answer.held != HELD; view++)
        if (view_speaks(copy.gate, view) && holds_in_view(c, &copy, part, view)) answer.held = HELD;
    if (answer.held != HELD && !overspent(c))
        answer = answer_of(search_in(c, &copy, part, copy.with_pace ? c->paced : c->first->taken));
    c->other = (OtherTime){NULL, 0};
    arena_reset(c->scratch);
    return answer;
}

/* The same model, of engines that take any time to come to rest. */
static Checker *coasting(Checker *c) {
    if (c->coasting) return c->coasting;
    Checker *other = ARENA_NEW(c->own, Checker);
    *other = (Checker){.job = c->job,
                       .model = c->model,
                       .budget = c->budget,
                       .own = c->own,
                       .shared = c->own,
                       .scratch = c->scratch,
                       .board = c->board,
                       .store = c->store};
    other->first = firstpass_coasting(c->first, c->own, c->store, c->budget);
    return c->coasting = other;
}

static bool way_holds(Checker *c, const GateInstance *gate) {
    WaysQuestion question = ways_question(c, gate, true);
    return ways_decide(&question).kind == VERDICT_PROVED;
}

static bool part_holds(Checker *c, Verdict *verdict, uint32_t part) {
    if (!verdict->with_pace && holds_in_some_view(c, verdict, part)) return true;
    if (overspent(c) || (verdict->with_pace && !paced_frame(c))) return false;
    return answer_of(search_in(c, verdict, part, verdict->with_pace ? c->paced : c->first->taken)).held == HELD;
}

/* Where it cannot be told that the rule holds without the run-down, it is said to lean on it. */
static bool needs_run_down(Checker *c, const Verdict *verdict) {
    const GateInstance *gate = verdict->gate;
    if (!c->model->n_ambient_deadlines || gate->rule == RULE_CASES) return false;
    Checker *other = coasting(c);
    if (!rule_has_search(gate->rule)) return !way_holds(other, gate);
    if (firstpass_quick(other->first, gate, c->scratch).decided) return false;
    Verdict copy = *verdict;
    uint32_t parts = observer_parts(c->model, gate);
    for (uint32_t part = 0; part < parts; part++)
        if (!part_holds(other, &copy, part)) return true;
    return false;
}

static void tell_details(Checker *c, Verdict *verdict) {
    if (verdict->kind != VERDICT_PROVED && verdict->kind != VERDICT_BROKEN) return;
    tested_tell(c->first, verdict, c->scratch);
    arena_reset(c->scratch);
    if (verdict->kind == VERDICT_BROKEN) return;
    if (verdict->with_pace) verdict->assumes |= UINT32_C(1) << ASSUMED_PACE;
    if (assumed_over_duty(c->model, verdict->gate)) verdict->assumes |= UINT32_C(1) << ASSUMED_OVER_DUTY;
    if (needs_run_down(c, verdict)) verdict->assumes |= UINT32_C(1) << ASSUMED_RUN_DOWN;
    arena_reset(c->scratch);
    Asker asker = {c, verdict, NO_INDEX, 0};
    slack_measure(c->job, c->model, verdict, (SlackProbe){&asker, holds_with});
}

typedef struct {
    Checker *c;
    const TextDeadline *deadline;
} Comer;

static const Search *come_within(Checker *c, const TextDeadline *deadline, int64_t ms) {
    const Slice *slice = slice_make(c->scratch, c->paced, NULL);
    const Observer *observer = deadline_observer(c->scratch, slice, deadline, ms);
    Search *search = search_new(c->scratch, slice, observer, c->store, c->budget);
    search_run(search);
    c->spent += c->store->n_nodes;
    return search;
}

static Answer comes_within(void *context, uint32_t part, OtherTime other) {
    const Comer *comer = context;
    Checker *c = comer->c;
    (void)part;
    if (overspent(c)) return no_answer;
    Answer answer = answer_of(come_within(c, comer->deadline, other.ms));
    arena_reset(c->scratch);
    return answer;
}

/* ---- everything ---- */
struct CheckRoom {
    Arena pools, scratch, own, shared, board;
    Store store;
    Checker checker; /* of the model proved last; what it made lies in `own` */
};

static void judge_all(Checker *c) {
    const Tail *tail = c->model->tail;
    CheckResult *result = c->result;
    result->verdicts = ARENA_ARRAY(c->job->arena, Verdict, tail->n_gates + 1u);
    result->n_verdicts = tail->n_gates;
    for (uint32_t g = 0; g < tail->n_gates; g++) {
        result->verdicts[g].gate = &tail->gates[g];
        result->verdicts[g].why = STR("");
        judge(c, &result->verdicts[g]);
        arena_reset(c->scratch);
    }
    c->ways = NULL;
    arena_reset(c->shared);
}

/* ---- giving up ---- */
static void tell_given_up(Checker *c, const Trial *trial) {
    Search *search = run_apart(c, trial);
    if (search->end != SEARCH_BROKEN) return;
    Path path = witness_path(c->scratch, search);
    Broken broken = {c->job, c->model, trial->verdict->gate, search, &path, 0};
    tell_giving_up(c->job, &broken);
}

static void search_given_up(Checker *c, const GateInstance *gate) {
    Verdict verdict = {.gate = gate, .why = STR("")};
    Str why = STR("");
    if (firstpass_quick(c->first, gate, c->scratch).decided || holds_in_some_view(c, &verdict, 0)) return;
    Trial trial = trial_make(c, &verdict, 0, c->first->taken, &why);
    if (trial.observer && run_search(c, &trial)->end == SEARCH_BROKEN && !holds_at_pace(c, &trial))
        tell_given_up(c, &trial);
}

/* The same searches on a model in which giving up is an edge like all others. */
static Checker giving_up(const Checker *c) {
    Checker second = {.job = c->job,
                      .model = model_giving_up(c->own, c->model),
                      .budget = c->budget,
                      .spent = c->spent,
                      .own = c->own,
                      .scratch = c->scratch,
                      .board = c->board,
                      .store = c->store};
    second.first = firstpass_grown(c->first, c->own, second.model);
    return second;
}

/* Rules about ends that the text keeps, at the ends that giving up leads to. */
static void judge_given_up(Checker *c) {
    if (!c->first->complete) return;
    given_up_nowhere(c->first, c->scratch);
    Checker second = {.model = NULL};
    GivenUp given = {.first = NULL};
    for (uint32_t g = 0; g < c->result->n_verdicts && c->spent < LIMIT_TAIL_ZONES; g++) {
        const Verdict *verdict = &c->result->verdicts[g];
        bool kept = verdict->kind == VERDICT_PROVED || verdict->kind == VERDICT_NEVER_TESTED;
        if (!kept || !given_up_judges(verdict->gate)) continue;
        if (!given.first) given = given_up_open(c->own, c->first);
        if (given_up_keeps(&given, verdict->gate, c->scratch)) continue;
        if (!second.model) second = giving_up(c);
        search_given_up(&second, verdict->gate);
        c->spent = second.spent;
        arena_reset(c->scratch);
    }
}

static void name_tail(Checker *c, size_t from) {
    for (size_t k = from; k < c->job->findings->list.n; k++)
        c->job->findings->list.at[k]->tail = name_text(c->job->names, c->model->tail->name);
}

CheckRoom *check_room_new(Arena *arena) {
    CheckRoom *room = ARENA_NEW(arena, CheckRoom);
    Arena *all[] = {&room->pools, &room->scratch, &room->own, &room->shared, &room->board};
    for (size_t k = 0; k < sizeof all / sizeof *all; k++) all[k]->exhausted = arena->exhausted;
    room->store.arena = &room->pools;
    return room;
}

void check_room_free(CheckRoom *room) {
    arena_free(&room->scratch);
    arena_free(&room->own);
    arena_free(&room->shared);
    arena_free(&room->board);
    arena_free(&room->pools);
    room->store = (Store){.arena = &room->pools};
}

CheckResult *check_model_in(CheckRoom *room, Job *job, const Model *model, CheckBudget budget) {
    arena_reset(&room->own);
    Checker *c = &room->checker;
    *c = (Checker){.job = job,
                   .model = model_merged(&room->own, model, &room->scratch, NULL),
                   .budget = budget,
                   .scratch = &room->scratch,
                   .own = &room->own,
                   .shared = &room->shared,
                   .board = &room->board,
                   .store = &room->store};
    size_t first_finding = job->findings->list.n;
    c->result = ARENA_NEW(job->arena, CheckResult);
    c->result->places = model->n_places;
    c->result->edges = model->n_edges;
    arena_reset(&room->scratch);
    c->first = firstpass_run(job, c->own, c->model, c->store, budget);
    c->result->zones = c->first->zones;
    c->spent = c->first->zones;
    assumed_list(job, c->model, c->result);
    judge_all(c);
    judge_given_up(c);
    name_tail(c, first_finding);
    return c->result;
}

void check_details(CheckRoom *room) {
    Checker *c = &room->checker;
    c->spent = 0;
    c->result->detailed = true;
    for (uint32_t v = 0; v < c->result->n_verdicts; v++) tell_details(c, &c->result->verdicts[v]);
}

void check_text_times(CheckRoom *room) {
    Checker *c = &room->checker;
    VEC(TextTime) list = {NULL, 0, 0};
    if (!paced_frame(c)) return;
    TextDeadlines deadlines = deadlines_of(c->model, c->own);
    for (size_t k = 0; k < deadlines.n; k++) {
        TextTime time = deadline_told(c->job, c->model, &deadlines.at[k]);
        const int64_t *ms = &deadlines.at[k].limit->ms;
        Comer comer = {c, &deadlines.at[k]};
        int64_t latest = deadline_latest(come_within(c, &deadlines.at[k], *ms));
        slack_measure_one(&time.limit, ms, *ms - latest, (SlackProbe){&comer, comes_within});
        vec_push(c->job->arena, &list, time);
    }
    c->result->text_times = list.at;
    c->result->n_text_times = (uint32_t)list.n;
}

CheckResult *check_model(Job *job, const Model *model, CheckBudget budget) {
    CheckRoom *room = check_room_new(job->arena);
    CheckResult *result = check_model_in(room, job, model, budget);
    check_room_free(room);
    return result;
}
