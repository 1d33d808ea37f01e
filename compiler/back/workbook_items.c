/* The sheet of items: every line of every procedure and drill of each tail, its numbers in cells of their own. What belongs to a line but
   does not fit into its row (further parts of a condition, further ways out, further cases of a time) has rows below it. */
#include "back/workbook.h"
#include "base/limits.h"
#include "front/front.h"

enum {
    ITEM_TAIL,
    ITEM_OF,
    ITEM_PHASE,
    ITEM_NUMBER,
    ITEM_IF,
    ITEM_KIND,
    ITEM_THING,
    ITEM_STATE,
    ITEM_LEAST,
    ITEM_MOST,
    ITEM_UNIT,
    ITEM_WITHIN,
    ITEM_AFTER,
    ITEM_ELSE,
    ITEM_DRILL,
    ITEM_BY,
    ITEM_SOURCE,
    ITEM_NOTE,
    ITEM_ID,
    ITEM_PLACE,
    ITEM_COLUMNS
};

void items_columns(Workbook *workbook) {
    static const BookMark kinds[] = {{BOOK_IS, TONE_ALARM, "warning", NULL, 0},
                                     {BOOK_IS, TONE_OPEN, "caution", NULL, 0},
                                     {BOOK_IS, TONE_QUIET, "not fitted", NULL, 0},
                                     {BOOK_BEGINS, TONE_OPEN, "INOP", NULL, 0}};
    const BookColumn columns[ITEM_COLUMNS] = {
        [ITEM_TAIL] = {.title = STR("Tail"), .width = 8},
        [ITEM_OF] = {.title = STR("Procedure or drill"), .width = 16},
        [ITEM_PHASE] = {.title = STR("Phase"), .width = 12},
        [ITEM_NUMBER] = {.title = STR("No on card"), .width = 6},
        [ITEM_IF] = {.title = STR("Only if"), .width = 16},
        [ITEM_KIND] = {.title = STR("Kind"), .width = 9, .marks = kinds, .n_marks = sizeof kinds / sizeof *kinds},
        [ITEM_THING] = {.title = STR("Thing"), .width = 18},
        [ITEM_STATE] = {.title = STR("State"), .width = 30},
        [ITEM_LEAST] = {.title = STR("At least"), .width = 7},
        [ITEM_MOST] = {.title = STR("At most"), .width = 7},
        [ITEM_UNIT] = {.title = STR("Unit"), .width = 6},
        [ITEM_WITHIN] = {.title = STR("Within, s"), .width = 7},
        [ITEM_AFTER] = {.title = STR("Counted from"), .width = 11},
        [ITEM_ELSE] = {.title = STR("Else"), .width = 24},
        [ITEM_DRILL] = {.title = STR("Drill"), .width = 7},
        [ITEM_BY] = {.title = STR("By"), .width = 8},
        [ITEM_SOURCE] = {.title = STR("Source"), .width = 32},
        [ITEM_NOTE] = {.title = STR("Note"), .width = 24},
        [ITEM_ID] = {.title = STR("Id"), .width = 50},
        [ITEM_PLACE] = {.title = STR("Line of the text"), .width = 40}};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_ITEMS, "Items", "Items",
        "Every line of every procedure and drill, in order, with its numbers and what it rests on. \"and\", "
        "\"or\", \"if\", \"else\": goes on with the line above.",
        "No line stands in any procedure.");
    sheet->frozen = ITEM_NUMBER;
    sheet->printed = ITEM_ID;
    sheet_columns(&workbook->book, sheet, columns, ITEM_COLUMNS);
}

typedef struct {
    TailBook *t;
    BookSheet *sheet;
    Card card; /* of the procedure or drill: numbers, marks */
    Name home; /* its name */
    Str title, phase;
    Str first;        /* the name of its first row; empty: it has none */
    uint32_t page;    /* of the cards, on which it begins; 0: none */
    Str only_if;      /* what must hold where the lines stand that are walked */
    const Item *when; /* whose first branch comes next; NULL */
} ItemWalk;

