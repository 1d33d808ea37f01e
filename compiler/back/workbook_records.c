/* The sheets made of records: the comparison with the handbook's own lines, the deviations from the aircraft, what the document says has
   changed. */
#include "back/record.h"
#include "back/workbook.h"

/* A record's column goes into the sheet's column; those that are not named here are left out. */
typedef struct {
    const char *title;
    uint32_t column;
} Goes;

static uint32_t goes_into(const Goes *goes, size_t n, const char *title) {
    for (size_t i = 0; i < n; i++)
        if (str_eq(str_of(goes[i].title), str_of(title))) return goes[i].column;
    return NO_INDEX;
}

/* ---- deviations ---- */
enum {
    DEVIATION_TAIL,
    DEVIATION_NO,
    DEVIATION_PART,
    DEVIATION_WHERE,
    DEVIATION_WHAT,
    DEVIATION_FROM,
    DEVIATION_FROM_NUMBER,
    DEVIATION_FROM_UNIT,
    DEVIATION_TO,
    DEVIATION_TO_NUMBER,
    DEVIATION_TO_UNIT,
    DEVIATION_REASON,
    DEVIATION_WHO,
    DEVIATION_RESULT,
    DEVIATION_INITIALS,
    DEVIATION_COLUMNS
};

static void deviation_columns(Workbook *workbook) {
    static const BookMark what[] = {
        {BOOK_IS, TONE_ALARM, "LOOSER", NULL, 0},          {BOOK_BEGINS, TONE_ALARM, "WARNING OR NOTE", NULL, 0},
        {BOOK_BEGINS, TONE_ALARM, "INOPERATIVE", NULL, 0}, {BOOK_BEGINS, TONE_OPEN, "left out", NULL, 0},
        {BOOK_BEGINS, TONE_OPEN, "until", NULL, 0},        {BOOK_NEITHER_NOR, TONE_CHANGED, "tighter", "same", 0}};
    static const BookMark reasons[] = {{BOOK_IS, TONE_ALARM, "NO REASON IS GIVEN", NULL, 0}};
    static const BookMark who[] = {{BOOK_IS, TONE_ALARM, "NOBODY IS NAMED", NULL, 0}};
    const BookColumn columns[DEVIATION_COLUMNS] = {
        [DEVIATION_TAIL] = {.title = STR("Tail"), .width = 8},
        [DEVIATION_NO] = {.title = STR("No"), .width = 5},
        [DEVIATION_PART] = {.title = STR("Part"), .width = 11},
        [DEVIATION_WHERE] = {.title = STR("Where"), .width = 22},
        [DEVIATION_WHAT] = {.title = STR("What"), .width = 12, .marks = what, .n_marks = sizeof what / sizeof *what},
        [DEVIATION_FROM] = {.title = STR("Aircraft's"), .width = 28},
        [DEVIATION_FROM_NUMBER] = {.title = STR("Its number"), .width = 8},
        [DEVIATION_FROM_UNIT] = {.title = STR("Its unit"), .width = 6},
        [DEVIATION_TO] = {.title = STR("This tail's"), .width = 28},
        [DEVIATION_TO_NUMBER] = {.title = STR("Number"), .width = 8},
        [DEVIATION_TO_UNIT] = {.title = STR("Unit"), .width = 6},
        [DEVIATION_REASON] = {.title = STR("Reason (source)"), .width = 30, .marks = reasons, .n_marks = 1},
        [DEVIATION_WHO] = {.title = STR("Who"), .width = 14, .marks = who, .n_marks = 1},
        [DEVIATION_RESULT] = sign_column(FILL_CHOICE, "Looked at", 12),
        [DEVIATION_INITIALS] = sign_column(FILL_INITIALS, "Initials", 8)};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_DEVIATIONS, "Deviations", "Deviations",
        "Each difference between a tail and its aircraft by the aircraft's own text, with its reason, its "
        "source and who answers for it. \"LOOSER\": it lets more happen than the aircraft's number does.",
        "No tail differs from its aircraft by the aircraft's own text, and nothing is waived.");
    sheet->frozen = DEVIATION_PART;
    sheet_columns(&workbook->book, sheet, columns, DEVIATION_COLUMNS);
}

