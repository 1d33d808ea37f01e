#include "back/book.h"
#include "base/diag.h"

void book_open(Book *book, Arena *arena) {
    *book = (Book){.arena = arena};
    names_open(&book->names, arena);
    book->rows.arena = arena;
}

BookSheet *book_sheet(Book *book, const char *name, Str title) {
    BookSheet *sheet = ARENA_NEW(book->arena, BookSheet);
    sheet->name = str_of(name);
    sheet->title = str_copy(book->arena, title);
    vec_push(book->arena, &book->sheets, sheet);
    return sheet;
}

void sheet_line(Book *book, BookSheet *sheet, Str text) {
    vec_push(book->arena, &sheet->lines, str_copy(book->arena, text));
}

void sheet_columns(Book *book, BookSheet *sheet, const BookColumn *columns, size_t n) {
    for (size_t i = 0; i < n; i++) {
        BookColumn column = columns[i];
        column.title = str_copy(book->arena, column.title);
        vec_push(book->arena, &sheet->columns, column);
    }
}

BookCell *sheet_row(Book *book, BookSheet *sheet) {
    BookCell *row = ARENA_ARRAY(book->arena, BookCell, sheet->columns.n);
    vec_push(book->arena, &sheet->rows, row);
    return row;
}

static uint32_t sheet_index(const Book *book, const BookSheet *sheet) {
    uint32_t i = 0;
    while (book->sheets.at[i] != sheet) i++;
    return i;
}

void sheet_row_name(Book *book, const BookSheet *sheet, Str name) {
    BookLink place = {.sheet = sheet_index(book, sheet), .row = (uint32_t)sheet->rows.n - 1};
    vec_push(book->arena, &book->places, place);
    map_put(&book->rows, name_intern(&book->names, name), (void *)(uintptr_t)book->places.n);
}

void cell_text(const Book *book, BookCell *cell, Str text) {
    if (text.len) *cell = (BookCell){.kind = CELL_TEXT, .text = str_copy(book->arena, text)};
}

void cell_number(const Book *book, BookCell *cell, Rational number) {
    enum { DECIMALS = 9 };
    Buf buf = {book->arena, NULL, 0, 0};
    if (rational_overflowed(number)) return;
    buf_rational_rounded(&buf, number, DECIMALS, ROUND_NEAREST);
    *cell = (BookCell){.kind = CELL_NUMBER, .text = buf_finish(&buf)};
}

void cell_count(const Book *book, BookCell *cell, uint64_t count) {
    cell_number(book, cell, rational_whole((int64_t)count));
}

static void link_to(Book *book, BookCell *cell, BookLink link) {
    if (cell->kind == CELL_EMPTY) return;
    link.target = str_copy(book->arena, link.target);
    vec_push(book->arena, &book->links, link);
    cell->link = (uint32_t)book->links.n;
}

void cell_link(Book *book, BookCell *cell, Str row_name) {
    link_to(book, cell, (BookLink){.target = row_name});
}

void cell_link_sheet(Book *book, BookCell *cell, uint32_t sheet) {
    link_to(book, cell, (BookLink){.top = true, .sheet = sheet});
}

void cell_link_file(Book *book, BookCell *cell, Str file) {
    link_to(book, cell, (BookLink){.target = file, .file = true});
}

void sheet_cell_name(Book *book, const BookSheet *sheet, uint32_t column, const char *name) {
    BookName cell = {str_of(name), sheet_index(book, sheet), (uint32_t)sheet->rows.n - 1, column};
    vec_push(book->arena, &book->cells, cell);
}

void book_close(Book *book) {
    bool *dead = ARENA_ARRAY(book->arena, bool, book->links.n + 1);
    for (size_t i = 0; i < book->links.n; i++) {
        BookLink *link = &book->links.at[i];
        if (link->file || link->top) continue;
        uintptr_t at = (uintptr_t)map_get(&book->rows, name_find(&book->names, link->target));
        dead[i] = !at;
        if (at) link->sheet = book->places.at[at - 1].sheet, link->row = book->places.at[at - 1].row;
    }
    for (size_t s = 0; s < book->sheets.n; s++) {
        const BookSheet *sheet = book->sheets.at[s];
        for (size_t r = 0; r < sheet->rows.n; r++)
            for (size_t c = 0; c < sheet->columns.n; c++) {
                BookCell *cell = &sheet->rows.at[r][c];
                if (cell->link && dead[cell->link - 1]) cell->link = 0;
            }
    }
}
