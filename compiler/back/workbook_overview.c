/* The first sheets: what this is, what may be claimed, where what stands; and each tail with its standing and its verdicts in numbers. */
#include "back/workbook.h"

/* ---- tails ---- */
enum {
    TAIL_ID,
    TAIL_TITLE,
    TAIL_STANDING,
    TAIL_CODE,
    TAIL_RULES,
    TAIL_PROVED,
    TAIL_BROKEN,
    TAIL_UNDECIDED,
    TAIL_UNTESTED,
    TAIL_OTHERS,
    TAIL_WAIVERS,
    TAIL_APPROVED,
    TAIL_COLUMNS
};

static void tail_columns(Workbook *workbook) {
    static const BookMark standing[] = {{BOOK_BEGINS, TONE_ALARM, "NOT PROVED", NULL, 0},
                                        {BOOK_BEGINS, TONE_ALARM, "HELD BACK", NULL, 0},
                                        {BOOK_BEGINS, TONE_OPEN, "DRAFT", NULL, 0}};
    static const BookMark none[] = {{BOOK_NEITHER_NOR, TONE_ALARM, "0", "-", 0}};
    const BookColumn columns[TAIL_COLUMNS] = {
        [TAIL_ID] = {.title = STR("Tail"), .width = 10},
        [TAIL_TITLE] = {.title = STR("Title"), .width = 20},
        [TAIL_STANDING] = {.title = STR("Stands"), .width = 26, .marks = standing, .n_marks = 3},
        [TAIL_CODE] = {.title = STR("Check code"), .width = 12, .name = "check_codes"},
        [TAIL_RULES] = {.title = STR("Rules"), .width = 8},
        [TAIL_PROVED] = {.title = STR("Proved as written"), .width = 10},
        [TAIL_BROKEN] = {.title = STR("Broken"), .width = 8, .marks = none, .n_marks = 1},
        [TAIL_UNDECIDED] = {.title = STR("Not decided"), .width = 8, .marks = none, .n_marks = 1},
        [TAIL_UNTESTED] = {.title = STR("Never tested"), .width = 8, .marks = none, .n_marks = 1},
        [TAIL_OTHERS] = {.title = STR("Not applicable"), .width = 10},
        [TAIL_WAIVERS] = {.title = STR("Waivers"), .width = 8},
        [TAIL_APPROVED] = {.title = STR("Approved by, on"), .width = 30}};
    BookSheet *sheet = workbook_sheet(workbook, SHEET_TAILS, "Tails", "Tails",
                                      "Each aircraft of this document, and how many of its rules have which verdict.",
                                      "No aircraft is in this workbook.");
    sheet->frozen = TAIL_TITLE;
    sheet_columns(&workbook->book, sheet, columns, TAIL_COLUMNS);
}

static const char *standing_words(bool not_proved, bool draft) {
    return not_proved ? "NOT PROVED: rules are open" : draft ? "DRAFT: not approved" : "approved for this check code";
}

static void tail_row(TailBook *t) {
    const Edition *edition = t->input->edition;
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_TAILS]);
    uint32_t counts[VERDICT_NOT_DECIDED + 1] = {0};
    for (uint32_t i = 0; i < t->input->result->n_verdicts; i++) counts[t->input->result->verdicts[i].kind]++;
    cell_text(t->book, &row[TAIL_ID], t->tail);
    cell_text(t->book, &row[TAIL_TITLE], t->input->tail->title);
    cell_text(t->book, &row[TAIL_STANDING], str_of(standing_words(edition->not_proved, edition->draft)));
    cell_text(t->book, &row[TAIL_CODE], str_of(edition->code));
    cell_count(t->book, &row[TAIL_RULES], t->input->result->n_verdicts);
    cell_count(t->book, &row[TAIL_PROVED], counts[VERDICT_PROVED]);
    cell_count(t->book, &row[TAIL_BROKEN], counts[VERDICT_BROKEN]);
    cell_count(t->book, &row[TAIL_UNDECIDED], counts[VERDICT_NOT_DECIDED]);
    cell_count(t->book, &row[TAIL_UNTESTED], counts[VERDICT_NEVER_TESTED]);
    cell_count(t->book, &row[TAIL_OTHERS], counts[VERDICT_NOT_APPLICABLE]);
    cell_count(t->book, &row[TAIL_WAIVERS], edition->n_waivers);
    if (!edition->draft)
        cell_text(t->book, &row[TAIL_APPROVED], TAIL_WORDS(t, "%S, %S", edition->approved_by, edition->approved_on));
}

static void held_back_rows(Workbook *workbook) {
    for (size_t i = 0; i < workbook->document->n_held_back; i++) {
        BookCell *row = sheet_row(&workbook->book, workbook->sheets[SHEET_TAILS]);
        cell_text(&workbook->book, &row[TAIL_ID], workbook->document->held_back[i]);
        cell_text(
            &workbook->book, &row[TAIL_STANDING],
            STR("HELD BACK: an error is open there, or something not decided. Nothing of it is in this workbook."));
    }
}

/* ---- contents ---- */
enum { CONTENTS_SHEET, CONTENTS_ROWS, CONTENTS_WHAT, CONTENTS_COLUMNS };

