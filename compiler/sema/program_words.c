/* What a word means where it stands: declarations, things of engines, positions; and "did you mean" where it means nothing. */
#include "sema/craft.h"
#include "sema/program_parts.h"

bool first_report(Resolver *r, FindingKind kind, Span span) {
    return program_first(r->program, kind, span) || r->adapted;
}

/* ---- did you mean ---- */

Suggestion suggestion_begin(Program *program, Str typed) {
    size_t most = typed.len <= 3 ? 1 : typed.len <= 7 ? 2 : 3;
    return (Suggestion){program->job->names, typed, 0, most + 1, &program->suggestions};
}

/* Ties go to the first offered. The budget keeps a file full of unknown words linear. */
void suggestion_offer(Suggestion *suggestion, Name name) {
    Str text = name_text(suggestion->names, name);
    size_t gap = text.len > suggestion->typed.len ? text.len - suggestion->typed.len : suggestion->typed.len - text.len;
    if (*suggestion->budget == 0 || suggestion->distance == 0) return;
    --*suggestion->budget;
    if (!text.len || gap >= suggestion->distance) return;
    size_t distance = str_distance(suggestion->typed, text, suggestion->distance - 1);
    if (distance >= suggestion->distance || distance >= text.len) return;
    suggestion->distance = distance;
    suggestion->best = name;
}

static void offer_decls(Program *program, Suggestion *suggestion, DeclKind kind) {
    const Decls *decls = &program->all[kind];
    for (size_t i = 0; i < decls->n && program->suggestions > 0; i++)
        suggestion_offer(suggestion, decls->at[i]->name.name);
}

/* The place of `name` inside a word that may be written "left.name". */
static Span part_span(const Program *program, Word word, Name name) {
    Str part = name_text(program->job->names, name);
    Str whole = name_text(program->job->names, word.name);
    if (part.len < whole.len && str_ends(whole, part)) return (Span){word.span.hi - (uint32_t)part.len, word.span.hi};
    return word.span;
}

static const Decl *any_decl(const Program *program, Name name) {
    for (int kind = 0; kind < DECL_KINDS; kind++) {
        const Named *named = map_get(&program->by_kind[kind], name);
        if (named) return named->decl;
    }
    return NULL;
}

Finding *report_unknown(Program *program, Word word, Name name, const DeclKind *kinds, size_t n_kinds,
                        const char *what) {
    NameMap *poisoned = &program->poisoned[n_kinds ? kinds[0] : DECL_BAD];
    if (!name || program->lost || map_get(poisoned, name)) return NULL;
    map_put(poisoned, name, program);
    Findings *findings = program->job->findings;
    Span span = part_span(program, word, name);
    const Decl *other = any_decl(program, name);
    if (other) {
        Finding *finding = finding_add(findings, FINDING_NAME_OTHER, span, "%N is %s; here stands the name of %s", name,
                                       decl_kind_words(other->kind), what);
        finding_note(findings, finding, other->name.span, "%N is declared here", name);
        return finding;
    }
    Suggestion suggestion = suggestion_begin(program, name_text(program->job->names, name));
    for (size_t i = 0; i < n_kinds; i++) offer_decls(program, &suggestion, kinds[i]);
    if (!suggestion.best)
        return finding_add(findings, FINDING_NAME_UNKNOWN, span, "nothing here is called %N; expected the name of %s",
                           name, what);
    Finding *finding = finding_add(findings, FINDING_NAME_UNKNOWN, span,
                                   "nothing here is called %N; expected the name of %s; did you mean %N?", name, what,
                                   suggestion.best);
    finding_fix(findings, finding, FIX_REVIEW, span, "%N", suggestion.best);
    return finding;
}

/* ---- declarations ---- */

const Decl *find_for_tail(const Resolver *r, DeclKind kind, Name name) {
    const Decl *of_all = NULL, *of_library = NULL;
    for (const Named *named = map_get(&r->program->by_kind[kind], name); named; named = named->next) {
        if (!program_is_for(r->program, named->decl, r->tail->decl)) continue;
        if (named->decl->more->words) return named->decl; /* written for this aircraft: before one for all */
        bool library = program_in_library(r->program, named->decl);
        if (library && !of_library && program_sees(r->program, named->decl)) of_library = named->decl;
        if (!library && !of_all) of_all = named->decl;
    }
    return of_all ? of_all : of_library;
}

