#include "rules.h"
#include <stdlib.h>

typedef struct {
    const Run *run;
    const Model *m;
    const GateInstance *g;
    Judgement found;
} Case;

bool rule_speaks_of_runs(RuleKind rule) {
    return rule != RULE_CAN_REACH && rule != RULE_CASES;
}

/* ---- breaks: the first one counts ---- */
static void breaks(Case *c, int64_t at_ms, uint32_t moment, bool by_time) {
    Judgement *j = &c->found;
    if (j->broken && (j->at_ms < at_ms || (j->at_ms == at_ms && j->moment <= moment))) return;
    j->broken = true;
    j->by_time = by_time;
    j->at_ms = at_ms;
    j->moment = moment;
}

static int64_t at(const Case *c, uint32_t moment) {
    return c->run->moments[moment].at_ms;
}

static void breaks_at(Case *c, uint32_t moment) {
    breaks(c, at(c, moment), moment, false);
}

/* It lasted until `until`, and was allowed until `most`. */
static void breaks_if_longer(Case *c, int64_t until_ms, int64_t most_ms) {
    if (until_ms <= most_ms) return;
    uint32_t moment = 0;
    while (moment + 1 < c->run->n && at(c, moment + 1) <= most_ms) moment++;
    breaks(c, most_ms + 1, moment, true);
}

/* ---- conditions ---- */
static bool holds(const Test *t, const uint8_t *facts) {
    if (!t) return true;
    switch (t->kind) {
    case TEST_TRUE: return true;
    case TEST_FALSE: return false;
    case TEST_FACT: return t->mask >> facts[t->fact] & 1;
    case TEST_NOT: return !holds(t->parts, facts);
    case TEST_AND:
        for (const Test *part = t->parts; part; part = part->next)
            if (!holds(part, facts)) return false;
        return true;
    case TEST_OR:
        for (const Test *part = t->parts; part; part = part->next)
            if (holds(part, facts)) return true;
        return false;
    case TEST_FOR:
    case TEST_SAID:
    case TEST_UNDECIDED: break;
    }
    abort(); /* no such condition in a gate that was decided */
}

/* ---- where the rule is in force ---- */
static bool has_name(const Case *c, uint32_t place, Name name) {
    const Place *p = &c->m->places[place];
    if (p->procedure == NO_INDEX) return false;
    if (p->drill == NO_INDEX) return c->m->tail->procedures[p->procedure].name == name;
    const Drill *drill = &c->m->tail->drills[p->drill];
    bool other = c->g->engine != NO_INDEX && drill->engine != NO_INDEX && drill->engine != c->g->engine;
    return drill->name == name && !other;
}

static bool among(const Case *c, uint32_t place, const Name *names, uint32_t n, bool any_drill) {
    const Place *p = &c->m->places[place];
    if (any_drill && p->procedure != NO_INDEX && p->drill != NO_INDEX) return true;
    for (uint32_t k = 0; k < n; k++)
        if (has_name(c, place, names[k])) return true;
    return false;
}

static bool excepted(const Case *c, uint32_t place) {
    return among(c, place, c->g->except, c->g->n_except, c->g->except_any_drill);
}

static bool within(const Case *c, uint32_t place) {
    return (!c->g->n_within && !c->g->within_any_drill) ||
           among(c, place, c->g->within, c->g->n_within, c->g->within_any_drill);
}

static bool in_force(const Case *c, uint32_t place) {
    return within(c, place) && !excepted(c, place) && c->m->places[place].kind != PLACE_JOINT;
}

/* The moment leads into a place where what is pending is dropped. */
static bool dropped(const Case *c, uint32_t moment) {
    return excepted(c, c->run->moments[moment].to);
}

/* ---- events ---- */
static bool changes_fact(const Case *c, const Edge *edge, uint32_t fact) {
    if (edge->kind == EDGE_BEGIN) return false; /* what becomes unknown, or is assumed at a beginning, is no event */
    if (edge->kind == EDGE_JOIN && c->m->facts[fact].kind != FACT_ENGINE) return false;
    for (uint32_t k = 0; k < edge->n_changes; k++)
        if (edge->changes[k].fact == fact) return true;
    return false;
}