static void put_record_number(const TailBook *t, BookCell *number, BookCell *unit, RecordNumber from) {
    if (from.given) put_quantity_cells(t, number, unit, from.measure, from.amount);
}

static void deviation_row(TailBook *t, const RecordPart *table, const RecordRow *from, Str part) {
    static const Goes goes[] = {{"No", DEVIATION_NO},
                                {"Number", DEVIATION_WHERE},
                                {"Procedure, phase", DEVIATION_WHERE},
                                {"Equipment", DEVIATION_WHERE},
                                {"Rule waived", DEVIATION_WHERE},
                                {"Room", DEVIATION_WHAT},
                                {"What", DEVIATION_WHAT},
                                {"Stands", DEVIATION_WHAT},
                                {"Until", DEVIATION_WHAT},
                                {"Aircraft", DEVIATION_FROM},
                                {"Aircraft [its source]", DEVIATION_FROM},
                                {"This tail", DEVIATION_TO},
                                {"Lines left out, or INOP", DEVIATION_TO},
                                {"At", DEVIATION_TO},
                                {"Reason (source)", DEVIATION_REASON},
                                {"Reason", DEVIATION_REASON},
                                {"Who", DEVIATION_WHO}};
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_DEVIATIONS]);
    cell_text(t->book, &row[DEVIATION_TAIL], t->tail);
    cell_text(t->book, &row[DEVIATION_PART], part);
    for (size_t c = 0; c < table->n_columns; c++) {
        uint32_t into = goes_into(goes, sizeof goes / sizeof *goes, table->columns[c].title);
        bool until = into == DEVIATION_WHAT && str_eq(str_of(table->columns[c].title), STR("Until"));
        if (into != NO_INDEX)
            cell_text(t->book, &row[into], until ? TAIL_WORDS(t, "until %S", from->cells[c]) : from->cells[c]);
    }
    put_record_number(t, &row[DEVIATION_FROM_NUMBER], &row[DEVIATION_FROM_UNIT], from->from);
    put_record_number(t, &row[DEVIATION_TO_NUMBER], &row[DEVIATION_TO_UNIT], from->to);
}

static Str part_of(Str head) {
    return str_starts(head, STR("Lines")) ? STR("line")
           : str_eq(head, STR("Numbers")) ? STR("number")
           : str_eq(head, STR("Waivers")) ? STR("waiver")
                                          : STR("equipment");
}

static void deviation_rows(TailBook *t) {
    Record record = deviations_record(t->input);
    Str part = STR("");
    for (size_t i = 0; i < record.parts.n; i++) {
        const RecordPart *at = &record.parts.at[i];
        if (at->kind == RECORD_HEAD) part = part_of(at->text);
        for (size_t r = 0; at->kind == RECORD_TABLE && r < at->rows.n; r++) deviation_row(t, at, &at->rows.at[r], part);
    }
}

/* ---- comparison ---- */
enum {
    COMPARE_TAIL,
    COMPARE_SECTION,
    COMPARE_LINE,
    COMPARE_THEIRS,
    COMPARE_OURS,
    COMPARE_STANDS,
    COMPARE_REASON,
    COMPARE_RESULT,
    COMPARE_INITIALS,
    COMPARE_COLUMNS
};