/* What stands beside the aircraft's own text goes before the library's. */
const Decl *find_group(const Resolver *r, Name name) {
    const Decl *own = NULL, *library = NULL;
    for (const Named *named = map_get(&r->program->by_kind[DECL_GROUP], name); named; named = named->next) {
        bool of_library = program_in_library(r->program, named->decl);
        const Decl **slot = of_library ? &library : &own;
        if (!*slot || program_sees(r->program, named->decl)) *slot = named->decl;
    }
    return own && (!library || program_sees(r->program, own)) ? own : library;
}

static void report_not_for_tail(Resolver *r, Word word, const Decl *decl) {
    if (!first_report(r, FINDING_NOT_FOR_TAIL, word.span)) return;
    Finding *finding = finding_add(r->job->findings, FINDING_NOT_FOR_TAIL, word.span, "%s %N is not written for %N",
                                   decl_kind_words(decl->kind) + 2, word.name, r->tail->name);
    finding_note(r->job->findings, finding, decl->name.span, "it stands here, for other aircraft");
}

const Decl *resolve_decl(Resolver *r, Word word, const DeclKind *kinds, size_t n_kinds, const char *what) {
    const Decl *elsewhere = NULL;
    if (!word.name) return NULL;
    for (size_t i = 0; i < n_kinds; i++) {
        bool per_aircraft = kinds[i] == DECL_PROCEDURE || kinds[i] == DECL_DRILL;
        const Decl *found = program_find(r->program, kinds[i], word.name);
        if (found && per_aircraft) {
            if (!elsewhere) elsewhere = found;
            found = find_for_tail(r, kinds[i], word.name);
        }
        if (found && kinds[i] == DECL_GROUP) found = find_group(r, word.name);
        if (found) return found;
    }
    if (elsewhere) report_not_for_tail(r, word, elsewhere);
    else (void)report_unknown(r->program, word, word.name, kinds, n_kinds, what);
    return NULL;
}

/* ---- things ---- */

static const DeclKind thing_kinds[] = {DECL_CONTROL, DECL_SCENE,    DECL_GAUGE, DECL_LIGHT,
                                       DECL_CALL,    DECL_BRIEFING, DECL_PERSON};

RefParts ref_split(const Resolver *r, Word ref) {
    Names *names = r->job->names;
    Str text = name_text(names, ref.name);
    size_t dot = 0;
    while (dot < text.len && text.ptr[dot] != '.') dot++;
    if (dot == text.len) return (RefParts){0, ref.name, false};
    return (RefParts){name_intern(names, str_slice(text, 0, dot)),
                      name_intern(names, str_slice(text, dot + 1, text.len)), true};
}

uint32_t engine_named(const Resolver *r, Name name) {
    for (uint32_t i = 0; i < r->tail->n_engines; i++)
        if (r->tail->engines[i] == name) return i;
    return NO_INDEX;
}

static bool is_word(const Resolver *r, Name name, Str word) {
    return str_eq(name_text(r->job->names, name), word);
}

static void report_engine_unknown(Resolver *r, Word ref, RefParts parts) {
    if (!first_report(r, FINDING_ENGINE_UNKNOWN, ref.span)) return;
    Findings *findings = r->job->findings;
    Span span = {ref.span.lo, ref.span.lo + (uint32_t)name_text(r->job->names, parts.engine).len};
    if (r->tail->n_engines == 1) {
        Finding *finding = finding_add(findings, FINDING_ENGINE_UNKNOWN, span,
                                       "%N has one engine, so nothing of it is named by an engine; write %N",
                                       r->tail->name, parts.name);
        finding_fix(findings, finding, FIX_REVIEW, ref.span, "%N", parts.name);
        return;
    }
    Buf list = {.arena = r->job->arena};
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, parts.engine));
    for (uint32_t i = 0; i < r->tail->n_engines; i++) {
        suggestion_offer(&suggestion, r->tail->engines[i]);
        buf_format(&list, r->job->names, i ? ", %N" : "%N", r->tail->engines[i]);
    }
    Finding *finding = finding_add(findings, FINDING_ENGINE_UNKNOWN, span, "%N has no engine %N; its engines are %S",
                                   r->tail->name, parts.engine, buf_view(&list));
    if (suggestion.best) finding_fix(findings, finding, FIX_REVIEW, span, "%N", suggestion.best);
}

