/* Conditions: words become facts and sets of their values; states are written out in place; what this tail has not is decided. */
#include "sema/craft.h"
#include "sema/program_parts.h"

enum { LEAVES_MOST = 4096 }; /* of one condition with its states written out */

/* ---- making tests ---- */

Test *test_new(Resolver *r, TestKind kind, const Cond *written) {
    Test *test = ARENA_NEW(r->job->arena, Test);
    test->kind = kind;
    test->fact = NO_INDEX;
    test->written = written;
    return test;
}

Test *test_undecided(Resolver *r, Name missing, const Cond *written) {
    Test *test = test_new(r, TEST_UNDECIDED, written);
    test->missing = missing;
    if (!r->undecided) r->undecided = missing;
    return test;
}

static Test *test_fact(Resolver *r, uint32_t fact, uint64_t mask, const Cond *written) {
    Test *test = test_new(r, fact == NO_INDEX ? TEST_FALSE : TEST_FACT, written);
    test->fact = fact;
    test->mask = mask;
    return test;
}

static Test *test_unfitted(Resolver *r, const Thing *thing, const Cond *written) {
    Test *test = test_new(r, TEST_FALSE, written);
    test->missing = thing->name;
    if (!r->unfitted) r->unfitted = thing->name;
    return test;
}

static Test *test_not(Resolver *r, const Test *part, const Cond *written) {
    TestKind kind = part->kind == TEST_TRUE ? TEST_FALSE : part->kind == TEST_FALSE ? TEST_TRUE : TEST_NOT;
    if (part->kind == TEST_UNDECIDED) return (Test *)(uintptr_t)part;
    Test *test = test_new(r, kind, written);
    if (kind == TEST_NOT) test->parts = (Test *)(uintptr_t)part;
    return test;
}

/* Decides what can be decided: a false part settles an `and`, a true one an `or`; else an undecided part leaves the whole undecided. */
const Test *test_join(Resolver *r, TestKind kind, Test *const *parts, size_t n, const Cond *written) {
    TestKind settles = kind == TEST_AND ? TEST_FALSE : TEST_TRUE, neutral = kind == TEST_AND ? TEST_TRUE : TEST_FALSE;
    Test *first = NULL, **end = &first, *undecided = NULL;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (parts[i]->kind == settles) return parts[i];
        if (parts[i]->kind == TEST_UNDECIDED && !undecided) undecided = parts[i];
        if (parts[i]->kind == neutral || parts[i]->kind == TEST_UNDECIDED) continue;
        *end = parts[i];
        end = &parts[i]->next;
        kept++;
    }
    if (undecided) return undecided;
    if (!kept) return n ? parts[0] : test_new(r, neutral, written);
    *end = NULL;
    if (kept == 1) return first;
    Test *test = test_new(r, kind, written);
    test->parts = first;
    return test;
}

/* A node of one's own that may be linked into a list, for a test that others hold too. */
Test *test_held(Resolver *r, const Test *shared) {
    if (shared->kind != TEST_FACT && !shared->parts) return arena_copy(r->job->arena, shared, sizeof *shared);
    Test *test = test_new(r, TEST_AND, shared->written);
    test->parts = (Test *)(uintptr_t)shared;
    return test;
}

const Test *test_and(Resolver *r, const Test *a, const Test *b) {
    if (!a || !b) return a ? a : b;
    Test *parts[2] = {test_held(r, a), test_held(r, b)};
    if (a->kind == TEST_TRUE) return b;
    if (b->kind == TEST_TRUE) return a;
    return test_join(r, TEST_AND, parts, 2, NULL);
}

static void freeze(Resolver *r, const Test *test, int depth) {
    if (test->kind == TEST_FACT && test->fact != NO_INDEX) {
        Fact *fact = &r->facts.at[test->fact];
        fact->frozen |= fact->kind == FACT_SCENE || fact->kind == FACT_GAUGE;
    }
    for (const Test *part = test->parts; part && depth < 4 * LIMIT_NESTING; part = part->next)
        freeze(r, part, depth + 1);
}

