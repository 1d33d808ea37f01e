/* A state of a procedure set as the tail at hand has it. */
#include "back/side.h"
#include "base/limits.h"
#include "base/sha256.h"

const char *verdict_word(VerdictKind kind) {
    static const char *const words[] = {"provedAsWritten", "broken", "neverTested", "notApplicable", "notDecided"};
    return words[kind];
}

const char *room_word(NumberRoom room) {
    static const char *const words[] = {[ROOM_ABOVE] = "above", [ROOM_BELOW] = "below", [ROOM_UNKNOWN] = "unknown"};
    return words[room];
}

static int64_t longest(const Duration *duration) {
    int64_t ms = -1;
    for (uint32_t i = 0; i < duration->n; i++)
        if (duration->cases[i].ms > ms) ms = duration->cases[i].ms;
    return ms;
}

static int64_t shortest(const Duration *duration) {
    int64_t ms = -1;
    for (uint32_t i = 0; i < duration->n; i++)
        if (ms < 0 || duration->cases[i].ms < ms) ms = duration->cases[i].ms;
    return ms;
}

/* ---- lines ---- */

typedef struct {
    const BackInput *input;
    VEC(SideLine) lines;
} Telling;

static SideLine item_line(const BackInput *input, const TailLine *line, SideLine like) {
    const Item *item = line->item;
    int64_t within = longest(&item->limit), at_most = longest(&item->most);
    like.phase = name_text(input->job->names, item->phase);
    like.id = name_text(input->job->names, item->named);
    like.words = line->words;
    like.most_ms = within > at_most ? within : at_most;
    like.least_ms = shortest(&item->least);
    like.remark = item->kind == STMT_NOTE || item->kind == STMT_CAUTION || item->kind == STMT_WARNING;
    like.depth = line->depth;
    like.line = line;
    return like;
}

static void add_head(Telling *t, SideLine like, const char *id, Str words) {
    like.id = str_of(id);
    like.words = words;
    like.head = true;
    vec_push(t->input->job->arena, &t->lines, like);
}

static void add_test(Telling *t, SideLine like, const char *id, const char *lead, const Test *test, bool away) {
    if (!test) return;
    Buf buf = {t->input->job->arena, NULL, 0, 0};
    buf_text(&buf, lead);
    if (away) buf_turn_away(&buf, t->input, test);
    else buf_test(&buf, t->input, test);
    add_head(t, like, id, buf_view(&buf));
}

/* What all lines of it have in common. */
static SideLine like_all(const BackInput *input, const TailLine *line, const char *set) {
    Str of = name_text(input->job->names, line->of->name.name);
    if (line->engine != NO_INDEX && input->tail->n_engines > 1)
        of = format_text(input->job->arena, input->job->names, "%S.%N", of, input->tail->engines[line->engine]);
    return (SideLine){.of = of, .set = set, .title = line->title, .most_ms = -1, .least_ms = -1, .decl = line->of};
}

static void add_items(Telling *t, const TailLines *lines, SideLine like, const Decl *decl, uint32_t engine) {
    for (size_t i = 0; i < lines->n; i++)
        if (lines->at[i].of == decl && lines->at[i].engine == engine && !lines->at[i].dropped)
            vec_push(t->input->job->arena, &t->lines, item_line(t->input, &lines->at[i], like));
}

static void add_procedure(Telling *t, const TailLines *lines, const Procedure *procedure) {
    TailLine of = {.of = procedure->decl, .engine = NO_INDEX, .title = procedure->title};
    SideLine like = like_all(t->input, &of, "procedure");
    add_head(t, like, "title", procedure->title);
    add_test(t, like, "applies-when", "For: ", procedure->applies, false);
    add_test(t, like, "begins-with", "Begins with: ", procedure->begins, false);
    add_items(t, lines, like, procedure->decl, NO_INDEX);
}

static void add_drill(Telling *t, const TailLines *lines, const Drill *drill) {
    TailLine of = {.of = drill->decl, .engine = drill->engine, .title = drill->title};
    SideLine like = like_all(t->input, &of, "drill");
    add_head(t, like, "title", drill->title);
    add_test(t, like, "cue", "When: ", drill->cue, true);
    add_test(t, like, "armed-while", "From: ", drill->armed, false);
    if (drill->keeps_cranking) add_head(t, like, "keeps-cranking", STR("Keep cranking if the starter is engaged."));
    add_items(t, lines, like, drill->decl, drill->engine);
}

static bool briefed(const Item *items, uint32_t thing, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return false;
    for (const Item *item = items; item; item = item->next)
        if ((item->kind == STMT_BRIEF && item->thing == thing) || briefed(item->body, thing, depth + 1)) return true;
    return false;
}

