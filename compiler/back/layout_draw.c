/* The pages of a set, mark by mark. */
#include "back/layout.h"
#include "back/type.h"

enum { INSETS = 3 /* levels of brackets that stand apart */ };

typedef struct {
    const CardSet *set;
    const Form *form;
    Arena *arena;
    VEC(Draw) draws;
    size_t page, pages;
    Foot foot;
    size_t spine, retry, change, inset[INSETS]; /* bars that may grow: 1 + their place among the draws; 0: none */
} Easel;

static void draw(Easel *easel, Draw mark) {
    vec_push(easel->arena, &easel->draws, mark);
}

static void open_role(Easel *easel, const char *role) {
    draw(easel, (Draw){.kind = DRAW_OPEN, .text = str_of(role)});
}

static void close_role(Easel *easel, const char *role) {
    draw(easel, (Draw){.kind = DRAW_CLOSE, .text = str_of(role)});
}

/* Below the line's top: capitals stand in the middle of their line. */
static Length baseline(const Form *form, Length type) {
    Length capital = (Length)((int64_t)type * form->press->cap_height / form->press->em);
    return (form_lead(type) + capital) / 2;
}

static void draw_text(Easel *easel, Face face, Length type, Length x, Length line_top, Str text) {
    const Press *press = easel->form->press;
    Draw mark = {.kind = DRAW_TEXT, .x = x, .y = line_top + baseline(easel->form, type), .height = type};
    for (size_t at = 0; next_run(press, face, text, &at, &mark.text, &mark.face);) {
        draw(easel, mark);
        mark.x += (Length)(run_units(press, mark.face, mark.text) * type / press->em);
    }
}

static void draw_right(Easel *easel, Face face, Length type, Length right, Length line_top, Str text) {
    draw_text(easel, face, type, right - text_width(easel->form, face, type, text), line_top, text);
}

static void draw_bar(Easel *easel, Ink ink, Length x, Length y, Length width, Length height) {
    draw(easel, (Draw){.kind = DRAW_BAR, .ink = ink, .x = x, .y = y, .width = width, .height = height});
}

/* A bar that goes on from the line above, across the gap. */
static void grow_bar(Easel *easel, size_t *bar, Length x, Length top, Length gap, Length width, Length height) {
    if (*bar) {
        Draw *last = &easel->draws.at[*bar - 1];
        if (last->x == x && last->width == width && last->y + last->height == top - gap) {
            last->height += gap + height;
            return;
        }
    }
    draw_bar(easel, INK_BLACK, x, top, width, height);
    *bar = easel->draws.n;
}

static Length draw_wrapped(Easel *easel, Face face, Length type, Length width, Length top, Str text) {
    Str wide = {0};
    for (size_t at = 0; at < text.len; top += form_lead(type)) {
        Str line;
        at = text_line(easel->form, face, type, width, text, at, &line, &wide);
        draw_text(easel, face, type, easel->form->left, top, line);
    }
    return top;
}

/* ---- heads and feet ---- */

static Str numbers(Easel *easel, const char *before, size_t n, size_t of) {
    Buf buf = {easel->arena, NULL, 0, 0};
    buf_text(&buf, before);
    buf_uint(&buf, n);
    if (of) buf_text(&buf, " of "), buf_uint(&buf, of);
    return buf_view(&buf);
}

static Str place_name(Easel *easel, const Sheet *sheet) {
    size_t index = (size_t)(sheet - easel->set->sheets.at);
    return numbers(easel, "card-", index + 1, 0);
}

static void draw_head(Easel *easel, const SheetPages *pages, size_t part) {
    const Form *form = easel->form;
    const Edition *edition = easel->set->input->edition;
    const Sheet *sheet = pages->sheet;
    Length top = form->top;
    Str standing = str_of(card_standing(edition));
    if (standing.len)
        draw(easel, (Draw){.kind = DRAW_ACROSS,
                           .face = FACE_BOLD,
                           .ink = INK_PALE,
                           .x = form->width / 2,
                           .y = form->height / 2,
                           .width = form->height / 100 * 62,
                           .text = standing});
    open_role(easel, "P");
    draw_text(easel, FACE_BOLD, form->type, form->left, top, easel->set->input->tail->title);
    draw_right(easel, FACE_BOLD, form->type, form->right, top, standing);
    close_role(easel, "P");
    top += form_lead(form->type);
    open_role(easel, part ? "P" : "H1");
    Length bottom =
        draw_wrapped(easel, FACE_BOLD, form_title_type(form, sheet), form_title_room(form), top, sheet->title);
    Length lower = baseline(form, form_title_type(form, sheet)) - baseline(form, form->type);
    if (pages->breaks.n > 1)
        draw_right(easel, FACE_PLAIN, form->type, form->right, top + lower,
                   numbers(easel, "", part + 1, pages->breaks.n));
    close_role(easel, part ? "P" : "H1");
    draw_bar(easel, INK_BLACK, form->left, bottom + POINT, form->right - form->left, 3 * POINT / 2);
}