static BookCell *new_row(ItemWalk *w) {
    BookCell *row = sheet_row(w->t->book, w->sheet);
    if (w->first.len) sheet_row_name(w->t->book, w->sheet, w->first);
    w->first = STR("");
    cell_text(w->t->book, &row[ITEM_TAIL], w->t->tail);
    cell_text(w->t->book, &row[ITEM_OF], w->title);
    cell_text(w->t->book, &row[ITEM_PHASE], w->phase);
    cell_text(w->t->book, &row[ITEM_IF], w->only_if);
    return row;
}

/* ---- numbers in conditions ---- */

typedef struct {
    bool has_lo, has_hi;
    Rational lo, hi; /* in base units */
    const Measure *measure;
} Ends;

static bool amount_read(const TailBook *t, Amount amount, Word unit, Rational *base, const Measure **measure) {
    Rational value;
    if (!amount.number.hi || !rational_parse(span_text(t->input->job->sources, amount.number), &value)) return false;
    *measure = unit.name ? measure_find(name_text(t->input->job->names, unit.name)) : NULL;
    *base = *measure ? measure_to_base(*measure, value) : value;
    return true;
}

/* False: a name that has several cases, or none. */
static bool measured_read(const TailBook *t, const Measured *measured, Rational *base, const Measure **measure) {
    if (!measured->name.name) return amount_read(t, measured->amount, measured->amount.unit, base, measure);
    const Value *found = NULL;
    for (uint32_t i = 0; i < t->input->tail->n_values; i++) {
        const Value *value = &t->input->tail->values[i];
        if (value->name != measured->name.name) continue;
        if (found) return false;
        found = value;
    }
    if (found) *base = found->amount, *measure = found->measure;
    return found != NULL;
}

static void set_lo(Ends *ends, Rational lo) {
    ends->has_lo = true;
    ends->lo = lo;
}
static void set_hi(Ends *ends, Rational hi) {
    ends->has_hi = true;
    ends->hi = hi;
}

static void band_ends(const Thing *thing, Name name, Ends *ends) {
    for (uint32_t i = 0; i < thing->n_bands; i++) {
        const Band *band = &thing->bands[i];
        if (band->name != name || band->when) continue;
        ends->measure = band->measure;
        if (band->has_lo) set_lo(ends, band->lo);
        if (band->has_hi) set_hi(ends, band->hi);
        return;
    }
}

static Ends test_ends(const TailBook *t, const Test *test) {
    Ends ends = {0};
    const Cond *cond = test->kind == TEST_FACT ? test->written : NULL;
    const Thing *thing = cond ? test_thing(t->input, test) : NULL;
    Rational base;
    if (!thing || thing->kind != THING_GAUGE) return ends;
    if (cond->kind == COND_IS && !cond->negated) band_ends(thing, cond->word.name, &ends);
    if (cond->kind == COND_COMPARE && measured_read(t, cond->measured, &base, &ends.measure)) {
        if (cond->comparison == COMPARE_AT_LEAST || cond->comparison == COMPARE_ABOVE) set_lo(&ends, base);
        else set_hi(&ends, base);
    }
    if (cond->kind == COND_RANGE) {
        Word unit = cond->range->hi.unit.name ? cond->range->hi.unit : cond->range->lo.unit;
        Word lo_unit = cond->range->lo.unit.name ? cond->range->lo.unit : unit;
        if (amount_read(t, cond->range->lo, lo_unit, &base, &ends.measure)) set_lo(&ends, base);
        if (amount_read(t, cond->range->hi, unit, &base, &ends.measure)) set_hi(&ends, base);
    }
    return ends;
}

static void put_ends(const TailBook *t, BookCell *row, Ends ends) {
    if (ends.has_lo) put_quantity_cells(t, &row[ITEM_LEAST], &row[ITEM_UNIT], ends.measure, ends.lo);
    if (ends.has_hi) put_quantity_cells(t, &row[ITEM_MOST], &row[ITEM_UNIT], ends.measure, ends.hi);
}

/* ---- conditions ---- */