void test_freeze(Resolver *r, const Test *test) {
    if (test) freeze(r, test, 0);
}

/* ---- words ---- */

bool starts_upper(const Resolver *r, Name word) {
    Str text = name_text(r->job->names, word);
    return text.len && text.ptr[0] >= 'A' && text.ptr[0] <= 'Z';
}

bool in_library(const Resolver *r, Span span) {
    const Source *source = source_at(r->job->sources, span.lo);
    return source && source->library;
}

int trend_index(const Resolver *r, Name word) {
    static const char *const words[] = {"rising", "steady", "falling"};
    Str text = name_text(r->job->names, word);
    for (int i = 0; i < 3; i++)
        if (str_eq(text, str_of(words[i]))) return i;
    return -1;
}

static bool is_text(const Resolver *r, Name word, const char *text) {
    return str_eq(name_text(r->job->names, word), str_of(text));
}

/* ---- things in conditions ---- */

/* NULL: go on; else what the condition is because of the thing alone. */
Test *test_settled(Resolver *r, const Thing *thing, const Cond *written) {
    if (!thing) return test_new(r, TEST_TRUE, written);
    if (thing->fitted == FITTED_NO) return test_unfitted(r, thing, written);
    if (thing->fitted == FITTED_UNDECIDED || thing->inoperative) return test_undecided(r, thing->name, written);
    return NULL;
}

static bool powers(const ThingPosition *position, Name control) {
    return position->powers && position->effect_of == control;
}

static uint64_t powering(const Thing *source, Name control) {
    uint64_t mask = 0;
    for (uint32_t i = 0; i < source->n_positions; i++)
        if (powers(&source->positions[i], control)) mask |= UINT64_C(1) << i;
    return mask;
}

/* `starter UNPOWERED`: no source stands where it powers it. All feed one bus: the alternator of the other engine counts, too. */
static const Test *test_unpowered(Resolver *r, const Thing *thing, const Cond *written) {
    const Tail *tail = r->tail;
    VEC(Test *) off = {0};
    bool any = false;
    for (uint32_t i = 0; i < tail->n_things; i++) {
        const Thing *source = &tail->things[i];
        uint64_t on = source->kind == THING_CONTROL ? powering(source, thing->name) : 0;
        any |= on != 0;
        if (!on || source->fitted == FITTED_NO) continue;
        if (source->fitted == FITTED_UNDECIDED) return test_undecided(r, source->name, written);
        uint64_t all = (UINT64_C(1) << source->n_positions) - 1; /* at most 63 positions */
        vec_push(r->job->arena, &off, test_fact(r, source->fact, all & ~on, written));
    }
    if (!any && first_report(r, FINDING_NOTHING_POWERS, written->word.span))
        finding_add(r->job->findings, FINDING_NOTHING_POWERS, written->word.span,
                    "nothing is declared to power %N; say so at every source: { OFF, ON powers %N }", thing->name,
                    thing->name);
    return off.n ? test_join(r, TEST_AND, off.at, off.n, written) : test_new(r, any ? TEST_FALSE : TEST_TRUE, written);
}

static const Test *test_position(Resolver *r, const Thing *thing, const Cond *cond) {
    uint32_t index = position_find(thing, cond->word.name);
    if (index == NO_INDEX && thing->kind == THING_CONTROL) {
        if (is_text(r, cond->word.name, "UNPOWERED")) return test_unpowered(r, thing, cond);
        if (is_text(r, cond->word.name, "HELD")) return test_fact(r, thing->held, 2, cond);
    }
    if (index == NO_INDEX) {
        (void)resolve_position(r, thing, cond->word);
        return test_new(r, TEST_TRUE, cond);
    }
    if (thing->kind == THING_ENGINE)
        return test_fact(r, thing->fact, index == ENGINE_RUNNING ? ENGINE_IS_RUNNING : UINT64_C(1) << index, cond);
    if (thing->kind == THING_CALL) return test_fact(r, thing->answer, UINT64_C(2) << index, cond);
    return test_fact(r, thing->fact, UINT64_C(1) << index, cond);
}

