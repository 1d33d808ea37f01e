/* The words of rules: things by their titles, bands and values with their numbers, conditions and events. */
#include "sema/say.h"

enum { SAY_DEPTH = 32 };

void say(Say *s, const char *words) {
    buf_text(&s->buf, words);
}
void say_name(Say *s, Name name) {
    buf_str(&s->buf, name_text(s->r->job->names, name));
}

/* ---- things ---- */

static Str last_part(Str text) {
    size_t at = text.len;
    while (at > 0 && text.ptr[at - 1] != '.') at--;
    return str_slice(text, at, text.len);
}

/* Silent: what the tail has not was dealt with before. */
const Thing *thing_said(const Say *s, Name ref) {
    const Tail *tail = s->r->tail;
    Str text = name_text(s->r->job->names, ref), base = last_part(text);
    const uint32_t *at = map_get(&s->r->things, name_find(s->r->job->names, base));
    if (!at) return NULL;
    const Thing *first = &tail->things[*at - 1];
    uint32_t engine = s->scene.engine == NO_INDEX ? 0 : s->scene.engine;
    if (first->engine == NO_INDEX || tail->n_engines < 2) return first;
    if (base.len == text.len) return first + engine;
    Str prefix = str_slice(text, 0, text.len - base.len - 1);
    if (str_eq(prefix, STR("other"))) return first + (tail->n_engines == 2 ? 1 - engine : engine);
    for (uint32_t i = 0; i < tail->n_engines; i++)
        if (str_eq(prefix, name_text(s->r->job->names, tail->engines[i]))) return first + i;
    return first;
}

/* "Starter light" within a sentence: "starter light"; "ITT" stays. */
static void say_lower(Say *s, Str text) {
    bool word = text.len > 1 && text.ptr[1] >= 'a' && text.ptr[1] <= 'z';
    if (word && text.ptr[0] >= 'A' && text.ptr[0] <= 'Z') {
        buf_char(&s->buf, (char)(text.ptr[0] - 'A' + 'a'));
        text = str_slice(text, 1, text.len);
    }
    buf_str(&s->buf, text);
}

static Str title_of(const Say *s, Name ref) {
    const Thing *thing = thing_said(s, ref);
    if (thing && thing->title.len) return thing_label(s->r, thing);
    Str base = last_part(name_text(s->r->job->names, ref));
    for (DeclKind kind = DECL_CONTROL; kind <= DECL_BRIEFING; kind++) {
        const Decl *decl = program_find(s->r->program, kind, name_find(s->r->job->names, base));
        if (decl && decl->text.span.hi) return text_raw(s->r->job, decl->text);
    }
    return base;
}

void say_title(Say *s, Name ref) {
    if (str_starts(name_text(s->r->job->names, ref), STR("other.")) && s->r->tail->n_engines < 2) say(s, "other ");
    say_lower(s, title_of(s, ref));
}

static bool plural(const Say *s, Name ref) {
    Str title = title_of(s, ref);
    return str_ends(title, STR("s")) && !str_ends(title, STR("ss"));
}

/* "the magnetos leave", "the starter leaves" */
static void say_subject(Say *s, Name ref, const char *one, const char *many) {
    say(s, "the ");
    say_title(s, ref);
    say(s, " ");
    say(s, plural(s, ref) ? many : one);
}

static bool is_engine(const Say *s, Name ref) {
    return str_eq(last_part(name_text(s->r->job->names, ref)), STR("engine"));
}

/* ---- numbers ---- */

static void say_band(Say *s, const Thing *thing, Name name) {
    const Band *found = NULL;
    uint32_t n = 0;
    for (uint32_t i = 0; thing && i < thing->n_bands; i++) {
        if (thing->bands[i].name != name) continue;
        found = &thing->bands[i];
        n++;
    }
    if (n != 1 || !found->measure) return;
    QuantityStyle style = {.decimals = 3};
    say(s, " (");
    if (found->has_lo && found->has_hi) {
        buf_quantity_range(&s->buf, found->measure, found->lo, found->hi, style);
    } else {
        say(s, found->has_lo ? "at least " : "at most ");
        buf_quantity(&s->buf, found->measure, found->has_lo ? found->lo : found->hi, style);
    }
    say(s, ")");
}