/* A paragraph is known by its words: another is one that went and one that came. */
static void add_briefing(Telling *t, uint32_t index) {
    const Thing *thing = &t->input->tail->things[index];
    bool read = false;
    for (uint32_t p = 0; p < t->input->tail->n_procedures && !read; p++)
        read = briefed(t->input->tail->procedures[p].items, index, 0);
    if (!read) return;
    SideLine like = {.of = format_text(t->input->job->arena, t->input->job->names, "briefing %N", thing->name),
                     .set = "briefing",
                     .title = thing->title,
                     .most_ms = -1,
                     .least_ms = -1};
    add_head(t, like, "title", thing->title);
    for (const TextList *text = thing->decl->more->paragraphs; text; text = text->next) {
        Buf buf = {t->input->job->arena, NULL, 0, 0};
        buf_filled(&buf, t->input, text->text, NO_INDEX);
        like.id = like.words = buf_view(&buf);
        vec_push(t->input->job->arena, &t->lines, like);
    }
}

void side_set_parents(Arena *arena, Side *side) {
    VEC(size_t) open = {0};
    for (size_t i = 0; i < side->n_lines; i++) {
        SideLine *line = &side->lines[i];
        while (open.n && (!str_eq(side->lines[open.at[open.n - 1]].of, line->of) ||
                          side->lines[open.at[open.n - 1]].depth >= line->depth))
            open.n--;
        line->parent = open.n ? open.at[open.n - 1] + 1 : 0;
        vec_push(arena, &open, i);
    }
}

static void side_lines(Side *side, const BackInput *input) {
    Telling t = {.input = input};
    TailLines lines = tail_lines(input);
    for (uint32_t p = 0; p < input->tail->n_procedures; p++) add_procedure(&t, &lines, &input->tail->procedures[p]);
    for (uint32_t d = 0; d < input->tail->n_drills; d++) add_drill(&t, &lines, &input->tail->drills[d]);
    for (uint32_t i = 0; i < input->tail->n_things; i++)
        if (input->tail->things[i].kind == THING_BRIEFING) add_briefing(&t, i);
    side->lines = t.lines.at;
    side->n_lines = t.lines.n;
    side_set_parents(input->job->arena, side);
}

/* ---- numbers, verdicts, paper ---- */

static void side_numbers(Side *side, const BackInput *input) {
    TailNumbers numbers = tail_numbers(input->job, input->tail);
    side->numbers = ARENA_ARRAY(input->job->arena, SideNumber, numbers.n + 1);
    for (size_t i = 0; i < numbers.n; i++) {
        const TailNumber *number = &numbers.at[i];
        Buf buf = {input->job->arena, NULL, 0, 0};
        buf_number(&buf, number->measure, number->amount);
        side->numbers[side->n_numbers++] = (SideNumber){number->key,    number->what,    buf_view(&buf), number->room,
                                                        number->amount, number->measure, number};
    }
}

static Str hash_of(const BackInput *input, const Decl *decl) {
    Sha256Digest digest = sha256_of(span_text(input->job->sources, decl->span));
    Buf hex = {input->job->arena, NULL, 0, 0};
    buf_text(&hex, "sha256:");
    buf_hex(&hex, &digest, 32);
    return buf_view(&hex);
}

static void side_verdicts(Side *side, const BackInput *input) {
    uint32_t n = input->result ? input->result->n_verdicts : 0;
    side->verdicts = ARENA_ARRAY(input->job->arena, SideVerdict, (size_t)n + 1);
    for (uint32_t i = 0; i < n; i++) {
        const Verdict *verdict = &input->result->verdicts[i];
        const GateInstance *gate = verdict->gate;
        bool engine = gate->engine != NO_INDEX && input->tail->n_engines > 1;
        side->verdicts[side->n_verdicts++] =
            (SideVerdict){engine ? format_text(input->job->arena, input->job->names, "%N (%N)", gate->name,
                                               input->tail->engines[gate->engine])
                                 : name_text(input->job->names, gate->name),
                          gate->title, str_of(verdict_word(verdict->kind)), gate->in_words, hash_of(input, gate->decl)};
    }
}

static void side_paper(Side *side, const BackInput *input) {
    const Edition *edition = input->edition;
    side->paper =
        (SidePaper){.tail = name_text(input->job->names, input->tail->name), .tail_title = input->tail->title};
    if (!edition) return;
    side->paper.document = edition->document;
    side->paper.effective = edition->effective;
    side->paper.code = str_of(edition->code);
    side->paper.standing = str_of(edition_status(edition));
    side->paper.revision = edition->revision;
}

Side side_of(const BackInput *input) {
    Side side = {0};
    side_lines(&side, input);
    side_numbers(&side, input);
    side_verdicts(&side, input);
    side_paper(&side, input);
    return side;
}

Str side_revision(Arena *arena, const SidePaper *paper) {
    Buf buf = {arena, NULL, 0, 0};
    buf_format(&buf, NULL, "%S revision %u", paper->document, (uint64_t)paper->revision);
    if (paper->effective.len || paper->code.len) buf_text(&buf, " (");
    if (paper->effective.len) buf_format(&buf, NULL, "effective %S%s", paper->effective, paper->code.len ? ", " : "");
    if (paper->code.len) buf_format(&buf, NULL, "check code %S", paper->code);
    if (paper->effective.len || paper->code.len) buf_char(&buf, ')');
    return buf_view(&buf);
}