static const Test *test_is(Resolver *r, const Cond *cond, const Scene *scene) {
    const Thing *thing = resolve_thing(r, cond->ref, scene);
    const Test *test = test_settled(r, thing, cond);
    if (test) return test;
    int trend = trend_index(r, cond->word.name);
    if (starts_upper(r, cond->word.name)) test = test_position(r, thing, cond);
    else if (thing->kind != THING_GAUGE) test = test_no_gauge(r, thing, cond->word, cond);
    else if (trend >= 0) test = test_fact(r, thing->trend, UINT64_C(1) << trend, cond);
    else test = test_band(r, thing, cond->word, scene, cond);
    return cond->negated ? test_not(r, test, cond) : test;
}

/* ---- states, kinds, labels ---- */

static const Test *too_deep(Resolver *r, const Cond *cond) {
    if (first_report(r, FINDING_CONDITION_DEEP, cond->span))
        finding_add(r->job->findings, FINDING_CONDITION_DEEP, cond->span,
                    "this condition is nested more than %u deep, states counted", (uint64_t)LIMIT_NESTING);
    return test_new(r, TEST_TRUE, cond);
}

static const Test *too_large(Resolver *r, const Cond *cond) {
    if (first_report(r, FINDING_CONDITION_LARGE, cond->span))
        finding_add(r->job->findings, FINDING_CONDITION_LARGE, cond->span,
                    "this condition has more than %u parts once its states are written out", (uint64_t)LEAVES_MOST);
    r->scratch->leaves = 1; /* reported here, it is small for whatever names it */
    return test_new(r, TEST_TRUE, cond);
}

/* Made once for each engine; a circle is reported with the program and reads as true here. */
static const Test *test_state(Resolver *r, const Decl *state, const Cond *cond, const Scene *scene) {
    uint32_t engine = scene->engine < r->tail->n_engines ? scene->engine : LIMIT_ENGINES;
    NameMap *map = &r->scratch->states[engine][scene->in_cue];
    StateEntry *entry = map_get(map, state->name.name);
    if (entry && entry->open) return test_new(r, TEST_TRUE, cond);
    if (!entry) {
        entry = ARENA_NEW(r->job->arena, StateEntry);
        entry->open = true;
        map_put(map, state->name.name, entry);
        Name undecided = r->undecided, unfitted = r->unfitted;
        uint32_t leaves = r->scratch->leaves;
        r->undecided = r->unfitted = 0;
        r->scratch->leaves = 0;
        const Scene inside = {scene->engine, scene->in_cue, state};
        entry->test = state->u.cond ? resolve_test(r, state->u.cond, &inside) : test_new(r, TEST_TRUE, cond);
        *entry = (StateEntry){entry->test, r->scratch->leaves, r->undecided, r->unfitted, false};
        r->undecided = undecided;
        r->unfitted = unfitted;
        r->scratch->leaves = leaves;
    }
    if (!r->undecided) r->undecided = entry->undecided;
    if (!r->unfitted) r->unfitted = entry->unfitted;
    r->scratch->leaves += entry->leaves;
    return r->scratch->leaves > LEAVES_MOST ? too_large(r, cond) : test_held(r, entry->test);
}