static void say_craft_value(Say *s, const Craft *craft) {
    buf_str(&s->buf, span_text(s->r->job->sources, craft->amount.span));
    if (!craft->when) return;
    say(s, " when ");
    print_cond(&s->buf, s->r->job, craft->when);
}

/* "oil-time (30 s when oat at least 0 degC, 60 s when oat below 0 degC)" */
void say_value(Say *s, Name name) {
    const Tail *tail = s->r->tail;
    uint32_t n = 0;
    say_name(s, name);
    for (uint32_t i = 0; i < tail->n_values; i++) {
        if (tail->values[i].name != name || !tail->values[i].craft) continue;
        say(s, n++ ? ", " : " (");
        say_craft_value(s, tail->values[i].craft);
    }
    if (n) say(s, ")");
}

void say_measured(Say *s, const Measured *measured) {
    if (measured->name.name) say_value(s, measured->name.name);
    else buf_str(&s->buf, span_text(s->r->job->sources, measured->amount.span));
}

void say_range(Say *s, const Range *range, const char *to) {
    const Sources *sources = s->r->job->sources;
    if (range->lo.span.hi && range->hi.span.hi) {
        buf_str(&s->buf, span_text(sources, range->lo.unit.name && range->lo.unit.name != range->hi.unit.name
                                                ? range->lo.span
                                                : range->lo.number));
        say(s, to);
        buf_str(&s->buf, span_text(sources, range->hi.span));
    } else {
        say(s, range->lo.span.hi ? "at least " : "at most ");
        buf_str(&s->buf, span_text(sources, range->lo.span.hi ? range->lo.span : range->hi.span));
    }
}

/* ---- conditions ---- */

/* Is this part of an `and` or `or` left unsaid, since the kind of aircraft or its equipment decides it? */
static bool unsaid(Say *s, const Cond *whole, const Cond *part) {
    return cond_by_kind(s->r, whole) < 0 && cond_by_kind(s->r, part) == (whole->kind == COND_AND);
}

/* Of parts of which one alone is said, that one. */
static const Cond *said_alone(Say *s, const Cond *cond) {
    while (cond->kind == COND_AND || cond->kind == COND_OR) {
        const Cond *only = NULL;
        for (const Cond *part = cond->parts; part; part = part->next) {
            if (unsaid(s, cond, part)) continue;
            if (only) return cond;
            only = part;
        }
        if (!only) return cond;
        cond = only;
    }
    return cond;
}

static void say_inner(Say *s, const Cond *cond, CondKind around) {
    cond = said_alone(s, cond);
    bool join = cond->kind == COND_AND || cond->kind == COND_OR;
    bool brackets = around == COND_NOT ? cond->kind != COND_NAME : join && cond->kind != around;
    if (brackets) say(s, "(");
    say_cond(s, cond);
    if (brackets) say(s, ")");
}

static void say_parts(Say *s, const Cond *cond, const char *joint) {
    bool first = true;
    for (const Cond *part = cond->parts; part; part = part->next) {
        if (unsaid(s, cond, part)) continue;
        if (!first) say(s, joint);
        say_inner(s, part, (CondKind)cond->kind);
        first = false;
    }
}

/* A state by its name and, once in a sentence, by what it means. */
void say_state(Say *s, Name name) {
    const Decl *state = program_find(s->r->program, DECL_STATE, name);
    if (!state) {
        if (label_known(s->r, name)) say(s, "line ");
        say_name(s, name);
        if (label_known(s->r, name)) say(s, " done");
        return;
    }
    say_name(s, name);
    s->said.arena = s->r->job->arena;
    if (map_get(&s->said, name) || s->depth >= SAY_DEPTH) return;
    map_put(&s->said, name, s);
    say(s, " (");
    s->depth++;
    say_cond(s, state->u.cond);
    s->depth--;
    say(s, ")");
}

static void say_is(Say *s, const Cond *cond) {
    say_title(s, cond->ref.name);
    say(s, cond->negated ? " is not " : " ");
    say_name(s, cond->word.name);
    const Thing *thing = thing_said(s, cond->ref.name);
    if (thing && thing->kind == THING_GAUGE) say_band(s, thing, cond->word.name);
}

