#include "back/card_changes.h"

/* ---- bars ---- */

static void add_item(CardChanges *changes, const SideLine *line) {
    if (line && line->line) changes->items[changes->n_items++] = line->line->item;
}

/* Where it stood: the first line behind it that is still there. */
static const SideLine *stands_now(const Side *from, const Side *to, const SideLine *gone) {
    for (const SideLine *at = gone + 1; at < from->lines + from->n_lines && str_eq(at->of, gone->of); at++)
        for (size_t k = 0; k < to->n_lines; k++)
            if (str_eq(to->lines[k].of, at->of) && str_eq(to->lines[k].id, at->id) &&
                str_eq(to->lines[k].phase, at->phase) && to->lines[k].line)
                return &to->lines[k];
    return NULL;
}

static void mark(CardChanges *changes, const Side *to, const Difference *found) {
    switch (found->kind) {
    case DIFFERS_ADDED:
    case DIFFERS_MOVED:
    case DIFFERS_CHANGED: add_item(changes, found->to); return;
    case DIFFERS_DROPPED: add_item(changes, stands_now(changes->from, to, found->from)); return;
    case DIFFERS_NEW_PROCEDURE:
        for (const SideLine *at = found->to; at < to->lines + to->n_lines && str_eq(at->of, found->to->of); at++)
            add_item(changes, at);
        return;
    case DIFFERS_NO_PROCEDURE:
    case DIFFERS_NUMBER:
    case DIFFERS_VERDICT:
    case DIFFERS_RULE: return;
    }
}

const CardChanges *card_changes(const BackInput *input) {
    const Edition *edition = input->edition;
    Arena *arena = input->job->arena;
    if (!edition->follows) return NULL;
    CardChanges *changes = ARENA_NEW(arena, CardChanges);
    Str why_not;
    changes->from = edition->earlier.len ? side_read(arena, edition->earlier, &why_not) : NULL;
    if (!changes->from) return changes;
    Side *to = ARENA_NEW(arena, Side);
    *to = side_of(input);
    changes->list = change_list(arena, changes->from, to);
    changes->items = ARENA_ARRAY(arena, const Item *, to->n_lines + changes->from->n_lines + 1);
    for (size_t i = 0; i < changes->list.rows.n; i++) mark(changes, to, changes->list.rows.at[i].found);
    return changes;
}

bool card_changed(const CardChanges *changes, const Item *item) {
    for (size_t i = 0; changes && i < changes->n_items; i++)
        if (changes->items[i] == item) return true;
    return false;
}

/* ---- the list ---- */

static Str lead_words(Arena *arena, const char *what) {
    Buf buf = {arena, NULL, 0, 0};
    buf_text(&buf, what);
    if (buf.len && buf.ptr[0] >= 'a' && buf.ptr[0] <= 'z') buf.ptr[0] = (char)(buf.ptr[0] - 'a' + 'A');
    buf_char(&buf, ':');
    return buf_view(&buf);
}

static void change_row(Card *card, const ChangeList *list, size_t at, bool *told) {
    const ChangeRow *row = &list->rows.at[at];
    Str where = change_where(card->arena, list, at, told, false);
    Buf buf = {card->arena, NULL, 0, 0};
    bool number = row->group == CHANGES_OF_NUMBERS;
    if (number) buf_format(&buf, NULL, "%S: ", where);
    if (row->to.len) buf_str(&buf, row->to);
    if (row->from.len) buf_format(&buf, NULL, row->to.len ? " (was: %S)" : "%S", row->from);
    bool stopped = buf.len && buf.ptr[buf.len - 1] == '.';
    if (!number) buf_format(&buf, NULL, "%s%S.", !buf.len ? "" : stopped ? " In: " : ". In: ", where);
    card_blank(card);
    card->block++;
    card_line(card, ROW_LINE, lead_words(card->arena, row->what), buf_view(&buf));
}

Sheet card_change_sheet(const CardChanges *changes, const BackInput *input) {
    Arena *arena = input->job->arena;
    Sheet sheet = {.title = STR(""), .procedure = NO_INDEX, .drill = NO_INDEX};
    if (!changes) return sheet;
    Card card = {.input = input, .arena = arena, .turns_to = NO_INDEX};
    sheet.title = format_text(arena, NULL, "CHANGES SINCE REVISION %u", (uint64_t)input->edition->since);
    if (input->edition->changes.len) card_line(&card, ROW_LINE, STR(""), input->edition->changes);
    const ChangeList *list = &changes->list;
    bool *told = ARENA_ARRAY(arena, bool, list->rows.n + 1);
    size_t n = 0;
    for (size_t i = 0; i < list->rows.n; i++)
        if (list->rows.at[i].group != CHANGES_OF_RULES) n++;
    if (!changes->from)
        card_line(&card, ROW_LINE, STR(""),
                  format_text(arena, NULL, "New in this document: nothing was issued of %S in revision %u.",
                              input->tail->title, (uint64_t)input->edition->since));
    else if (!n) card_line(&card, ROW_LINE, STR(""), STR("No line and no number is other than it was."));
    else
        card_line(&card, ROW_LINE, STR(""),
                  STR("A bar stands beside what is new or otherwise, and where a line was taken out."));
    for (int group = 0; group < CHANGES_OF_RULES; group++)
        for (size_t i = 0; i < list->rows.n; i++)
            if (!told[i] && list->rows.at[i].group == (ChangeGroup)group) change_row(&card, list, i, told);
    sheet.rows = card.rows;
    return sheet;
}