void overview_columns(Workbook *workbook) {
    const BookColumn columns[CONTENTS_COLUMNS] = {[CONTENTS_SHEET] = {.title = STR("Sheet"), .width = 16},
                                                  [CONTENTS_ROWS] = {.title = STR("Lines"), .width = 8},
                                                  [CONTENTS_WHAT] = {.title = STR("What it shows"), .width = 100}};
    workbook->sheets[SHEET_OVERVIEW] = book_sheet(&workbook->book, "Overview", STR(""));
    sheet_columns(&workbook->book, workbook->sheets[SHEET_OVERVIEW], columns, CONTENTS_COLUMNS);
    tail_columns(workbook);
}

/* Of the document: from its first tail. */
static void document_words(TailBook *t) {
    const Edition *edition = t->input->edition;
    Book *book = t->book;
    Buf buf = {t->arena, NULL, 0, 0};
    buf_format(&buf, NULL, "%S, revision %u", edition->document, (uint64_t)edition->revision);
    if (edition->effective.len) buf_format(&buf, NULL, ", effective %S", edition->effective);
    if (edition->review_by.len) buf_format(&buf, NULL, ", review by %S", edition->review_by);
    if (edition->prepared_by.len) buf_format(&buf, NULL, ", prepared by %S", edition->prepared_by);
    book->subject = str_copy(book->arena, buf_view(&buf));
    book->title = str_copy(book->arena, edition->title.len ? edition->title : edition->document);
    book->author = str_copy(book->arena, edition->prepared_by);
    book->document = str_copy(book->arena, edition->document);
    book->day = str_copy(book->arena, edition->effective);
    book->revision = format_text(book->arena, NULL, "%u", (uint64_t)edition->revision);
}

void overview_add(TailBook *t) {
    tail_row(t);
    if (!t->workbook->added) document_words(t);
    Book *book = t->book;
    book->codes =
        format_text(book->arena, NULL, "%S%s%s", book->codes, book->codes.len ? " " : "", t->input->edition->code);
    if (!t->workbook->added) t->workbook->title = str_copy(book->arena, t->input->tail->title);
}

static Str claim_counts(const Workbook *workbook) {
    Buf buf = {workbook->book.arena, NULL, 0, 0};
    uint32_t all = 0;
    for (int kind = 0; kind <= VERDICT_NOT_DECIDED; kind++) all += workbook->verdicts[kind];
    buf_format(&buf, NULL, "%u rules", (uint64_t)all);
    if (workbook->added > 1) buf_format(&buf, NULL, " of %u tails", (uint64_t)workbook->added);
    const char *before = ": ";
    for (int kind = 0; kind <= VERDICT_NOT_DECIDED; kind++) {
        if (!workbook->verdicts[kind]) continue;
        buf_format(&buf, NULL, "%s%u %s", before, (uint64_t)workbook->verdicts[kind], verdict_words[kind]);
        before = ", ";
    }
    buf_char(&buf, '.');
    return buf_view(&buf);
}

static void first_lines(Workbook *workbook) {
    Book *book = &workbook->book;
    BookSheet *sheet = workbook->sheets[SHEET_OVERVIEW];
    sheet->title = book->title;
    sheet_line(book, sheet, book->subject);
    sheet_line(book, sheet, book->standing);
    for (size_t i = 0; caution_lines[i]; i++) sheet_line(book, sheet, str_of(caution_lines[i]));
    sheet_line(book, sheet, str_of(scope_of_claim));
    sheet_line(book, sheet, claim_counts(workbook));
    if (workbook->document->n_held_back)
        sheet_line(book, sheet,
                   format_text(
                       book->arena, NULL, "%u of the document's tails %s held back and in no other sheet: see Tails.",
                       (uint64_t)workbook->document->n_held_back, workbook->document->n_held_back == 1 ? "is" : "are"));
    sheet_line(book, sheet,
               STR("Cells to fill in are yellow; all others are protected, without a password, against slips. Filters "
                   "and widths can be used."));
}

static void contents(Workbook *workbook) {
    Book *book = &workbook->book;
    for (size_t i = 1; i < book->sheets.n; i++) {
        const BookSheet *sheet = book->sheets.at[i];
        BookCell *row = sheet_row(book, workbook->sheets[SHEET_OVERVIEW]);
        cell_text(book, &row[CONTENTS_SHEET], sheet->name);
        cell_count(book, &row[CONTENTS_ROWS], sheet->rows.n);
        if (sheet->lines.n) cell_text(book, &row[CONTENTS_WHAT], sheet->rows.n ? sheet->lines.at[0] : sheet->none);
        cell_link_sheet(book, &row[CONTENTS_SHEET], (uint32_t)i);
    }
}

void overview_end(Workbook *workbook) {
    Book *book = &workbook->book;
    Str whose = workbook->added == 1 ? workbook->title : STR("The tails named here");
    held_back_rows(workbook);
    book->standing = str_of(workbook->not_proved ? "NOT PROVED" : workbook->draft ? "DRAFT: not approved" : "approved");
    book->head = book->subject;
    book->foot = format_text(book->arena, NULL, "%S %s", whose, caution_line);
    book->comments = format_text(book->arena, NULL, "%s %s %s", caution_lines[0], caution_lines[1], caution_lines[2]);
    for (size_t i = 1; i < book->sheets.n; i++) {
        BookSheet *sheet = book->sheets.at[i];
        sheet->title = format_text(book->arena, NULL, "%S%s%s", sheet->title,
                                   workbook->draft || workbook->not_proved ? "  -  " : "",
                                   workbook->not_proved ? "NOT PROVED"
                                   : workbook->draft    ? "DRAFT"
                                                        : "");
        sheet_line(book, sheet, book->foot);
    }
    contents(workbook);
    first_lines(workbook);
}
