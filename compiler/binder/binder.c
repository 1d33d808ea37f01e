#define _GNU_SOURCE /* memfd_create */
#include "binder/binder.h"
#include "base/utf8.h"
#include "binder/row_height.h"
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>
#include <xlsxwriter.h>

enum {
    LINKS_MOST = 65000, /* a sheet of that format holds 65,530 */
    CELL_MOST = 32767,  /* characters */
    SIGHT = 130,        /* characters of a line above a table: what a screen shows */
    A4_MOST = 200,      /* characters across a page of A4 with type that can be read; what is wider goes on A3 */
    FILTER_BUTTON = 1,  /* characters of a head that it covers */
    PAPER_A3 = 8,
    PAPER_A4 = 9
};

typedef struct {
    const Book *book;
    lxw_workbook *file;
    lxw_format *title, *line, *head, *text, *number, *link, *fill, *fill_date, *tones[TONES];
    char *words; /* room for one NUL-terminated text */
    size_t room;
    size_t links; /* of the sheet at hand */
    const char *why_not;
    bool failed;
} Binding;

static void fail(Binding *b, const char *why_not) {
    if (!b->failed) b->why_not = why_not;
    b->failed = true;
}

static void try(Binding *b, int error) {
    if (!error) return;
    if (error == LXW_ERROR_MEMORY_MALLOC_FAILED) fail(b, "there is no memory left");
    else if (error >= LXW_ERROR_CREATING_XLSX_FILE && error <= LXW_ERROR_ZIP_CLOSE)
        fail(b, "it would be larger than files may be here, or there is no memory left");
    else fail(b, lxw_strerror((lxw_error)error));
}

/* ---- texts ---- */

static bool make_room(Binding *b, size_t size) {
    if (size <= b->room) return true;
    char *more = realloc(b->words, size * 2);
    if (!more) {
        fail(b, "there is no memory left");
        return false;
    }
    b->words = more;
    b->room = size * 2;
    return true;
}

/* "_x0041_" stands for a character by its number. */
static bool reads_as_number(Str text, size_t at) {
    if (at + 7 > text.len || text.ptr[at] != '_' || text.ptr[at + 1] != 'x' || text.ptr[at + 6] != '_') return false;
    for (size_t i = at + 2; i < at + 6; i++)
        if (!strchr("0123456789abcdefABCDEF", text.ptr[i]) || !text.ptr[i]) return false;
    return true;
}

/* As the file has it: a text that looks like the number of a character is kept from being read as one. */
static const char *c_text(Binding *b, Str text) {
    static const char underscore[] = "_x005F_";
    size_t n = 0, numbers = 0;
    bool any = text.len && memchr(text.ptr, '_', text.len);
    for (size_t i = 0; any && i < text.len; i++) numbers += text.ptr[i] == '_' && reads_as_number(text, i);
    if (!make_room(b, text.len + numbers * (sizeof underscore - 1) + 1)) return "";
    if (!numbers && text.len) memcpy(b->words, text.ptr, n = text.len);
    for (size_t i = 0; numbers && i < text.len; i++) {
        if (text.ptr[i] == '_' && reads_as_number(text, i)) {
            memcpy(b->words + n, underscore, sizeof underscore - 1);
            n += sizeof underscore - 1;
        } else b->words[n++] = text.ptr[i];
    }
    b->words[n] = 0;
    if (n > CELL_MOST && utf8_count(text) > CELL_MOST)
        fail(b, "a text is longer than a cell of a workbook can hold (32,767 characters)");
    return b->words;
}

/* ---- formats ---- */

static lxw_format *format_new(Binding *b) {
    lxw_format *format = workbook_add_format(b->file);
    if (!format) {
        fail(b, "there is no memory left");
        return NULL;
    }
    format_set_font_name(format, "Arial");
    format_set_font_size(format, 10);
    format_set_align(format, LXW_ALIGN_VERTICAL_TOP);
    return format;
}

static lxw_format *cell_format(Binding *b) {
    lxw_format *format = format_new(b);
    if (!format) return NULL;
    format_set_border(format, LXW_BORDER_THIN);
    format_set_border_color(format, 0xB0B0B0);
    format_set_text_wrap(format);
    return format;
}

static void head_formats(Binding *b) {
    if (b->title) format_set_bold(b->title), format_set_font_size(b->title, 14);
    if (b->line) format_set_text_wrap(b->line);
    if (!b->head) return;
    format_set_bold(b->head);
    format_set_bg_color(b->head, 0xE4E4E4);
    format_set_bottom(b->head, LXW_BORDER_MEDIUM);
    format_set_bottom_color(b->head, LXW_COLOR_BLACK);
}

