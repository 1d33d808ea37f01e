/* Events: what happens, as something that edges of the model can be matched with; and whether words need an engine chosen. */
#include "sema/craft.h"
#include "sema/program_parts.h"

enum { TRIGGERS_MOST = 1024 }; /* of one event with its named events written out */

typedef struct {
    Trigger *first, **end;
} TriggerList;

static Trigger *trigger_add(Resolver *r, TriggerList *list, TriggerKind kind, const Event *event) {
    Trigger *trigger = ARENA_NEW(r->job->arena, Trigger);
    trigger->kind = kind;
    trigger->fact = trigger->thing = trigger->engine = NO_INDEX;
    trigger->name = event->ref.name;
    trigger->written = event;
    *list->end = trigger;
    list->end = &trigger->next;
    r->scratch->triggers++;
    return trigger;
}

static void trigger_fact(Resolver *r, TriggerList *list, TriggerKind kind, const Event *event, uint32_t fact,
                         uint64_t mask) {
    Trigger *trigger = trigger_add(r, list, fact == NO_INDEX ? ON_NOTHING : kind, event);
    trigger->fact = fact;
    trigger->mask = mask;
}

/* NULL: it can never happen here, or was reported; the list's place is kept. */
static const Thing *event_thing(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    const Thing *thing = resolve_thing(r, event->ref, scene);
    if (thing && thing->fitted != FITTED_NO) {
        if ((thing->fitted == FITTED_UNDECIDED || thing->inoperative) && !r->undecided) r->undecided = thing->name;
        return thing;
    }
    if (thing && !r->unfitted) r->unfitted = thing->name;
    (void)trigger_add(r, list, ON_NOTHING, event);
    return NULL;
}

static void impossible(Resolver *r, TriggerList *list, const Event *event, const Thing *thing, const char *advice) {
    (void)trigger_add(r, list, ON_NOTHING, event);
    if (first_report(r, FINDING_EVENT_IMPOSSIBLE, event->span))
        finding_add(r->job->findings, FINDING_EVENT_IMPOSSIBLE, event->span, "this cannot happen to %N: %s",
                    thing->name, advice);
}

static void on_change(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    const Thing *thing = event_thing(r, list, event, scene);
    if (!thing) return;
    if (thing->kind == THING_CALL) {
        impossible(r, list, event, thing, "it is a call; its answer is an event: `CALL answered ANSWER`");
        return;
    }
    if (thing->kind == THING_GAUGE) {
        impossible(r, list, event, thing,
                   "a gauge has no positions; what the crew reads is an event: `GAUGE seen BAND`");
        return;
    }
    uint32_t position = resolve_position(r, thing, event->pos);
    if (position == NO_INDEX) {
        (void)trigger_add(r, list, ON_NOTHING, event);
        return;
    }
    uint64_t mask = UINT64_C(1) << position;
    TriggerKind kind = event->kind == EVENT_LEAVES ? ON_LEAVES : ON_BECOMES;
    if (thing->kind == THING_ENGINE && position == ENGINE_RUNNING) mask = ENGINE_IS_RUNNING;
    if (thing->kind == THING_ENGINE && position == ENGINE_TURNING && kind == ON_BECOMES) kind = ON_TURN;
    if (thing->positions[position].counted && kind == ON_BECOMES) kind = ON_SET; /* each stroke */
    trigger_fact(r, list, kind, event, thing->fact, mask);
}