static void put_test(ItemWalk *w, BookCell *row, const Test *test) {
    Buf thing = {w->t->arena, NULL, 0, 0}, state = thing;
    const Thing *of = test_thing(w->t->input, test);
    if (of && of->kind == THING_CALL) of = NULL; /* what is heard stands for itself */
    if (of) buf_thing(&thing, w->t->input, of);
    if (of) buf_wanted(&state, w->t->input, test);
    else buf_test(&state, w->t->input, test);
    cell_text(w->t->book, &row[ITEM_THING], buf_view(&thing));
    cell_text(w->t->book, &row[ITEM_STATE], buf_view(&state));
    put_ends(w->t, row, test_ends(w->t, test));
}

static bool joins(const Test *test) {
    return (test->kind == TEST_AND || test->kind == TEST_OR) && test->parts && test->parts->next;
}

static const Test *single(const Test *test) {
    while ((test->kind == TEST_AND || test->kind == TEST_OR) && test->parts && !test->parts->next) test = test->parts;
    return test;
}

static bool has_gauge(const TailBook *t, const Test *test, uint32_t depth) {
    if (depth > 2 * LIMIT_NESTING) return false;
    Ends ends = test_ends(t, test);
    if (ends.has_lo || ends.has_hi) return true;
    for (const Test *part = test->parts; part; part = part->next)
        if (has_gauge(t, part, depth + 1)) return true;
    return false;
}

/* Numbers of a condition that has several parts, each in a row of its own. */
static void part_rows(ItemWalk *w, const Test *test, uint32_t depth) {
    if (depth > 2 * LIMIT_NESTING || !has_gauge(w->t, test, depth)) return;
    for (const Test *part = test->parts; part; part = part->next) {
        const Test *one = single(part);
        Ends ends = test_ends(w->t, one);
        if (ends.has_lo || ends.has_hi) {
            BookCell *row = new_row(w);
            cell_text(w->t->book, &row[ITEM_KIND], test->kind == TEST_OR ? STR("or") : STR("and"));
            put_test(w, row, one);
        } else part_rows(w, one, depth + 1);
    }
}

/* "Oil pressure at least 25 psi" is one row; of "A and B" the whole stands in the first. */
static void put_cond(ItemWalk *w, BookCell *row, const char *lead, const Test *cond) {
    if (!cond) return;
    const Test *test = single(cond);
    if (!*lead && !joins(test)) {
        put_test(w, row, test);
        return;
    }
    Buf state = {w->t->arena, NULL, 0, 0};
    buf_text(&state, lead);
    buf_test(&state, w->t->input, test);
    cell_text(w->t->book, &row[ITEM_STATE], buf_view(&state));
    if (!joins(test)) put_ends(w->t, row, test_ends(w->t, test));
}

/* ---- what comes next ---- */

/* The link stands in a cell of its own: not every program breaks the lines of one. */
static void put_action(ItemWalk *w, BookCell *row, const ItemAction *action) {
    Buf buf = {w->t->arena, NULL, 0, 0};
    w->card.turns_to = NO_INDEX;
    if (action->kind == ACTION_BLOCK) buf_text(&buf, "the lines below");
    else buf_action(&buf, &w->card, action);
    cell_text(w->t->book, &row[ITEM_ELSE], buf_view(&buf));
    if (w->card.turns_to == NO_INDEX) return;
    uint32_t mark = w->card.marks[w->card.turns_to];
    cell_text(w->t->book, &row[ITEM_DRILL], mark ? TAIL_WORDS(w->t, "D%u", (uint64_t)mark) : STR("drill"));
    cell_link(w->t->book, &row[ITEM_DRILL], row_of_drill(w->t, w->card.turns_to));
    w->card.turns_to = NO_INDEX;
}

static void outcome_row(ItemWalk *w, const ItemOutcome *outcome) {
    BookCell *row = new_row(w);
    cell_text(w->t->book, &row[ITEM_KIND], outcome->cond ? STR("if") : STR("else"));
    put_cond(w, row, "", outcome->cond);
    put_action(w, row, &outcome->action);
    if (outcome->cond && joins(single(outcome->cond))) part_rows(w, single(outcome->cond), 0);
}