/* The caution, and the page's number on the same line as its end. */
static void draw_caution(Easel *easel, Length top) {
    const Form *form = easel->form;
    Str wide = {0}, line, caution = card_caution(easel->set);
    for (size_t at = 0; at < caution.len; top += form_lead(form->small)) {
        at = text_line(form, FACE_PLAIN, form->small, form_foot_width(form), caution, at, &line, &wide);
        if (at >= caution.len && easel->foot.number_beside)
            top += baseline(form, form->type) - baseline(form, form->small);
        draw_text(easel, FACE_PLAIN, form->small, form->left, top, line);
    }
    if (easel->foot.number_beside)
        top -= form_lead(form->small) + baseline(form, form->type) - baseline(form, form->small);
    draw_right(easel, FACE_BOLD, form->type, form->right, top, numbers(easel, "page ", easel->page, easel->pages));
}

static void draw_foot(Easel *easel) {
    const Form *form = easel->form;
    Str code = str_of(easel->set->input->edition->code);
    Length top = easel->foot.top + 3 * POINT;
    draw_bar(easel, INK_BLACK, form->left, easel->foot.top + POINT, form->right - form->left, POINT / 2);
    draw(easel, (Draw){.kind = DRAW_OPEN, .text = STR("P"), .target = STR("foot")});
    if (!easel->foot.code_beside) {
        draw_text(easel, FACE_PLAIN, form->small, form->left, top, code);
        top += form_lead(form->small);
    }
    Length below = draw_wrapped(easel, FACE_PLAIN, form->small, form_foot_width(form), top, card_identity(easel->set));
    if (easel->foot.code_beside) draw_right(easel, FACE_PLAIN, form->small, form->right, top, code);
    draw_caution(easel, below);
    close_role(easel, "P");
}

/* ---- lines ---- */

static void draw_edges(Easel *easel, const Row *row, Length top, Length gap, Length height) {
    const Form *form = easel->form;
    if (row->retry) grow_bar(easel, &easel->retry, form->left, top, gap, 3 * POINT, height);
    else easel->retry = 0;
    if (row->changed) grow_bar(easel, &easel->change, form->right + 5 * POINT, top, gap, 2 * POINT, height);
    else easel->change = 0;
}

static uint32_t insets(const Row *row) {
    return !row ? 0 : row->inset < INSETS ? row->inset : INSETS;
}

static void draw_hook(Easel *easel, Length x, Length y) {
    draw_bar(easel, INK_BLACK, x, y, 4 * POINT, POINT);
}

/* Brackets around the lines that hold only in some case; one that a page's edge cuts has no hook there. */
static void draw_brackets(Easel *easel, const Strip *strip, const Strip *before, const Strip *after, Length top,
                          Length gap) {
    const Row *row = strip->row;
    bool head = strip->first && (row->kind == ROW_IF || row->kind == ROW_IF_NOT);
    bool next_head = after && after->first && (after->row->kind == ROW_IF || after->row->kind == ROW_IF_NOT);
    for (uint32_t i = 0; i < INSETS; i++) {
        Length x = easel->form->left + 9 * POINT / 2 + (Length)i * 5 * POINT / 2;
        if (i >= insets(row)) {
            easel->inset[i] = 0;
            continue;
        }
        bool begins = insets(before ? before->row : NULL) <= i || (head && i + 1 == insets(row));
        bool ends = insets(after ? after->row : NULL) <= i || (next_head && i + 1 == insets(after->row));
        if (begins) easel->inset[i] = 0;
        grow_bar(easel, &easel->inset[i], x, top, begins ? 0 : gap, POINT, strip->height);
        if (begins) draw_hook(easel, x, top);
        if (ends) draw_hook(easel, x, top + strip->height - POINT);
    }
}

static void draw_remark_edge(Easel *easel, const Row *row, Length top, Length height) {
    const Form *form = easel->form;
    Draw bar = {
        .kind = DRAW_BAR, .ink = INK_RED, .x = form->edge - 6 * POINT, .y = top, .width = 5 * POINT, .height = height};
    if (row->kind == ROW_CAUTION) bar.kind = DRAW_FRAME, bar.ink = INK_AMBER;
    if (row->kind == ROW_WARNING || row->kind == ROW_CAUTION) draw(easel, bar);
}

static void link_drill(Easel *easel, const Row *row, Length x, Length top, Length height) {
    if (row->turns_to == NO_INDEX) return;
    for (size_t i = 0; i < easel->set->sheets.n; i++)
        if (easel->set->sheets.at[i].drill == row->turns_to)
            draw(easel, (Draw){.kind = DRAW_LINK,
                               .x = x,
                               .y = top,
                               .width = easel->form->right - x,
                               .height = height,
                               .text = place_name(easel, &easel->set->sheets.at[i])});
}

static void draw_number(Easel *easel, const Row *row, Length top) {
    Buf buf = {easel->arena, NULL, 0, 0};
    buf_row_number(&buf, row);
    draw_right(easel, row->memory ? FACE_BOLD : FACE_PLAIN, easel->form->type, easel->form->number, top,
               buf_view(&buf));
}