static void body_formats(Binding *b) {
    if (b->number)
        format_set_align(b->number, LXW_ALIGN_RIGHT), format_set_indent(b->number, 1); /* a text may stand beside it */
    if (b->link) format_set_underline(b->link, LXW_UNDERLINE_SINGLE), format_set_font_color(b->link, 0x00308F);
    if (b->fill) format_set_unlocked(b->fill), format_set_bg_color(b->fill, 0xFFFBE6);
    if (!b->fill_date) return;
    format_set_unlocked(b->fill_date);
    format_set_bg_color(b->fill_date, 0xFFFBE6);
    format_set_num_format(b->fill_date, "yyyy-mm-dd");
}

/* Seen in a grey copy, too: by weight and by how dark the ground is. */
static void tone_formats(Binding *b) {
    static const uint32_t grounds[TONES] = {0xFFFFFF, 0xF2B8B5, 0xFFE0A3, 0xE3E8F2, 0xFFFFFF};
    for (int tone = 0; tone < TONES; tone++) {
        b->tones[tone] = workbook_add_format(b->file);
        if (!b->tones[tone]) fail(b, "there is no memory left");
        else if (tone == TONE_QUIET) format_set_font_color(b->tones[tone], 0x505050);
        else format_set_bg_color(b->tones[tone], grounds[tone]);
        if (b->tones[tone] && (tone == TONE_ALARM || tone == TONE_OPEN)) format_set_bold(b->tones[tone]);
    }
}

static void all_formats(Binding *b) {
    b->title = format_new(b);
    b->line = format_new(b);
    b->head = cell_format(b);
    b->text = cell_format(b);
    b->number = cell_format(b);
    b->link = cell_format(b);
    b->fill = cell_format(b);
    b->fill_date = cell_format(b);
    head_formats(b);
    body_formats(b);
    tone_formats(b);
}

/* ---- what the file says of itself ---- */

/* Days since 1970-01-01 of the proleptic Gregorian calendar. */
static time_t moment_of(Str day) {
    enum { NINETEEN_EIGHTY = 315532800 }; /* as the parts of the file are dated; 0 would ask the clock */
    if (day.len != 10) return NINETEEN_EIGHTY;
    int parts[3] = {0}, part = 0;
    for (size_t i = 0; i < day.len; i++) {
        if (day.ptr[i] == '-') part++;
        else if (part < 3) parts[part] = parts[part] * 10 + (day.ptr[i] - '0');
    }
    long year = parts[0] - (parts[1] <= 2), era = year / 400, of_era = year - era * 400;
    long of_year = (153 * (parts[1] + (parts[1] > 2 ? -3 : 9)) + 2) / 5 + parts[2] - 1;
    long days = era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
    return (time_t)days * 86400;
}

static void custom_property(Binding *b, const char *name, Str value) {
    if (value.len) try(b, workbook_set_custom_property_string(b->file, name, c_text(b, value)));
}

static char *own_copy(Binding *b, Str text) {
    char *copy = malloc(text.len + 1);
    if (!copy) {
        fail(b, "there is no memory left");
        return NULL;
    }
    if (text.len) memcpy(copy, text.ptr, text.len);
    copy[text.len] = 0;
    return copy;
}

static void properties(Binding *b) {
    const Book *book = b->book;
    char *texts[] = {own_copy(b, book->title), own_copy(b, book->subject), own_copy(b, book->author),
                     own_copy(b, book->standing), own_copy(b, book->comments)};
    static char category[] = "Start procedures";
    lxw_doc_properties properties = {.title = texts[0],
                                     .subject = texts[1],
                                     .author = texts[2],
                                     .status = texts[3],
                                     .comments = texts[4],
                                     .category = category,
                                     .created = moment_of(book->day)};
    if (!b->failed) try(b, workbook_set_properties(b->file, &properties));
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) free(texts[i]);
    custom_property(b, "Document", book->document);
    custom_property(b, "Revision", book->revision);
    custom_property(b, "Check code", book->codes);
    custom_property(b, "Standing", book->standing);
}

/* ---- a sheet ---- */

typedef struct {
    const BookSheet *sheet;
    lxw_worksheet *out;
    uint32_t head, first, last; /* rows of the table's head and body; first > last: it has none */
    uint16_t columns, printed;
} Laid;

