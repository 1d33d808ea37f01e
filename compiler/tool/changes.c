/* `startwright changes OLD NEW`: what differs between two states, by meaning, tail by tail. */
#include "back/change_list.h"
#include "base/json.h"
#include "tool/commands.h"
#include "tool/page.h"
#include "tool/run.h"
#include "tool/sides.h"
#include <stdio.h>
#include <string.h>

typedef enum { TAIL_SAME, TAIL_CHANGED, TAIL_NEW, TAIL_GONE } TailStanding;
typedef struct {
    TailStanding standing;
    const Side *from, *to; /* NULL: it is not on that side */
    Str tail, title;
    ChangeList list;
    bool told;
} Compared;
typedef struct {
    Arena *arena;
    VEC(Compared) tails;
    size_t counts[CHANGE_COUNTS];
    bool differs;
} TailsCompared;

/* ---- which tails go together ---- */

static const Side *find_tail(const Sides *sides, Str tail) {
    for (size_t i = 0; i < sides->at.n; i++)
        if (str_eq(sides->at.at[i]->paper.tail, tail)) return sides->at.at[i];
    return NULL;
}

static void add_tail(TailsCompared *c, Compared tail) {
    if (tail.from && tail.to) {
        tail.list = change_list(c->arena, tail.from, tail.to);
        tail.standing = tail.list.rows.n ? TAIL_CHANGED : TAIL_SAME;
    }
    for (int i = 0; i < CHANGE_COUNTS; i++) c->counts[i] += tail.list.counts[i];
    c->differs |= tail.standing != TAIL_SAME;
    vec_push(c->arena, &c->tails, tail);
}

static void compare_tails(TailsCompared *c, const Sides *from, const Sides *to) {
    for (size_t i = 0; i < to->at.n; i++) {
        const Side *side = to->at.at[i];
        add_tail(c, (Compared){.standing = TAIL_NEW,
                               .from = find_tail(from, side->paper.tail),
                               .to = side,
                               .tail = side->paper.tail,
                               .title = side->paper.tail_title});
    }
    for (size_t i = 0; i < from->at.n; i++) {
        const Side *side = from->at.at[i];
        if (find_tail(to, side->paper.tail)) continue;
        add_tail(
            c,
            (Compared){.standing = TAIL_GONE, .from = side, .tail = side->paper.tail, .title = side->paper.tail_title});
    }
}

/* Two tables of one tail each are compared whatever the tails are called: a tail may get another sign. */
static bool one_renamed(const Sides *from, const Sides *to) {
    return from->at.n == 1 && to->at.n == 1;
}

static void compare(TailsCompared *c, const Sides *from, const Sides *to) {
    if (!one_renamed(from, to)) {
        compare_tails(c, from, to);
        return;
    }
    const Side *side = to->at.at[0];
    add_tail(c,
             (Compared){.from = from->at.at[0], .to = side, .tail = side->paper.tail, .title = side->paper.tail_title});
}

/* ---- as text ---- */

static Str revisions(Arena *arena, const Compared *tail) {
    Buf buf = {arena, NULL, 0, 0};
    if (tail->from) buf_str(&buf, side_revision(arena, &tail->from->paper));
    if (tail->from && tail->to) buf_text(&buf, " -> ");
    if (tail->to) buf_str(&buf, side_revision(arena, &tail->to->paper));
    return buf_view(&buf);
}

static void print_row(Arena *arena, const ChangeList *list, size_t at, bool *printed) {
    const ChangeRow *row = &list->rows.at[at];
    Str where = change_where(arena, list, at, printed, true);
    printf("    %s\n", row->what);
    page_words("       ", where, 8);
    if (row->from.len) page_words("        was:", row->from, 13);
    if (row->to.len) page_words("        now:", row->to, 13);
}

