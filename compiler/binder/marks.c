/* Conditional formats and what may be written into cells. */
#include "binder/binder.h"
#include <string.h>
#include <xlsxwriter.h>

/* ---- short texts for formulas ---- */
enum { FORMULA = 512 };
typedef struct {
    char text[FORMULA];
    size_t len;
} Formula;

static void put(Formula *formula, const char *text) {
    for (; *text && formula->len + 1 < FORMULA; text++) formula->text[formula->len++] = *text;
    formula->text[formula->len] = 0;
}

/* A text as a formula has it: in quotes, each quote of its own twice. */
static void put_text(Formula *formula, const char *text) {
    put(formula, "\"");
    for (; *text; text++) {
        char one[] = {*text, 0};
        put(formula, *text == '"' ? "\"\"" : one);
    }
    put(formula, "\"");
}

static void put_cell(Formula *formula, uint32_t row, uint16_t column, bool fixed_column) {
    char cell[LXW_MAX_CELL_NAME_LENGTH];
    lxw_rowcol_to_cell_abs(cell, row, column, 0, fixed_column);
    put(formula, cell);
}

/* ---- conditional formats ---- */
static void of_cell(Formula *formula, const BookMark *mark) {
    put(formula, "");
    if (mark->kind == BOOK_IS) put_text(formula, mark->text);
    else put(formula, mark->text);
}

static void of_row(Formula *formula, const BookMark *mark, uint32_t row, uint16_t column) {
    put(formula, "=AND(");
    put_cell(formula, row, column, false);
    put(formula, "<>\"\",");
    put_cell(formula, row, column, false);
    if (mark->kind == BOOK_UNLIKE) {
        put(formula, "<>");
        put_cell(formula, row, (uint16_t)mark->column, true);
    } else { /* a number is no text: 0 is not "0" but as a text */
        put(formula, "&\"\"<>");
        put_text(formula, mark->text);
        put(formula, ",");
        put_cell(formula, row, column, false);
        put(formula, "&\"\"<>");
        put_text(formula, mark->or_text);
    }
    put(formula, ")");
}

int column_marks(lxw_worksheet *out, const BookColumn *column, uint16_t at, uint32_t first_row, uint32_t last_row,
                 lxw_format *const tones[TONES]) {
    lxw_error error = LXW_NO_ERROR;
    for (size_t i = 0; !error && i < column->n_marks; i++) {
        const BookMark *mark = &column->marks[i];
        Formula formula = {{0}, 0};
        lxw_conditional_format format = {
            .format = tones[mark->tone], .value_string = formula.text, .stop_if_true = LXW_TRUE};
        if (mark->kind == BOOK_IS || mark->kind == BOOK_BEGINS) {
            bool is = mark->kind == BOOK_IS;
            format.type = is ? LXW_CONDITIONAL_TYPE_CELL : LXW_CONDITIONAL_TYPE_TEXT;
            format.criteria = is ? LXW_CONDITIONAL_CRITERIA_EQUAL_TO : LXW_CONDITIONAL_CRITERIA_TEXT_BEGINS_WITH;
            of_cell(&formula, mark);
        } else {
            format.type = LXW_CONDITIONAL_TYPE_FORMULA;
            of_row(&formula, mark, first_row, at);
        }
        error = worksheet_conditional_format_range(out, first_row, at, last_row, at, &format);
    }
    return error;
}

/* ---- what is filled in ---- */

/* The library wants texts that could be written to. */
static char not_so[] = "Not as wanted here", choose[] = "Choose one of the words of the list.",
            initials[] = "Initials, at most 12 characters.", day[] = "A day, such as 2031-05-01.",
            words[] = "At most 1000 characters.";

int column_choices(lxw_worksheet *out, const BookColumn *column, uint16_t at, uint32_t first_row, uint32_t last_row) {
    enum { CHOICES = 32, INITIALS = 12, WORDS = 1000 };
    char *list[CHOICES + 1] = {0};
    lxw_data_validation wanted = {.error_title = not_so};
    switch (column->fill) {
    case FILL_NOTHING: return LXW_NO_ERROR;
    case FILL_CHOICE:
        for (size_t i = 0; column->choices[i] && i < CHOICES; i++) memcpy(&list[i], &column->choices[i], sizeof *list);
        wanted.validate = LXW_VALIDATION_TYPE_LIST;
        wanted.value_list = list;
        wanted.error_message = choose;
        break;
    case FILL_DATE:
        wanted.validate = LXW_VALIDATION_TYPE_DATE;
        wanted.criteria = LXW_VALIDATION_CRITERIA_GREATER_THAN;
        wanted.value_datetime = (lxw_datetime){.year = 2000, .month = 1, .day = 1};
        wanted.error_message = day;
        break;
    case FILL_INITIALS:
    case FILL_WORDS:
        wanted.validate = LXW_VALIDATION_TYPE_LENGTH;
        wanted.criteria = LXW_VALIDATION_CRITERIA_LESS_THAN_OR_EQUAL_TO;
        wanted.value_number = column->fill == FILL_INITIALS ? INITIALS : WORDS;
        wanted.error_message = column->fill == FILL_INITIALS ? initials : words;
        break;
    }
    return worksheet_data_validation_range(out, first_row, at, last_row, at, &wanted);
}
