#include "check/slack.h"
#include "check/words.h"

/* ---- the times of a rule ---- */
typedef struct {
    const int64_t *time;
    uint32_t part;
    int64_t furthest; /* the tightest that can be asked for … */
    bool bounded;     /* … beside another time of the rule, that of the same pause */
} Written;

typedef struct {
    const Job *job;
    const Model *model;
    const GateInstance *gate;
    VEC(TimeLimit) limits;
    VEC(Written) written; /* of the limits */
} Lister;

/* `format` says the limit with its time as %S; `more` comes behind it. */
static void add(Lister *l, const Written *written, TimeLimitKind kind, const char *format, Str more) {
    Str time = words_time(l->job, *written->time);
    TimeLimit limit = {kind, format_text(l->job->arena, l->job->names, format, time, more), *written->time,
                       SPARE_UNKNOWN, 0};
    vec_push(l->job->arena, &l->limits, limit);
    vec_push(l->job->arena, &l->written, *written);
}

static Str case_words(const Lister *l, const Test *when) {
    if (!when || when->kind == TEST_TRUE) return STR("");
    return format_text(l->job->arena, l->job->names, " when %S", words_test(l->job, l->model, when));
}

/* Each case of a time that depends on something is a limit of its own. */
static void add_cases(Lister *l, TimeLimitKind kind, const char *format) {
    const Duration *time = &l->gate->time;
    for (uint32_t k = 0; k < time->n; k++) {
        Written written = {&time->cases[k].ms, 0, kind == TIME_AT_MOST ? 0 : ZONE_LONGEST, false};
        add(l, &written, kind, format, time->n > 1 ? case_words(l, time->cases[k].when) : STR(""));
    }
}

static void add_longest(Lister *l, const char *format) {
    Written written = {plan_longest(&l->gate->time), 0, ZONE_LONGEST, false};
    if (written.time) add(l, &written, TIME_AT_LEAST, format, STR(""));
}

/* A pause is told from another by the step before it. */
static void add_pauses(Lister *l) {
    const GateInstance *gate = l->gate;
    uint32_t n_pauses = 0;
    const GateStep *before = NULL;
    for (uint32_t k = 0; k < gate->n_steps; k++) n_pauses += !gate->steps[k].event;
    for (uint32_t k = 0; k < gate->n_steps; k++) {
        const GateStep *step = &gate->steps[k];
        if (step->event) {
            before = step;
            continue;
        }
        Str after = n_pauses < 2 || !before ? STR("")
                                            : format_text(l->job->arena, l->job->names, " after %S",
                                                          words_trigger(l->job, l->model, before->event));
        bool both = step->least_ms > 0 && step->most_ms >= 0;
        Written least = {&step->least_ms, 0, both ? step->most_ms : ZONE_LONGEST, both},
                most = {&step->most_ms, 0, both ? step->least_ms : 0, both};
        if (step->least_ms > 0) add(l, &least, TIME_AT_LEAST, "a pause of at least %S%S", after);
        if (step->most_ms >= 0) add(l, &most, TIME_AT_MOST, "a pause of at most %S%S", after);
    }
}

static Str nth_words(const Lister *l, const DutyLine *line, uint32_t k) {
    Str when = case_words(l, line->when);
    if (line->n_series < 2) return when;
    return format_text(l->job->arena, l->job->names, " (engagement %u)%S", (uint64_t)k + 1, when);
}

/* An on-time of nothing would be none that is limited. */
static void add_duty_line(Lister *l, const DutyLine *line) {
    for (uint32_t k = 0; k < line->n_series; k++) {
        Written on = {&line->on_ms[k], 0, 1, false}, rest = {&line->rest_ms[k], 0, ZONE_LONGEST, false};
        if (line->on_ms[k] > 0) add(l, &on, TIME_AT_MOST, "on for at most %S%S", nth_words(l, line, k));
        if (line->rest_ms[k] > 0) add(l, &rest, TIME_AT_LEAST, "a rest of at least %S%S", nth_words(l, line, k));
    }
    Written last = {&line->long_rest_ms, 0, ZONE_LONGEST, false};
    if (line->long_rest_ms > 0) add(l, &last, TIME_AT_LEAST, "a last rest of at least %S%S", case_words(l, line->when));
}

static void add_duty(Lister *l) {
    if (l->gate->duty >= l->model->tail->n_duties) return;
    const Duty *duty = &l->model->tail->duties[l->gate->duty];
    for (uint32_t k = 0; k < duty->n_lines; k++) add_duty_line(l, &duty->lines[k]);
    for (uint32_t k = 0; k < duty->n_windows; k++) {
        const DutyWindow *window = &duty->windows[k];
        Written written = {&window->in_ms, 1 + k, ZONE_LONGEST, false};
        Str more = format_text(l->job->arena, l->job->names, " at most %u%S", (uint64_t)window->most,
                               case_words(l, window->when));
        add(l, &written, TIME_AT_LEAST, "in any %S%S", more);
    }
}

static void list_limits(Lister *l) {
    switch (l->gate->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: add_pauses(l); return;
    case RULE_RESPONSE: add_cases(l, TIME_AT_MOST, "within %S%S"); return;
    case RULE_LASTS: add_cases(l, TIME_AT_MOST, "at most %S%S"); return;
    case RULE_NEVER_AFTER: add_cases(l, TIME_AT_LEAST, "not for at least %S%S"); return;
    case RULE_AT_MOST_REST: add_longest(l, "a rest of at least %S%S"); return;
    case RULE_WINDOW: add_longest(l, "in any %S%S"); return;
    case RULE_DUTY: add_duty(l); return;
    case RULE_ORDER:
    case RULE_AT_EACH:
    case RULE_FROM_UNTIL:
    case RULE_WHILE:
    case RULE_AT_MOST_SINCE:
    case RULE_EVERY_END:
    case RULE_END_OF:
    case RULE_CAN_REACH:
    case RULE_CASES: return;
    }
}

