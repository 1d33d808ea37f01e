#include "back/reasons.h"
#include "front/front.h"

static Str filled(const BackInput *input, Text text) {
    Buf buf = {input->job->arena, NULL, 0, 0};
    if (text.span.hi) buf_filled(&buf, input, text, NO_INDEX);
    return buf_view(&buf);
}

static Str section_words(const BackInput *input, Name section) {
    Str text = name_text(input->job->names, section);
    bool quoted = text.len > 1 && text.ptr[0] == '"';
    return quoted ? str_slice(text, 1, text.len - 1) : text;
}

static void add_why(const BackInput *input, Reason *reason, const Why *why) {
    if (!why) return;
    if (!reason->reason.len) reason->reason = filled(input, why->because);
    if (!reason->source.len && why->source.name)
        reason->source = format_text(input->job->arena, input->job->names, "%S; %S",
                                     source_title(input, why->source.name), section_words(input, why->section.name));
    if (!reason->who.len) reason->who = filled(input, why->by_text);
}

static Reason done(Reason reason) {
    reason.given = reason.reason.len || reason.source.len;
    return reason;
}

Reason reason_of_edit(const BackInput *input, const TailEdit *made) {
    Reason reason = {0};
    if (!made) return reason;
    add_why(input, &reason, made->edit->why);
    add_why(input, &reason, made->adapt->more->why);
    return done(reason);
}

Reason reason_of_craft(const BackInput *input, const CraftLine *line) {
    Reason reason = {0};
    if (!line) return reason;
    add_why(input, &reason, line->craft->why);
    if (line->craft->kind == CRAFT_INOPERATIVE) {
        reason.reason = filled(input, line->craft->because);
        reason.who = filled(input, line->craft->by);
    }
    return done(reason);
}

static bool same_line(const BackInput *input, const TailEdit *made, const SideLine *line) {
    const Names *names = input->job->names;
    return line->line && made->of == line->line->of && str_eq(name_text(names, made->id), line->id) &&
           str_eq(name_text(names, made->phase), line->phase);
}

const TailEdit *edit_about(const BackInput *input, EditKind a, EditKind b, const SideLine *line) {
    const TailEdit *found = NULL;
    for (uint32_t i = 0; i < input->tail->n_edits; i++) {
        const TailEdit *made = &input->tail->edits[i];
        if ((made->edit->kind == a || made->edit->kind == b) && same_line(input, made, line)) found = made;
    }
    return found;
}

const TailEdit *edit_that_ended(const BackInput *input, const Side *side, const SideLine *line) {
    for (const SideLine *at = line; at; at = at->parent ? &side->lines[at->parent - 1] : NULL) {
        const TailEdit *made = edit_about(input, EDIT_OMIT, EDIT_REPLACE, at);
        if (made) return made;
    }
    return NULL;
}

Str reason_cell(const BackInput *input, const Reason *reason) {
    if (!reason->given) return STR("NO REASON IS GIVEN");
    if (!reason->source.len) return reason->reason;
    return reason->reason.len ? format_text(input->job->arena, NULL, "%S (%S)", reason->reason, reason->source)
                              : reason->source;
}

Str who_cell(const BackInput *input, const Reason *reason) {
    const Edition *edition = input->edition;
    if (reason->who.len) return reason->who;
    if (edition && edition->prepared_by.len)
        return format_text(input->job->arena, NULL, "%S (prepared it)", edition->prepared_by);
    return STR("NOBODY IS NAMED");
}
