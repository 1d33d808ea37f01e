/* The mutants of a text: one change each, found through the syntax tree and made on the formatted text. */
#include "base/measure.h"
#include "mutate.h"
#include <stdlib.h>
#include <string.h>

typedef struct {
    Campaign *campaign;
    const Subject *subject;
    const Decl *decl;
    const Stmt *retry; /* the innermost `try` that the line stands in; NULL: none */
} Walk;

/* ---- texts and cuts ---- */
static uint32_t offset(const Walk *w, uint32_t at) {
    return at - w->subject->file->source->base;
}

static Str text_at(const Walk *w, Span span) {
    return str_slice((Str){w->subject->text, strlen(w->subject->text)}, offset(w, span.lo), offset(w, span.hi));
}

/* Puts `text` in the place of what stands there, between two others. */
static void cut_around(const Walk *w, Mutant *m, Span span, const char *before, Str text, const char *after) {
    if (m->n_cuts >= CUTS_MOST || text.len + strlen(before) + strlen(after) >= sizeof m->cuts->text) {
        m->n_cuts = CUTS_MOST + 1; /* more than there is room for: no such mutant */
        return;
    }
    Cut *c = &m->cuts[m->n_cuts++];
    c->lo = offset(w, span.lo);
    c->hi = offset(w, span.hi);
    snprintf(c->text, sizeof c->text, "%s%.*s%s", before, (int)text.len, text.ptr, after);
}

static void cut(const Walk *w, Mutant *m, Span span, Str text) {
    cut_around(w, m, span, "", text, "");
}

static Mutant mutant(const char *operator, const Stmt * line, Span at) {
    return (Mutant){.operator= operator, .lines = {line}, .at = at};
}

static void give(const Walk *w, const Mutant *m) {
    if (m->n_cuts <= CUTS_MOST) campaign_take(w->campaign, w->subject, m);
}

/* A clause with the comma before it. */
static Span with_comma(const Walk *w, Span span) {
    uint32_t lo = offset(w, span.lo);
    const char *text = w->subject->text;
    while (lo && strchr(" \n", text[lo - 1])) lo--;
    if (lo && text[lo - 1] == ',') span.lo -= offset(w, span.lo) - (lo - 1);
    return span;
}

/* Without the label, so that the line may stand twice. */
static Str without_label(const Walk *w, const Stmt *s) {
    Str text = text_at(w, s->span);
    if (!s->label.name) return text;
    size_t k = 0;
    while (k < text.len && text.ptr[k] != ':') k++;
    for (k++; k < text.len && text.ptr[k] == ' ';) k++;
    return str_slice(text, k, text.len);
}

/* ---- what stands where ---- */
static bool is_part(const Stmt *s) {
    return s->kind == STMT_PHASE || s->kind == STMT_BEGINS || s->kind == STMT_APPLIES || s->kind == STMT_DRILLS ||
           s->kind == STMT_CUE || s->kind == STMT_ARMED || s->kind == STMT_KEEPS_CRANKING || s->kind == STMT_MEMORY ||
           s->kind == STMT_CASE;
}
static bool is_note(const Stmt *s) {
    return s->kind == STMT_NOTE || s->kind == STMT_CAUTION || s->kind == STMT_WARNING || s->kind == STMT_PLAIN;
}

static const Thing *thing_named(const Subject *subject, Name name) {
    for (size_t t = 0; t < subject->good.unit->n_tails; t++) {
        const Tail *tail = subject->good.unit->tails[t].tail;
        for (uint32_t k = 0; k < tail->n_things; k++)
            if (tail->things[k].name == name) return &tail->things[k];
    }
    return NULL;
}

/* ---- lines: delete, repeat, swap, one branch, out of a retry ---- */
static void delete_line(const Walk *w, const Stmt *s) {
    Mutant m = mutant("delete", s, s->span);
    bool of_drill = s->kind == STMT_CUE || s->kind == STMT_ARMED || s->kind == STMT_KEEPS_CRANKING;
    if (of_drill) m.drill = &w->decl->name;
    cut(w, &m, s->span, STR(""));
    give(w, &m);
}

static void repeat_line(const Walk *w, const Stmt *s) {
    Mutant m = mutant("repeat", s, s->span);
    cut_around(w, &m, (Span){s->span.hi, s->span.hi}, "\n", without_label(w, s), "");
    give(w, &m);
}

