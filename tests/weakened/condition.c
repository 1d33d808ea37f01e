/* Conditions: printed with the states of the library spelled out. Weaker: a part of an "and" dropped, a position more accepted; so in fewer situations: a
   part of an "or" dropped. Under a `not` it is the other way round. */
#include "weakened.h"

/* Is it settled by the kind of the aircraft and its equipment alone? */
static bool is_static(const Writer *w, const Cond *cond) {
    if (cond->kind == COND_FITTED) return true;
    if (cond->kind == COND_NAME) return weak_library(w, DECL_KIND, cond->ref.name) != NULL;
    const Cond *part = cond_parts(cond);
    if (!part) return false;
    for (; part; part = part->next)
        if (!is_static(w, part)) return false;
    return true;
}

static const PositionDecl *positions_of(const Writer *w, Name thing) {
    static const DeclKind kinds[] = {DECL_CONTROL, DECL_SCENE};
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        const Decl *decl = weak_library(w, kinds[k], thing);
        if (decl) return decl->positions;
    }
    return NULL;
}

static bool accepts(const Cond *cond, Name thing, Name position) {
    if (cond->kind == COND_IS && cond->ref.name == thing) return (cond->word.name == position) != cond->negated;
    for (const Cond *part = cond_parts(cond); part; part = part->next)
        if (accepts(part, thing, position)) return true;
    return false;
}

/* `all`: the whole condition; what it accepts elsewhere is no news. A thing of two positions: nothing would be left of it. */
static void put_position(Writer *w, const Cond *cond, const Cond *all, bool weaker) {
    const PositionDecl *first = positions_of(w, cond->ref.name);
    Str text = weak_text(w, cond->span), ref = weak_text(w, cond->ref.span);
    bool widen = weaker && !cond->negated && first && first->next && first->next->next;
    for (const PositionDecl *p = widen ? first : NULL; p; p = p->next) {
        if (accepts(all, cond->ref.name, p->word.name)) continue;
        Str position = weak_text(w, p->word.span);
        if (!weak_here(w, "%S: %S is enough, too", text, position)) continue;
        buf_format(&w->out, NULL, "(%S or %S %S)", text, ref, position);
        return;
    }
    buf_str(&w->out, text);
}

static void put(Writer *w, const Cond *cond, const Cond *all, bool weaker);

static void put_parts(Writer *w, const Cond *cond, const Cond *all, bool weaker) {
    bool may_drop = (cond->kind == COND_AND) == weaker, first = true;
    buf_char(&w->out, '(');
    for (const Cond *part = cond->parts; part; part = part->next) {
        bool fixed = is_static(w, part) && weaker;
        if (may_drop && !fixed && weak_here(w, "without “%S”", weak_text(w, part->span))) continue;
        if (!first) buf_text(&w->out, cond->kind == COND_AND ? " and " : " or ");
        first = false;
        put(w, part, all, weaker);
    }
    buf_char(&w->out, ')');
}

static void put(Writer *w, const Cond *cond, const Cond *all, bool weaker) {
    const Decl *state = cond->kind == COND_NAME ? weak_library(w, DECL_STATE, cond->ref.name) : NULL;
    if (state) {
        put(w, state->u.cond, all, weaker);
    } else if (cond->kind == COND_AND || cond->kind == COND_OR) {
        put_parts(w, cond, all, weaker);
    } else if (cond->kind == COND_NOT) {
        buf_text(&w->out, "not (");
        put(w, cond->parts, all, !weaker);
        buf_char(&w->out, ')');
    } else if (cond->kind == COND_IS) {
        put_position(w, cond, all, weaker);
    } else {
        buf_str(&w->out, weak_text(w, cond->span));
    }
}

void weak_condition(Writer *w, const Cond *cond, bool weaker) {
    put(w, cond, cond, weaker);
}
