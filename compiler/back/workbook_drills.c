/* The sheet of drills: when each is for, its lines known by heart, how it ends, and how it leaves the controls. */
#include "back/workbook.h"
#include "base/limits.h"

enum {
    DRILL_TAIL,
    DRILL_MARK,
    DRILL_TITLE,
    DRILL_PAGE,
    DRILL_PART,
    DRILL_NUMBER,
    DRILL_THING,
    DRILL_STATE,
    DRILL_SOURCE,
    DRILL_COLUMNS
};

void drills_columns(Workbook *workbook) {
    static const BookMark parts[] = {{BOOK_IS, TONE_ALARM, "by heart", NULL, 0}, {BOOK_IS, TONE_OPEN, "end", NULL, 0}};
    const BookColumn columns[DRILL_COLUMNS] = {
        [DRILL_TAIL] = {.title = STR("Tail"), .width = 8},
        [DRILL_MARK] = {.title = STR("Mark"), .width = 6},
        [DRILL_TITLE] = {.title = STR("Drill"), .width = 30},
        [DRILL_PAGE] = {.title = STR("Card page"), .width = 7},
        [DRILL_PART] = {.title = STR("Part"), .width = 11, .marks = parts, .n_marks = 2},
        [DRILL_NUMBER] = {.title = STR("No"), .width = 5},
        [DRILL_THING] = {.title = STR("Thing"), .width = 26},
        [DRILL_STATE] = {.title = STR("Words"), .width = 60},
        [DRILL_SOURCE] = {.title = STR("Source"), .width = 52}};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_DRILLS, "Drills", "Drills",
        "Each drill: when it is for, from when on it can be needed, its lines known by heart, how it ends, and "
        "control by control how it leaves them where there is one way through it. All its lines are in Items.",
        "No drill is in any of these tails' texts.");
    sheet->frozen = DRILL_PAGE;
    sheet_columns(&workbook->book, sheet, columns, DRILL_COLUMNS);
}

typedef struct {
    TailBook *t;
    uint32_t index;
    const Drill *drill;
    bool named;
    Card card; /* the numbers of its lines */
} DrillRows;

static BookCell *new_row(DrillRows *d, const char *part) {
    TailBook *t = d->t;
    BookSheet *sheet = t->workbook->sheets[SHEET_DRILLS];
    BookCell *row = sheet_row(t->book, sheet);
    uint32_t mark = t->cards.marks[d->index], page = page_of_drill(t, d->index);
    Str engine = engine_of(t, d->drill->engine);
    cell_text(t->book, &row[DRILL_TAIL], t->tail);
    if (mark) cell_text(t->book, &row[DRILL_MARK], TAIL_WORDS(t, "D%u", (uint64_t)mark));
    cell_text(t->book, &row[DRILL_TITLE],
              engine.len ? TAIL_WORDS(t, "%S (%S)", d->drill->title, engine) : d->drill->title);
    if (page) cell_count(t->book, &row[DRILL_PAGE], page), cell_link_page(t, &row[DRILL_PAGE], page);
    cell_text(t->book, &row[DRILL_PART], str_of(part));
    if (!d->named) sheet_row_name(t->book, sheet, row_of_drill(t, d->index));
    d->named = true;
    return row;
}

static void test_row(DrillRows *d, const char *part, const Test *test, const char *without) {
    Buf buf = {d->t->arena, NULL, 0, 0};
    if (test) buf_test(&buf, d->t->input, test);
    else buf_text(&buf, without);
    cell_text(d->t->book, &new_row(d, part)[DRILL_STATE], buf_view(&buf));
}

static void put_source(const TailBook *t, BookCell *cell, const Item *item) {
    const Why *own = item->stmt ? item->stmt->why : NULL;
    bool named = own && own->source.name;
    cell_text(t->book, cell, why_source(t, named ? own : item->around, named));
}

static void thing_row(DrillRows *d, const char *part, const Item *item, Str words) {
    BookCell *row = new_row(d, part);
    Buf thing = {d->t->arena, NULL, 0, 0};
    if (item->thing != NO_INDEX && item->kind != STMT_CALL)
        buf_thing(&thing, d->t->input, &d->t->input->tail->things[item->thing]);
    cell_text(d->t->book, &row[DRILL_THING], buf_view(&thing));
    cell_text(d->t->book, &row[DRILL_STATE], words);
    put_source(d->t, &row[DRILL_SOURCE], item);
    for (size_t i = 0; i < d->card.numbers.n; i++)
        if (d->card.numbers.at[i].item == item)
            cell_count(d->t->book, &row[DRILL_NUMBER], d->card.numbers.at[i].number);
}

static void heart_rows(DrillRows *d, const Item *items, bool by_heart, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        bool inside = by_heart || item->kind == STMT_MEMORY;
        if (by_heart && item->kind != STMT_CASES && item->kind != STMT_GO)
            thing_row(d, "by heart", item, item_words(d->t->input, item));
        heart_rows(d, item->body, inside, depth + 1);
    }
}

static void end_row(DrillRows *d, const ItemAction *action) {
    if (!action || (action->kind != ACTION_END && action->kind != ACTION_TURN_TO)) return;
    Card card = {.input = d->t->input, .arena = d->t->arena, .marks = d->t->cards.marks, .turns_to = NO_INDEX};
    Buf buf = {d->t->arena, NULL, 0, 0};
    buf_action(&buf, &card, action);
    BookCell *row = new_row(d, action->kind == ACTION_END ? "end" : "turns to");
    cell_text(d->t->book, &row[DRILL_STATE], buf_view(&buf));
    if (card.turns_to != NO_INDEX) cell_link(d->t->book, &row[DRILL_STATE], row_of_drill(d->t, card.turns_to));
}

static void end_rows(DrillRows *d, const Item *items, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        if (item->kind == STMT_GO) end_row(d, item->go);
        end_rows(d, item->body, depth + 1);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
            end_row(d, &outcome->action);
            if (outcome->action.kind == ACTION_BLOCK) end_rows(d, outcome->action.block, depth + 1);
        }
    }
}

static void left_rows(DrillRows *d) {
    const Item **last;
    size_t n = drill_left_as(&d->t->cards, d->drill, &last);
    d->card.numbers.n = 0;
    for (size_t i = 0; i < n; i++)
        thing_row(d, "left as", last[i], d->t->input->tail->things[last[i]->thing].positions[last[i]->position].print);
}

void drills_add(TailBook *t) {
    for (uint32_t i = 0; i < t->input->tail->n_drills; i++) {
        const Drill *drill = &t->input->tail->drills[i];
        DrillRows d = {.t = t, .index = i, .drill = drill, .card = {.input = t->input, .arena = t->arena}};
        card_number_items(&d.card, drill->items);
        test_row(&d, "when", drill->cue, "another card turns to it");
        if (drill->armed) test_row(&d, "from", drill->armed, "");
        heart_rows(&d, drill->items, false, 0);
        end_rows(&d, drill->items, 0);
        left_rows(&d);
    }
}
