#include "back/impose.h"

const Paper *paper_sheet(const Paper *page) {
    static const char *const sheets[][2] = {{"a6", "a5"}, {"a5", "a4"}, {"half-letter", "letter"}};
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++)
        if (str_eq(str_of(page->name), str_of(sheets[i][0]))) return paper_find(str_of(sheets[i][1]));
    return NULL;
}

size_t folded_side_count(size_t n) {
    return (n + 3) / 4 * 2;
}

void folded_sides(size_t n, size_t side, size_t *left, size_t *right) {
    size_t all = 2 * folded_side_count(n), outer = all - side, inner = side + 1;
    *left = side % 2 ? inner : outer, *right = side % 2 ? outer : inner;
    if (*left > n) *left = 0;
    if (*right > n) *right = 0;
}

typedef struct {
    Arena *arena;
    const Drawing *drawing;
    VEC(size_t) starts; /* the mark behind each DRAW_PAGE */
    VEC(Draw) draws;
} Sheets;

static void copy_page(Sheets *sheets, size_t page, Length right_by) {
    if (!page) return;
    for (size_t i = sheets->starts.at[page - 1]; i < sheets->drawing->n; i++) {
        Draw mark = sheets->drawing->draws[i];
        if (mark.kind == DRAW_PAGE) return;
        mark.x += right_by;
        vec_push(sheets->arena, &sheets->draws, mark);
    }
}

Drawing impose(Arena *arena, const Drawing *drawing, const Paper *sheet) {
    Sheets sheets = {.arena = arena, .drawing = drawing};
    Drawing made = *drawing;
    for (size_t i = 0; i < drawing->n; i++)
        if (drawing->draws[i].kind == DRAW_PAGE) vec_push(arena, &sheets.starts, i + 1);
    made.width = sheet->height, made.height = sheet->width; /* lying */
    made.pages = folded_side_count(drawing->pages);
    Length fold = made.width / 2;
    for (size_t side = 0; side < made.pages; side++) {
        size_t left, right;
        folded_sides(drawing->pages, side, &left, &right);
        vec_push(arena, &sheets.draws, ((Draw){.kind = DRAW_PAGE}));
        copy_page(&sheets, left, fold - drawing->width);
        copy_page(&sheets, right, fold);
    }
    made.draws = sheets.draws.at, made.n = sheets.draws.n;
    return made;
}
