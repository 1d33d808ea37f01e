/* A gate's rule as an English sentence, made from the rule alone: never from the title that its author gave it. */
#include "sema/say.h"

static void say_steps(Say *s, const Rule *rule) {
    for (const RuleStep *step = rule->steps; step; step = step->next) {
        if (step != rule->steps) say(s, ", then ");
        if (step->event) {
            say_events(s, step->event, true);
        } else if (step->pause_name.name) {
            say(s, "wait at least ");
            say_value(s, step->pause_name.name);
        } else {
            say(s, "wait ");
            say_range(s, &step->pause, " to ");
        }
    }
}

static bool same_event(const Event *a, const Event *b) {
    return a && b && !a->next && !b->next && a->kind == b->kind && a->ref.name == b->ref.name &&
           a->pos.name == b->pos.name;
}

static void say_before_each(Say *s, const Rule *rule) {
    say(s, "before each time ");
    say_events(s, rule->trigger, false);
    if (same_event(rule->trigger, rule->since)) {
        say(s, ", since the time before");
    } else if (rule->since) {
        say(s, ", since the last time ");
        say_events(s, rule->since, false);
    }
    say(s, ": ");
    say_steps(s, rule);
}

static void say_after(Say *s, const Rule *rule) {
    say(s, rule->says_each ? "after each time " : "once ");
    say_events(s, rule->trigger, false);
}

static void say_never_after(Say *s, const Rule *rule) {
    bool timed = measured_written(&rule->time);
    say_after(s, rule);
    say(s, timed             ? ", for at least "
           : rule->says_each ? ", it never happens that "
                             : ", from then on it never happens that ");
    if (timed) {
        say_measured(s, &rule->time);
        say(s, " it does not happen that ");
    }
    say_events(s, rule->events, false);
}

static void say_when_cond(Say *s, const char *head, const Event *event, const Rule *rule) {
    say(s, head);
    say_events(s, event, false);
    if (rule->kind == RULE_FROM_UNTIL) {
        say(s, " until ");
        say_events(s, rule->since, false);
    }
    say(s, ": ");
    say_cond(s, rule->cond);
}

static void say_count(Say *s, const Rule *rule) {
    say(s, "at most ");
    say_measured(s, &rule->count);
    say(s, " times");
    if (rule->kind == RULE_AT_MOST_REST) {
        say(s, " since the last rest of at least ");
        say_measured(s, &rule->time);
    } else if (rule->kind == RULE_AT_MOST_SINCE) {
        say(s, " since the last time ");
        say_events(s, rule->since, false);
        say(s, ", or since the procedure began");
    }
    say(s, ": ");
    say_events(s, rule->events, false);
}

static void say_every_end(Say *s, const Rule *rule) {
    say(s, "at every end");
    for (const WordList *word = rule->outcomes; word; word = word->next) {
        say(s, word == rule->outcomes ? " " : " or ");
        say_name(s, word->word.name);
    }
    if (rule->kind == RULE_END_OF) {
        say(s, rule->any_drill ? " of any drill" : " of the drill ");
        if (!rule->any_drill) say_name(s, rule->target.name);
    }
    say(s, ": ");
    say_cond(s, rule->cond);
}

static void say_reach(Say *s, const Rule *rule) {
    bool drill = !program_find(s->r->program, DECL_STATE, rule->target.name);
    say(s, "wherever ");
    say_state(s, rule->ref.name);
    say(s, drill ? " holds, the drill " : " holds, there is a way to ");
    if (drill) say_name(s, rule->target.name);
    else say_state(s, rule->target.name);
    say(s, drill ? " can be entered and comes to an end, whatever the engine and the world do"
                 : " or to the end RUNNING, whatever the engine and the world do");
}

