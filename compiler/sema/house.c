/* House rules: what a text says in a way that readers trip over, whatever its paths are. Each is a finding of its own, explained and ranked
   like a gate. What the library says itself is looked at with the library. */
#include "front/front.h"
#include "sema/craft.h"
#include "sema/items.h"

/* ---- words, small and capital letters alike ---- */

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool in_word(char c) {
    return (lower(c) >= 'a' && lower(c) <= 'z') || (c >= '0' && c <= '9') || (unsigned char)c >= 0x80;
}

static bool same(Str a, Str b) {
    if (a.len != b.len) return false;
    for (size_t i = 0; i < a.len; i++)
        if (lower(a.ptr[i]) != lower(b.ptr[i])) return false;
    return true;
}

/* Where whole words stand in a text; its length: nowhere. */
static size_t words_at(Str text, Str words) {
    for (size_t i = 0; words.len && i + words.len <= text.len; i++) {
        if (i && in_word(text.ptr[i - 1])) continue;
        if (i + words.len < text.len && in_word(text.ptr[i + words.len])) continue;
        if (same(str_slice(text, i, i + words.len), words)) return i;
    }
    return text.len;
}

static bool has_words(Str text, Str words) {
    return words_at(text, words) < text.len;
}

static bool one_of(Str text, const char *const *list, size_t n, bool whole) {
    for (size_t i = 0; i < n; i++)
        if (whole ? same(text, str_of(list[i])) : has_words(text, str_of(list[i]))) return true;
    return false;
}
#define ONE_OF(text, list, whole) one_of(text, list, sizeof(list) / sizeof *(list), whole)

/* ---- responses that name no state ---- */

/* NASA CR-177549: the response is the wanted value, not "checked" or "set". */
static bool vague(Str text) {
    static const char *const alone[] = {"check",     "checked", "check(ed)", "set",  "as set", "normal",   "ok",
                                        "completed", "tested",  "verified",  "good", "proper", "adjusted", "correct"};
    static const char *const within[] = {"as required",    "as needed", "as necessary", "as desired",
                                         "as appropriate", "if needed", "if required",  "if necessary"};
    return ONE_OF(text, alone, true) || ONE_OF(text, within, false);
}

static void vague_check(Resolver *r, Span at, Str text) {
    if (!vague(text) || !first_report(r, FINDING_VAGUE_RESPONSE, at)) return;
    finding_add(r->job->findings, FINDING_VAGUE_RESPONSE, at,
                "\"%S\" does not say what is seen when it is so; name the position, the reading or the sign", text);
}

/* ---- one line, one act ---- */

static bool two_acts(Str what, Str state) {
    static const char *const after[] = {"then", "and then", "afterwards"};
    static const char *const acts[] = {"set",   "switch", "turn", "open", "close",  "check",  "press", "pull",
                                       "push",  "hold",   "look", "lock", "select", "signal", "call",  "release",
                                       "start", "stop",   "move", "wait", "shut",   "test",   "read",  "unlock"};
    static const char *const states[] = {"on",     "off",     "open",   "closed", "set",  "checked",
                                         "locked", "latched", "tested", "in",     "shut", "pressed"};
    if (ONE_OF(what, after, false) || ONE_OF(state, after, false)) return true;
    size_t and = words_at(what, STR("and"));
    if (and < what.len && !state.len && ONE_OF(what, acts, false)) return true;
    size_t n = words_at(state, STR("and"));
    if (n == state.len || n < 2 || n + 4 > state.len) return false;
    return ONE_OF(str_slice(state, 0, n - 1), states, true) && ONE_OF(str_slice(state, n + 4, state.len), states, true);
}

static void acts_check(Resolver *r, const Item *item, Str what, Str state) {
    if (!two_acts(what, state) || !first_report(r, FINDING_TWO_ACTS, item->span)) return;
    finding_add(r->job->findings, FINDING_TWO_ACTS, item->span,
                "two acts in one line: whoever is interrupted after the first takes the line for done; give each a "
                "line of its own");
}

/* ---- said in free words, though the checker has words for it ---- */

static const ThingPosition *position_called(const Names *names, const Thing *thing, Str state) {
    for (uint32_t p = 0; p < thing->n_positions; p++)
        if (same(thing->positions[p].print, state) || same(name_text(names, thing->positions[p].name), state))
            return &thing->positions[p];
    return NULL;
}

static void known_check(Resolver *r, const Item *item, Str what, Str state) {
    for (uint32_t t = 0; state.len && t < r->tail->n_things; t++) {
        const Thing *thing = &r->tail->things[t];
        bool stands = thing->kind == THING_CONTROL || thing->kind == THING_SCENE || thing->kind == THING_LIGHT;
        if (!stands || thing->fitted != FITTED_YES || !same(thing->title, what)) continue;
        const ThingPosition *position = position_called(r->job->names, thing, state);
        if (!position || !first_report(r, FINDING_PLAIN_KNOWN, item->span)) continue;
        finding_add(r->job->findings, FINDING_PLAIN_KNOWN, item->span,
                    "no rule sees a `plain` line; write `%s %N %N`, which the rules can ask for",
                    thing->kind == THING_CONTROL ? "set" : "check", thing->name, position->name);
        return;
    }
}

/* ---- notes ---- */

static bool is_note(const Item *item) {
    return item->kind == STMT_NOTE || item->kind == STMT_CAUTION || item->kind == STMT_WARNING;
}

static Str title_of(const Resolver *r, const Item *item) {
    return item && item->thing < r->tail->n_things ? r->tail->things[item->thing].title : (Str){0};
}