uint32_t label_fact(Resolver *r, Name label, uint32_t engine) {
    static const char *const words[] = {"NOT-DONE", "DONE"};
    bool of_engine = r->tail->n_engines > 1 && engine < r->tail->n_engines;
    NameMap *map = &r->scratch->label_facts[of_engine ? engine : LIMIT_ENGINES];
    uintptr_t known = (uintptr_t)map_get(map, label);
    if (known) return (uint32_t)known - 1;
    Fact fact = {.kind = FACT_LABEL, .engine = of_engine ? engine : NO_INDEX, .name = label, .n_values = 2};
    if (of_engine)
        fact.name = name_intern(r->job->names,
                                format_text(r->job->arena, r->job->names, "%N.%N", r->tail->engines[engine], label));
    fact.value_names = ARENA_ARRAY(r->job->arena, Str, 2);
    for (int i = 0; i < 2; i++) fact.value_names[i] = str_of(words[i]);
    vec_push(r->job->arena, &r->facts, fact);
    map_put(map, label, (void *)(uintptr_t)r->facts.n);
    return (uint32_t)r->facts.n - 1;
}

/* A labelled item may stand inside `for left` or outside: either counts. Without an engine chosen, any does. */
static const Test *test_label(Resolver *r, Name label, uint32_t engine, const Cond *cond) {
    Test *parts[LIMIT_ENGINES + 1];
    size_t n = 0;
    parts[n++] = test_fact(r, label_fact(r, label, NO_INDEX), 2, cond);
    for (uint32_t i = 0; i < r->tail->n_engines && r->tail->n_engines > 1; i++)
        if (engine == NO_INDEX || engine == i) parts[n++] = test_fact(r, label_fact(r, label, i), 2, cond);
    return test_join(r, TEST_OR, parts, n, cond);
}

static const Test *report_bare_thing(Resolver *r, const Thing *thing, const Cond *cond) {
    if (!first_report(r, FINDING_THING_ALONE, cond->ref.span)) return test_new(r, TEST_TRUE, cond);
    Buf list = {.arena = r->job->arena};
    for (uint32_t i = 0; i < thing->n_positions && i < 6; i++)
        buf_format(&list, r->job->names, i ? ", %N" : "%N", thing->positions[i].name);
    if (thing->kind == THING_GAUGE)
        buf_str(&list, thing->n_bands ? band_list(r, thing) : STR("a band, or `at least` a number"));
    finding_add(r->job->findings, FINDING_THING_ALONE, cond->ref.span,
                "a condition says how %N stands: write %N and one of %S", cond->ref.name, cond->ref.name,
                buf_view(&list));
    return test_new(r, TEST_TRUE, cond);
}

static const Test *test_name(Resolver *r, const Cond *cond, const Scene *scene) {
    static const DeclKind kinds[] = {DECL_STATE, DECL_KIND};
    RefParts parts = ref_split(r, cond->ref);
    const Decl *state = program_find(r->program, DECL_STATE, parts.name);
    Scene inside = *scene;
    bool label = !state && label_known(r, parts.name);
    if (state || label) {
        if (!engine_of_ref(r, cond->ref, parts, scene, &inside.engine)) return test_new(r, TEST_TRUE, cond);
        if (inside.engine == OTHER_OF_ONE) {
            if (!r->unfitted) r->unfitted = cond->ref.name;
            Test *none = test_new(r, TEST_FALSE, cond);
            none->missing = cond->ref.name;
            return none;
        }
        return state ? test_state(r, state, cond, &inside) : test_label(r, parts.name, inside.engine, cond);
    }
    if (map_get(&r->kinds, cond->ref.name)) return test_new(r, TEST_TRUE, cond);
    if (program_find(r->program, DECL_KIND, cond->ref.name)) {
        Test *none = test_new(r, TEST_FALSE, cond);
        none->missing = cond->ref.name;
        return none;
    }
    const Thing *thing = first_instance(r, parts.name);
    if (thing) return report_bare_thing(r, thing, cond);
    if (r->items && in_library(r, cond->span)) { /* a drill that is taken over: the line is the aircraft's own */
        missing_add(r, MISSING_LABEL, parts.name, cond->span, 0);
        return test_new(r, TEST_TRUE, cond);
    }
    if (map_get(&r->program->labels, parts.name)) { /* of other aircraft: never done on this one */
        if (!r->unfitted) r->unfitted = parts.name;
        Test *none = test_new(r, TEST_FALSE, cond);
        none->missing = parts.name;
        return none;
    }
    (void)report_unknown(r->program, cond->ref, parts.name, kinds, 2, "a state, a kind or a labelled line");
    return test_new(r, TEST_TRUE, cond);
}