static void swap_lines(const Walk *w, const Stmt *s) {
    if (!s->next || is_part(s->next) || is_note(s->next)) return;
    Mutant m = mutant("swap", s, s->span);
    m.lines[1] = s->next;
    cut(w, &m, s->span, text_at(w, s->next->span));
    cut(w, &m, s->next->span, text_at(w, s->span));
    give(w, &m);
}

static void on_one_branch(const Walk *w, const Stmt *s) {
    Mutant m = mutant("one branch", s, s->span);
    cut_around(w, &m, s->span, "when daylight DAY {\n", text_at(w, s->span), "\n}");
    give(w, &m);
}

static void out_of_retry(const Walk *w, const Stmt *s) {
    if (!w->retry) return;
    Mutant m = mutant("out of retry", s, s->span);
    cut_around(w, &m, (Span){w->retry->span.lo, w->retry->span.lo}, "", text_at(w, s->span), "\n");
    cut(w, &m, s->span, STR(""));
    give(w, &m);
}

/* ---- positions ---- */
static void flip_to(const Walk *w, const Stmt *s, const Word *word, Str to) {
    Mutant m = mutant("flip", s, word->span);
    if (is_part(s)) m.drill = &w->decl->name;
    cut(w, &m, word->span, to);
    give(w, &m);
}

static void flip_word(const Walk *w, const Stmt *s, Name thing_name, const Word *word) {
    const Names *names = &w->subject->good.workspace->names;
    const Thing *thing = thing_named(w->subject, thing_name);
    if (!thing || !word->name) return;
    for (uint32_t k = 0; k < thing->n_positions; k++)
        if (thing->positions[k].name != word->name) flip_to(w, s, word, name_text(names, thing->positions[k].name));
    for (uint32_t k = 0; k < thing->n_bands; k++)
        if (thing->bands[k].name != word->name && (!k || thing->bands[k].name != thing->bands[k - 1].name))
            flip_to(w, s, word, name_text(names, thing->bands[k].name));
}

static void flip_condition(const Walk *w, const Stmt *s, const Cond *cond) {
    if (!cond) return;
    if (cond->kind == COND_IS) flip_word(w, s, cond->ref.name, &cond->word);
    bool joint = cond->kind == COND_AND || cond->kind == COND_OR || cond->kind == COND_NOT || cond->kind == COND_FOR;
    for (const Cond *part = joint ? cond->parts : NULL; part; part = part->next) flip_condition(w, s, part);
}

static void flip_end(const Walk *w, const Stmt *s, const Action *action) {
    static const char *const ends[] = {"RUNNING", "SECURED", "ABANDONED", "READY"};
    for (size_t k = 0; k < sizeof ends / sizeof *ends; k++)
        if (!str_eq(text_at(w, action->target.span), str_of(ends[k]))) flip_to(w, s, &action->target, str_of(ends[k]));
}

/* ---- times ---- */
static int64_t amount_ms(const Walk *w, const Amount *amount, const Amount *unit_of) {
    const Amount *with_unit = amount->unit.name ? amount : unit_of;
    Rational number;
    int64_t ms;
    if (!with_unit || !with_unit->unit.name || !rational_parse(text_at(w, amount->number), &number)) return -1;
    const Measure *measure = measure_find(text_at(w, with_unit->unit.span));
    if (!measure || !measure_milliseconds(measure_to_base(measure, number), &ms)) return -1;
    return ms;
}

/* A value's time; of several cases or tails the longest, or the shortest. */
static int64_t value_ms(const Walk *w, Name name, bool longest) {
    int64_t found = -1, ms;
    const Unit *unit = w->subject->good.unit;
    for (size_t t = 0; t < unit->n_tails; t++)
        for (uint32_t k = 0; k < unit->tails[t].tail->n_values; k++) {
            const Value *v = &unit->tails[t].tail->values[k];
            if (v->name != name || !v->measure || !measure_milliseconds(v->amount, &ms)) continue;
            if (found < 0 || (longest ? ms > found : ms < found)) found = ms;
        }
    return found;
}