static bool mark_is(const Case *c, const Mark *mark, const Trigger *t, const uint8_t *after) {
    if (mark->kind != t->kind) return false;
    switch (t->kind) {
    case ON_SEEN:
    case ON_LOOK:
    case ON_ANSWERED: return mark->fact == t->fact && (mark->mask & t->mask) >> after[t->fact] & 1;
    case ON_SET: return mark->fact == t->fact && mark->mask & t->mask;
    case ON_CALL:
    case ON_BRIEF: return mark->thing == t->thing;
    case ON_LABEL: return mark->fact == t->fact;
    case ON_TURN:
        return mark->fact == t->fact || (mark->engine != NO_INDEX && c->m->tail->engine_facts &&
                                         c->m->tail->engine_facts[mark->engine] == t->fact);
    case ON_ENTER:
        return mark->name == t->name &&
               (t->engine == NO_INDEX || mark->engine == NO_INDEX || mark->engine == t->engine);
    case ON_BECOMES:
    case ON_LEAVES:
    case ON_NOTHING: break;
    }
    return false;
}

/* How often one alternative of an event happens in the moment: the strokes of a counted position, else once. */
static uint32_t times_of(const Case *c, const Moment *now, const Trigger *t) {
    if (now->edge == NO_INDEX) return 0;
    const Edge *edge = &c->m->edges[now->edge];
    if (t->kind == ON_BECOMES || t->kind == ON_LEAVES) {
        bool was = t->mask >> now->before[t->fact] & 1, is = t->mask >> now->after[t->fact] & 1;
        return changes_fact(c, edge, t->fact) && was != is && is == (t->kind == ON_BECOMES);
    }
    uint32_t n = 0;
    bool any = false;
    for (uint32_t k = 0; k < edge->n_marks; k++) {
        if (!mark_is(c, &edge->marks[k], t, now->after)) continue;
        any = true;
        if (t->kind == ON_SET) n += edge->marks[k].count ? edge->marks[k].count : 1;
    }
    return n ? n : any;
}

static bool happens(const Case *c, uint32_t moment, const Trigger *list) {
    for (const Trigger *t = list; t; t = t->next)
        if (times_of(c, &c->run->moments[moment], t)) return true;
    return false;
}

/* Where the rule is in force: at the places left, and as the entry into one of its places. */
static uint32_t happens_here(const Case *c, uint32_t moment, const Trigger *list) {
    const Moment *now = &c->run->moments[moment];
    bool out = excepted(c, now->from), inside = within(c, now->from) && !out, enters = within(c, now->to) && !out;
    uint32_t strokes = 0;
    bool any = false;
    for (const Trigger *t = list; t; t = t->next) {
        if (!inside && !(enters && t->kind == ON_ENTER)) continue;
        uint32_t n = times_of(c, now, t);
        any |= n > 0;
        if (t->kind == ON_SET) strokes += n;
    }
    return strokes ? strokes : any;
}

static bool begins(const Case *c, uint32_t moment) {
    uint32_t edge = c->run->moments[moment].edge;
    return edge != NO_INDEX && c->m->edges[edge].kind == EDGE_BEGIN;
}

/* ---- times ---- */
/* By the facts at the moment; where no case holds, the shortest is asked for. */
static int64_t time_at(const Case *c, uint32_t moment) {
    const Duration *time = &c->g->time;
    int64_t shortest = time->cases[0].ms;
    for (uint32_t k = 0; k < time->n; k++) {
        if (time->n == 1 || holds(time->cases[k].when, c->run->moments[moment].after)) return time->cases[k].ms;
        if (time->cases[k].ms < shortest) shortest = time->cases[k].ms;
    }
    return shortest;
}

static int64_t longest_time(const Case *c) {
    int64_t longest = 0;
    for (uint32_t k = 0; k < c->g->time.n; k++)
        if (c->g->time.cases[k].ms > longest) longest = c->g->time.cases[k].ms;
    return longest;
}

/* ---- after each E … ---- */
static void judge_response(Case *c) {
    uint32_t n = c->run->n;
    for (uint32_t i = 1; i < n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        c->found.tested++;
        if (dropped(c, i)) continue;
        int64_t most = at(c, i) + time_at(c, i);
        uint32_t k = i + 1;
        while (k < n && !happens(c, k, c->g->events) && !dropped(c, k)) k++;
        breaks_if_longer(c, k < n ? at(c, k) : c->run->now_ms, most);
        /* while it is open a new one does not restart it; the one in the very moment of the answer is new */
        i = k - 1;
    }
}

