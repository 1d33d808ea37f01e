/* The things of one tail: fitted or not, one for each engine where they are declared so, with their positions and facts. */
#include "front/front.h"
#include "sema/craft.h"
#include "sema/program_parts.h"

/* ---- fitted, not fitted, inoperative ---- */

typedef struct {
    bool fitted;
    const Decl *decl;
    Span span;
} FittedLine;

typedef struct {
    NameMap fitted;      /* Name -> FittedLine */
    NameMap inoperative; /* Name -> Craft */
} Equipment;

static bool is_equipment(Resolver *r, Word word) {
    static const DeclKind kinds[] = {DECL_CONTROL, DECL_SCENE, DECL_GAUGE, DECL_LIGHT, DECL_CALL};
    if (map_get(&r->program->things, word.name)) return true;
    (void)report_unknown(r->program, word, word.name, kinds, sizeof kinds / sizeof *kinds, "equipment");
    return false;
}

static void fitted_word(Resolver *r, Equipment *equipment, const CraftLine *line, Word word, bool fitted) {
    FittedLine *old = map_get(&equipment->fitted, word.name);
    if (old && old->decl == line->decl && old->fitted != fitted && first_report(r, FINDING_FITTED_BOTH, word.span)) {
        Finding *finding =
            finding_add(r->job->findings, FINDING_FITTED_BOTH, word.span,
                        "%N is stated as fitted and as not fitted of one aircraft; only one can be true", word.name);
        finding_note(r->job->findings, finding, old->span, "the other statement stands here");
    }
    FittedLine *entry = ARENA_NEW(r->job->arena, FittedLine);
    *entry = (FittedLine){fitted, line->decl, word.span};
    map_put(&equipment->fitted, word.name, entry);
}

static void fitted_lines(Resolver *r, Equipment *equipment, const Decl *tail_decl) {
    const Decl **levels;
    size_t n;
    (void)craft_levels(r, tail_decl, &levels, &n);
    for (size_t i = 0; i < n; i++)
        for (const Craft *craft = levels[i]->u.craft; craft; craft = craft->next) {
            bool fitted = craft->kind == CRAFT_FITTED;
            if (!fitted && craft->kind != CRAFT_NOT_FITTED && craft->kind != CRAFT_INOPERATIVE) continue;
            CraftLine line = {craft, levels[i]};
            for (const WordList *word = craft->words; word; word = word->next) {
                if (!word->word.name || !is_equipment(r, word->word)) continue;
                if (craft->kind == CRAFT_INOPERATIVE)
                    map_put(&equipment->inoperative, word->word.name, (void *)(uintptr_t)word);
                else fitted_word(r, equipment, &line, word->word, fitted);
            }
        }
}

static Fitted fitted_of(Resolver *r, const Equipment *equipment, const Decl *decl) {
    const FittedLine *line = map_get(&equipment->fitted, decl->name.name);
    if (line && line->fitted) return FITTED_YES; /* said outright: also of what no used file declares */
    if (!program_sees(r->program, decl)) return FITTED_NO;
    if (decl->if_fitted) return line ? FITTED_NO : FITTED_UNDECIDED;
    if (line && first_report(r, FINDING_FITTED_ALWAYS, line->span)) {
        Finding *finding = finding_add(
            r->job->findings, FINDING_FITTED_ALWAYS, line->span,
            "%N is not declared `if fitted`, so every aircraft has it; it cannot be left out here", decl->name.name);
        finding_note(r->job->findings, finding, decl->name.span, "%N is declared here", decl->name.name);
    }
    return FITTED_YES;
}

static void judge_inoperative(Resolver *r, const Thing *thing, const WordList *word) {
    if (thing->fitted != FITTED_NO || !first_report(r, FINDING_INOPERATIVE_UNFITTED, word->word.span)) return;
    finding_add(r->job->findings, FINDING_INOPERATIVE_UNFITTED, word->word.span,
                "%N is stated as inoperative, but %N has none", word->word.name, r->tail->name);
}

/* ---- positions ---- */

static uint32_t position_count(const Decl *decl) {
    uint32_t n = 0;
    for (const PositionDecl *position = decl->positions; position; position = position->next) n++;
    return n;
}

