#include "back/change_list.h"

const char *change_group_title(ChangeGroup group) {
    static const char *const titles[] = {
        [CHANGES_OF_LINES] = "Lines of procedures, drills and briefings",
        [CHANGES_OF_NUMBERS] = "Numbers",
        [CHANGES_OF_RULES] = "Rules",
        [CHANGE_GROUPS] = "",
    };
    return titles[group];
}

typedef struct {
    Arena *arena;
    const Side *from, *to;
    ChangeList list;
} Listing;

static void add(Listing *l, ChangeRow row) {
    vec_push(l->arena, &l->list.rows, row);
}

static void count(Listing *l, ChangeCount which) {
    l->list.counts[which]++;
}

static void count_room(Listing *l, NumberChange room) {
    if (room == NUMBER_LOOSER) count(l, COUNT_LOOSER);
    else if (room == NUMBER_TIGHTER) count(l, COUNT_TIGHTER);
}

/* ---- lines ---- */

static Str line_id(Listing *l, const SideLine *line) {
    return line->phase.len ? format_text(l->arena, NULL, "%S.%S.%S", line->of, line->phase, line->id)
                           : format_text(l->arena, NULL, "%S.%S", line->of, line->id);
}

/* The item itself, without its ways out. */
static Str short_words(Str words) {
    for (size_t i = 0; i < words.len; i++)
        if (words.ptr[i] == ';') return str_slice(words, 0, i);
    return words;
}

static Str behind(Listing *l, const Side *side, const SideLine *line) {
    const SideLine *before = line > side->lines ? line - 1 : NULL;
    if (!before || before->head || !str_eq(before->of, line->of)) return STR("first");
    return format_text(l->arena, NULL, "behind: %S", short_words(before->words));
}

static void moved_row(Listing *l, const Difference *found) {
    Str now = format_text(l->arena, NULL, "%S, %S", short_words(found->to->words), behind(l, l->to, found->to));
    add(l, (ChangeRow){CHANGES_OF_LINES, found->to->title, line_id(l, found->to), "moved",
                       behind(l, l->from, found->from), now, found});
}

static const char *changed_words(const Difference *found) {
    if (found->room == NUMBER_LOOSER) return found->moved ? "moved, time LOOSER" : "time LOOSER";
    if (found->room == NUMBER_TIGHTER) return found->moved ? "moved, time tighter" : "time tighter";
    return found->moved ? "moved, reads otherwise" : "reads otherwise";
}

static void line_row(Listing *l, const Difference *found, const char *what) {
    const SideLine *at = found->to ? found->to : found->from;
    ChangeRow row = {.group = CHANGES_OF_LINES, .where = at->title, .id = line_id(l, at), .what = what, .found = found};
    if (found->from) row.from = found->from->words;
    if (found->to) row.to = found->to->words;
    add(l, row);
}

static const char *whole_words(const SideLine *line, bool comes) {
    bool drill = str_eq(str_of(line->set), STR("drill")), briefing = str_eq(str_of(line->set), STR("briefing"));
    if (briefing) return comes ? "new briefing" : "briefing gone";
    if (drill) return comes ? "new drill" : "drill gone";
    return comes ? "new procedure" : "procedure gone";
}

static void whole_row(Listing *l, const Difference *found) {
    bool comes = found->kind == DIFFERS_NEW_PROCEDURE;
    const SideLine *line = comes ? found->to : found->from;
    ChangeRow row = {.group = CHANGES_OF_LINES,
                     .where = line->title,
                     .id = line->of,
                     .what = whole_words(line, comes),
                     .found = found};
    add(l, row);
}

/* ---- numbers ---- */

static void number_row(Listing *l, const Difference *found) {
    const SideNumber *from = found->number_from, *to = found->number_to, *at = to ? to : from;
    const char *what = !from                           ? "new number"
                       : !to                           ? "number gone"
                       : found->room == NUMBER_LOOSER  ? "LOOSER"
                       : found->room == NUMBER_TIGHTER ? "tighter"
                                                       : "other number";
    if (from && to && found->room != NUMBER_OTHER) count_room(l, found->room);
    else count(l, COUNT_OTHER_NUMBERS);
    add(l, (ChangeRow){CHANGES_OF_NUMBERS, at->what, at->key, what, from ? from->shown : STR(""),
                       to ? to->shown : STR(""), found});
}

/* ---- rules ---- */

static const struct {
    const char *verdict, *words;
} verdicts[] = {
    {"provedAsWritten", "proved as written"}, {"broken", "BROKEN"},          {"neverTested", "never tested"},
    {"notApplicable", "not applicable"},      {"notDecided", "NOT DECIDED"},
};

static Str standing_words(const SideVerdict *verdict) {
    for (size_t i = 0; verdict && i < sizeof verdicts / sizeof *verdicts; i++)
        if (str_eq(verdict->verdict, str_of(verdicts[i].verdict))) return str_of(verdicts[i].words);
    return STR("");
}