static void judge_never(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        c->found.tested++;
        if (dropped(c, i)) continue;
        for (uint32_t k = i + 1; k < c->run->n; k++) {
            if (happens_here(c, k, c->g->events)) {
                if (!c->g->time.n || at(c, k) - at(c, i) < time_at(c, i)) breaks_at(c, k);
                break; /* a later one is only later */
            }
            if (dropped(c, k) || happens_here(c, k, c->g->trigger)) break; /* the latest counts */
        }
    }
}

static void judge_order(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        c->found.tested++;
        if (dropped(c, i)) continue;
        for (uint32_t k = i + 1; k < c->run->n; k++) {
            if (happens(c, k, c->g->before)) {
                breaks_at(c, k);
                break;
            }
            if (happens(c, k, c->g->events) || dropped(c, k)) break;
        }
    }
}

/* ---- conditions ---- */
static void judge_at_each(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        c->found.tested++;
        if (!holds(c->g->cond, c->run->moments[i].before)) breaks_at(c, i);
    }
}

static void judge_until(Case *c) {
    const Trigger *until = c->g->since ? c->g->since : c->g->events;
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        c->found.tested++;
        for (uint32_t k = i; k < c->run->n; k++) {
            if ((k > i && happens(c, k, until)) || dropped(c, k)) break;
            if (in_force(c, c->run->moments[k].to) && !holds(c->g->cond, c->run->moments[k].after)) breaks_at(c, k);
        }
    }
}

static void judge_while(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        const Moment *now = &c->run->moments[i];
        if (!in_force(c, now->to) || !holds(c->g->state, now->after)) continue;
        c->found.tested++;
        if (!holds(c->g->cond, now->after)) breaks_at(c, i);
    }
}

static bool lasting(const Case *c, uint32_t moment) {
    const Moment *now = &c->run->moments[moment];
    return in_force(c, now->to) && holds(c->g->state, now->after);
}

static void judge_lasts(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!lasting(c, i)) continue;
        c->found.tested++;
        uint32_t k = i + 1;
        while (k < c->run->n && lasting(c, k)) k++;
        breaks_if_longer(c, k < c->run->n ? at(c, k) : c->run->now_ms, at(c, i) + time_at(c, i));
        i = k;
    }
}

static bool end_is_meant(const Case *c, uint32_t place) {
    const Place *p = &c->m->places[place];
    if (p->kind != PLACE_END || !within(c, place) || excepted(c, place)) return false;
    if (c->g->rule == RULE_END_OF)
        return c->g->end_any_drill ? p->drill != NO_INDEX : has_name(c, place, c->g->end_drill);
    for (uint32_t k = 0; k < c->g->n_ends; k++)
        if (c->g->ends[k] == p->outcome) return true;
    return !c->g->n_ends;
}

static void judge_ends(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        const Moment *now = &c->run->moments[i];
        if (now->from == now->to || !end_is_meant(c, now->to)) continue;
        c->found.tested++;
        if (!holds(c->g->cond, now->after)) breaks_at(c, i);
    }
}

/* ---- how often ---- */
static const Trigger *counted(const Case *c) {
    return c->g->events ? c->g->events : c->g->trigger;
}

static void judge_since(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        uint32_t n = happens_here(c, i, counted(c));
        if (!n) continue;
        c->found.tested++;
        for (uint32_t k = i; k-- > 1 && !begins(c, k + 1) && !happens(c, k, c->g->since);)
            n += happens_here(c, k, counted(c));
        if (n > c->g->count) breaks_at(c, i);
    }
}

static bool engaged_after(const Case *c, uint32_t moment) {
    const Trigger *t = counted(c);
    while (t && t->kind != ON_BECOMES && t->kind != ON_SET) t = t->next;
    const Moment *now = &c->run->moments[moment];
    return t && c->m->places[now->to].kind != PLACE_JOINT && t->mask >> now->after[t->fact] & 1;
}

/* Between two counted events: had the control been released for as long as a rest has to be as the other came? What it was engaged
   for in between, without being counted, ends a rest like a counted one. */
static bool rested(const Case *c, uint32_t one, uint32_t other, int64_t rest_ms) {
    if (engaged_after(c, other - 1)) return false;
    uint32_t since = other - 1;
    while (since > one && !engaged_after(c, since - 1)) since--;
    return at(c, other) - at(c, since) >= rest_ms;
}