static void loosen(const Walk *w, const Stmt *s, Span span, int64_t ms, bool longer) {
    if (ms <= 0) return;
    Mutant m = mutant("loosen", s, span);
    m.by_time = true;
    m.time_ms = ms;
    m.longer = longer;
    cut(w, &m, span, STR(""));
    give(w, &m);
}

static void loosen_amount(const Walk *w, const Stmt *s, const Amount *amount, const Amount *unit_of, const Word *name,
                          bool longer) {
    if (amount && amount->span.hi) loosen(w, s, amount->span, amount_ms(w, amount, unit_of), longer);
    else if (name && name->name) loosen(w, s, name->span, value_ms(w, name->name, longer), longer);
}

static void loosen_measured(const Walk *w, const Stmt *s, const Measured *measured, bool longer) {
    loosen_amount(w, s, &measured->amount, NULL, &measured->name, longer);
}

static void loosen_timing(const Walk *w, const Stmt *s) {
    const Timing *t = s->more->timing;
    if (!t) return;
    if (s->kind != STMT_TRY) loosen_measured(w, s, &t->time, true);
    loosen_amount(w, s, &t->span.lo, &t->span.hi, &t->lo_name, false);
    loosen_amount(w, s, &t->span.hi, NULL, &t->hi_name, true);
}

/* ---- outcomes ---- */
static void redirect(const Walk *w, const Stmt *s, const Action *action) {
    const Unit *unit = w->subject->good.unit;
    const Names *names = &w->subject->good.workspace->names;
    for (size_t f = 0; f < unit->files.n; f++) {
        if (unit->files.at[f]->source->library) continue;
        for (const Decl *d = unit->files.at[f]->first; d; d = d->next) {
            if (d->kind != DECL_DRILL || d->name.name == action->target.name || d == w->decl) continue;
            Mutant m = mutant("redirect", s, action->target.span);
            m.outcome = true;
            m.turned_from = action->target.name;
            m.turned_to = d->name.name;
            cut(w, &m, action->target.span, name_text(names, d->name.name));
            give(w, &m);
        }
    }
}

static void drop_clause(const Walk *w, const Stmt *s, Span span) {
    Mutant m = mutant("drop clause", s, span);
    m.outcome = true;
    cut(w, &m, with_comma(w, span), STR(""));
    give(w, &m);
}

static void walk_block(const Walk *w, const Stmt *first);
static void change_action(const Walk *w, const Stmt *s, const Action *action) {
    if (action->kind == ACTION_TURN_TO) redirect(w, s, action);
    if (action->kind == ACTION_END) flip_end(w, s, action);
    if (action->kind == ACTION_AGAIN) loosen_measured(w, s, &action->after, false);
    for (const EndTail *t = action->kind == ACTION_END ? action->tails : NULL; t; t = t->next) {
        drop_clause(w, s, t->span);
        if (t->kind == TAIL_NEXT_START_AFTER) loosen_measured(w, s, &t->after, false);
    }
    if (action->kind == ACTION_BLOCK && action->block) walk_block(w, action->block->first);
}

static void change_outcomes(const Walk *w, const Stmt *s) {
    for (const Outcome *o = s->outcomes; o; o = o->next) {
        drop_clause(w, s, o->span);
        flip_condition(w, s, o->cond);
        change_action(w, s, &o->action);
    }
}

/* ---- drills ---- */
static void unname_drills(const Walk *w, const Stmt *s) {
    for (const WordList *word = s->more->words; word; word = word->next) {
        Mutant m = mutant("unname drill", NULL, word->word.span);
        m.drill = &word->word;
        Span span = word->word.span;
        if (word == s->more->words && word->next) span.hi = word->next->word.span.lo;
        else if (word == s->more->words) span = s->span;
        else span = with_comma(w, span);
        cut(w, &m, span, STR(""));
        give(w, &m);
    }
}