static void effects_of(const PositionDecl *decl, ThingPosition *position) {
    for (const Effect *effect = decl->effects; effect; effect = effect->next) {
        position->stops |= effect->kind == EFFECT_STOPS;
        position->turns |= effect->kind == EFFECT_TURNS;
        position->powers |= effect->kind == EFFECT_POWERS;
        position->effect_of = effect->ref.name;
    }
}

static void positions_named(Program *program, Thing *thing, const char *const *words, uint32_t n) {
    thing->n_positions = n;
    thing->positions = ARENA_ARRAY(program->job->arena, ThingPosition, n);
    for (uint32_t i = 0; i < n; i++) {
        thing->positions[i].name = name_intern(program->job->names, str_of(words[i]));
        thing->positions[i].print = str_of(words[i]);
    }
}

static void positions_make(Program *program, Thing *thing) {
    static const char *const light[] = {"OFF", "ON"};
    const Decl *decl = thing->decl;
    if (thing->kind == THING_LIGHT && !decl->positions) {
        positions_named(program, thing, light, 2);
        return;
    }
    if (thing->kind == THING_BRIEFING || thing->kind == THING_PERSON || thing->kind == THING_GAUGE) return;
    thing->n_positions = position_count(decl);
    if (thing->n_positions > LIMIT_FACT_VALUES - 1)
        thing->n_positions = LIMIT_FACT_VALUES - 1; /* reported with the declaration */
    thing->positions = ARENA_ARRAY(program->job->arena, ThingPosition, thing->n_positions);
    const PositionDecl *from = decl->positions;
    for (uint32_t i = 0; i < thing->n_positions; i++, from = from->next) {
        ThingPosition *position = &thing->positions[i];
        position->name = from->word.name;
        position->print = name_text(program->job->names, from->word.name);
        position->print_span = from->print.span;
        position->counted = from->counted;
        effects_of(from, position);
    }
}

/* ---- facts ---- */

static Name fact_name(Resolver *r, const Thing *thing, const char *suffix) {
    Buf name = {.arena = r->job->arena};
    if (thing->engine != NO_INDEX && r->tail->n_engines > 1)
        buf_format(&name, r->job->names, "%N.", r->tail->engines[thing->engine]);
    buf_format(&name, r->job->names, "%N%s", thing->name, suffix);
    return name_intern(r->job->names, buf_view(&name));
}

uint32_t fact_make(Resolver *r, FactKind kind, const Thing *thing, const char *suffix, uint32_t n_values) {
    Fact fact = {.kind = kind, .engine = thing->engine, .thing = thing, .n_values = n_values};
    fact.name =
        *suffix || (thing->engine != NO_INDEX && r->tail->n_engines > 1) ? fact_name(r, thing, suffix) : thing->name;
    fact.value_names = ARENA_ARRAY(r->job->arena, Str, n_values ? n_values : 1);
    vec_push(r->job->arena, &r->facts, fact);
    return (uint32_t)r->facts.n - 1;
}

static uint32_t fact_worded(Resolver *r, FactKind kind, const Thing *thing, const char *suffix,
                            const char *const *words, uint32_t n) {
    uint32_t fact = fact_make(r, kind, thing, suffix, n);
    for (uint32_t i = 0; i < n; i++) r->facts.at[fact].value_names[i] = str_of(words[i]);
    return fact;
}

static uint32_t fact_of_positions(Resolver *r, FactKind kind, const Thing *thing, const char *suffix,
                                  const char *first) {
    uint32_t skip = first ? 1 : 0;
    uint32_t fact = fact_make(r, kind, thing, suffix, thing->n_positions + skip);
    Str *names = r->facts.at[fact].value_names;
    if (first) names[0] = str_of(first);
    for (uint32_t i = 0; i < thing->n_positions; i++)
        names[i + skip] = name_text(r->job->names, thing->positions[i].name);
    return fact;
}