static void report_engine_missing(Resolver *r, Word ref, RefParts parts, const Scene *scene) {
    if (!first_report(r, FINDING_ENGINE_NOT_CHOSEN, ref.span)) return;
    Findings *findings = r->job->findings;
    Finding *finding = parts.engine
                           ? finding_add(findings, FINDING_ENGINE_NOT_CHOSEN, ref.span,
                                         "`other` is the other engine of a choice of two, and none is chosen here: "
                                         "write it inside `for`, or name the engine")
                           : finding_add(findings, FINDING_ENGINE_NOT_CHOSEN, ref.span,
                                         "each engine of %N has %N: say which one, or put the line inside `for`",
                                         r->tail->name, ref.name);
    for (uint32_t i = 0; i < r->tail->n_engines; i++)
        finding_fix(findings, finding, FIX_REVIEW, ref.span, "%N.%N", r->tail->engines[i], parts.name);
    if (scene->home) finding_note(findings, finding, scene->home->name.span, "in %N", scene->home->name.name);
}

bool engine_of_ref(Resolver *r, Word ref, RefParts parts, const Scene *scene, uint32_t *engine) {
    const Tail *tail = r->tail;
    *engine = scene->engine;
    if (!parts.dotted) return true;
    if (is_word(r, parts.engine, STR("other"))) {
        if (tail->n_engines == 1) { /* not applicable, never an error: gates for twins are read on singles too */
            *engine = OTHER_OF_ONE;
            return true;
        }
        if (tail->n_engines == 2 && scene->engine != NO_INDEX) {
            *engine = 1 - scene->engine;
            return true;
        }
        report_engine_missing(r, ref, parts, scene);
        return false;
    }
    *engine = engine_named(r, parts.engine);
    if (*engine != NO_INDEX) return true;
    if (tail->n_engines == 1 && scene->home && scene->home->kind == DECL_GATE) {
        *engine = OTHER_OF_ONE;
        return true;
    }
    report_engine_unknown(r, ref, parts);
    return false;
}

/* What a single has for `other.starter`: a thing that is not fitted. */
static Thing *other_of_one(Resolver *r, const Thing *thing) {
    Thing *other = arena_copy(r->job->arena, thing, sizeof *thing);
    other->fitted = FITTED_NO;
    other->fact = other->trend = other->held = other->watched = other->answer = NO_INDEX;
    other->name = name_intern(r->job->names, format_text(r->job->arena, r->job->names, "other %N", thing->name));
    return other;
}

static void report_not_per_engine(Resolver *r, Word ref, RefParts parts) {
    if (!first_report(r, FINDING_ENGINE_UNKNOWN, ref.span)) return;
    Finding *finding =
        finding_add(r->job->findings, FINDING_ENGINE_UNKNOWN, ref.span,
                    "the aircraft has one %N, not one for each engine; write %N", parts.name, parts.name);
    finding_fix(r->job->findings, finding, FIX_REVIEW, ref.span, "%N", parts.name);
}

bool thing_known(const Resolver *r, Name name) {
    return map_get(&r->things, name) != NULL;
}

Thing *first_instance(const Resolver *r, Name name) {
    const uint32_t *at = map_get(&r->things, name);
    return at ? &r->tail->things[*at - 1] : NULL;
}