static void print_list(Arena *arena, const ChangeList *list) {
    bool *printed = ARENA_ARRAY(arena, bool, list->rows.n + 1);
    for (int group = 0; group < CHANGE_GROUPS; group++) {
        bool first = true;
        for (size_t i = 0; i < list->rows.n; i++) {
            if (printed[i] || list->rows.at[i].group != (ChangeGroup)group) continue;
            if (first) printf("\n  %s\n", change_group_title((ChangeGroup)group));
            first = false;
            print_row(arena, list, i, printed);
        }
    }
    page_words("\n  Sum:", change_sum(arena, list->counts), 7);
}

static bool same_row(const ChangeRow *a, const ChangeRow *b) {
    return str_eq(a->id, b->id) && str_eq(a->from, b->from) && str_eq(a->to, b->to) && !strcmp(a->what, b->what);
}

static bool same_list(const Compared *a, const Compared *b) {
    if (a->standing != b->standing || a->list.rows.n != b->list.rows.n) return false;
    for (size_t i = 0; i < a->list.rows.n; i++)
        if (!same_row(&a->list.rows.at[i], &b->list.rows.at[i])) return false;
    return true;
}

/* Tails that differ in the same way are told together. */
static void print_tails(TailsCompared *c, size_t first) {
    static const char *const standings[] = {
        [TAIL_SAME] = "no line, number or verdict changed",
        [TAIL_CHANGED] = "",
        [TAIL_NEW] = "is new",
        [TAIL_GONE] = "is there no more",
    };
    const Compared *like = &c->tails.at[first];
    if (first) putchar('\n');
    for (size_t i = first; i < c->tails.n; i++) {
        Compared *tail = &c->tails.at[i];
        if (tail->told || !same_list(like, tail)) continue;
        tail->told = true;
        const char *standing = standings[tail->standing];
        Buf head = {c->arena, NULL, 0, 0};
        buf_format(&head, NULL, "%S:", tail->title);
        buf_char(&head, 0);
        page_words(head.ptr,
                   format_text(c->arena, NULL, "%S%s%s", revisions(c->arena, tail),
                               *standing && (tail->from || tail->to) ? "; " : "", standing),
                   4);
    }
    if (like->list.rows.n) print_list(c->arena, &like->list);
}

static void print_text(TailsCompared *c) {
    for (size_t i = 0; i < c->tails.n; i++)
        if (!c->tails.at[i].told) print_tails(c, i);
    if (c->tails.n > 1) page_words("\nAll tails:", change_sum(c->arena, c->counts), 11);
    putchar('\n');
    for (size_t i = 0; caution_lines[i]; i++) page_words("", str_of(caution_lines[i]), 0);
}

/* ---- as JSON ---- */

static void put_counts(Json *json, const size_t counts[CHANGE_COUNTS]) {
    static const struct {
        const char *key;
        ChangeCount count;
    } keys[] = {{"linesAdded", COUNT_ADDED},           {"linesChanged", COUNT_CHANGED}, {"linesDropped", COUNT_DROPPED},
                {"linesMoved", COUNT_MOVED},           {"looser", COUNT_LOOSER},        {"newlyBroken", COUNT_BROKEN},
                {"otherNumbers", COUNT_OTHER_NUMBERS}, {"rulesReworded", COUNT_RULES},  {"tighter", COUNT_TIGHTER},
                {"verdictsChanged", COUNT_VERDICTS}};
    json_key(json, "counts"), json_object(json);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        json_key(json, keys[i].key), json_int(json, (int64_t)counts[keys[i].count]);
    json_end(json);
}

static void put_text(Json *json, const char *key, Str text) {
    if (text.len) json_key(json, key), json_str(json, text);
}