static void facts_of(Resolver *r, Thing *thing) {
    static const char *const held[] = {"FREE", "HELD"}, *const watched[] = {"NO", "YES"};
    static const char *const trends[] = {"rising", "steady", "falling"};
    static const char *const engine[] = {"STOPPED", "TURNING", "RUNNING", "RUNNING"};
    thing->fact = thing->trend = thing->held = thing->watched = thing->answer = NO_INDEX;
    if (thing->fitted == FITTED_NO) return;
    switch (thing->kind) {
    case THING_CONTROL:
        if (thing->n_positions) thing->fact = fact_of_positions(r, FACT_CONTROL, thing, "", NULL);
        thing->held = fact_worded(r, FACT_HELD, thing, " held", held, 2);
        return;
    case THING_SCENE:
    case THING_LIGHT:
        if (thing->n_positions) thing->fact = fact_of_positions(r, FACT_SCENE, thing, "", NULL);
        return;
    case THING_GAUGE:
        thing->fact = fact_make(r, FACT_GAUGE, thing, "", 1);
        thing->trend = fact_worded(r, FACT_TREND, thing, " trend", trends, 3);
        thing->watched = fact_worded(r, FACT_WATCHED, thing, " watched", watched, 2);
        return;
    case THING_CALL:
        if (thing->n_positions) thing->answer = fact_of_positions(r, FACT_ANSWER, thing, " answer", "none yet");
        return;
    case THING_ENGINE: thing->fact = fact_worded(r, FACT_ENGINE, thing, "", engine, 4); return;
    case THING_BRIEFING:
    case THING_PERSON: return;
    }
}

/* ---- all of them ---- */

static ThingKind kind_of(const Decl *decl) {
    switch (decl->kind) {
    case DECL_SCENE: return THING_SCENE;
    case DECL_GAUGE: return THING_GAUGE;
    case DECL_LIGHT: return THING_LIGHT;
    case DECL_PERSON: return THING_PERSON;
    case DECL_CALL: return THING_CALL;
    case DECL_BRIEFING: return THING_BRIEFING;
    default: return THING_CONTROL;
    }
}

static void thing_list(Resolver *r, ThingSet *set, const Decl *decl, uint32_t engine) {
    Thing *thing = &set->at[set->n++];
    thing->kind = kind_of(decl);
    thing->decl = decl;
    thing->name = decl->name.name;
    thing->engine = engine;
    thing->text = decl->text;
    thing->title = text_raw(r->program->job, decl->text);
    if (thing->kind == THING_GAUGE && decl->more->unit.name) thing->measure = resolve_unit(r, decl->more->unit);
    positions_make(r->program, thing);
}

static void engine_list(Program *program, ThingSet *set, uint32_t engine) {
    static const char *const words[] = {"STOPPED", "TURNING", "RUNNING"};
    Thing *thing = &set->at[set->n++];
    thing->kind = THING_ENGINE;
    thing->name = name_intern(program->job->names, STR("engine"));
    thing->engine = engine;
    thing->title = STR("Engine");
    positions_named(program, thing, words, 3);
}

static void things_list(Resolver *r, ThingSet *set) {
    const Decls *decls = &r->program->things_in_order;
    Arena *arena = r->program->job->arena;
    uint32_t n_engines = r->tail->n_engines;
    size_t room = n_engines;
    for (size_t i = 0; i < decls->n; i++) room += decls->at[i]->each_engine ? n_engines : 1;
    set->at = ARENA_ARRAY(arena, Thing, room);
    set->index.arena = arena;
    uint32_t *places = ARENA_ARRAY(arena, uint32_t, decls->n + 1), *place = places;
    *place = 1;
    map_put(&set->index, name_intern(r->job->names, STR("engine")), place++);
    for (uint32_t engine = 0; engine < n_engines; engine++) engine_list(r->program, set, engine);
    for (size_t i = 0; i < decls->n; i++) {
        const Decl *decl = decls->at[i];
        if (!decl->name.name || map_get(&set->index, decl->name.name))
            continue; /* a double is reported where it is declared */
        *place = set->n + 1;
        map_put(&set->index, decl->name.name, place++);
        for (uint32_t engine = 0; engine < (decl->each_engine ? n_engines : 1); engine++)
            thing_list(r, set, decl, decl->each_engine ? engine : NO_INDEX);
    }
}