static void say_compare(Say *s, const Cond *cond) {
    static const char *const words[] = {" at least ", " at most ", " below ", " above "};
    say_title(s, cond->ref.name);
    say(s, words[cond->comparison]);
    say_measured(s, cond->measured);
}

void say_cond(Say *s, const Cond *cond) {
    cond = said_alone(s, cond);
    switch ((CondKind)cond->kind) {
    case COND_BAD: say(s, "…"); break;
    case COND_AND: say_parts(s, cond, " and "); break;
    case COND_OR: say_parts(s, cond, " or "); break;
    case COND_NOT:
        say(s, "not ");
        say_inner(s, cond->parts, COND_NOT);
        break;
    case COND_FOR:
        say_inner(s, cond->parts, COND_FOR);
        say(s, " for ");
        say_measured(s, cond->time);
        break;
    case COND_NAME: say_state(s, cond->ref.name); break;
    case COND_IS: say_is(s, cond); break;
    case COND_COMPARE: say_compare(s, cond); break;
    case COND_RANGE:
        say_title(s, cond->ref.name);
        say(s, " ");
        say_range(s, cond->range, " to ");
        break;
    case COND_FITTED:
        say_title(s, cond->ref.name);
        say(s, " fitted");
        break;
    case COND_WATCHING:
        say(s, "watching the ");
        say_title(s, cond->ref.name);
        break;
    case COND_TEXT: buf_str(&s->buf, span_text(s->r->job->sources, cond->text.span)); break;
    }
}

/* ---- events ---- */

static void say_call(Say *s, Name ref) {
    Str base = last_part(name_text(s->r->job->names, ref));
    const Decl *call = program_find(s->r->program, DECL_CALL, name_find(s->r->job->names, base));
    say(s, "“");
    const Thing *thing = thing_said(s, ref);
    Scene scene = s->scene;
    if (thing && thing->engine != NO_INDEX) scene.engine = thing->engine;
    buf_str(&s->buf, call ? resolve_text(s->r, thing ? thing->text : call->text, &scene) : base);
    say(s, "”");
}

static void say_seen(Say *s, const Event *event, bool order) {
    const Thing *thing = thing_said(s, event->ref.name);
    bool gauge = thing && thing->kind == THING_GAUGE;
    if (order) {
        say(s, "see the ");
        say_title(s, event->ref.name);
    } else {
        say_subject(s, event->ref.name, "is seen", "are seen");
    }
    say(s, gauge ? " at " : " ");
    say_name(s, event->pos.name);
    if (gauge) say_band(s, thing, event->pos.name);
}

static void say_engine_event(Say *s, const Event *event) {
    Str pos = name_text(s->r->job->names, event->pos.name);
    const char *verb = str_eq(pos, STR("TURNING"))   ? "begins to turn"
                       : str_eq(pos, STR("RUNNING")) ? "fires"
                                                     : "comes to rest";
    say_subject(s, event->ref.name, verb, verb);
}

static bool counted(const Say *s, const Event *event) {
    const Thing *thing = thing_said(s, event->ref.name);
    for (uint32_t i = 0; thing && i < thing->n_positions; i++)
        if (thing->positions[i].name == event->pos.name) return thing->positions[i].counted;
    return false;
}

static void say_becomes(Say *s, const Event *event, bool order) {
    const Thing *thing = thing_said(s, event->ref.name);
    bool control = thing && thing->kind == THING_CONTROL;
    if (is_engine(s, event->ref.name)) {
        say_engine_event(s, event);
        return;
    }
    if (counted(s, event)) {
        say_subject(s, event->ref.name, "is worked once (", "are worked once (");
        say_name(s, event->pos.name);
        say(s, ")");
        return;
    }
    if (order) {
        say(s, control ? "bring the " : "see the ");
        say_title(s, event->ref.name);
        say(s, control ? " to " : " become ");
    } else {
        say_subject(s, event->ref.name, control ? "goes to " : "becomes ", control ? "go to " : "become ");
    }
    say_name(s, event->pos.name);
}

