/* Names of lines: labels, and ids made from a line's words, so that adaptations, waivers and traces can name it. */
#include "sema/items.h"

enum { ID_BYTES = 80, TEXT_WORDS = 5 };

/* ---- words to kebab case ---- */

/* Letters and digits of `text` in lower case, joined by single hyphens; at most so many words and bytes. */
static void kebab(Buf *buf, Str text, uint32_t words) {
    bool gap = buf->len > 0;
    for (size_t i = 0; i < text.len && buf->len < ID_BYTES; i++) {
        char c = text.ptr[i];
        bool capital = c >= 'A' && c <= 'Z', letter = capital || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (!letter) {
            gap = buf->len > 0;
            continue;
        }
        if (gap && words-- == 0) return;
        if (gap) buf_char(buf, '-');
        gap = false;
        buf_char(buf, capital ? (char)(c - 'A' + 'a') : c);
    }
}

static void kebab_all(Buf *buf, Str text) {
    kebab(buf, text, UINT32_MAX);
}

static void kebab_name(Buf *buf, const Job *job, Name name) {
    if (name) kebab_all(buf, name_text(job->names, name));
}

static void kebab_text(Buf *buf, Job *job, Text text) {
    if (text.span.hi) kebab(buf, text_raw(job, text), TEXT_WORDS);
}

static void kebab_cond(Buf *buf, const Job *job, const Cond *cond) {
    if (!cond) return;
    Buf words = {.arena = job->arena};
    print_cond(&words, job, cond);
    kebab_all(buf, buf_finish(&words));
}

static void kebab_action(Buf *buf, const Job *job, const Action *action) {
    switch ((ActionKind)action->kind) {
    case ACTION_TURN_TO: kebab_all(buf, STR("turn to")); break;
    case ACTION_END: kebab_all(buf, STR("end")); break;
    case ACTION_AGAIN: kebab_all(buf, STR("again")); break;
    case ACTION_NONE:
    case ACTION_BLOCK: break;
    }
    kebab_name(buf, job, action->target.name);
}

static const char *verb_of(StmtKind kind) {
    switch (kind) {
    case STMT_SET: return "set";
    case STMT_CHECK: return "check";
    case STMT_EXPECT: return "expect";
    case STMT_LOOK: return "look";
    case STMT_CALL: return "call";
    case STMT_BRIEF: return "brief";
    case STMT_WAIT: return "wait";
    case STMT_CRANK: return "crank";
    case STMT_TRY: return "try";
    case STMT_HOLD: return "hold";
    case STMT_RELEASE: return "release";
    case STMT_WATCH: return "watch";
    case STMT_PLAIN: return "plain";
    case STMT_NOTE: return "note";
    case STMT_CAUTION: return "caution";
    case STMT_WARNING: return "warning";
    case STMT_WHEN: return "when";
    case STMT_CASES: return "cases";
    case STMT_CASE: return "case";
    case STMT_MEMORY: return "memory";
    case STMT_BAD:
    case STMT_FOR:
    case STMT_DO:
    case STMT_GO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING: break;
    }
    return "";
}

static void wait_words(Buf *buf, Job *job, const Stmt *stmt) {
    const Event *after = stmt->more->timing ? stmt->more->timing->after : NULL;
    if (stmt->more->text.span.hi) {
        kebab_text(buf, job, stmt->more->text);
    } else if (after) {
        Buf words = {.arena = job->arena};
        print_event(&words, job, after);
        kebab_all(buf, STR("after"));
        kebab_all(buf, buf_finish(&words));
    }
}

static bool cond_in_id(StmtKind kind) {
    return kind == STMT_CHECK || kind == STMT_EXPECT || kind == STMT_WHEN || kind == STMT_CASE;
}

/* The buffer of the walk, empty. */
static Buf *words_begin(Walk *w) {
    w->words.arena = w->r->job->arena;
    w->words.len = 0;
    return &w->words;
}