static void say_duty(Say *s, const Rule *rule) {
    uint32_t n = 0;
    const Thing *thing = thing_said(s, rule->ref.name);
    say(s, "the duty of the ");
    say_title(s, rule->ref.name);
    say(s, " is kept");
    for (uint32_t i = 0; thing && i < s->r->tail->n_duties; i++) {
        const Duty *duty = &s->r->tail->duties[i];
        if (duty->thing != thing_index(s->r, thing)) continue;
        for (uint32_t k = 0; k < duty->n_lines + duty->n_windows; k++) {
            const Craft *craft = k < duty->n_lines ? duty->lines[k].craft : duty->windows[k - duty->n_lines].craft;
            if (!craft || !craft->limits) continue;
            const DutyLimit *last = craft->limits;
            while (last->next) last = last->next;
            say(s, n++ ? "; " : ": ");
            buf_str(&s->buf, span_text(s->r->job->sources, span_join(craft->limits->span, last->span)));
            if (!craft->when) continue;
            say(s, " when ");
            print_cond(&s->buf, s->r->job, craft->when);
        }
    }
}

static void say_rule(Say *s, const Rule *rule) {
    switch ((RuleKind)rule->kind) {
    case RULE_BEFORE_EACH: say_before_each(s, rule); break;
    case RULE_BEFORE_FIRST:
        say(s, "before the first time ");
        say_events(s, rule->trigger, false);
        say(s, ": ");
        say_steps(s, rule);
        break;
    case RULE_RESPONSE:
        say_after(s, rule);
        say(s, ", within ");
        say_measured(s, &rule->time);
        say(s, ": ");
        say_events(s, rule->events, false);
        break;
    case RULE_NEVER_AFTER: say_never_after(s, rule); break;
    case RULE_ORDER:
        say_after(s, rule);
        say(s, ": ");
        say_events(s, rule->events, false);
        say(s, " before ");
        say_events(s, rule->before, false);
        break;
    case RULE_AT_EACH: say_when_cond(s, "each time ", rule->trigger, rule); break;
    case RULE_FROM_UNTIL: say_when_cond(s, "from each time ", rule->trigger, rule); break;
    case RULE_WHILE:
        say(s, "while ");
        say_cond(s, rule->state);
        say(s, ": ");
        say_cond(s, rule->cond);
        break;
    case RULE_LASTS:
        say(s, "each time, ");
        say_state(s, rule->ref.name);
        say(s, " lasts at most ");
        say_measured(s, &rule->time);
        break;
    case RULE_CAN_REACH: say_reach(s, rule); break;
    case RULE_AT_MOST_SINCE:
    case RULE_AT_MOST_REST: say_count(s, rule); break;
    case RULE_WINDOW:
        say(s, "in any ");
        say_measured(s, &rule->time);
        say(s, " ");
        say_count(s, rule);
        break;
    case RULE_EVERY_END:
    case RULE_END_OF: say_every_end(s, rule); break;
    case RULE_DUTY: say_duty(s, rule); break;
    case RULE_CASES: say(s, "in every case exactly one of the procedures with an “applies when” applies"); break;
    }
}

static void say_where(Say *s, const Gate *gate) {
    if (gate->in_any_drill) {
        say(s, "within any drill, ");
    } else if (gate->within.name) {
        say(s, is_procedure(s, gate->within.name) ? "within the procedure " : "within the drill ");
        say_name(s, gate->within.name);
        say(s, ", ");
    }
}

static void say_except(Say *s, const Rule *rule) {
    if (!rule->except_written) return;
    say(s, rule->except_any                     ? " (not in any drill)"
           : rule->except && rule->except->next ? " (not in the drills "
                                                : " (not in ");
    for (const WordList *word = rule->except_any ? NULL : rule->except; word; word = word->next) {
        say_name(s, word->word.name);
        say(s, word->next ? ", " : ")");
    }
}

Str rule_in_words(Resolver *r, const GateInstance *gate) {
    Say s = {.r = r, .gate = gate, .buf = {.arena = r->job->arena}};
    s.scene = (Scene){.engine = gate->engine, .home = gate->decl};
    say_where(&s, gate->gate);
    say_rule(&s, &gate->gate->rule);
    say_except(&s, &gate->gate->rule);
    say(&s, ".");
    if (s.buf.ptr[0] >= 'a' && s.buf.ptr[0] <= 'z') s.buf.ptr[0] = (char)(s.buf.ptr[0] - 'a' + 'A');
    return buf_view(&s.buf);
}