static void draw_on_spine(Easel *easel, const Strip *strip, Length top, Length gap) {
    const Form *form = easel->form;
    const Row *row = strip->row;
    Str gutter = str_of(strip->first ? row->gutter : "");
    if (strip->first && row->number) draw_number(easel, row, top);
    draw_text(easel, FACE_PLAIN, form->type, form->thing, top, gutter);
    draw_right(easel, FACE_PLAIN, form->type, form->spine - form->type / 2, top, strip->thing);
    Length bar = row->memory ? 5 * POINT : 3 * POINT / 2;
    grow_bar(easel, &easel->spine, form->spine, top, gap, bar, strip->height);
    draw_text(easel, row_face(strip->state_of), form->type, form->state, top, strip->state);
    link_drill(easel, strip->state_of, form->state, top, strip->height);
}

static void draw_across(Easel *easel, const Strip *strip, Length top) {
    const Form *form = easel->form;
    Length x = form->edge;
    draw_text(easel, FACE_BOLD, form->type, x, top, strip->thing);
    if (strip->thing.len) x += text_width(form, FACE_BOLD, form->type, strip->thing) + form->type / 3;
    draw_text(easel, row_face(strip->row), form->type, x, top, strip->state);
    draw_remark_edge(easel, strip->row, top, strip->height);
    link_drill(easel, strip->row, form->edge, top, strip->height);
    easel->spine = 0;
}

/* How much of its gaps a page can have, in per cent. */
static int64_t spread(const Easel *easel, const SheetPages *pages, size_t from, size_t to) {
    int64_t room = easel->foot.top - pages->body_top, gaps = 0, least = pages->form.least_gap;
    if (to < pages->strips.n) room -= form_goes_on_height(easel->form);
    for (size_t i = from; i < to; i++) {
        room -= pages->strips.at[i].height;
        if (i > from) gaps += pages->strips.at[i].gap;
    }
    int64_t share = gaps ? room * 100 / gaps : 100;
    return share > 100 ? 100 : share < least ? least : share;
}

static void draw_strips(Easel *easel, const SheetPages *pages, size_t from, size_t to) {
    Length top = pages->body_top;
    int64_t share = spread(easel, pages, from, to);
    easel->spine = easel->retry = easel->change = 0;
    for (int i = 0; i < INSETS; i++) easel->inset[i] = 0;
    for (size_t i = from; i < to; i++) {
        const Strip *strip = &pages->strips.at[i];
        const char *role = strip->row->kind == ROW_PHASE ? "H2" : "P";
        Length gap = i > from ? (Length)(strip->gap * share / 100) : 0;
        top += gap;
        if (strip->first || i == from) open_role(easel, role);
        draw_edges(easel, strip->row, top, gap, strip->height);
        draw_brackets(easel, strip, i ? strip - 1 : NULL, i + 1 < pages->strips.n ? strip + 1 : NULL, top, gap);
        if (row_on_spine(strip->row)) draw_on_spine(easel, strip, top, gap);
        else draw_across(easel, strip, top);
        if (strip->last || i + 1 == to) close_role(easel, role);
        top += strip->height;
    }
}

static void draw_goes_on(Easel *easel) {
    Length top = easel->foot.top - form_lead(easel->form->type);
    open_role(easel, "P");
    draw_right(easel, FACE_BOLD, easel->form->type, easel->form->right, top,
               numbers(easel, "goes on: page ", easel->page + 1, 0));
    close_role(easel, "P");
}

static void draw_page(Easel *easel, const SheetPages *pages, size_t part) {
    size_t from = pages->breaks.starts[part];
    bool last = part + 1 == pages->breaks.n;
    size_t to = last ? pages->strips.n : pages->breaks.starts[part + 1];
    easel->page++;
    easel->form = &pages->form;
    draw(easel, (Draw){.kind = DRAW_PAGE});
    if (!part) {
        Str place = place_name(easel, pages->sheet);
        draw(easel, (Draw){.kind = DRAW_PLACE, .text = place});
        draw(easel, (Draw){.kind = DRAW_OUTLINE, .text = pages->sheet->title, .target = place});
    }
    draw_head(easel, pages, part);
    draw_strips(easel, pages, from, to);
    if (!last) draw_goes_on(easel);
    draw_foot(easel);
}

/* ---- the whole ---- */

Drawing layout_draw(Arena *arena, const CardSet *set, const Setup *setup) {
    const Edition *edition = set->input->edition;
    Str wide = {0};
    Easel easel = {.set = set, .form = &setup->form, .arena = arena, .pages = setup->pages};
    easel.foot = layout_foot(&setup->form, set, &wide);
    for (size_t i = 0; i < setup->n; i++)
        for (size_t part = 0; part < setup->sheets[i].breaks.n; part++) draw_page(&easel, &setup->sheets[i], part);
    Buf title = {arena, NULL, 0, 0};
    buf_str(&title, edition->title.len ? edition->title : set->input->tail->title);
    return (Drawing){.title = buf_view(&title),
                     .author = edition->prepared_by,
                     .subject = card_identity(set),
                     .day = edition->effective,
                     .width = setup->form.width,
                     .height = setup->form.height,
                     .page_width = setup->form.width,
                     .draws = easel.draws.at,
                     .n = easel.draws.n,
                     .pages = setup->pages};
}