static Name words_end(Walk *w) {
    return name_intern(w->r->job->names, w->words.len ? buf_view(&w->words) : STR("line"));
}

static Name action_words(Walk *w, const Action *action) {
    kebab_action(words_begin(w), w->r->job, action);
    return words_end(w);
}

/* The verb and the words that say what the line is about; numbers only where a condition compares with one. */
static Name line_words(Walk *w, const Stmt *stmt) {
    Job *job = w->r->job;
    StmtKind kind = (StmtKind)stmt->kind;
    if (kind == STMT_GO && stmt->more->action) return action_words(w, stmt->more->action);
    Buf *buf = words_begin(w);
    kebab_all(buf, str_of(verb_of(kind)));
    kebab_name(buf, job, stmt->ref.name);
    if (kind != STMT_CALL) kebab_name(buf, job, stmt->pos.name);
    if (cond_in_id(kind)) kebab_cond(buf, job, stmt->cond);
    if (kind == STMT_WAIT) wait_words(buf, job, stmt);
    else if (kind != STMT_CRANK && kind != STMT_PHASE) kebab_text(buf, job, stmt->more->text);
    return words_end(w);
}

Name id_words(Walk *w, const Stmt *stmt) {
    return stmt->label.name ? stmt->label.name : line_words(w, stmt);
}

/* ---- ids ---- */

/* How often the words have come in this procedure, with this time. */
static uint32_t count_words(Walk *w, Name words) {
    Arena *arena = w->r->job->arena;
    w->id_at.arena = arena;
    uintptr_t at = (uintptr_t)map_get(&w->id_at, words);
    if (!at) {
        ItemId entry = {.id = words, .phase = w->phase};
        vec_push(arena, &w->id_list, entry);
        at = w->id_list.n;
        map_put(&w->id_at, words, (void *)at);
    }
    ItemId *entry = &w->id_list.at[at - 1];
    if (entry->phase == w->phase) entry->times_in_phase++;
    return ++entry->times;
}

static Name numbered(Walk *w, Name words, uint32_t number) {
    Buf *buf = words_begin(w);
    buf_str(buf, name_text(w->r->job->names, words));
    buf_char(buf, '-');
    buf_uint(buf, number);
    return words_end(w);
}

static Name id_free(Walk *w, Name words, uint32_t times) {
    Name id = words;
    w->id_taken.arena = w->r->job->arena;
    while (map_get(&w->id_taken, id)) id = numbered(w, words, times++);
    map_put(&w->id_taken, id, w);
    return id;
}

/* As names, ids outlive the tail. */
void id_give(Walk *w, Item *item) {
    Names *names = w->r->job->names;
    bool decided = item->kind == STMT_GO && item->go && item->stmt->kind != STMT_GO; /* the `otherwise` of a `when` */
    Name words = decided ? action_words(w, item->go->written) : id_words(w, item->stmt);
    if (w->in_for && w->r->tail->n_engines > 1) {
        Buf *buf = words_begin(w);
        buf_format(buf, names, "%N.%N", w->r->tail->engines[w->scene.engine], words);
        words = words_end(w);
    }
    item->named = words;
    if (item->stmt->label.name) item->unlabelled = line_words(w, item->stmt);
    item->id = name_text(names, id_free(w, words, count_words(w, words)));
}

void ids_keep(Walk *w) {
    IdList list = {w->decl->name.name, w->id_list.at, (uint32_t)w->id_list.n};
    vec_push(w->r->job->arena, &w->work->ids, list);
}

/* ---- labels ---- */

/* Two places that no run passes both: they lie in different arms of one choice. */
static bool exclusive(const Branch *a, const Branch *b) {
    for (; a; a = a->up)
        for (const Branch *other = b; other; other = other->up)
            if (a->choice == other->choice && a->arm != other->arm) return true;
    return false;
}