/* ---- times ---- */

static Str case_words(const ItemWalk *w, const Duration *time, uint32_t index) {
    Buf buf = {w->t->arena, NULL, 0, 0};
    if (time->cases[index].when) {
        buf_text(&buf, "when ");
        buf_test(&buf, w->t->input, time->cases[index].when);
    }
    return buf_view(&buf);
}

static Str item_row_name(const ItemWalk *w) {
    return format_text(w->t->arena, NULL, "item/%u", (uint64_t)w->sheet->rows.n);
}

/* Each case of a time in the column; the first beside the item, the others below it. */
static void put_time(ItemWalk *w, BookCell *row, const Item *item, const Duration *time, uint32_t column,
                     const char *what) {
    for (uint32_t i = 0; i < time->n; i++) {
        Str when = case_words(w, time, i);
        if (i || when.len) {
            row = new_row(w);
            cell_text(w->t->book, &row[ITEM_KIND], STR("time"));
            cell_text(w->t->book, &row[ITEM_STATE], when);
        }
        put_ms(w->t, &row[column], time->cases[i].ms);
        if (column != ITEM_WITHIN) cell_text(w->t->book, &row[ITEM_UNIT], STR("s"));
        Item bare = *item;
        bare.outcomes = NULL;
        if (column == ITEM_WITHIN) bare.limit.n = 0;
        Buf where = {w->t->arena, NULL, 0, 0};
        buf_format(&where, NULL, "%S: %S%s%S", w->title, item_words(w->t->input, &bare), when.len ? ", " : "", when);
        Str name = item_row_name(w);
        sheet_row_name(w->t->book, w->sheet, name);
        limit_of_item(w->t, buf_view(&where), str_of(what), time->cases[i].ms, column != ITEM_LEAST,
                      item->stmt && item->stmt->why && item->stmt->why->source.name ? item->stmt->why : item->around,
                      name);
    }
}

/* ---- one item ---- */

static const char *kind_words(const Item *item) {
    static const char *const words[] = {
        [STMT_SET] = "set",        [STMT_CHECK] = "check", [STMT_EXPECT] = "expect",   [STMT_LOOK] = "look",
        [STMT_CALL] = "call",      [STMT_BRIEF] = "brief", [STMT_WAIT] = "wait",       [STMT_CRANK] = "crank",
        [STMT_TRY] = "retry",      [STMT_HOLD] = "hold",   [STMT_RELEASE] = "free",    [STMT_WATCH] = "watch",
        [STMT_PLAIN] = "do",       [STMT_NOTE] = "note",   [STMT_CAUTION] = "caution", [STMT_WARNING] = "warning",
        [STMT_CASES] = "one of",   [STMT_CASE] = "if",     [STMT_GO] = "go",           [STMT_PHASE] = "phase",
        [STMT_MEMORY] = "by heart"};
    if (item->inoperative) return "INOP";
    return item->kind < sizeof words / sizeof *words && words[item->kind] ? words[item->kind] : "";
}

static void put_thing(ItemWalk *w, BookCell *row, const Item *item) {
    Buf buf = {w->t->arena, NULL, 0, 0};
    if (item->stmt && item->stmt->why && item->stmt->why->as.span.hi)
        buf_filled(&buf, w->t->input, item->stmt->why->as, item->engine);
    else if (item->thing != NO_INDEX && item->kind != STMT_CALL)
        buf_thing(&buf, w->t->input, &w->t->input->tail->things[item->thing]);
    cell_text(w->t->book, &row[ITEM_THING], buf_view(&buf));
}

/* What the card says, without what has cells of its own. */
static void put_words(ItemWalk *w, BookCell *row, const Item *item) {
    Item bare = *item;
    bare.outcomes = NULL;
    bare.body = bare.between = NULL;
    if (item->kind == STMT_CALL) bare.limit.n = 0;
    cell_text(w->t->book, &row[ITEM_STATE], item_words(w->t->input, &bare));
}