/* A band that reads otherwise in other cases is no one set of readings. */
static void on_band_seen(Resolver *r, TriggerList *list, const Event *event, const Thing *gauge, const Scene *scene) {
    uint32_t n;
    const Band *bands = band_find(gauge, event->pos.name, &n);
    if (!n) {
        report_band(r, gauge, event->pos, scene);
        if (!r->undecided)
            r->undecided = name_intern(
                r->job->names, format_text(r->job->arena, r->job->names, "%N %N", gauge->name, event->pos.name));
        (void)trigger_add(r, list, ON_NOTHING, event);
        return;
    }
    if (n > 1 && first_report(r, FINDING_BAND_VARIES, event->pos.span)) {
        Finding *finding = finding_add(r->job->findings, FINDING_BAND_VARIES, event->pos.span,
                                       "%N of %N differs from case to case on %N, so `seen` does not say which "
                                       "readings count; give one band for all cases a name of its own",
                                       event->pos.name, gauge->name, r->tail->name);
        finding_note(r->job->findings, finding, bands[1].span, "it has several lines");
    }
    Trigger *trigger = trigger_add(r, list, ON_SEEN, event);
    trigger->fact = gauge->fact;
    vec_push(r->job->arena, &r->scratch->gauge_tests,
             ((GaugeTest){.fact = gauge->fact,
                          .has_lo = bands->has_lo,
                          .has_hi = bands->has_hi,
                          .lo = bands->lo,
                          .hi = bands->hi,
                          .measure = bands->measure,
                          .mask = &trigger->mask,
                          .span = event->pos.span}));
}

static void on_seen(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    const Thing *thing = event_thing(r, list, event, scene);
    if (!thing) return;
    if (thing->kind == THING_GAUGE && !starts_upper(r, event->pos.name)) {
        int trend = trend_index(r, event->pos.name);
        if (trend >= 0) trigger_fact(r, list, ON_SEEN, event, thing->trend, UINT64_C(1) << trend);
        else on_band_seen(r, list, event, thing, scene);
        return;
    }
    if (thing->kind == THING_CALL) {
        impossible(r, list, event, thing, "a call is answered: `CALL answered ANSWER`");
        return;
    }
    uint32_t position = resolve_position(r, thing, event->pos);
    uint64_t mask = position == NO_INDEX ? 0 : UINT64_C(1) << position;
    if (thing->kind == THING_ENGINE && position == ENGINE_RUNNING) mask = ENGINE_IS_RUNNING;
    trigger_fact(r, list, position == NO_INDEX ? ON_NOTHING : ON_SEEN, event, thing->fact, mask);
}

static void on_act(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    const Thing *thing = event_thing(r, list, event, scene);
    if (!thing) return;
    bool set = event->kind == EVENT_SET;
    bool can = set ? thing->kind == THING_CONTROL : thing->kind == THING_SCENE || thing->kind == THING_LIGHT;
    if (!can) {
        impossible(r, list, event, thing,
                   set ? "the pilot sets controls only"
                       : "only a scene or a light is looked at; a control or gauge is `seen`");
        return;
    }
    uint32_t position = resolve_position(r, thing, event->pos);
    TriggerKind kind = position == NO_INDEX ? ON_NOTHING : set ? ON_SET : ON_LOOK;
    trigger_fact(r, list, kind, event, thing->fact, position == NO_INDEX ? 0 : UINT64_C(1) << position);
}

static void on_answered(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    const Thing *thing = event_thing(r, list, event, scene);
    if (!thing) return;
    if (thing->kind != THING_CALL) {
        impossible(r, list, event, thing, "only a call is answered");
        return;
    }
    uint32_t position = resolve_position(r, thing, event->pos);
    trigger_fact(r, list, position == NO_INDEX ? ON_NOTHING : ON_ANSWERED, event, thing->answer,
                 position == NO_INDEX ? 0 : UINT64_C(2) << position);
}

static void on_spoken(Resolver *r, TriggerList *list, const Event *event, const Scene *scene, ThingKind kind) {
    const Thing *thing = event_thing(r, list, event, scene);
    if (!thing) return;
    if (thing->kind != kind) {
        impossible(r, list, event, thing, kind == THING_CALL ? "it is no call" : "it is no briefing");
        return;
    }
    Trigger *trigger = trigger_add(r, list, kind == THING_CALL ? ON_CALL : ON_BRIEF, event);
    trigger->thing = thing_index(r, thing);
    trigger->engine = thing->engine;
}

static void resolve_list(Resolver *r, TriggerList *list, const Event *event, const Scene *scene);

static void on_named_event(Resolver *r, TriggerList *list, const Event *event, const Decl *decl, const Scene *scene) {
    NameMap *open = &r->scratch->events;
    const Scene inside = {scene->engine, false, decl};
    if (map_get(open, decl->name.name)) return; /* a circle: reported with the program */
    map_put(open, decl->name.name, r);
    if (decl->u.event) resolve_list(r, list, decl->u.event, &inside);
    else (void)trigger_add(r, list, ON_NOTHING, event);
    map_put(open, decl->name.name, NULL);
}