static bool is(const SideVerdict *verdict, const char *word) {
    return verdict && str_eq(verdict->verdict, str_of(word));
}

static void rule_row(Listing *l, const Difference *found) {
    const SideVerdict *from = found->verdict_from, *to = found->verdict_to, *at = to ? to : from;
    bool reworded = found->kind == DIFFERS_RULE;
    const char *what = reworded                      ? "says otherwise"
                       : is(to, "broken")            ? "NEWLY BROKEN"
                       : !to                         ? "held no more"
                       : !from                       ? "new rule"
                       : is(from, "provedAsWritten") ? "proved no more"
                       : is(to, "provedAsWritten")   ? "now proved"
                                                     : "other verdict";
    count(l, reworded ? COUNT_RULES : COUNT_VERDICTS);
    if (!reworded && is(to, "broken")) count(l, COUNT_BROKEN);
    add(l, (ChangeRow){CHANGES_OF_RULES, at->title, at->gate, what, reworded ? from->rule : standing_words(from),
                       reworded ? to->rule : standing_words(to), found});
}

/* ---- all ---- */

static void list_one(Listing *l, const Difference *found) {
    switch (found->kind) {
    case DIFFERS_NEW_PROCEDURE:
    case DIFFERS_NO_PROCEDURE:
        count(l, found->to ? COUNT_ADDED : COUNT_DROPPED);
        whole_row(l, found);
        return;
    case DIFFERS_ADDED:
        count(l, COUNT_ADDED);
        line_row(l, found, "added");
        return;
    case DIFFERS_DROPPED:
        count(l, COUNT_DROPPED);
        line_row(l, found, found->from->remark ? "WARNING OR NOTE LEFT OUT" : "left out");
        return;
    case DIFFERS_MOVED:
        count(l, COUNT_MOVED);
        moved_row(l, found);
        return;
    case DIFFERS_CHANGED:
        count(l, COUNT_CHANGED);
        if (found->moved) count(l, COUNT_MOVED);
        count_room(l, found->room);
        line_row(l, found, changed_words(found));
        return;
    case DIFFERS_NUMBER: number_row(l, found); return;
    case DIFFERS_VERDICT:
    case DIFFERS_RULE: rule_row(l, found); return;
    }
}

ChangeList change_list(Arena *arena, const Side *from, const Side *to) {
    Differences found = differences(arena, from, to, true);
    Listing l = {.arena = arena, .from = from, .to = to};
    for (size_t i = 0; i < found.n; i++) list_one(&l, &found.at[i]);
    return l.list;
}

Str change_sum(Arena *arena, const size_t counts[CHANGE_COUNTS]) {
    static const struct {
        const char *one, *several;
    } words[CHANGE_COUNTS] = {
        [COUNT_ADDED] = {"line added", "lines added"},
        [COUNT_DROPPED] = {"line left out", "lines left out"},
        [COUNT_MOVED] = {"line moved", "lines moved"},
        [COUNT_CHANGED] = {"line in other words or times", "lines in other words or times"},
        [COUNT_LOOSER] = {"number LOOSER", "numbers LOOSER"},
        [COUNT_TIGHTER] = {"number tighter", "numbers tighter"},
        [COUNT_OTHER_NUMBERS] = {"other number", "other numbers"},
        [COUNT_VERDICTS] = {"rule new, gone or with another verdict", "rules new, gone or with another verdict"},
        [COUNT_BROKEN] = {"of them NEWLY BROKEN", "of them NEWLY BROKEN"},
        [COUNT_RULES] = {"rule that says otherwise", "rules that say otherwise"},
    };
    Buf buf = {arena, NULL, 0, 0};
    for (int i = 0; i < CHANGE_COUNTS; i++)
        if (counts[i])
            buf_format(&buf, NULL, "%s%u %s", buf.len ? ", " : "", (uint64_t)counts[i],
                       counts[i] == 1 ? words[i].one : words[i].several);
    if (!buf.len) buf_text(&buf, "nothing changed");
    return buf_view(&buf);
}

static bool one_change(const ChangeRow *a, const ChangeRow *b) {
    return a->group == CHANGES_OF_LINES && b->group == a->group && str_eq(str_of(a->what), str_of(b->what)) &&
           a->from.len + a->to.len && str_eq(a->from, b->from) && str_eq(a->to, b->to);
}

Str change_where(Arena *arena, const ChangeList *list, size_t row, bool *told, bool ids) {
    Buf where = {arena, NULL, 0, 0};
    for (size_t i = row; i < list->rows.n; i++) {
        const ChangeRow *like = &list->rows.at[i];
        if (i > row && (told[i] || !one_change(&list->rows.at[row], like))) continue;
        told[i] = true;
        buf_format(&where, NULL, "%s%S", i > row ? "; " : "", like->where);
        if (ids) buf_format(&where, NULL, " [%S]", like->id);
    }
    return buf_view(&where);
}