static void compare_columns(Workbook *workbook) {
    static const BookMark stands[] = {
        {BOOK_IS, TONE_ALARM, "NOT TAKEN OVER", NULL, 0}, {BOOK_IS, TONE_QUIET, "same", NULL, 0},
        {BOOK_BEGINS, TONE_OPEN, "left out", NULL, 0},    {BOOK_IS, TONE_OPEN, "INOP", NULL, 0},
        {BOOK_BEGINS, TONE_CHANGED, "changed", NULL, 0},  {BOOK_IS, TONE_CHANGED, "added", NULL, 0}};
    const BookColumn columns[COMPARE_COLUMNS] = {[COMPARE_TAIL] = {.title = STR("Tail"), .width = 8},
                                                 [COMPARE_SECTION] = {.title = STR("Section"), .width = 30},
                                                 [COMPARE_LINE] = {.title = STR("Line"), .width = 6},
                                                 [COMPARE_THEIRS] = {.title = STR("The handbook's"), .width = 28},
                                                 [COMPARE_OURS] = {.title = STR("Ours"), .width = 44},
                                                 [COMPARE_STANDS] = {.title = STR("Stands"),
                                                                     .width = 16,
                                                                     .marks = stands,
                                                                     .n_marks = sizeof stands / sizeof *stands,
                                                                     .name = "compared"},
                                                 [COMPARE_REASON] = {.title = STR("Reason"), .width = 32},
                                                 [COMPARE_RESULT] = sign_column(FILL_CHOICE, "Compared", 12),
                                                 [COMPARE_INITIALS] = sign_column(FILL_INITIALS, "Initials", 8)};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_COMPARE, "Compare", "Compared with the handbook, line by line",
        "Each declared line of the handbook beside ours. \"Same\" says that a line of ours takes it over, "
        "at its place; whether it says the same is for whoever compares them and puts initials to it.",
        "No lines of a handbook are declared for the procedures of these tails.");
    sheet->frozen = COMPARE_THEIRS;
    sheet_columns(&workbook->book, sheet, columns, COMPARE_COLUMNS);
}

static void put_line_number(const TailBook *t, BookCell *cell, Str digits) {
    Rational number;
    if (digits.len && rational_parse(digits, &number)) cell_number(t->book, cell, number);
}

static void compare_rows(TailBook *t) {
    enum { LINE, THEIRS, OURS, STANDS, REASON };
    Record record = compare_record(t->input);
    Str section = STR("");
    for (size_t i = 0; i < record.parts.n; i++) {
        const RecordPart *at = &record.parts.at[i];
        if (at->kind == RECORD_HEAD) section = at->text;
        for (size_t r = 0; at->kind == RECORD_TABLE && r < at->rows.n; r++) {
            const Str *cells = at->rows.at[r].cells;
            BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_COMPARE]);
            cell_text(t->book, &row[COMPARE_TAIL], t->tail);
            cell_text(t->book, &row[COMPARE_SECTION], section);
            put_line_number(t, &row[COMPARE_LINE], cells[LINE]);
            cell_text(t->book, &row[COMPARE_THEIRS], cells[THEIRS]);
            cell_text(t->book, &row[COMPARE_OURS], cells[OURS]);
            cell_text(t->book, &row[COMPARE_STANDS], cells[STANDS]);
            cell_text(t->book, &row[COMPARE_REASON], cells[REASON]);
        }
    }
}

/* ---- changes ---- */
enum { CHANGE_TAIL, CHANGE_REVISION, CHANGE_DAY, CHANGE_CODE, CHANGE_WHAT, CHANGE_COLUMNS };

static void change_columns(Workbook *workbook) {
    const BookColumn columns[CHANGE_COLUMNS] = {[CHANGE_TAIL] = {.title = STR("Tail"), .width = 8},
                                                [CHANGE_REVISION] = {.title = STR("Revision"), .width = 10},
                                                [CHANGE_DAY] = {.title = STR("Effective"), .width = 12},
                                                [CHANGE_CODE] = {.title = STR("Check code"), .width = 12},
                                                [CHANGE_WHAT] = {.title = STR("What has changed"), .width = 100}};
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_CHANGES, "Changes", "Changes", "What this revision says that it changes.",
                       "The document does not say what this revision changes.");
    sheet->frozen = CHANGE_REVISION;
    sheet_columns(&workbook->book, sheet, columns, CHANGE_COLUMNS);
}

static void change_rows(TailBook *t) {
    const Edition *edition = t->input->edition;
    if (!edition->changes.len) return;
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_CHANGES]);
    cell_text(t->book, &row[CHANGE_TAIL], t->tail);
    cell_count(t->book, &row[CHANGE_REVISION], edition->revision);
    cell_text(t->book, &row[CHANGE_DAY], edition->effective);
    cell_text(t->book, &row[CHANGE_CODE], str_of(edition->code));
    cell_text(t->book, &row[CHANGE_WHAT], edition->changes);
}

/* ---- all of them ---- */

void records_columns(Workbook *workbook) {
    compare_columns(workbook);
    deviation_columns(workbook);
    change_columns(workbook);
}

void records_add(TailBook *t) {
    compare_rows(t);
    deviation_rows(t);
    change_rows(t);
}