/* ---- the rest ---- */

static const Test *test_fitted(Resolver *r, const Cond *cond, const Scene *scene) {
    Scene any = *scene;
    const Thing *thing = first_instance(r, cond->ref.name);
    if (!thing) thing = resolve_thing(r, cond->ref, &any);
    if (!thing) return test_new(r, TEST_TRUE, cond);
    if (thing->fitted == FITTED_UNDECIDED) return test_undecided(r, thing->name, cond);
    Test *test = test_new(r, thing->fitted == FITTED_YES ? TEST_TRUE : TEST_FALSE, cond);
    if (thing->fitted == FITTED_NO) test->missing = thing->name;
    return test;
}

static const Test *test_watching(Resolver *r, const Cond *cond, const Scene *scene) {
    const Thing *gauge = resolve_thing(r, cond->ref, scene);
    const Test *test = test_settled(r, gauge, cond);
    if (test) return test;
    if (gauge->kind != THING_GAUGE) return test_no_gauge(r, gauge, cond->ref, cond);
    return test_fact(r, gauge->watched, 2, cond);
}

static const Test *only_in_cue(Resolver *r, const Cond *cond, const char *what) {
    if (first_report(r, FINDING_ONLY_IN_CUE, cond->span))
        finding_add(r->job->findings, FINDING_ONLY_IN_CUE, cond->span, "%s", what);
    return test_new(r, TEST_TRUE, cond);
}

static Test *test_lasting(Resolver *r, const Test *part, int64_t ms, const Cond *cond) {
    Test *test = test_new(r, TEST_FOR, cond);
    test->parts = test_held(r, part);
    test->for_ms = ms;
    return test;
}

static const Test *test_for(Resolver *r, const Cond *cond, const Scene *scene) {
    const Test *part = resolve_test(r, cond->parts, scene);
    if (!scene->in_cue)
        return only_in_cue(
            r, cond,
            "`for` a time is understood in a cue only; elsewhere write `expect … within`, or a drill with this cue");
    Duration time = resolve_duration(r, cond->time, scene);
    if (time.missing) return test_undecided(r, time.missing, cond);
    if (!time.n || part->kind == TEST_TRUE || part->kind == TEST_FALSE || part->kind == TEST_UNDECIDED) return part;
    Test **cases = ARENA_ARRAY(r->job->arena, Test *, time.n);
    for (uint32_t i = 0; i < time.n; i++) {
        Test *lasting = test_lasting(r, part, time.cases[i].ms, cond);
        cases[i] = time.cases[i].when ? test_held(r, test_and(r, time.cases[i].when, lasting)) : lasting;
    }
    return test_join(r, TEST_OR, cases, time.n, cond);
}

static int thing_fitted(Resolver *r, Name name) {
    const Thing *thing = first_instance(r, name);
    return !thing || thing->fitted == FITTED_UNDECIDED ? -1 : thing->fitted == FITTED_YES;
}

static int by_kind(Resolver *r, const Cond *cond, uint32_t depth) {
    bool kind = cond->kind == COND_NAME && program_find(r->program, DECL_KIND, cond->ref.name) &&
                !program_find(r->program, DECL_STATE, cond->ref.name);
    if (kind) return map_get(&r->kinds, cond->ref.name) != NULL;
    if (cond->kind == COND_FITTED) return thing_fitted(r, cond->ref.name);
    if (depth >= LIMIT_NESTING) return -1;
    if (cond->kind == COND_NOT) {
        int part = by_kind(r, cond->parts, depth + 1);
        return part < 0 ? -1 : !part;
    }
    if (cond->kind != COND_AND && cond->kind != COND_OR) return -1;
    int settles = cond->kind == COND_OR, all = !settles;
    for (const Cond *part = cond->parts; part; part = part->next) {
        int decided = by_kind(r, part, depth + 1);
        if (decided == settles) return settles;
        if (decided < 0) all = -1;
    }
    return all;
}