static void cut_uses(const Walk *w, Mutant *m, const Stmt *first, Name drill, Name instead);
static void cut_action(const Walk *w, Mutant *m, const Action *action, Name drill, Name instead) {
    if (action->kind == ACTION_TURN_TO && action->target.name == drill)
        cut(w, m, action->target.span, name_text(&w->subject->good.workspace->names, instead));
    if (action->kind == ACTION_BLOCK && action->block) cut_uses(w, m, action->block->first, drill, instead);
}
static void cut_word(const Walk *w, Mutant *m, const Stmt *s, Name drill) {
    for (const WordList *word = s->more->words; word; word = word->next) {
        if (word->word.name != drill) continue;
        Span span = word->word.span;
        if (word != s->more->words) span = with_comma(w, span);
        else if (word->next) span.hi = word->next->word.span.lo;
        else span = s->span;
        cut(w, m, span, STR(""));
    }
}
static void cut_uses(const Walk *w, Mutant *m, const Stmt *first, Name drill, Name instead) {
    for (const Stmt *s = first; s; s = s->next) {
        if (s->kind == STMT_DRILLS) cut_word(w, m, s, drill);
        for (const Outcome *o = s->outcomes; o; o = o->next) cut_action(w, m, &o->action, drill, instead);
        if (s->more->action) cut_action(w, m, s->more->action, drill, instead);
        if (s->more->block) cut_uses(w, m, s->more->block->first, drill, instead);
        if (s->more->between) cut_uses(w, m, s->more->between->first, drill, instead);
        cut_uses(w, m, s->more->parts, drill, instead);
    }
}

static int by_place(const void *a, const void *b) {
    const Cut *l = a, *r = b;
    return l->lo < r->lo ? -1 : l->lo > r->lo;
}

/* A drill gone altogether; what turned to it turns to another. */
static void drop_drill(const Walk *w, const Decl *drill, const Decl *instead) {
    Mutant m = mutant("drop drill", NULL, drill->name.span);
    m.drill = &drill->name;
    for (const Decl *d = w->subject->file->first; d; d = d->next)
        if (d != drill && (d->kind == DECL_PROCEDURE || d->kind == DECL_DRILL || d->kind == DECL_GROUP))
            cut_uses(w, &m, d->u.parts, drill->name.name, instead->name.name);
    cut(w, &m, drill->span, STR(""));
    if (m.n_cuts <= CUTS_MOST) qsort(m.cuts, m.n_cuts, sizeof *m.cuts, by_place);
    give(w, &m);
}

/* ---- the walk ---- */
static void change_line(const Walk *w, const Stmt *s) {
    if (is_note(s)) return;
    if (s->kind != STMT_PHASE && s->kind != STMT_MEMORY && s->kind != STMT_CASE) delete_line(w, s);
    if (!is_part(s)) {
        repeat_line(w, s);
        swap_lines(w, s);
        on_one_branch(w, s);
        out_of_retry(w, s);
    }
    if (s->kind == STMT_SET || s->kind == STMT_LOOK || s->kind == STMT_HOLD || s->kind == STMT_CALL)
        flip_word(w, s, s->ref.name, &s->pos);
    if (s->kind != STMT_BEGINS && s->kind != STMT_APPLIES) flip_condition(w, s, s->cond);
    loosen_timing(w, s);
    if (s->kind == STMT_DRILLS) unname_drills(w, s);
}

static void walk_line(const Walk *w, const Stmt *s) {
    change_line(w, s);
    change_outcomes(w, s);
    if (s->more->action) change_action(w, s, s->more->action);
    Walk inner = *w;
    if (s->kind == STMT_TRY) inner.retry = s;
    if (s->more->block) walk_block(&inner, s->more->block->first);
    if (s->more->between) walk_block(&inner, s->more->between->first);
    walk_block(&inner, s->more->parts);
}

static void walk_block(const Walk *w, const Stmt *first) {
    for (const Stmt *s = first; s; s = s->next) walk_line(w, s);
}

/* What is turned to in place of a drill that is gone: the file's last drill, or the one before it. */
static const Decl *other_drill(const File *file, const Decl *drill) {
    const Decl *other = NULL;
    for (const Decl *d = file->first; d; d = d->next)
        if (d->kind == DECL_DRILL && d != drill) other = d;
    return other;
}

void mutants_make(Campaign *campaign, const Subject *subject) {
    for (const Decl *d = subject->file->first; d; d = d->next) {
        if (d->kind != DECL_PROCEDURE && d->kind != DECL_DRILL && d->kind != DECL_GROUP) continue;
        Walk w = {campaign, subject, d, NULL};
        walk_block(&w, d->u.parts);
        const Decl *other = d->kind == DECL_DRILL ? other_drill(subject->file, d) : NULL;
        if (other) drop_drill(&w, d, other);
    }
}