static Laid lay(const BookSheet *sheet, lxw_worksheet *out) {
    uint32_t head = 1 + (uint32_t)sheet->lines.n;
    uint16_t columns = (uint16_t)sheet->columns.n;
    uint16_t printed = sheet->printed ? (uint16_t)sheet->printed : columns;
    return (Laid){sheet, out, head, head + 1, head + (uint32_t)sheet->rows.n, columns, printed};
}

/* So many columns that a line across them can be seen without moving the sheet. */
static uint16_t line_columns(const Laid *at, uint32_t *width) {
    uint16_t n = 0;
    for (*width = 0; n < at->printed && (n < 2 || *width + at->sheet->columns.at[n].width <= SIGHT); n++)
        *width += at->sheet->columns.at[n].width;
    return n;
}

static void put_line(Binding *b, const Laid *at, uint32_t row, Str text, lxw_format *format, double height) {
    uint32_t width;
    uint16_t n = line_columns(at, &width);
    uint32_t lines = lines_in_width(text, width, false);
    try(b, worksheet_set_row(at->out, row, height * lines, NULL));
    if (n > 1) try(b, worksheet_merge_range(at->out, row, 0, row, (uint16_t)(n - 1), c_text(b, text), format));
    else try(b, worksheet_write_string(at->out, row, 0, c_text(b, text), format));
}

static void put_lines(Binding *b, const Laid *at) {
    put_line(b, at, 0, at->sheet->title, b->title, 19);
    for (size_t i = 0; i < at->sheet->lines.n; i++)
        put_line(b, at, (uint32_t)i + 1, at->sheet->lines.at[i], b->line, 13.5);
    if (!at->sheet->rows.n) put_line(b, at, at->head, at->sheet->none, b->line, 13.5);
}

static void buf_sheet(char *to, size_t size, Str name, const char *cell) {
    size_t n = 0;
    to[n++] = '\'';
    for (size_t i = 0; i < name.len && n + 32 < size; i++) to[n++] = name.ptr[i];
    to[n++] = '\'';
    to[n++] = '!';
    for (; *cell && n + 1 < size; cell++) to[n++] = *cell;
    to[n] = 0;
}

static void put_url(Binding *b, const Laid *at, uint32_t row, uint16_t column, const BookLink *link) {
    enum { URL = 2000 };
    char url[URL] = "internal:", cell[LXW_MAX_CELL_NAME_LENGTH];
    size_t head = strlen(url);
    if (link->file) {
        memcpy(url, "external:", head);
        if (link->target.len + head + 1 > URL) return;
        memcpy(url + head, link->target.ptr, link->target.len);
    } else {
        const BookSheet *to = b->book->sheets.at[link->sheet];
        lxw_rowcol_to_cell(cell, link->top ? 0 : lay(to, NULL).first + link->row, 0);
        buf_sheet(url + head, URL - head, to->name, cell);
    }
    try(b, worksheet_write_url(at->out, row, column, url, b->link));
    b->links++;
}

static lxw_format *format_of(const Binding *b, const BookColumn *column, const BookCell *cell) {
    if (column->fill == FILL_DATE) return b->fill_date;
    if (column->fill != FILL_NOTHING) return b->fill;
    return cell->link ? b->link : cell->kind == CELL_NUMBER ? b->number : b->text;
}

static void put_cell(Binding *b, const Laid *at, uint32_t row, uint16_t column) {
    const BookCell *cell = &at->sheet->rows.at[row - at->first][column];
    lxw_format *format = format_of(b, &at->sheet->columns.at[column], cell);
    bool links = cell->link && b->links < LINKS_MOST;
    if (links) put_url(b, at, row, column, &b->book->links.at[cell->link - 1]);
    if (cell->kind == CELL_EMPTY) try(b, worksheet_write_blank(at->out, row, column, format));
    else if (cell->kind == CELL_TEXT)
        try(b, worksheet_write_string(at->out, row, column, c_text(b, cell->text), format));
    else try(b, worksheet_write_number(at->out, row, column, strtod(c_text(b, cell->text), NULL), format));
}

static void put_table(Binding *b, const Laid *at) {
    enum { NAME = 64 };
    char name[NAME] = {0};
    size_t n = 0;
    lxw_table_column *columns = calloc(at->columns, sizeof *columns);
    lxw_table_column **list = calloc((size_t)at->columns + 1, sizeof *list);
    if (!columns || !list) fail(b, "there is no memory left");
    for (uint16_t c = 0; !b->failed && c < at->columns; c++) {
        columns[c].header = own_copy(b, at->sheet->columns.at[c].title);
        columns[c].header_format = b->head;
        list[c] = &columns[c];
    }
    for (size_t i = 0; i < at->sheet->name.len && n + 8 < NAME; i++)
        if (at->sheet->name.ptr[i] != '-' && at->sheet->name.ptr[i] != ' ') name[n++] = at->sheet->name.ptr[i];
    memcpy(name + n, "_list", 5);
    lxw_table_options options = {
        .name = name, .columns = list, .style_type = LXW_TABLE_STYLE_TYPE_LIGHT, .no_banded_rows = LXW_TRUE};
    if (!b->failed) try(b, worksheet_add_table(at->out, at->head, 0, at->last, (uint16_t)(at->columns - 1), &options));
    for (uint16_t c = 0; columns && c < at->columns; c++) free(columns[c].header);
    free(list);
    free(columns);
}