/* All things there are, for an aircraft with as many engines. */
static const ThingSet *thing_set(Resolver *r) {
    ThingSet *set = &r->program->thing_sets[r->tail->n_engines];
    if (!set->at) things_list(r, set);
    return set;
}

static void thing_fit(Resolver *r, const Equipment *equipment, Thing *thing) {
    thing->fitted = thing->kind == THING_ENGINE ? FITTED_YES : fitted_of(r, equipment, thing->decl);
    const WordList *inoperative = map_get(&equipment->inoperative, thing->name);
    thing->inoperative = inoperative && thing->fitted == FITTED_YES;
    if (inoperative) judge_inoperative(r, thing, inoperative);
    facts_of(r, thing);
    if (thing->kind == THING_ENGINE) r->tail->engine_facts[thing->engine] = thing->fact;
}

void things_make(Resolver *r, const Decl *tail_decl) {
    Tail *tail = r->tail;
    Arena *arena = r->job->arena;
    Equipment equipment = {.fitted.arena = arena, .inoperative.arena = arena};
    fitted_lines(r, &equipment, tail_decl);
    const ThingSet *set = thing_set(r);
    r->things = set->index;
    tail->n_things = set->n;
    tail->things = arena_copy(arena, set->at, set->n * sizeof *set->at);
    tail->engine_facts = ARENA_ARRAY(arena, uint32_t, tail->n_engines);
    for (uint32_t i = 0; i < tail->n_things; i++) thing_fit(r, &equipment, &tail->things[i]);
}

/* ---- printed words ---- */

/* What is printed is this tail's own; the rest is shared. */
static void position_print(Resolver *r, Thing *thing, uint32_t position, Text text, const Scene *scene) {
    uint32_t at = thing_index(r, thing);
    if (at == NO_INDEX || thing->positions == thing_set(r)->at[at].positions)
        thing->positions = arena_copy(r->job->arena, thing->positions, thing->n_positions * sizeof(ThingPosition));
    thing->positions[position].print = resolve_text(r, text, scene);
    thing->positions[position].print_span = text.span;
}

/* A call keeps its holes: they are filled where it is spoken. */
static void thing_print(Resolver *r, Thing *thing, Text text, const Scene *scene) {
    thing->text = text;
    thing->title = thing->kind == THING_CALL ? text_raw(r->job, text) : resolve_text(r, text, scene);
}

static void print_line(Resolver *r, const CraftLine *line) {
    const Craft *craft = line->craft;
    RefParts parts = ref_split(r, craft->ref);
    Scene scene = {.engine = 0, .home = line->decl};
    Thing *first = first_instance(r, parts.name);
    Thing *named = first && !parts.dotted ? first : resolve_thing(r, craft->ref, &scene);
    if (!named) return;
    bool whole = !craft->pos.span.hi;
    uint32_t position = whole ? NO_INDEX : resolve_position(r, named, craft->pos);
    if (!whole && position == NO_INDEX) return;
    bool all = !parts.dotted && named->engine != NO_INDEX;
    for (uint32_t i = 0; i < (all ? r->tail->n_engines : 1); i++) {
        scene.engine = named[i].engine;
        if (whole) thing_print(r, &named[i], craft->text, &scene);
        else position_print(r, &named[i], position, craft->text, &scene);
    }
}

void prints_make(Resolver *r, const Decl *tail_decl) {
    Tail *tail = r->tail;
    for (uint32_t i = 0; i < tail->n_things; i++) {
        Thing *thing = &tail->things[i];
        const Scene scene = {.engine = thing->engine, .home = thing->decl};
        if (thing->fitted == FITTED_NO) continue;
        for (uint32_t p = 0; p < thing->n_positions; p++) {
            Span span = thing->positions[p].print_span;
            if (span.hi) position_print(r, thing, p, (Text){span}, &scene);
        }
    }
    CraftLines lines = craft_lines(r, tail_decl, CRAFT_PRINT);
    for (size_t i = 0; i < lines.n; i++) print_line(r, &lines.at[i]);
}