Thing *resolve_thing(Resolver *r, Word ref, const Scene *scene) {
    if (!ref.name) return NULL;
    RefParts parts = ref_split(r, ref);
    Thing *first = first_instance(r, parts.name);
    uint32_t engine;
    if (!first) {
        (void)report_unknown(r->program, ref, parts.name, thing_kinds, sizeof thing_kinds / sizeof *thing_kinds,
                             "a thing");
        return NULL;
    }
    if (!engine_of_ref(r, ref, parts, scene, &engine)) return NULL;
    if (first->engine == NO_INDEX) {
        if (!parts.dotted) return first;
        report_not_per_engine(r, ref, parts);
        return NULL;
    }
    if (engine == OTHER_OF_ONE) return other_of_one(r, first);
    if (r->tail->n_engines == 1) return first;
    if (engine != NO_INDEX) return first + engine;
    report_engine_missing(r, ref, parts, scene);
    return NULL;
}

/* ---- positions ---- */

static bool file_broken(const Resolver *r, const Decl *decl) {
    const ProgramFile *file = decl ? program_file_of(r->program, decl->span) : NULL;
    return file && file->file->broken;
}

static void report_position(Resolver *r, const Thing *thing, Word pos) {
    if (file_broken(r, thing->decl) || !first_report(r, FINDING_POSITION_UNKNOWN, pos.span)) return;
    Findings *findings = r->job->findings;
    if (!thing->n_positions) {
        const char *advice =
            thing->kind == THING_GAUGE ? "a gauge is read by its bands and numbers" : "it has no positions";
        finding_add(findings, FINDING_POSITION_UNKNOWN, pos.span, "%N cannot stand at %N: %s", thing->name, pos.name,
                    advice);
        return;
    }
    Suggestion suggestion = suggestion_begin(r->program, name_text(r->job->names, pos.name));
    Buf list = {.arena = r->job->arena};
    for (uint32_t i = 0; i < thing->n_positions; i++) {
        suggestion_offer(&suggestion, thing->positions[i].name);
        if (i < 12) buf_format(&list, r->job->names, i ? ", %N" : "%N", thing->positions[i].name);
    }
    if (thing->n_positions > 12) buf_text(&list, " …");
    Finding *finding = suggestion.best
                           ? finding_add(findings, FINDING_POSITION_UNKNOWN, pos.span,
                                         "%N has no position %N; did you mean %N? (it has %S)", thing->name, pos.name,
                                         suggestion.best, buf_view(&list))
                           : finding_add(findings, FINDING_POSITION_UNKNOWN, pos.span,
                                         "%N has no position %N; it has %S", thing->name, pos.name, buf_view(&list));
    if (suggestion.best) finding_fix(findings, finding, FIX_REVIEW, pos.span, "%N", suggestion.best);
    if (thing->decl) finding_note(findings, finding, thing->decl->name.span, "%N is declared here", thing->name);
}

uint32_t position_find(const Thing *thing, Name pos) {
    for (uint32_t i = 0; i < thing->n_positions; i++)
        if (thing->positions[i].name == pos) return i;
    return NO_INDEX;
}

uint32_t resolve_position(Resolver *r, const Thing *thing, Word pos) {
    if (!pos.name) return NO_INDEX;
    uint32_t found = position_find(thing, pos.name);
    if (found == NO_INDEX) report_position(r, thing, pos);
    return found;
}

Str thing_label(const Resolver *r, const Thing *thing) {
    if (thing->engine == NO_INDEX || r->tail->n_engines < 2 || !thing->title.len) return thing->title;
    Str engine = name_text(r->job->names, r->tail->engines[thing->engine]);
    Buf label = {.arena = r->job->arena};
    char first = engine.ptr[0];
    buf_char(&label, first >= 'a' && first <= 'z' ? (char)(first - 'a' + 'A') : first);
    buf_str(&label, str_slice(engine, 1, engine.len));
    buf_char(&label, ' ');
    first = thing->title.ptr[0];
    bool word = thing->title.len > 1 && thing->title.ptr[1] >= 'a' && thing->title.ptr[1] <= 'z';
    buf_char(&label, word && first >= 'A' && first <= 'Z' ? (char)(first - 'A' + 'a') : first);
    buf_str(&label, str_slice(thing->title, 1, thing->title.len));
    return buf_view(&label);
}

uint32_t thing_index(const Resolver *r, const Thing *thing) {
    const Thing *first = r->tail->things;
    bool inside = thing >= first && thing < first + r->tail->n_things;
    return inside ? (uint32_t)(thing - first) : NO_INDEX;
}