static void put_position(ItemWalk *w, BookCell *row, const Item *item) {
    const Thing *thing = &w->t->input->tail->things[item->thing];
    if (item->position != NO_INDEX) cell_text(w->t->book, &row[ITEM_STATE], thing->positions[item->position].print);
    if (!item->count) return;
    cell_count(w->t->book, &row[ITEM_LEAST], item->count);
    cell_count(w->t->book, &row[ITEM_MOST], item->count);
    cell_text(w->t->book, &row[ITEM_UNIT], STR("times"));
}

static void put_state(ItemWalk *w, BookCell *row, const Item *item) {
    switch (item->kind) {
    case STMT_SET:
    case STMT_LOOK:
        put_thing(w, row, item);
        if (item->thing != NO_INDEX && item->position != NO_INDEX) put_position(w, row, item);
        else put_words(w, row, item);
        return;
    case STMT_CHECK:
    case STMT_EXPECT: put_cond(w, row, "", item->cond); return;
    case STMT_CASE:
    case STMT_TRY:
        put_cond(w, row, item->kind == STMT_TRY ? "until " : "", item->cond);
        if (!item->cond && item->kind == STMT_CASE) cell_text(w->t->book, &row[ITEM_STATE], STR("none of these"));
        if (item->passes) {
            cell_count(w->t->book, &row[ITEM_MOST], item->passes);
            cell_text(w->t->book, &row[ITEM_UNIT], STR("tries"));
        }
        return;
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
    case STMT_BRIEF: put_thing(w, row, item); return;
    case STMT_CRANK:
        put_thing(w, row, item);
        put_cond(w, row, "until ", item->cond);
        if (!item->cond) put_words(w, row, item);
        return;
    case STMT_GO: put_action(w, row, item->go); return;
    case STMT_CALL:
    case STMT_WAIT:
    case STMT_PLAIN:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_PHASE:
    case STMT_MEMORY:
    case STMT_CASES: put_words(w, row, item); return;
    case STMT_BAD:
    case STMT_WHEN:
    case STMT_FOR:
    case STMT_DO:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING: return;
    }
}

static uint32_t card_number(const ItemWalk *w, const Item *item) {
    for (size_t i = 0; i < w->card.numbers.n; i++)
        if (w->card.numbers.at[i].item == item) return w->card.numbers.at[i].number;
    return 0;
}

static void put_rests(ItemWalk *w, BookCell *row, const Item *item) {
    const Why *own = item->stmt ? item->stmt->why : NULL;
    bool named = own && own->source.name;
    cell_text(w->t->book, &row[ITEM_SOURCE], why_source(w->t, named ? own : item->around, named));
    cell_text(w->t->book, &row[ITEM_NOTE], why_because(w->t, own, item->engine));
    const Item *first = w->when && item->kind == STMT_CASE ? w->when : item;
    w->when = NULL;
    if (first->named)
        cell_text(w->t->book, &row[ITEM_ID],
                  format_text(w->t->arena, w->t->input->job->names, "%N.%N", w->home, first->named));
    cell_text(w->t->book, &row[ITEM_PLACE], words_place(w->t, item->span));
}

static void put_who(ItemWalk *w, BookCell *row, const Item *item) {
    if (item->person == NO_INDEX) return;
    Buf buf = {w->t->arena, NULL, 0, 0};
    buf_thing(&buf, w->t->input, &w->t->input->tail->things[item->person]);
    cell_text(w->t->book, &row[ITEM_BY], buf_view(&buf));
}

static void item_row(ItemWalk *w, const Item *item) {
    BookCell *row = new_row(w);
    uint32_t number = card_number(w, item);
    const ItemOutcome *outcome = item->outcomes;
    if (number) cell_count(w->t->book, &row[ITEM_NUMBER], number);
    if (number) cell_link_page(w->t, &row[ITEM_NUMBER], w->page);
    cell_text(w->t->book, &row[ITEM_KIND], str_of(kind_words(item)));
    put_state(w, row, item);
    put_who(w, row, item);
    put_rests(w, row, item);
    if (item->after) {
        Buf after = {w->t->arena, NULL, 0, 0};
        buf_event(&after, w->t->input, item->after);
        cell_text(w->t->book, &row[ITEM_AFTER], buf_view(&after));
    }
    if (outcome && !outcome->cond) {
        put_action(w, row, &outcome->action);
        outcome = outcome->next;
    }
    bool crank = item->kind == STMT_CRANK;
    put_time(w, row, item, &item->limit, crank ? ITEM_MOST : ITEM_WITHIN, crank ? "on, at most" : "within");
    put_time(w, row, item, &item->least, ITEM_LEAST, "at least");
    put_time(w, row, item, &item->most, ITEM_MOST, "at most");
    if (item->cond && item->kind != STMT_CASES && joins(single(item->cond))) part_rows(w, single(item->cond), 0);
    for (; outcome; outcome = outcome->next) outcome_row(w, outcome);
}