/* It speaks of what the line above is about, and not of what the line below is. */
static void late_check(Resolver *r, const Item *before, const Item *note) {
    const Item *after = note->next;
    while (after && is_note(after)) after = after->next;
    if (!before || !after || is_note(before)) return;
    Str text = text_raw(r->job, note->stmt->more->text), above = title_of(r, before), below = title_of(r, after);
    if (!has_words(text, above) || same(above, below) || has_words(text, below)) return;
    if (!first_report(r, FINDING_WARNING_AFTER, note->span)) return;
    Finding *finding = finding_add(r->job->findings, FINDING_WARNING_AFTER, note->span,
                                   "this speaks of the line above it and is read with the line below: too late; put "
                                   "it above the line that it is about");
    finding_note(r->job->findings, finding, before->span, "this is the line that it speaks of");
}

/* Capitals have one height: words in them are read letter by letter (NASA CR-177605). */
static void capitals_check(Resolver *r, Text written) {
    if (!written.span.hi || in_library(r, written.span)) return;
    Str text = text_raw(r->job, written);
    uint32_t capitals = 0, smalls = 0;
    for (size_t i = 0; i < text.len; i++) {
        capitals += text.ptr[i] >= 'A' && text.ptr[i] <= 'Z';
        smalls += text.ptr[i] >= 'a' && text.ptr[i] <= 'z';
    }
    if (capitals < LIMIT_CAPITALS || smalls * 4 > capitals || !first_report(r, FINDING_LONG_CAPITALS, written.span))
        return;
    finding_add(r->job->findings, FINDING_LONG_CAPITALS, written.span,
                "a long text in capitals is read slowly and with errors; write it in small letters");
}

/* ---- lines of a procedure or drill ---- */

static void item_check(Resolver *r, const Item *before, const Item *item) {
    if (!item->stmt || item->implied || in_library(r, item->span)) return;
    if (is_note(item)) {
        late_check(r, before, item);
        capitals_check(r, item->stmt->more->text);
    }
    if (item->kind != STMT_PLAIN) return;
    Str what = text_raw(r->job, item->stmt->more->text), state = {0};
    if (item->stmt->more->text2.span.hi) state = text_raw(r->job, item->stmt->more->text2);
    vague_check(r, item->span, state.len ? state : what);
    acts_check(r, item, what, state);
    known_check(r, item, what, state);
}

static bool is_printed(const Item *item) {
    return !is_note(item) && item->stmt && !item->implied && item->kind != STMT_GO && item->kind != STMT_TRY &&
           item->kind != STMT_CASES && item->kind != STMT_CASE && item->kind != STMT_PHASE && item->kind != STMT_MEMORY;
}

/* How many lines they print; each is looked at on the way. */
static uint32_t items_check_house(Resolver *r, const Item *item, uint32_t depth) {
    uint32_t lines = 0;
    const Item *before = NULL;
    for (; item && depth < LIMIT_NESTING; before = item, item = item->next) {
        item_check(r, before, item);
        uint32_t within = items_check_house(r, item->body, depth + 1) + items_check_house(r, item->between, depth + 1);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            (void)items_check_house(r, outcome->action.block, depth + 1);
        if (item->kind != STMT_PHASE) lines += within + is_printed(item);
        else if (within > LIMIT_LIST_LINES && first_report(r, FINDING_LIST_LONG, item->stmt->ref.span))
            finding_add(r->job->findings, FINDING_LIST_LONG, item->stmt->ref.span,
                        "%u lines without a break: who loses the place begins anew; split it where the work pauses, "
                        "each part with a heading of its own",
                        (uint64_t)within);
    }
    return lines;
}

/* ---- numbers of the aircraft ---- */

static bool is_number(const CraftLine *line) {
    CraftKind kind = line->craft->kind;
    return line->decl->kind != DECL_TAIL && (kind == CRAFT_DUTY || kind == CRAFT_BAND || kind == CRAFT_VALUE);
}

static bool has_source(const Craft *craft) {
    const Why *why = craft->why;
    return why && (why->source.name || why->because.span.hi || why->by.span.hi);
}

/* Where nobody names a source, `startwright sources` says so; where some lines do, one without is a slip. What a tail has otherwise
   than its aircraft is asked for its reason by handbook_check. */
static void sources_check(Resolver *r) {
    const Tail *tail = r->tail;
    bool any = false;
    for (uint32_t i = 0; i < tail->n_held; i++) any |= is_number(&tail->held[i]) && has_source(tail->held[i].craft);
    for (uint32_t i = 0; any && i < tail->n_held; i++) {
        const Craft *craft = tail->held[i].craft;
        if (!is_number(&tail->held[i]) || has_source(craft)) continue;
        if (!first_report(r, FINDING_NUMBER_NO_SOURCE, craft->span)) continue;
        finding_add(r->job->findings, FINDING_NUMBER_NO_SOURCE, craft->span,
                    "nobody can look this number up: end the line in `from SOURCE SECTION`, or in `because \"…\"` "
                    "where it is the school's own");
    }
}

static void positions_check(Resolver *r) {
    for (uint32_t t = 0; t < r->tail->n_things; t++) {
        const Thing *thing = &r->tail->things[t];
        for (uint32_t p = 0; p < thing->n_positions; p++) {
            Span at = thing->positions[p].print_span;
            if (at.hi && !in_library(r, at)) vague_check(r, at, thing->positions[p].print);
        }
    }
}

void house_check(Resolver *r) {
    const Tail *tail = r->tail;
    positions_check(r);
    for (uint32_t i = 0; i < tail->n_procedures; i++) (void)items_check_house(r, tail->procedures[i].items, 0);
    for (uint32_t i = 0; i < tail->n_drills; i++) (void)items_check_house(r, tail->drills[i].items, 0);
    sources_check(r);
}