/* As high as the fullest cell that is printed asks for. */
static void put_height(Binding *b, const Laid *at, uint32_t row) {
    uint32_t lines = 1;
    for (uint16_t c = 0; c < at->printed; c++) {
        const BookColumn *column = &at->sheet->columns.at[c];
        bool head = row == at->head, marked = column->n_marks > 0;
        Str text = head ? column->title : at->sheet->rows.at[row - at->first][c].text;
        uint32_t takes = lines_in_width(text, head ? column->width - FILTER_BUTTON : column->width, head || marked);
        if (takes > lines) lines = takes;
    }
    try(b, worksheet_set_row(at->out, row, row_height(lines), NULL));
}

static void put_rows(Binding *b, const Laid *at) {
    if (at->first <= at->last) put_height(b, at, at->head);
    for (uint32_t row = at->first; !b->failed && row <= at->last; row++) {
        put_height(b, at, row);
        for (uint16_t c = 0; c < at->columns; c++) put_cell(b, at, row, c);
    }
}

static void put_name(Binding *b, Str name, const BookSheet *sheet, uint32_t first, uint32_t last, uint16_t column) {
    enum { FORMULA = 128 };
    char cells[2 * LXW_MAX_CELL_NAME_LENGTH + 16], formula[FORMULA] = "=";
    lxw_rowcol_to_range_abs(cells, first, column, last, column);
    buf_sheet(formula + 1, FORMULA - 1, sheet->name, cells);
    try(b, workbook_define_name(b->file, c_text(b, name), formula));
}

static void put_columns(Binding *b, const Laid *at) {
    for (uint16_t c = 0; !b->failed && c < at->columns; c++) {
        const BookColumn *column = &at->sheet->columns.at[c];
        try(b, worksheet_set_column(at->out, c, c, column->width, NULL));
        if (!at->sheet->rows.n) continue;
        try(b, column_marks(at->out, column, c, at->first, at->last, b->tones));
        try(b, column_choices(at->out, column, c, at->first, at->last));
        if (column->name) put_name(b, str_of(column->name), at->sheet, at->first, at->last, c);
    }
}

/* ---- on paper ---- */

/* A line of the page's head or foot holds 255 characters, and & stands for what is filled in. */
static void put_page_text(char *to, size_t *n, size_t most, Str text) {
    for (size_t i = 0; i < text.len;) {
        Utf8 code = utf8_decode(text, i);
        if (*n + code.size + 1 > most) return;
        if (text.ptr[i] == '&') to[(*n)++] = '&';
        memcpy(to + *n, text.ptr + i, code.size);
        *n += code.size;
        i += code.size;
    }
}

static void put_page_lines(Binding *b, const Laid *at) {
    enum { MOST = 255 };
    char head[MOST + 1] = "&L&8", foot[MOST + 1] = "&L&8";
    static const char standing[] = "&R&\"Arial,Bold\"", page[] = "&R&8&A, page &P of &N";
    size_t n = strlen(head);
    put_page_text(head, &n, MOST - sizeof standing - b->book->standing.len, b->book->head);
    memcpy(head + n, standing, sizeof standing - 1);
    n += sizeof standing - 1;
    put_page_text(head, &n, MOST, b->book->standing);
    try(b, worksheet_set_header(at->out, head));
    n = strlen(foot);
    put_page_text(foot, &n, MOST - sizeof page, b->book->foot);
    memcpy(foot + n, page, sizeof page - 1);
    try(b, worksheet_set_footer(at->out, foot));
}

