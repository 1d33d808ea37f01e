#include "back/table_run.h"
#include <string.h>

typedef struct {
    RunChoice *at; /* each fact once: the first counts */
    uint32_t n;
    bool wrong; /* one of them names no fact, or no value */
} Choices;

/* ---- what holds ---- */

bool run_guard_holds(const Run *run, const Guard *guard) {
    if (!guard) return true;
    for (uint32_t t = 0; t < guard->n; t++) {
        const Term *term = &guard->terms[t];
        uint32_t l = 0;
        while (l < term->n && term->literals[l].mask >> run->values[term->literals[l].fact] & 1) l++;
        if (l == term->n) return true;
    }
    return false;
}

RunStanding run_standing(const Run *run, const RunEdge *edge, int64_t at, int64_t *wait_ms) {
    bool late = false;
    *wait_ms = 0;
    if (!run_guard_holds(run, edge->when)) return RUN_SHUT;
    for (uint32_t b = 0; b < edge->n_bounds; b++) {
        const Bound *bound = &edge->bounds[b];
        int64_t value = at - run->zero[bound->clock];
        if (bound->most_ms >= 0 && value > bound->most_ms) late = true;
        if (bound->least_ms - value > *wait_ms) *wait_ms = bound->least_ms - value;
    }
    return late ? RUN_LATE : *wait_ms ? RUN_EARLY : RUN_OPEN;
}

/* ---- taking an edge ---- */

static uint32_t lowest(uint64_t mask) {
    uint32_t value = 0;
    while (!(mask >> value & 1)) value++;
    return value;
}

/* A fact keeps its value where it is among those it may have. */
static uint32_t chosen_value(const Run *run, const Change *change, const Choices *choices) {
    for (uint32_t i = 0; choices && i < choices->n; i++)
        if (choices->at[i].fact == change->fact) return choices->at[i].value;
    uint32_t value = run->values[change->fact];
    return change->mask >> value & 1 ? value : lowest(change->mask);
}

static void change_facts(Run *run, const RunEdge *edge, const Choices *choices) {
    for (uint32_t i = 0; i < edge->n_changes; i++) {
        const Change *change = &edge->changes[i];
        uint8_t *value = &run->values[change->fact];
        if (change->kind == CHANGE_TO) *value = (uint8_t)chosen_value(run, change, choices);
        else if (*value + 1u < run->table->facts[change->fact].n_values) ++*value;
    }
}

static void take(Run *run, uint32_t e, const Choices *choices) {
    const RunEdge *edge = &run->table->edges[e];
    change_facts(run, edge, choices);
    for (uint32_t i = 0; i < edge->n_resets; i++) run->zero[edge->resets[i]] = run->now;
    if (edge->to != NO_INDEX) run->place = edge->to;
    run->last_edge = e;
}

void run_take(Run *run, uint32_t edge, int64_t at) {
    run->now = at;
    take(run, edge, NULL);
}

/* ---- the trace ---- */

static void say(const Run *run, Buf *trace, const char *what, Str of, const char *more) {
    buf_int(trace, run->now);
    buf_char(trace, ' '), buf_text(trace, what), buf_str(trace, of), buf_text(trace, more);
    buf_char(trace, '\n');
}

static void say_taken(const Run *run, Buf *trace, const char *how, uint32_t e) {
    const RunPlace *place = &run->table->places[run->place];
    say(run, trace, how, run->table->edges[e].id, "");
    if (run->table->edges[e].to != NO_INDEX && str_eq(place->kind, STR("end")))
        say(run, trace, "end ", place->outcome, "");
}

static void halt(Run *run, Buf *trace, const char *why, Str of) {
    say(run, trace, "error: ", str_of(why), "");
    if (of.len) trace->len--, buf_char(trace, ' '), buf_str(trace, of), buf_char(trace, '\n');
    run->halted = true;
}

static void halt_at_line(Run *run, Buf *trace, const char *why) {
    buf_text(trace, "error: line "), buf_uint(trace, run->line), buf_text(trace, ": "), buf_text(trace, why);
    buf_char(trace, '\n');
    run->halted = true;
}

static void say_state(const Run *run, Buf *trace) {
    const RunTable *table = run->table;
    buf_int(trace, run->now), buf_text(trace, " stop "), buf_str(trace, table->places[run->place].id);
    for (uint32_t f = 0; f < table->n_facts; f++) {
        buf_char(trace, ' '), buf_str(trace, table->facts[f].id);
        buf_char(trace, '='), buf_uint(trace, run->values[f]);
    }
    for (uint32_t c = 0; c < table->n_clocks; c++) {
        buf_char(trace, ' '), buf_str(trace, table->clocks[c]);
        buf_char(trace, '='), buf_int(trace, run->now - run->zero[c]);
    }
    buf_char(trace, '\n');
}

/* ---- time ---- */