int cond_by_kind(Resolver *r, const Cond *cond) {
    return by_kind(r, cond, 0);
}

/* Where a kind or the equipment settles the whole, what the other parts lack is no lack. */
static const Test *test_parts(Resolver *r, const Cond *cond, const Scene *scene) {
    VEC(Test *) parts = {0};
    Name undecided = r->undecided, unfitted = r->unfitted;
    for (const Cond *part = cond->parts; part; part = part->next)
        vec_push(r->job->arena, &parts,
                 (Test *)(uintptr_t)resolve_test(r, part, scene)); /* fresh: nobody else holds it */
    if (cond_by_kind(r, cond) == (cond->kind == COND_OR)) {
        r->undecided = undecided;
        r->unfitted = unfitted;
    }
    return test_join(r, cond->kind == COND_AND ? TEST_AND : TEST_OR, parts.at, parts.n, cond);
}

static const Test *resolve_kind(Resolver *r, const Cond *cond, const Scene *scene) {
    switch ((CondKind)cond->kind) {
    case COND_BAD: return test_new(r, TEST_TRUE, cond);
    case COND_AND:
    case COND_OR: return test_parts(r, cond, scene);
    case COND_NOT: return test_not(r, resolve_test(r, cond->parts, scene), cond);
    case COND_FOR: return test_for(r, cond, scene);
    case COND_NAME: return test_name(r, cond, scene);
    case COND_IS: return test_is(r, cond, scene);
    case COND_COMPARE: return test_compare(r, cond, scene);
    case COND_RANGE: return test_range(r, cond, scene);
    case COND_FITTED: return test_fitted(r, cond, scene);
    case COND_WATCHING: return test_watching(r, cond, scene);
    case COND_TEXT:
        if (scene->in_cue) return test_new(r, TEST_SAID, cond);
        return only_in_cue(r, cond,
                           "a text is a condition in a cue only: nobody can check words; name what is seen as a scene, "
                           "a light or a gauge");
    }
    return test_new(r, TEST_TRUE, cond);
}

/* Always a node that nobody else holds. */
const Test *resolve_test(Resolver *r, const Cond *cond, const Scene *scene) {
    if (!cond) return test_new(r, TEST_TRUE, NULL);
    if (r->scratch->depth >= LIMIT_NESTING) return too_deep(r, cond);
    if (r->scratch->depth == 0) r->scratch->leaves = 0;
    r->scratch->depth++;
    r->scratch->leaves++;
    const Test *test = resolve_kind(r, cond, scene);
    r->scratch->depth--;
    return test;
}

/* States and events that nothing of this tail has asked for: a slip in them should not wait until something does. */
void words_check(Resolver *r) {
    const Program *program = r->program;
    for (int events = 0; events < 2; events++) {
        const Decls *decls = &program->all[events ? DECL_EVENT : DECL_STATE];
        for (size_t i = 0; i < decls->n; i++) {
            const Decl *decl = decls->at[i];
            const Scene scene = {.engine = 0, .in_cue = true, .home = decl};
            if (program_in_library(program, decl) || !program_sees(program, decl)) continue;
            if (map_get(&program->words_checked, decl->span.lo + 1)) continue; /* by the first tail that could see it */
            map_put(&r->program->words_checked, decl->span.lo + 1, r->program);
            if (events) (void)resolve_trigger(r, decl->u.event, &scene);
            else (void)resolve_test(r, decl->u.cond, &scene);
        }
    }
}