static void judge_rest(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        uint32_t n = happens_here(c, i, counted(c)), later = i;
        if (!n) continue;
        c->found.tested++;
        for (uint32_t k = i; k-- > 1;) {
            uint32_t more = happens_here(c, k, counted(c));
            if (!more) continue;
            if (rested(c, k, later, longest_time(c))) break;
            n += more;
            later = k;
        }
        if (n > c->g->count) breaks_at(c, i);
    }
}

static void judge_window(Case *c) {
    for (uint32_t i = 1; i < c->run->n; i++) {
        uint32_t n = happens_here(c, i, counted(c));
        if (!n) continue;
        c->found.tested++;
        for (uint32_t k = i; k-- > 1 && at(c, i) - at(c, k) <= longest_time(c);) n += happens_here(c, k, counted(c));
        if (n > c->g->count) breaks_at(c, i);
    }
}

/* ---- before each E: … ---- */
typedef struct {
    const Trigger *steps[32];
    int64_t least[33], most[33]; /* the pause after so many steps; least < 0: none */
    uint32_t n;
} Chain;

static void chain_read(const GateInstance *g, Chain *chain) {
    chain->n = 0;
    chain->least[0] = chain->most[0] = -1;
    for (uint32_t k = 0; k < g->n_steps && chain->n < 32; k++) {
        const GateStep *step = &g->steps[k];
        if (step->event) {
            chain->steps[chain->n++] = step->event;
            chain->least[chain->n] = chain->most[chain->n] = -1;
        } else {
            chain->least[chain->n] = step->least_ms < 0 ? 0 : step->least_ms;
            chain->most[chain->n] = step->most_ms;
        }
    }
}

static bool in_time(const Chain *chain, uint32_t done, int64_t passed) {
    if (chain->least[done] < 0) return true;
    return passed >= chain->least[done] && (chain->most[done] < 0 || passed <= chain->most[done]);
}

/* The moment from which the chain is looked for: the last A or the beginning of the procedure. */
static uint32_t chain_from(const Case *c, uint32_t moment) {
    if (begins(c, moment)) return moment;
    for (uint32_t k = moment; k-- > 1;)
        if (begins(c, k) || happens(c, k, c->g->since)) return k;
    return 0;
}

/* The steps one after the other, each in its pause after the latest of the step before. */
static bool chain_done(const Case *c, const Chain *chain, uint32_t from, uint32_t moment) {
    uint32_t done = 0, last = from;
    for (uint32_t k = from + 1; k < moment; k++) {
        if (done < chain->n && happens(c, k, chain->steps[done])) {
            if (in_time(chain, done, at(c, k) - at(c, last))) done++, last = k;
        } else if (done && happens(c, k, chain->steps[done - 1])) last = k;
    }
    return done == chain->n && in_time(chain, done, at(c, moment) - at(c, last));
}

static void judge_chain(Case *c) {
    Chain chain;
    chain_read(c->g, &chain);
    for (uint32_t i = 1; i < c->run->n; i++) {
        if (!happens_here(c, i, c->g->trigger)) continue;
        uint32_t from = chain_from(c, i);
        bool again = false;
        for (uint32_t k = from ? from : 1; c->g->rule == RULE_BEFORE_FIRST && k < i; k++)
            again |= happens_here(c, k, c->g->trigger) && (k > from || begins(c, k)) &&
                     (!happens(c, k, c->g->since) || begins(c, k));
        if (again) continue;
        c->found.tested++;
        if (!chain_done(c, &chain, from, i)) breaks_at(c, i);
    }
}

/* ---- duty ---- */
typedef struct {
    const DutyLine *line;
    uint32_t number; /* since the last long rest */
    bool going, exempt;
    int64_t on_ms, off_ms;
} Engagement;

static const DutyLine *line_at(const Duty *duty, const uint8_t *facts) {
    for (uint32_t k = 0; k < duty->n_lines; k++)
        if (holds(duty->lines[k].when, facts)) return &duty->lines[k];
    return NULL;
}

static int64_t in_series(const int64_t *series, const DutyLine *line, uint32_t number) {
    if (!line->n_series) return 0;
    return series[(number < line->n_series ? number : line->n_series) - 1];
}

static void judge_on_time(Case *c, const Engagement *e, int64_t until_ms) {
    int64_t on = in_series(e->line->on_ms, e->line, e->number);
    if (on > 0 && !e->exempt) breaks_if_longer(c, until_ms, e->on_ms + on);
}