/* All deadlines that count at the place, in order. */
static const RunDeadline *deadline_at(const Run *run, uint32_t d) {
    const RunDeadlines *own = &run->table->places[run->place].deadlines, *all = &run->table->everywhere;
    if (d < own->n) return &own->at[d];
    return d - own->n < all->n ? &all->at[d - own->n] : NULL;
}

static int64_t due_of(const Run *run, const RunDeadline *deadline) {
    return run->zero[deadline->clock] + deadline->ms;
}

int64_t run_next_due(const Run *run) {
    int64_t next = RUN_TIME_END;
    const RunDeadline *deadline;
    for (uint32_t d = 0; (deadline = deadline_at(run, d)); d++)
        if (run_guard_holds(run, deadline->when) && due_of(run, deadline) < next) next = due_of(run, deadline);
    return next;
}

/* The first edge that the deadline takes here and now. */
static uint32_t lapse_edge(const Run *run, const RunDeadline *deadline) {
    const EdgeList *leaving = &run->table->places[run->place].edges;
    int64_t wait_ms;
    for (uint32_t i = 0; i < deadline->lapses.n; i++) {
        uint32_t e = deadline->lapses.edges[i], k = 0;
        while (k < leaving->n && leaving->edges[k] != e) k++;
        if (k < leaving->n && run_standing(run, &run->table->edges[e], run->now, &wait_ms) == RUN_OPEN) return e;
    }
    return NO_INDEX;
}

/* Of the deadlines that have come by now: the earliest that takes an edge, of equal ones the first. */
static uint32_t next_lapse(const Run *run) {
    int64_t earliest = RUN_TIME_END;
    uint32_t found = NO_INDEX;
    const RunDeadline *deadline;
    for (uint32_t d = 0; (deadline = deadline_at(run, d)); d++) {
        int64_t due = due_of(run, deadline);
        if (due > run->now || due >= earliest || !run_guard_holds(run, deadline->when)) continue;
        uint32_t e = lapse_edge(run, deadline);
        if (e != NO_INDEX) earliest = due, found = e;
    }
    return found;
}

/* Lets time pass up to t: what is due before is taken, a tie lets the input act first. */
static void pass_time(Run *run, int64_t t, Buf *trace) {
    int64_t since = -1;
    uint32_t still = 0;
    for (int64_t due = run_next_due(run); due < t; due = run_next_due(run)) {
        if (due > run->now) run->now = due;
        still = run->now == since ? still + 1 : 0;
        since = run->now;
        uint32_t e = next_lapse(run);
        if (e == NO_INDEX || still > run->table->n_places) {
            halt(run, trace, e == NO_INDEX ? "overdue at" : "time stands still at", run->table->places[run->place].id);
            return;
        }
        take(run, e, NULL);
        say_taken(run, trace, "lapse ", e);
    }
    run->now = t;
}

/* ---- one input ---- */

static void refuse(const Run *run, Buf *trace, Str label, RunStanding why, int64_t wait_ms) {
    static const char *const words[] = {
        [RUN_SHUT] = ": not offered", [RUN_EARLY] = ": too early, wait ", [RUN_LATE] = ": too late"};
    say(run, trace, "refused ", label, words[why]);
    if (why != RUN_EARLY) return;
    trace->len--;
    buf_int(trace, wait_ms), buf_text(trace, " ms\n");
}

static bool choices_fit(const RunEdge *edge, const Choices *choices) {
    if (choices->wrong) return false;
    for (uint32_t i = 0; i < choices->n; i++) {
        uint32_t k = 0;
        while (k < edge->n_changes &&
               !(edge->changes[k].kind == CHANGE_TO && edge->changes[k].fact == choices->at[i].fact &&
                 edge->changes[k].mask >> choices->at[i].value & 1))
            k++;
        if (k == edge->n_changes) return false;
    }
    return true;
}

static void act(Run *run, Str label, const Choices *choices, Buf *trace) {
    const EdgeList *leaving = &run->table->places[run->place].edges;
    RunStanding best = RUN_SHUT;
    int64_t least_wait = RUN_TIME_END;
    uint32_t open = NO_INDEX, n_open = 0;
    for (uint32_t i = 0; i < leaving->n; i++) {
        const RunEdge *edge = &run->table->edges[leaving->edges[i]];
        int64_t wait_ms;
        if (edge->by_time || !str_eq(edge->label, label)) continue;
        RunStanding standing = run_standing(run, edge, run->now, &wait_ms);
        if (standing == RUN_OPEN) open = leaving->edges[i], n_open++;
        if (standing == RUN_LATE && best == RUN_SHUT) best = RUN_LATE;
        if (standing != RUN_EARLY) continue;
        best = RUN_EARLY;
        if (wait_ms < least_wait) least_wait = wait_ms;
    }
    if (n_open > 1) halt(run, trace, "ambiguous:", label);
    else if (!n_open) refuse(run, trace, label, best, least_wait);
    else if (!choices_fit(&run->table->edges[open], choices)) say(run, trace, "refused ", label, ": no such choice");
    else {
        take(run, open, choices);
        say_taken(run, trace, "take ", open);
    }
}