/* ---- all of them ---- */

/* A phase is a column; of `when` the branches have rows, but the one in which nothing is done. */
static bool has_row(const Item *item) {
    if (item->kind == STMT_PHASE) return false;
    if (item->kind == STMT_CASES) return !item->stmt || item->stmt->kind != STMT_WHEN;
    return item->kind != STMT_CASE || item->body || item->go || item->outcomes;
}

static Str condition_words(const ItemWalk *w, const Item *item) {
    Buf buf = {w->t->arena, NULL, 0, 0};
    if (w->only_if.len) buf_format(&buf, NULL, "%S; ", w->only_if);
    if (item->cond) buf_test(&buf, w->t->input, item->cond);
    else buf_text(&buf, "none of the others");
    return buf_view(&buf);
}

static void walk(ItemWalk *w, const Item *items, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        Str outside = w->phase, only_if = w->only_if;
        if (item->kind == STMT_CASES && item->stmt && item->stmt->kind == STMT_WHEN) w->when = item;
        if (item->kind == STMT_PHASE) w->phase = text_filled(w->t, item->stmt->more->text);
        if (has_row(item)) item_row(w, item);
        if (item->kind == STMT_TRY) w->card.retry_head = item->body;
        if (item->kind == STMT_CASE) w->only_if = condition_words(w, item);
        walk(w, item->body, depth + 1);
        walk(w, item->between, depth + 1);
        w->only_if = only_if;
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.kind == ACTION_BLOCK) walk(w, outcome->action.block, depth + 1);
        w->phase = outside;
    }
}

static void dropped_rows(ItemWalk *w, Item *const *dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        BookCell *row = new_row(w);
        Buf words = {w->t->arena, NULL, 0, 0};
        print_stmt_head(&words, w->t->input->job, dropped[i]->stmt);
        cell_text(w->t->book, &row[ITEM_KIND], STR("not fitted"));
        cell_text(w->t->book, &row[ITEM_STATE], buf_view(&words));
        put_rests(w, row, dropped[i]);
    }
}

static void walk_all(ItemWalk *w, const Item *items, Item *const *dropped, uint32_t n_dropped) {
    w->card = (Card){.input = w->t->input, .arena = w->t->arena, .marks = w->t->cards.marks, .turns_to = NO_INDEX};
    card_number_items(&w->card, items);
    walk(w, items, 0);
    dropped_rows(w, dropped, n_dropped);
}

void items_add(TailBook *t) {
    const Tail *tail = t->input->tail;
    ItemWalk w = {.t = t, .sheet = t->workbook->sheets[SHEET_ITEMS]};
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        const Procedure *procedure = &tail->procedures[p];
        w.title = procedure->title;
        w.home = procedure->name;
        w.page = page_of_procedure(t, p);
        w.first = row_of_procedure(t, p);
        walk_all(&w, procedure->items, procedure->dropped, procedure->n_dropped);
    }
    for (uint32_t d = 0; d < tail->n_drills; d++) {
        const Drill *drill = &tail->drills[d];
        Str engine = engine_of(t, drill->engine);
        w.title = engine.len ? TAIL_WORDS(t, "%S (%S)", drill->title, engine) : drill->title;
        w.home = drill->name;
        w.page = page_of_drill(t, d);
        w.first = STR("");
        walk_all(&w, drill->items, drill->dropped, drill->n_dropped);
    }
}