bool is_procedure(const Say *s, Name name) {
    if (find_for_tail(s->r, DECL_PROCEDURE, name)) return true;
    return !program_find(s->r->program, DECL_DRILL, name) && program_find(s->r->program, DECL_PROCEDURE, name);
}

static void say_named(Say *s, const Event *event, bool order) {
    Str text = name_text(s->r->job->names, event->ref.name), base = last_part(text);
    Name name = name_find(s->r->job->names, base);
    const Decl *means = program_find(s->r->program, DECL_EVENT, name);
    if (means && s->depth < SAY_DEPTH) {
        uint32_t engine = s->scene.engine;
        for (uint32_t i = 0; base.len < text.len && i < s->r->tail->n_engines; i++)
            if (str_starts(text, name_text(s->r->job->names, s->r->tail->engines[i]))) s->scene.engine = i;
        s->depth++;
        say_events(s, means->u.event, order);
        s->depth--;
        s->scene.engine = engine;
        return;
    }
    if (program_find(s->r->program, DECL_CALL, name)) {
        if (order) say(s, "call ");
        say_call(s, event->ref.name);
        if (!order) say(s, " is called");
        return;
    }
    if (label_known(s->r, name)) {
        say(s, order ? "do the line " : "the line ");
        say_name(s, event->ref.name);
        if (!order) say(s, " is done");
        return;
    }
    say(s, is_procedure(s, name) ? "the procedure " : "the drill ");
    say_name(s, event->ref.name);
    say(s, " begins");
}

/* As a clause ("the starter goes to ENGAGED"), or as what is to be done ("bring the key to OUT"). */
static void say_event(Say *s, const Event *event, bool order) {
    switch ((EventKind)event->kind) {
    case EVENT_BAD: say(s, "…"); break;
    case EVENT_NAME: say_named(s, event, order); break;
    case EVENT_BECOMES: say_becomes(s, event, order); break;
    case EVENT_LEAVES:
        say_subject(s, event->ref.name, "leaves ", "leave ");
        say_name(s, event->pos.name);
        break;
    case EVENT_SEEN: say_seen(s, event, order); break;
    case EVENT_ANSWERED:
        say_call(s, event->ref.name);
        say(s, " is answered ");
        say_name(s, event->pos.name);
        break;
    case EVENT_SET:
        say(s, order ? "set the " : "");
        if (order) say_title(s, event->ref.name);
        else say_subject(s, event->ref.name, "is set", "are set");
        say(s, " to ");
        say_name(s, event->pos.name);
        break;
    case EVENT_LOOK:
        say(s, order ? "look at the " : "somebody looks at the ");
        say_title(s, event->ref.name);
        say(s, order ? " (" : " and finds it ");
        say_name(s, event->pos.name);
        say(s, order ? ")" : "");
        break;
    case EVENT_CALL:
        if (order) say(s, "call ");
        say_call(s, event->ref.name);
        if (!order) say(s, " is called");
        break;
    case EVENT_BRIEF:
        say(s, order ? "give the " : "the ");
        say_title(s, event->ref.name);
        say(s, order ? "" : " is given");
        break;
    }
}

/* Of equipment that this tail has not. */
static bool never_happens(const Say *s, const Event *event, uint32_t depth) {
    if (event->kind != EVENT_NAME) {
        const Thing *thing = thing_said(s, event->ref.name);
        return thing && thing->fitted == FITTED_NO;
    }
    Str base = last_part(name_text(s->r->job->names, event->ref.name));
    const Decl *means = program_find(s->r->program, DECL_EVENT, name_find(s->r->job->names, base));
    if (!means || depth >= SAY_DEPTH) return false;
    for (const Event *one = means->u.event; one; one = one->next)
        if (!never_happens(s, one, depth + 1)) return false;
    return true;
}

/* What never happens is left unsaid beside what can. */
void say_events(Say *s, const Event *event, bool order) {
    bool some = false, first = true;
    for (const Event *one = event; one; one = one->next) some |= !never_happens(s, one, s->depth);
    for (; event; event = event->next) {
        if (some && never_happens(s, event, s->depth)) continue;
        if (!first) say(s, " or ");
        say_event(s, event, order);
        first = false;
    }
}