/* A group may be done twice where no run does it twice; its labels then are one. */
static void report_label_twice(Walk *w, const Stmt *stmt, const Stmt *first) {
    bool same = stmt->label.span.lo == first->label.span.lo;
    Span at = same && w->n_groups ? w->group_at[w->n_groups - 1] : stmt->label.span;
    if (!first_report(w->r, FINDING_LABEL_TWICE, at)) return;
    Finding *finding;
    if (same) {
        finding = finding_add(w->r->job->findings, FINDING_LABEL_TWICE, at,
                              "the group is done a second time, and its label %N would stand twice in %N; a label "
                              "names one line: take the label out of the group, or put it "
                              "on the lines around it",
                              stmt->label.name, w->decl->name.name);
    } else {
        finding = finding_add(w->r->job->findings, FINDING_LABEL_TWICE, at,
                              "%N has a line labelled %N already; a label names one line, so rename one of them",
                              w->decl->name.name, stmt->label.name);
    }
    finding_note(w->r->job->findings, finding, first->label.span, "the label stands here");
}

void label_give(Walk *w, Item *item) {
    Resolver *r = w->r;
    Name label = item->stmt->label.name;
    Span label_span = item->stmt->label.span;
    if (!label) return;
    uint32_t engine = r->tail->n_engines > 1 ? w->scene.engine : NO_INDEX;
    item->label = label_fact(r, label, engine);
    w->labels.arena = r->job->arena;
    LabelUse *uses = map_get(&w->labels, label);
    for (const LabelUse *use = uses; use; use = use->next) {
        bool same = use->stmt->label.span.lo == label_span.lo; /* written once, in a group */
        if (use->engine != engine || (same && exclusive(use->branch, w->branch))) continue;
        report_label_twice(w, item->stmt, use->stmt);
        break;
    }
    LabelUse *use = ARENA_NEW(r->job->arena, LabelUse);
    *use = (LabelUse){engine, item->stmt, w->branch, uses};
    map_put(&w->labels, label, use);
}

/* ---- which labels the tail has, before any condition is resolved ---- */

static void collect(Resolver *r, const Stmt *first, uint32_t depth);

static void collect_block(Resolver *r, const Block *block, uint32_t depth) {
    if (block) collect(r, block->first, depth);
}

static void collect_group(Resolver *r, const Stmt *stmt, uint32_t depth) {
    const Decl *group = find_group(r, stmt->ref.name);
    if (!group || map_get(&r->items->walked, group->span.lo + 1)) return;
    map_put(&r->items->walked, group->span.lo + 1, r);
    collect(r, group->u.parts, depth);
}

static void collect(Resolver *r, const Stmt *first, uint32_t depth) {
    if (depth > LIMIT_NESTING * 4) return;
    for (const Stmt *stmt = first; stmt; stmt = stmt->next) {
        if (stmt->kind == STMT_DO && !stmt->more->block) collect_group(r, stmt, depth + 1);
        if (stmt->label.name) map_put(&r->items->labels, stmt->label.name, r);
        collect_block(r, stmt->more->block, depth + 1);
        collect_block(r, stmt->more->between, depth + 1);
        collect(r, stmt->more->parts, depth + 1);
        for (const Outcome *outcome = stmt->outcomes; outcome; outcome = outcome->next)
            collect_block(r, outcome->action.block, depth + 1);
    }
}

static void collect_kind(Resolver *r, DeclKind kind) {
    const Decl **decls;
    size_t n = program_all_for(r->program, kind, r->tail->decl, &decls);
    for (size_t i = 0; i < n; i++)
        if (find_for_tail(r, kind, decls[i]->name.name) == decls[i]) collect(r, parts_of(r, decls[i]), 0);
}

void labels_collect(Resolver *r) {
    collect_kind(r, DECL_PROCEDURE);
    collect_kind(r, DECL_DRILL);
}

bool label_known(Resolver *r, Name name) {
    return r->items && map_get(&r->items->labels, name);
}
