/* The sheet of limits: bands, values, duty and pace of each tail, held against its aircraft's own; and the times in its lines. */
#include "back/workbook.h"
#include "sema/numbers.h"

enum {
    LIMIT_TAIL,
    LIMIT_KIND,
    LIMIT_WHAT,
    LIMIT_NUMBER,
    LIMIT_UNIT,
    LIMIT_ROOM,
    LIMIT_AIRCRAFT,
    LIMIT_AIRCRAFT_UNIT,
    LIMIT_AGAINST,
    LIMIT_SOURCE,
    LIMIT_NOTE,
    LIMIT_GIVEN,
    LIMIT_PLACE,
    LIMIT_COLUMNS
};

void limits_columns(Workbook *workbook) {
    static const BookMark against[] = {
        {BOOK_IS, TONE_ALARM, "LOOSER", NULL, 0}, {BOOK_IS, TONE_CHANGED, "tighter", NULL, 0},
        {BOOK_IS, TONE_OPEN, "other", NULL, 0},   {BOOK_IS, TONE_OPEN, "new", NULL, 0},
        {BOOK_IS, TONE_OPEN, "gone", NULL, 0},    {BOOK_IS, TONE_QUIET, "same", NULL, 0}};
    static const BookMark sources[] = {{BOOK_IS, TONE_OPEN, "no source is named", NULL, 0}};
    const BookColumn columns[LIMIT_COLUMNS] = {
        [LIMIT_TAIL] = {.title = STR("Tail"), .width = 8},
        [LIMIT_KIND] = {.title = STR("Kind"), .width = 9},
        [LIMIT_WHAT] = {.title = STR("Limit"), .width = 44},
        [LIMIT_NUMBER] = {.title = STR("Number"), .width = 9, .name = "limits"},
        [LIMIT_UNIT] = {.title = STR("Unit"), .width = 7},
        [LIMIT_ROOM] = {.title = STR("More room is"), .width = 9},
        [LIMIT_AIRCRAFT] = {.title = STR("Aircraft's"), .width = 10},
        [LIMIT_AIRCRAFT_UNIT] = {.title = STR("Aircraft's unit"), .width = 9},
        [LIMIT_AGAINST] = {.title = STR("Against it"),
                           .width = 9,
                           .marks = against,
                           .n_marks = sizeof against / sizeof *against},
        [LIMIT_SOURCE] = {.title = STR("Source"), .width = 34, .marks = sources, .n_marks = 1},
        [LIMIT_NOTE] = {.title = STR("Note"), .width = 20},
        [LIMIT_GIVEN] = {.title = STR("Given by"), .width = 14},
        [LIMIT_PLACE] = {.title = STR("Line of the text"), .width = 40}};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_LIMITS, "Limits", "Limits",
        "Every number that the aircraft gives, and every time in its lines. \"More room is\": which way the "
        "number lets more happen. \"Against it\": held against the aircraft by its own text.",
        "No limit is given.");
    sheet->frozen = LIMIT_NUMBER;
    sheet->printed = LIMIT_PLACE;
    sheet_columns(&workbook->book, sheet, columns, LIMIT_COLUMNS);
}

static BookCell *new_row(TailBook *t, Str kind, Str what) {
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_LIMITS]);
    cell_text(t->book, &row[LIMIT_TAIL], t->tail);
    cell_text(t->book, &row[LIMIT_KIND], kind);
    cell_text(t->book, &row[LIMIT_WHAT], what);
    return row;
}

static void put_source(const TailBook *t, BookCell *row, const Why *why) {
    Str source = why_source(t, why, true);
    cell_text(t->book, &row[LIMIT_SOURCE], source.len ? source : STR("no source is named"));
    cell_text(t->book, &row[LIMIT_NOTE], why_because(t, why, NO_INDEX));
}

static Str kind_of(const TailNumber *number) {
    static const char *const kinds[] = {"band", "duty", "pace", "value"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (str_starts(number->key, str_of(kinds[i]))) return str_of(kinds[i]);
    return STR("");
}

static const char *room_words(NumberRoom room) {
    return room == ROOM_ABOVE ? "higher" : room == ROOM_BELOW ? "lower" : "not known";
}

static const char *against_words(NumberChange change) {
    switch (change) {
    case NUMBER_SAME: return "same";
    case NUMBER_TIGHTER: return "tighter";
    case NUMBER_LOOSER: return "LOOSER";
    case NUMBER_OTHER: return "other";
    }
    return "";
}

static void put_against(const TailBook *t, BookCell *row, const TailNumber *number, const TailNumbers *aircraft) {
    const TailNumber *theirs = number_find(aircraft, number->key);
    if (theirs) put_quantity_cells(t, &row[LIMIT_AIRCRAFT], &row[LIMIT_AIRCRAFT_UNIT], theirs->measure, theirs->amount);
    cell_text(t->book, &row[LIMIT_AGAINST], str_of(theirs ? against_words(number_change(theirs, number)) : "new"));
}

static void number_row(TailBook *t, const TailNumber *number, const TailNumbers *aircraft) {
    BookCell *row = new_row(t, kind_of(number), number->what);
    put_quantity_cells(t, &row[LIMIT_NUMBER], &row[LIMIT_UNIT], number->measure, number->amount);
    cell_text(t->book, &row[LIMIT_ROOM], str_of(room_words(number->room)));
    if (aircraft) put_against(t, row, number, aircraft);
    put_source(t, row, number->craft ? number->craft->why : NULL);
    if (number->given_by)
        cell_text(t->book, &row[LIMIT_GIVEN], name_text(t->input->job->names, number->given_by->name.name));
    if (number->craft) cell_text(t->book, &row[LIMIT_PLACE], words_place(t, number->craft->span));
}

void limit_of_item(TailBook *t, Str where, Str what, int64_t ms, bool at_most, const Why *why, Str item) {
    BookCell *row = new_row(t, STR("line"), TAIL_WORDS(t, "%S: %S", where, what));
    cell_link(t->book, &row[LIMIT_KIND], item);
    put_ms(t, &row[LIMIT_NUMBER], ms);
    cell_text(t->book, &row[LIMIT_UNIT], STR("s"));
    cell_text(t->book, &row[LIMIT_ROOM], str_of(room_words(at_most ? ROOM_ABOVE : ROOM_BELOW)));
    put_source(t, row, why);
}

/* The aircraft gives it, and this tail does not. */
static void gone_row(TailBook *t, const TailNumber *theirs) {
    BookCell *row = new_row(t, kind_of(theirs), theirs->what);
    put_quantity_cells(t, &row[LIMIT_AIRCRAFT], &row[LIMIT_AIRCRAFT_UNIT], theirs->measure, theirs->amount);
    cell_text(t->book, &row[LIMIT_AGAINST], STR("gone"));
    put_source(t, row, theirs->craft ? theirs->craft->why : NULL);
}

void limits_add(TailBook *t) {
    const Tail *tail = t->input->tail;
    TailNumbers numbers = tail_numbers(t->input->job, tail), aircraft = {0};
    if (tail->handbook) aircraft = tail_numbers(t->input->job, tail->handbook);
    for (size_t i = 0; i < numbers.n; i++) number_row(t, &numbers.at[i], tail->handbook ? &aircraft : NULL);
    for (size_t i = 0; i < aircraft.n; i++)
        if (!number_find(&numbers, aircraft.at[i].key)) gone_row(t, &aircraft.at[i]);
}
