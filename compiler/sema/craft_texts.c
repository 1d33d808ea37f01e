/* Texts that are printed: their holes must name something this tail has, and numbers belong into holes, where their unit is checked. */
#include "front/front.h"
#include "sema/craft.h"
#include "sema/items.h"

enum { TEXT_HOLE = 1, TEXT_DIGIT = 2 };

static int text_has(Str raw) {
    int has = 0;
    for (size_t i = 0; i < raw.len; i++) {
        if (raw.ptr[i] == '{' || raw.ptr[i] == '\\') has |= TEXT_HOLE;
        if (raw.ptr[i] >= '0' && raw.ptr[i] <= '9') has |= TEXT_DIGIT;
    }
    return has;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Part of a word or a key such as QM-3, 4-8, 2nd or 1.2: no amount. */
static bool joins(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '-' || c == '.' || c == '/' ||
           (unsigned char)c >= 0x80;
}

static bool bare_number(Str literal) {
    for (size_t i = 0; i < literal.len; i++) {
        if (!is_digit(literal.ptr[i])) continue;
        size_t end = i;
        while (end < literal.len && is_digit(literal.ptr[end])) end++;
        bool before = i > 0 && joins(literal.ptr[i - 1]);
        bool after = end < literal.len && joins(literal.ptr[end]) && literal.ptr[end] != '.';
        bool decimal = end + 1 < literal.len && literal.ptr[end] == '.' && is_digit(literal.ptr[end + 1]);
        if (!before && (!after || decimal)) return true;
        i = end;
    }
    return false;
}

static void number_check(Resolver *r, Text text) {
    if (!first_report(r, FINDING_VALUE_UNIT_RANGE, text.span)) return;
    Job quiet = *r->job; /* bad holes are reported by resolve_text */
    Findings nowhere = {.arena = r->job->arena, .names = r->job->names};
    quiet.findings = &nowhere;
    for (const TextPart *part = text_parse(&quiet, text); part; part = part->next)
        if (part->kind == TEXT_LITERAL && bare_number(part->literal)) {
            finding_add(r->job->findings, FINDING_VALUE_UNIT_RANGE, text.span,
                        "a number in a text is printed unchecked; write it as a hole with its unit, as in {6 mm}, or "
                        "as the name of a value");
            return;
        }
}

static void text_check(Resolver *r, Text text, const Scene *scene) {
    if (!text.span.hi) return;
    int has = text_has(span_text(r->job->sources, text.span));
    if (has & TEXT_DIGIT) number_check(r, text);
    if (!(has & TEXT_HOLE)) return;
    r->undecided = 0;
    (void)resolve_text(r, text, scene);
    if (r->undecided) missing_add(r, missing_kind(r, r->undecided), r->undecided, text.span, 0);
    r->undecided = 0;
}

static void thing_texts(Resolver *r, const Thing *thing, Scene scene) {
    if (thing->engine != NO_INDEX) scene.engine = thing->engine;
    if (!thing->decl) return;
    if (thing->kind == THING_CALL) text_check(r, thing->text, &scene);
    for (const TextList *at = thing->decl->more->paragraphs; at; at = at->next) text_check(r, at->text, &scene);
}

static void items_texts(Resolver *r, const Item *item, const Decl *home, uint32_t depth) {
    for (; item && depth < LIMIT_NESTING; item = item->next) {
        const Scene scene = {.engine = item->engine, .home = home};
        if (item->stmt && !item->implied) {
            text_check(r, item->stmt->more->text, &scene);
            if (!item->stmt->more->over_duty) text_check(r, item->stmt->more->text2, &scene);
            if (item->stmt->why) text_check(r, item->stmt->why->as, &scene);
        }
        bool spoken = item->kind == STMT_CALL || item->kind == STMT_BRIEF;
        if (spoken && item->thing < r->tail->n_things) thing_texts(r, &r->tail->things[item->thing], scene);
        items_texts(r, item->body, home, depth + 1);
        items_texts(r, item->between, home, depth + 1);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            items_texts(r, outcome->action.block, home, depth + 1);
    }
}

void texts_check(Resolver *r) {
    const Tail *tail = r->tail;
    for (uint32_t i = 0; i < tail->n_procedures; i++)
        items_texts(r, tail->procedures[i].items, tail->procedures[i].decl, 0);
    for (uint32_t i = 0; i < tail->n_drills; i++) items_texts(r, tail->drills[i].items, tail->drills[i].decl, 0);
}