static void put_row(Json *json, const ChangeRow *row) {
    static const char *const kinds[] = {[DIFFERS_NEW_PROCEDURE] = "newProcedure",
                                        [DIFFERS_NO_PROCEDURE] = "noProcedure",
                                        [DIFFERS_ADDED] = "added",
                                        [DIFFERS_DROPPED] = "dropped",
                                        [DIFFERS_MOVED] = "moved",
                                        [DIFFERS_CHANGED] = "changed",
                                        [DIFFERS_NUMBER] = "number",
                                        [DIFFERS_VERDICT] = "verdict",
                                        [DIFFERS_RULE] = "rule"};
    static const char *const rooms[] = {
        [NUMBER_SAME] = "", [NUMBER_TIGHTER] = "tighter", [NUMBER_LOOSER] = "looser", [NUMBER_OTHER] = "other"};
    json_object(json);
    put_text(json, "from", row->from);
    json_key(json, "id"), json_str(json, row->id);
    json_key(json, "kind"), json_text(json, kinds[row->found->kind]);
    if (row->found->moved) json_key(json, "moved"), json_bool(json, true);
    put_text(json, "room", str_of(row->group == CHANGES_OF_RULES ? "" : rooms[row->found->room]));
    put_text(json, "to", row->to);
    json_key(json, "what"), json_text(json, row->what);
    json_key(json, "where"), json_str(json, row->where);
    json_end(json);
}

static void put_paper(Json *json, const char *key, const Side *side) {
    if (!side) return;
    json_key(json, key), json_object(json);
    put_text(json, "checkCode", side->paper.code);
    put_text(json, "document", side->paper.document);
    put_text(json, "effective", side->paper.effective);
    json_key(json, "revision"), json_int(json, side->paper.revision);
    put_text(json, "status", side->paper.standing);
    json_end(json);
}

static void put_tail(Json *json, const Compared *tail) {
    static const char *const standings[] = {
        [TAIL_SAME] = "same", [TAIL_CHANGED] = "changed", [TAIL_NEW] = "new", [TAIL_GONE] = "gone"};
    json_object(json);
    put_counts(json, tail->list.counts);
    json_key(json, "differences"), json_array(json);
    for (size_t i = 0; i < tail->list.rows.n; i++) put_row(json, &tail->list.rows.at[i]);
    json_end(json);
    put_paper(json, "from", tail->from);
    json_key(json, "standing"), json_text(json, standings[tail->standing]);
    json_key(json, "tail"), json_str(json, tail->tail);
    json_key(json, "title"), json_str(json, tail->title);
    put_paper(json, "to", tail->to);
    json_end(json);
}

static bool write_out(void *context, const char *bytes, size_t n) {
    return fwrite(bytes, 1, n, context) == n;
}

static void print_json(const TailsCompared *c) {
    Json *json = ARENA_NEW(c->arena, Json);
    json_open(json, (Sink){stdout, write_out});
    json_object(json);
    json_key(json, "cautions"), json_array(json);
    for (size_t i = 0; caution_lines[i]; i++) json_text(json, caution_lines[i]);
    json_end(json);
    put_counts(json, c->counts);
    json_key(json, "schema"), json_text(json, "urn:startwright:changes:0.1");
    json_key(json, "tails"), json_array(json);
    for (size_t i = 0; i < c->tails.n; i++) put_tail(json, &c->tails.at[i]);
    json_end(json);
    json_end(json);
    json_close(json);
    putchar('\n');
}

/* ---- the command ---- */

static int compare_sides(const Sides *from, const Sides *to, bool json) {
    Arena arena = {0};
    TailsCompared c = {.arena = &arena};
    compare(&c, from, to);
    if (json) print_json(&c);
    else print_text(&c);
    arena_free(&arena);
    return c.differs ? EXIT_ERRORS : EXIT_CLEAN;
}

int changes_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json)) return EXIT_USAGE;
    if (options->n_files != 2) {
        fprintf(stderr, "startwright changes: name two states, the old one first: sources, tables that were issued, or "
                        "folders of them\n");
        return EXIT_USAGE;
    }
    Sides from = {0}, to = {0};
    int status = sides_read(&from, options, options->files[0]);
    int second = status ? 0 : sides_read(&to, options, options->files[1]);
    if (!status && !second) status = compare_sides(&from, &to, json);
    if (second) status = second;
    sides_close(&from);
    sides_close(&to);
    return status;
}