/* The rest owed after it; < 0: none is long enough. */
static int64_t owed_after(const Engagement *e) {
    const DutyLine *line = e->line;
    bool tried = line->tries && e->number >= line->tries;
    bool fallen = !line->tries && line->n_series > 1 && e->number >= line->n_series && line->long_rest_ms;
    if (tried || fallen) return line->long_rest_ms ? line->long_rest_ms : -1;
    return in_series(line->rest_ms, line, e->number);
}

static void engage(Case *c, const Duty *duty, Engagement *e, uint32_t moment, bool over) {
    const DutyLine *line = line_at(duty, c->run->moments[moment].after);
    if (!line) return;
    Engagement next = {line, 1, true, over, at(c, moment), 0};
    c->found.tested++;
    int64_t rest = at(c, moment) - e->off_ms;
    if (e->line && !(e->line->long_rest_ms && rest >= e->line->long_rest_ms)) {
        int64_t owed = owed_after(e);
        if (!over && (owed < 0 || rest < owed)) breaks_at(c, moment);
        next.number = e->number + 1;
    }
    *e = next;
}

/* The drill that is entered keeps cranking, and its crank goes on over the duty. */
static bool goes_on_over_duty(const Case *c, const Moment *now) {
    const Place *to = &c->m->places[now->to];
    if (c->m->edges[now->edge].kind != EDGE_ENTER_DRILL || to->drill == NO_INDEX ||
        !c->m->tail->drills[to->drill].keeps_cranking)
        return false;
    for (uint32_t k = 0; k < to->n_edges; k++)
        if (c->m->edges[to->first_edge + k].over_duty) return true;
    return false;
}

static void judge_series(Case *c, const Duty *duty) {
    Trigger on = {.kind = ON_BECOMES, .fact = duty->fact, .mask = duty->engaged}, off = on;
    off.kind = ON_LEAVES;
    Engagement e = {0};
    for (uint32_t i = 1; i < c->run->n; i++) {
        const Moment *now = &c->run->moments[i];
        bool over = c->m->edges[now->edge].over_duty;
        if (!e.going && happens_here(c, i, &on)) engage(c, duty, &e, i, over);
        else if (e.going && happens(c, i, &off)) {
            judge_on_time(c, &e, at(c, i));
            e.going = false;
            e.off_ms = at(c, i);
        } else if (e.going && !e.exempt && (over || goes_on_over_duty(c, now))) {
            judge_on_time(c, &e, at(c, i));
            e.exempt = true;
        }
    }
    if (e.going) judge_on_time(c, &e, c->run->now_ms);
}

static void judge_duty_window(Case *c, const Duty *duty, const DutyWindow *window) {
    Trigger on = {.kind = ON_BECOMES, .fact = duty->fact, .mask = duty->engaged};
    for (uint32_t i = 1; i < c->run->n; i++) {
        uint32_t n = 0;
        for (uint32_t k = i; k > 0 && at(c, i) - at(c, k) <= window->in_ms; k--) {
            n += happens_here(c, k, &on) && holds(window->when, c->run->moments[k].after);
            if (!n) break;
        }
        if (n > window->most) breaks_at(c, i);
    }
}

static void judge_duty(Case *c) {
    const Duty *duty = &c->m->tail->duties[c->g->duty];
    judge_series(c, duty);
    for (uint32_t k = 0; k < duty->n_windows; k++) judge_duty_window(c, duty, &duty->windows[k]);
}

Judgement rule_judge(const Run *run, const GateInstance *gate) {
    Case c = {run, run->model, gate, {0}};
    switch (gate->rule) {
    case RULE_BEFORE_EACH:
    case RULE_BEFORE_FIRST: judge_chain(&c); break;
    case RULE_RESPONSE: judge_response(&c); break;
    case RULE_NEVER_AFTER: judge_never(&c); break;
    case RULE_ORDER: judge_order(&c); break;
    case RULE_AT_EACH: judge_at_each(&c); break;
    case RULE_FROM_UNTIL: judge_until(&c); break;
    case RULE_WHILE: judge_while(&c); break;
    case RULE_LASTS: judge_lasts(&c); break;
    case RULE_AT_MOST_SINCE: judge_since(&c); break;
    case RULE_AT_MOST_REST: judge_rest(&c); break;
    case RULE_WINDOW: judge_window(&c); break;
    case RULE_EVERY_END:
    case RULE_END_OF: judge_ends(&c); break;
    case RULE_DUTY: judge_duty(&c); break;
    case RULE_CAN_REACH:
    case RULE_CASES: abort();
    }
    return c.found;
}