/* ---- measuring one ---- */
typedef struct {
    SlackProbe probe;
    const Written *written;
    TimeLimitKind kind;
    int64_t lo, hi; /* to spare: with lo it is proved, with hi not (or it cannot be asked) */
    int64_t shown;  /* what the run that broke it last leaves to spare; -1: not told, or nothing new */
    bool unknown, any;
} Ask;

static Held ask(Ask *m, int64_t ms) {
    Answer answer = m->probe.holds(m->probe.context, m->written->part, (OtherTime){m->written->time, ms});
    m->unknown |= answer.held == NOT_KNOWN;
    if (answer.held != NOT_HELD) return answer.held;
    int64_t read = m->kind == TIME_AT_MOST ? answer.most : answer.least, written = *m->written->time;
    m->shown = read < 0 ? -1 : m->kind == TIME_AT_MOST ? written - read : read - written;
    if (m->shown < m->lo || m->shown >= m->hi) m->shown = -1;
    else if (answer.sure) m->hi = m->shown + 1;
    if (m->shown >= 0 && answer.tight) m->lo = m->shown;
    return NOT_HELD;
}

/* True: it went on from there. */
static bool try_spare(Ask *m, int64_t spare) {
    int64_t ms = *m->written->time;
    Held held = ask(m, m->kind == TIME_AT_MOST ? ms - spare : ms + spare);
    if (held == HELD) m->lo = spare;
    if (held == NOT_HELD && spare < m->hi) m->hi = spare;
    return held == HELD;
}

/* Most times are whole seconds, and so is what they have to spare: looked for in steps of a second first. The first step is not longer
   than the time itself: the longer what is asked for, the longer it is looked for. */
enum { SECOND = 1000 };

static void in_seconds(Ask *m) {
    int64_t step = *m->written->time;
    if (step > SECOND) step = SECOND;
    while (step <= m->lo) step *= 2;
    while (step < m->hi && try_spare(m, step)) step *= 2;
    while (!m->unknown) {
        int64_t lo = m->lo / SECOND, hi = (m->hi + SECOND - 1) / SECOND;
        if (hi - lo < 2) return;
        try_spare(m, (lo + (hi - lo) / 2) * SECOND);
    }
}

static void in_thousandths(Ask *m) {
    if (m->hi - m->lo > 1 && !m->unknown) try_spare(m, m->lo + 1);
    while (m->hi - m->lo > 1 && !m->unknown) try_spare(m, m->lo + (m->hi - m->lo) / 2);
}

/* From one run that breaks it to a tighter one, and to the tightest: much sooner found than by halves. A run that is not the tightest is told
   by the answer; how often it is gone by is bounded, since each may be tighter by little. */
static void by_runs(Ask *m) {
    enum { RUNS = 12 };
    for (uint32_t n = 0; n < RUNS && m->shown >= 0 && !m->unknown; n++) {
        int64_t spare = m->shown;
        m->shown = -1;
        if (spare > m->lo && spare < m->hi && !try_spare(m, spare)) continue;
        if (m->hi > spare + 1 && !m->unknown) try_spare(m, spare + 1);
        return;
    }
}

/* A search that finds a break is short, one that finds none is not: so the first is asked for far more than there can be to spare. */
static void from_afar(Ask *m) {
    int64_t far = *m->written->time;
    if (far <= m->lo) return;
    if (far >= m->hi) far = m->hi - 1;
    try_spare(m, far);
    by_runs(m);
}

/* However long it is asked for: then it is not looked for how much there is to spare. */
static bool however_long(Ask *m) {
    if (m->kind != TIME_AT_LEAST || m->written->bounded) return false;
    return ask(m, TIME_NEVER_ENOUGH) == HELD;
}

static void widen(Ask *m) {
    if (!m->lo && (m->hi < 2 || !try_spare(m, 1))) return;
    if (however_long(m)) {
        m->any = true;
        return;
    }
    if (!m->unknown) from_afar(m);
    if (m->hi - m->lo > 1 && !m->unknown) in_seconds(m);
    in_thousandths(m);
}

static void measure(TimeLimit *limit, const Written *written, int64_t guess, SlackProbe probe) {
    int64_t room = written->furthest < limit->ms ? limit->ms - written->furthest : written->furthest - limit->ms;
    Ask m = {.probe = probe, .written = written, .kind = limit->kind, .hi = room + 1, .shown = -1};
    if (guess > 0 && guess <= room && try_spare(&m, guess) && guess < room) try_spare(&m, guess + 1);
    if (!m.unknown && m.hi - m.lo > 1) widen(&m);
    if (room && m.lo == room && !written->bounded) m.any = true;
    limit->spare_ms = m.lo;
    limit->spare = m.any ? SPARE_ANY : m.unknown ? SPARE_UNKNOWN : SPARE_MEASURED;
}

void slack_measure_one(TimeLimit *limit, const int64_t *time, int64_t guess, SlackProbe probe) {
    Written written = {time, 0, 0, false};
    measure(limit, &written, guess, probe);
}

void slack_measure(const Job *job, const Model *model, Verdict *verdict, SlackProbe probe) {
    Lister l = {.job = job, .model = model, .gate = verdict->gate};
    list_limits(&l);
    for (size_t k = 0; k < l.limits.n; k++) measure(&l.limits.at[k], &l.written.at[k], 0, probe);
    verdict->limits = l.limits.at;
    verdict->n_limits = (uint32_t)l.limits.n;
}