/* ---- the script ---- */

static Str next_word(Str *line) {
    size_t from = 0, to;
    while (from < line->len && line->ptr[from] == ' ') from++;
    for (to = from; to < line->len && line->ptr[to] != ' ';) to++;
    Str word = str_slice(*line, from, to);
    *line = str_slice(*line, to, line->len);
    return word;
}

/* < 0: no whole number below 2^53. */
static int64_t read_number(Str word) {
    int64_t n = 0;
    if (!word.len) return -1;
    for (size_t i = 0; i < word.len; i++) {
        if (word.ptr[i] < '0' || word.ptr[i] > '9') return -1;
        n = n * 10 + (word.ptr[i] - '0');
        if (n >= RUN_TIME_END) return -1;
    }
    return n;
}

static Choices read_choices(const Run *run, Str text) {
    Choices choices = {.at = run->choices};
    for (Str word = next_word(&text); word.len; word = next_word(&text)) {
        size_t is = 0;
        while (is < word.len && word.ptr[is] != '=') is++;
        uint32_t fact = 0;
        while (fact < run->table->n_facts && !str_eq(run->table->facts[fact].id, str_slice(word, 0, is))) fact++;
        int64_t value = is < word.len ? read_number(str_slice(word, is + 1, word.len)) : -1;
        bool wrong = fact == run->table->n_facts || value < 0 || value >= run->table->facts[fact].n_values;
        uint32_t k = 0;
        while (k < choices.n && choices.at[k].fact != fact) k++;
        if (wrong) choices.wrong = true;
        else if (k == choices.n) choices.at[choices.n++] = (RunChoice){fact, (uint32_t)value};
    }
    return choices;
}

static void begin_with(Run *run, Str text, Buf *trace) {
    Choices choices = read_choices(run, text);
    for (uint32_t i = 0; i < choices.n; i++)
        if (!(run->table->facts[choices.at[i].fact].initial >> choices.at[i].value & 1)) choices.wrong = true;
    for (uint32_t i = 0; i < choices.n && !choices.wrong; i++)
        run->values[choices.at[i].fact] = (uint8_t)choices.at[i].value;
    if (choices.wrong) halt_at_line(run, trace, "no such choice");
}

static Str trimmed(Str text) {
    size_t lo = 0, hi = text.len;
    while (lo < hi && text.ptr[lo] == ' ') lo++;
    while (hi > lo && (text.ptr[hi - 1] == ' ' || text.ptr[hi - 1] == '\r')) hi--;
    return str_slice(text, lo, hi);
}

static void stop_at(Run *run, int64_t t, Buf *trace) {
    pass_time(run, t, trace);
    if (run->halted) return;
    say_state(run, trace);
    run->halted = true;
}

static void run_input(Run *run, Str line, Buf *trace) {
    Str rest = line, word = next_word(&rest);
    bool stops = str_eq(word, STR("stop"));
    int64_t t = read_number(stops ? next_word(&rest) : word);
    size_t semicolon = 0;
    while (semicolon < rest.len && rest.ptr[semicolon] != ';') semicolon++;
    Str label = trimmed(str_slice(rest, 0, semicolon));
    if (t < 0) halt_at_line(run, trace, "a time is not a whole number of milliseconds below 2^53");
    else if (t < run->now) halt_at_line(run, trace, "time goes back");
    else if (stops && rest.len) halt_at_line(run, trace, "nothing stands behind the time of a stop");
    else if (stops) stop_at(run, t, trace);
    else if (!label.len) halt_at_line(run, trace, "a time needs a label");
    else {
        Choices choices = read_choices(run, str_slice(rest, semicolon + (semicolon < rest.len), rest.len));
        pass_time(run, t, trace);
        if (!run->halted) act(run, label, &choices, trace);
    }
}

void run_line(Run *run, Str line, Buf *trace) {
    run->line++;
    line = trimmed(line);
    if (run->halted || !line.len || line.ptr[0] == '#') return;
    Str rest = line;
    bool begins = !run->begun && str_eq(next_word(&rest), STR("start"));
    run->begun = true;
    if (begins) begin_with(run, rest, trace);
    else run_input(run, line, trace);
}

void run_restart(Run *run) {
    const RunTable *table = run->table;
    *run = (Run){table, run->choices, table->joint, run->values, run->zero, 0, 0, false, false, NO_INDEX};
    memset(run->zero, 0, table->n_clocks * sizeof *run->zero);
    for (uint32_t f = 0; f < table->n_facts; f++) run->values[f] = (uint8_t)lowest(table->facts[f].initial);
}

void run_begin(Run *run, Arena *arena, const RunTable *table) {
    run->table = table;
    run->values = ARENA_ARRAY(arena, uint8_t, table->n_facts + 1u);
    run->zero = ARENA_ARRAY(arena, int64_t, table->n_clocks + 1u);
    run->choices = ARENA_ARRAY(arena, RunChoice, table->n_facts + 1u);
    run_restart(run);
}
