#include "back/lines.h"
#include "base/limits.h"
#include "front/front.h"

/* ---- one line in words ---- */

static void buf_joined(Buf *buf, const char *joint, Str text) {
    if (!text.len) return;
    if (buf->len) buf_text(buf, joint);
    buf_str(buf, text);
}

/* The rows of its card in one sentence; what is set in belongs to other lines. */
static Str rows_words(Card *card) {
    Buf buf = {card->arena, NULL, 0, 0};
    for (size_t i = 0; i < card->rows.n; i++) {
        const Row *row = &card->rows.at[i];
        if (row->kind == ROW_IF_NOT && row->inset == 1) {
            buf_joined(&buf, "; ", row->state);
            continue;
        }
        if (row->inset || row->kind == ROW_BLANK || row->kind == ROW_PHASE_DONE || row->kind == ROW_REASON) continue;
        if (row->kind == ROW_STATE) {
            buf_joined(&buf, "; ", row->state);
            continue;
        }
        if (row->kind != ROW_PHASE && *row->gutter && str_cmp(str_of(row->gutter), STR("see")))
            buf_joined(&buf, "; ", str_of(row->gutter)), buf_joined(&buf, " ", row->thing);
        else buf_joined(&buf, "; ", row->thing);
        buf_joined(&buf, row->thing.len && row->kind == ROW_ITEM ? ": " : " ", row->state);
    }
    return buf_view(&buf);
}

static void buf_with_test(Buf *buf, const BackInput *input, const char *words, const Test *test) {
    buf_text(buf, words);
    if (test) buf_test(buf, input, test);
}

/* Lines that are only there for what stands inside them. False: it is none. */
static bool buf_of_others(Buf *buf, const BackInput *input, const Item *item) {
    bool when = item->stmt && item->stmt->kind == STMT_WHEN;
    if (item->kind == STMT_TRY) buf_with_test(buf, input, "retry until ", item->cond);
    else if (item->kind == STMT_MEMORY) buf_text(buf, "by heart");
    else if (item->kind == STMT_CASES && when && item->body) buf_with_test(buf, input, "if ", item->body->cond);
    else if (item->kind == STMT_CASES) buf_text(buf, "one of these");
    else if (item->kind == STMT_CASE) buf_with_test(buf, input, "if ", item->cond);
    return buf->len > 0;
}

Str item_words(const BackInput *input, const Item *item) {
    Arena *arena = input->job->arena;
    Buf buf = {arena, NULL, 0, 0};
    if (buf_of_others(&buf, input, item)) return buf_view(&buf);
    Card card = {.input = input,
                 .arena = arena,
                 .marks = ARENA_ARRAY(arena, uint32_t, (size_t)input->tail->n_drills + 1),
                 .turns_to = NO_INDEX};
    Item alone = *item;
    alone.next = alone.body = NULL;
    card_items(&card, &alone);
    return rows_words(&card);
}

/* What drops out has no meaning for this tail, so the words are the author's. */
static Str dropped_words(const BackInput *input, const Item *item) {
    Buf buf = {input->job->arena, NULL, 0, 0};
    print_stmt_head(&buf, input->job, item->stmt);
    return buf_view(&buf);
}

Str source_title(const BackInput *input, Name source) {
    const Decl *decl = input->program && source ? program_find(input->program, DECL_SOURCE, source) : NULL;
    if (!decl) return name_text(input->job->names, source);
    Buf buf = {input->job->arena, NULL, 0, 0};
    Job job = *input->job;
    buf_str(&buf, text_raw(&job, decl->text));
    if (decl->more->text2.span.hi) buf_joined(&buf, ", ", text_raw(&job, decl->more->text2));
    return buf_view(&buf);
}

/* ---- all lines ---- */

typedef struct {
    const BackInput *input;
    TailLines lines;
    TailLine like; /* what all lines of the procedure or drill have in common */
} Walker;

static void set_source(TailLine *line) {
    const Stmt *stmt = line->item->stmt;
    line->own = stmt && stmt->why && stmt->why->source.name;
    line->why = line->own ? stmt->why : line->item->around;
}

static void walk(Walker *w, const Item *items, uint32_t depth, bool conditional) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        bool own_line = item->named && !item->implied;
        if (own_line) {
            TailLine line = w->like;
            line.item = item;
            line.depth = depth;
            line.conditional = conditional;
            line.words = item_words(w->input, item);
            set_source(&line);
            vec_push(w->input->job->arena, &w->lines, line);
        }
        bool under_if = conditional || item->kind == STMT_CASES;
        uint32_t inside = depth + (own_line ? 1 : 0);
        walk(w, item->body, inside, under_if);
        walk(w, item->between, inside, true);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.kind == ACTION_BLOCK) walk(w, outcome->action.block, inside, true);
    }
}

static void walk_dropped(Walker *w, Item *const *dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        TailLine line = w->like;
        line.item = dropped[i];
        line.dropped = true;
        line.words = dropped_words(w->input, dropped[i]);
        set_source(&line);
        vec_push(w->input->job->arena, &w->lines, line);
    }
}

/* How many lines bear each name, so that it can be said how a line is named. */
static void count_names(Walker *w, size_t first) {
    NameMap named = {.arena = w->input->job->arena};
    VEC(uint32_t) list = {0}; /* beside lines: the one before it of the same name, + 1 */
    for (size_t i = first; i < w->lines.n; i++) {
        TailLine *line = &w->lines.at[i];
        uintptr_t last = (uintptr_t)map_get(&named, line->item->named);
        vec_push(w->input->job->arena, &list, (uint32_t)last);
        if (!line->dropped) map_put(&named, line->item->named, (void *)(uintptr_t)(i - first + 1));
    }
    for (size_t i = first; i < w->lines.n; i++) {
        TailLine *line = &w->lines.at[i];
        for (uintptr_t at = (uintptr_t)map_get(&named, line->item->named); at; at = list.at[at - 1]) {
            const TailLine *other = &w->lines.at[first + at - 1];
            line->times++;
            line->in_phase += other->item->phase == line->item->phase;
        }
    }
}

TailLines tail_lines(const BackInput *input) {
    Walker w = {.input = input};
    for (uint32_t p = 0; p < input->tail->n_procedures; p++) {
        const Procedure *procedure = &input->tail->procedures[p];
        size_t first = w.lines.n;
        w.like = (TailLine){.of = procedure->decl, .engine = NO_INDEX, .title = procedure->title};
        walk(&w, procedure->items, 0, false);
        walk_dropped(&w, procedure->dropped, procedure->n_dropped);
        count_names(&w, first);
    }
    for (uint32_t d = 0; d < input->tail->n_drills; d++) {
        const Drill *drill = &input->tail->drills[d];
        size_t first = w.lines.n;
        w.like = (TailLine){.of = drill->decl, .engine = drill->engine, .title = drill->title};
        walk(&w, drill->items, 0, false);
        walk_dropped(&w, drill->dropped, drill->n_dropped);
        count_names(&w, first);
    }
    return w.lines;
}