static void put_pages(Binding *b, const Laid *at) {
    uint32_t width = 0;
    for (uint16_t c = 0; c < at->printed; c++) width += at->sheet->columns.at[c].width;
    worksheet_set_landscape(at->out);
    worksheet_set_paper(at->out, width > A4_MOST ? PAPER_A3 : PAPER_A4);
    worksheet_set_margins(at->out, 0.4, 0.4, 0.7, 0.6);
    worksheet_fit_to_pages(at->out, 1, 0);
    put_page_lines(b, at);
    if (!at->sheet->rows.n) return;
    try(b, worksheet_repeat_rows(at->out, at->head, at->head));
    if (at->printed < at->columns) try(b, worksheet_print_area(at->out, 0, 0, at->last, (uint16_t)(at->printed - 1)));
}

/* Against slips, without a password: filters and widths can be used, cells to fill in can be filled in. */
static void protect(const Laid *at) {
    lxw_protection allowed = {.autofilter = 1, .sort = 1, .format_columns = 1, .format_rows = 1};
    worksheet_protect(at->out, NULL, &allowed);
}

static void put_sheet(Binding *b, const Laid *at) {
    b->links = 0;
    if (at->last >= LXW_ROW_MAX || at->sheet->columns.n >= LXW_COL_MAX) {
        fail(b, "a sheet would have more rows or columns than such a file can hold (1,048,576 by 16,384)");
        return;
    }
    put_lines(b, at);
    put_rows(b, at);
    if (at->sheet->rows.n && !b->failed) {
        put_table(b, at);
        worksheet_freeze_panes(at->out, at->first, (uint16_t)at->sheet->frozen);
    }
    put_columns(b, at);
    put_pages(b, at);
    protect(at);
}

/* ---- the whole ---- */

static void put_all(Binding *b) {
    const Book *book = b->book;
    all_formats(b);
    properties(b);
    for (size_t i = 0; !b->failed && i < book->sheets.n; i++) {
        const BookSheet *sheet = book->sheets.at[i];
        lxw_worksheet *out = workbook_add_worksheet(b->file, c_text(b, sheet->name));
        Laid at = lay(sheet, out);
        if (out) put_sheet(b, &at);
        else fail(b, "a sheet cannot be made");
    }
    for (size_t i = 0; !b->failed && i < book->cells.n; i++) {
        const BookName *name = &book->cells.at[i];
        const BookSheet *sheet = book->sheets.at[name->sheet];
        uint32_t row = lay(sheet, NULL).first + name->row;
        put_name(b, name->name, sheet, row, row, (uint16_t)name->column);
    }
}

static void file_name(char name[32], int fd) {
    static const char folder[] = "/proc/self/fd/";
    char digits[12];
    size_t n = 0, at = sizeof folder - 1;
    memcpy(name, folder, at);
    do digits[n++] = (char)('0' + fd % 10), fd /= 10;
    while (fd);
    while (n) name[at++] = digits[--n];
    name[at] = 0;
}

/* From a file in memory: the library can only write to a name. */
static bool give(int fd, Sink sink) {
    struct stat is;
    if (fstat(fd, &is) || is.st_size <= 0) return false;
    size_t size = (size_t)is.st_size;
    void *bytes = mmap(NULL, size, PROT_READ, MAP_PRIVATE, fd, 0);
    if (bytes == MAP_FAILED) return false;
    bool good = sink.write(sink.context, bytes, size);
    munmap(bytes, size);
    return good;
}

static void close_file(Binding *b) {
    bool refused;
    if (b->failed) {
        lxw_workbook_free(b->file);
        memory_files_made(&refused);
        return;
    }
    try(b, workbook_close(b->file));
    size_t made = memory_files_made(&refused);
    if (refused) fail(b, "there is no memory left");
    else if (!made) fail(b, "the libxlsxwriter of this machine is another than the module was made for");
}

static bool bind_into(const Book *book, int fd, const char **why_not) {
    char name[32];
    file_name(name, fd);
    memory_files_made(&(bool){false});
    Binding b = {.book = book, .file = workbook_new(name)};
    if (b.file) {
        put_all(&b);
        close_file(&b);
    } else fail(&b, "there is no memory left");
    free(b.words);
    *why_not = b.failed ? b.why_not : NULL;
    return !b.failed;
}

static bool bind(const Book *book, Sink sink, const char **why_not) {
    int fd = memfd_create("workbook", MFD_CLOEXEC);
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    *why_not = "no file in memory can be made";
    bool good = fd >= 0 && plain;
    if (good) {
        locale_t before = uselocale(plain); /* numbers with a point, whatever the host has set */
        good = bind_into(book, fd, why_not);
        uselocale(before);
    }
    if (good) good = give(fd, sink);
    if (plain) freelocale(plain);
    if (fd >= 0) close(fd);
    return good;
}

const Binder *startwright_binder(void) {
    static const Binder binder = {BINDER_VERSION, bind};
    return &binder;
}