static void on_label(Resolver *r, TriggerList *list, const Event *event, Name label, uint32_t engine) {
    trigger_fact(r, list, ON_LABEL, event, label_fact(r, label, NO_INDEX), 2);
    for (uint32_t i = 0; i < r->tail->n_engines && r->tail->n_engines > 1; i++)
        if (engine == NO_INDEX || engine == i) trigger_fact(r, list, ON_LABEL, event, label_fact(r, label, i), 2);
}

static void on_nothing_known(Resolver *r, TriggerList *list, const Event *event, Name name) {
    static const DeclKind kinds[] = {DECL_EVENT, DECL_CALL, DECL_PROCEDURE, DECL_DRILL};
    (void)trigger_add(r, list, ON_NOTHING, event);
    const Thing *thing = first_instance(r, name);
    bool elsewhere = program_find(r->program, DECL_PROCEDURE, name) || program_find(r->program, DECL_DRILL, name) ||
                     map_get(&r->program->labels, name) != NULL;
    if (elsewhere) { /* of other aircraft: it happens to none of these */
        if (!r->unfitted) r->unfitted = name;
        return;
    }
    if (!thing) {
        if (in_library(r, event->span) && !r->unfitted)
            r->unfitted = name; /* a gate of the library over a drill that nobody wrote */
        else if (!in_library(r, event->span))
            (void)report_unknown(r->program, event->ref, name, kinds, 4,
                                 "an event, a labelled line, a call, a procedure or a drill");
        return;
    }
    if (!first_report(r, FINDING_EVENT_IMPOSSIBLE, event->span)) return;
    finding_add(r->job->findings, FINDING_EVENT_IMPOSSIBLE, event->span,
                "%N alone is no event: say what happens to it, as in `%N becomes POSITION`, `%N seen BAND`, `brief %N`",
                name, name, name, name);
}

static void on_name(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    RefParts parts = ref_split(r, event->ref);
    Scene inside = *scene;
    const Thing *thing = first_instance(r, parts.name);
    const Decl *named = program_find(r->program, DECL_EVENT, parts.name);
    if (!named && thing && thing->kind == THING_CALL) {
        on_spoken(r, list, event, scene, THING_CALL);
        return;
    }
    if (!engine_of_ref(r, event->ref, parts, scene, &inside.engine) || inside.engine == OTHER_OF_ONE) {
        if (!r->unfitted) r->unfitted = event->ref.name;
        (void)trigger_add(r, list, ON_NOTHING, event);
        return;
    }
    if (named) on_named_event(r, list, event, named, &inside);
    else if (label_known(r, parts.name)) on_label(r, list, event, parts.name, inside.engine);
    else if (find_for_tail(r, DECL_PROCEDURE, parts.name) || find_for_tail(r, DECL_DRILL, parts.name)) {
        Trigger *trigger = trigger_add(r, list, ON_ENTER, event);
        trigger->name = parts.name;
        trigger->engine = r->tail->n_engines > 1 ? inside.engine : NO_INDEX;
    } else on_nothing_known(r, list, event, parts.name);
}

static void resolve_one(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    switch ((EventKind)event->kind) {
    case EVENT_BAD: (void)trigger_add(r, list, ON_NOTHING, event); return;
    case EVENT_NAME: on_name(r, list, event, scene); return;
    case EVENT_BECOMES:
    case EVENT_LEAVES: on_change(r, list, event, scene); return;
    case EVENT_SEEN: on_seen(r, list, event, scene); return;
    case EVENT_ANSWERED: on_answered(r, list, event, scene); return;
    case EVENT_SET:
    case EVENT_LOOK: on_act(r, list, event, scene); return;
    case EVENT_CALL: on_spoken(r, list, event, scene, THING_CALL); return;
    case EVENT_BRIEF: on_spoken(r, list, event, scene, THING_BRIEFING); return;
    }
}

