/* Short declarations of one kind, line below line: their titles, and what follows these, begin at one column each. */
#include "front/print.h"

static bool begins_table(const Printer *p, uint32_t i) {
    static const char *const words[] = {"control", "scene", "gauge",  "light", "person", "call",
                                        "kind",    "event", "source", "state", NULL};
    for (const char *const *word = words; *word; word++)
        if (print_is(p, i, *word)) return true;
    return false;
}

void print_align_add(Printer *p, size_t start, uint32_t first, uint32_t end) {
    if (!begins_table(p, first) || memchr(p->out.ptr + start, '\n', p->out.len - start)) {
        print_align_close(p);
        return;
    }
    TableLine line = {.start = start};
    uint32_t title = first;
    while (title < end && p->pieces.at[title].kind != PIECE_TEXT && !print_is(p, title, "means")) title++;
    /* Before the title stand words of ASCII alone: as many bytes as columns. */
    line.width[0] = print_width(p, first, title, PRINT_WHY_WIDTH);
    if (title < end) {
        const Piece *piece = &p->pieces.at[title];
        bool text = piece->kind == PIECE_TEXT;
        uint32_t rest = text ? print_next(p, title + 1, end, false) : end;
        line.cell[0] = start + line.width[0] + 1;
        line.width[1] = text ? piece->width : print_width(p, title, end, PRINT_WHY_WIDTH);
        if (rest < end) {
            line.cell[1] = line.cell[0] + (piece->hi - piece->lo) + 1;
            line.width[2] = print_width(p, rest, end, PRINT_WHY_WIDTH);
        }
    }
    const Piece *word = &p->pieces.at[first];
    p->table_word = str_slice(p->text, word->lo, word->hi);
    vec_push(p->arena, &p->table, line);
}

bool print_align_goes_on(const Printer *p, uint32_t first) {
    const Piece *word = &p->pieces.at[first];
    return p->table.n > 0 && str_eq(p->table_word, str_slice(p->text, word->lo, word->hi));
}

/* The columns up to cell `last` that fit all lines: 2, 1 or 0 cells are moved. */
static unsigned cells_that_fit(const Printer *p, size_t widest[2]) {
    bool titles = true, rests = true;
    for (size_t i = 0; i < p->table.n; i++) {
        const TableLine *line = &p->table.at[i];
        size_t behind = line->cell[1] ? 1 + line->width[2] : 0;
        if (!line->cell[0]) continue;
        titles &= widest[0] + 1 + line->width[1] + behind <= PRINT_WHY_WIDTH;
        rests &= !line->cell[1] || widest[0] + 1 + widest[1] + behind <= PRINT_WHY_WIDTH;
    }
    return !titles ? 0 : rests ? 2 : 1;
}

static void put_cell(Printer *p, Str old, size_t base, size_t lo, size_t hi) {
    buf_str(&p->out, str_slice(old, lo - base, hi - base));
}

void print_align_close(Printer *p) {
    if (p->table.n < 2) {
        p->table.n = 0;
        return;
    }
    size_t widest[2] = {0, 0};
    for (size_t i = 0; i < p->table.n; i++) {
        const TableLine *line = &p->table.at[i];
        if (line->cell[0] && line->width[0] > widest[0]) widest[0] = line->width[0];
        if (line->cell[1] && line->width[1] > widest[1]) widest[1] = line->width[1];
    }
    unsigned cells = cells_that_fit(p, widest);
    size_t base = p->table.at[0].start;
    p->table_text.len = 0;
    buf_str(&p->table_text, str_slice(buf_view(&p->out), base, p->out.len));
    Str old = buf_view(&p->table_text);
    p->out.len = base;
    size_t done = base;
    for (size_t i = 0; i < p->table.n; i++) {
        const TableLine *line = &p->table.at[i];
        for (unsigned cell = 0; cell < cells && line->cell[cell]; cell++) {
            put_cell(p, old, base, done, line->cell[cell]);
            buf_repeat(&p->out, ' ', widest[cell] - line->width[cell]);
            done = line->cell[cell];
        }
    }
    put_cell(p, old, base, done, base + old.len);
    p->table.n = 0;
}