static void resolve_list(Resolver *r, TriggerList *list, const Event *event, const Scene *scene) {
    if (r->scratch->depth >= LIMIT_NESTING) {
        if (first_report(r, FINDING_CONDITION_DEEP, event->span))
            finding_add(r->job->findings, FINDING_CONDITION_DEEP, event->span,
                        "named events lead to one another more than %u deep", (uint64_t)LIMIT_NESTING);
        return;
    }
    r->scratch->depth++;
    for (; event; event = event->next) {
        if (r->scratch->triggers >= TRIGGERS_MOST) {
            if (first_report(r, FINDING_CONDITION_LARGE, event->span))
                finding_add(r->job->findings, FINDING_CONDITION_LARGE, event->span,
                            "this event has more than %u parts once its named events are written out",
                            (uint64_t)TRIGGERS_MOST);
            break;
        }
        resolve_one(r, list, event, scene);
    }
    r->scratch->depth--;
}

const Trigger *resolve_trigger(Resolver *r, const Event *event, const Scene *scene) {
    TriggerList list = {NULL, &list.first};
    r->scratch->triggers = 0;
    if (event) resolve_list(r, &list, event, scene);
    return list.first;
}

/* ---- does it need an engine? ---- */

enum { NEEDS_OPEN = 1, NEEDS_NOT, NEEDS };

static bool cond_needs(Resolver *r, const Cond *cond, uint32_t depth);
static bool event_needs(Resolver *r, const Event *event, uint32_t depth);

/* Remembered for each declaration, so that states of states cost once. */
static bool decl_needs(Resolver *r, const Decl *decl, uint32_t depth) {
    NameMap *map = &r->program->needs;
    uintptr_t known = (uintptr_t)map_get(map, decl->span.lo + 1);
    if (known) return known == NEEDS;
    if (depth >= LIMIT_NESTING) return false;
    map_put(map, decl->span.lo + 1, (void *)(uintptr_t)NEEDS_OPEN);
    bool needs =
        decl->kind == DECL_STATE ? cond_needs(r, decl->u.cond, depth + 1) : event_needs(r, decl->u.event, depth + 1);
    map_put(map, decl->span.lo + 1, (void *)(uintptr_t)(needs ? NEEDS : NEEDS_NOT));
    return needs;
}

/* `other.x` is the other of a chosen engine, so it needs one too. */
static bool word_needs(Resolver *r, Word ref, uint32_t depth) {
    if (!ref.name) return false;
    RefParts parts = ref_split(r, ref);
    bool other = parts.dotted && str_eq(name_text(r->job->names, parts.engine), STR("other"));
    if (parts.dotted) return other;
    if (str_eq(name_text(r->job->names, ref.name), STR("engine"))) return true;
    const Named *thing = map_get(&r->program->things, ref.name);
    if (thing) return thing->decl->each_engine;
    const Decl *state = program_find(r->program, DECL_STATE, ref.name);
    return state && decl_needs(r, state, depth);
}

static bool cond_needs(Resolver *r, const Cond *cond, uint32_t depth) {
    if (!cond || depth >= LIMIT_NESTING) return false;
    for (const Cond *part = cond_parts(cond); part; part = part->next)
        if (cond_needs(r, part, depth + 1)) return true;
    return cond->kind != COND_FITTED && word_needs(r, cond->ref, depth);
}

static bool event_needs(Resolver *r, const Event *event, uint32_t depth) {
    for (; event && depth < LIMIT_NESTING; event = event->next) {
        const Decl *named = event->kind == EVENT_NAME ? program_find(r->program, DECL_EVENT, event->ref.name) : NULL;
        if (named ? decl_needs(r, named, depth) : word_needs(r, event->ref, depth)) return true;
    }
    return false;
}

bool cond_needs_engine(Resolver *r, const Cond *cond) {
    return cond_needs(r, cond, 0);
}
bool event_needs_engine(Resolver *r, const Event *event) {
    return event_needs(r, event, 0);
}

bool ref_needs_engine(Resolver *r, Word ref) {
    const Decl *event = program_find(r->program, DECL_EVENT, ref.name);
    return (event && decl_needs(r, event, 0)) || word_needs(r, ref, 0);
}
