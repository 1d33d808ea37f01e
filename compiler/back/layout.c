/* Cards as a drawing: type, spine and pages are chosen so that everything can be read at its distance, then set. */
#include "back/layout.h"
#include "base/utf8.h"

/* ---- paper and type ---- */

const Paper papers[] = {
    {"a6", 297638, 419528},     {"half-letter", 396000, 612000}, {"a5", 419528, 595276},
    {"letter", 612000, 792000}, {"a4", 595276, 841890},
};
const size_t paper_count = sizeof papers / sizeof *papers;

const Paper *paper_find(Str name) {
    for (size_t i = 0; i < paper_count; i++)
        if (str_eq(name, str_of(papers[i].name))) return &papers[i];
    return NULL;
}

enum {
    TYPE_STEP = 100,
    TYPE_STEPS = 48,       /* so much larger than the least is tried */
    X_HEIGHT_AT_600 = 7200 /* 0.10 in at 600 mm: the height of small letters that are read in use */
};

/* The smallest type that can be read from there. */
static Length legible_type(const Press *press, int64_t read_at_mm) {
    int64_t at_600 = (int64_t)X_HEIGHT_AT_600 * press->em * read_at_mm, unit = (int64_t)press->x_height * 600;
    return (Length)((at_600 / unit + TYPE_STEP) / TYPE_STEP * TYPE_STEP);
}

static void buf_number(Buf *buf, const Row *row) {
    if (row->memory) buf_char(buf, 'M');
    buf_uint(buf, row->number);
}

static Length widest_number(const CardSet *set, const Form *form) {
    Length most = 0;
    for (size_t i = 0; i < set->sheets.n; i++)
        for (size_t r = 0; r < set->sheets.at[i].rows.n; r++) {
            const Row *row = &set->sheets.at[i].rows.at[r];
            char room[24];
            Buf buf = {set->arena, room, 0, sizeof room};
            if (row->number) buf_number(&buf, row);
            Length width = text_width(form, FACE_BOLD, form->type, buf_view(&buf));
            if (width > most) most = width;
        }
    return most;
}

static Form make_form(const CardSet *set, const Press *press, const Paper *paper, Length type) {
    Form form = {.press = press, .width = paper->width, .height = paper->height, .type = type};
    form.small = type / 100 * 64;
    form.left = paper->width / 1000 * 58, form.right = paper->width - paper->width / 1000 * 46;
    form.top = paper->height / 1000 * 34, form.bottom = paper->height - paper->height / 1000 * 30;
    form.edge = form.left + 11 * POINT;
    form.number = form.edge + widest_number(set, &form);
    form.thing = form.number + type / 2;
    return form;
}

/* share: per cent of the line before the spine. */
static Form stand_spine(Form form, int share) {
    form.spine = form.thing + (form.right - form.thing) / 100 * share;
    form.state = form.spine + 5 * POINT + form.type / 2;
    return form;
}

/* ---- the pages of a set ---- */

typedef struct {
    const Sheet *sheet;
    Strips strips;
    Breaks breaks;
    Length body_top;
} SheetPages;

typedef struct {
    Form form;
    SheetPages *sheets;
    size_t n, pages;
    Badness badness;
    Str wide;   /* a word that no line can hold */
    bool tight; /* heads and feet leave no room */
} Setup;

static Length title_type(const Form *form, const Sheet *sheet) {
    return form->type / 100 * (sheet->drill != NO_INDEX ? 135 : 115);
}

/* "2 of 3" stands beside the title. */
static Length title_room(const Form *form) {
    return form->right - form->left - text_width(form, FACE_PLAIN, form->type, STR("  8 of 8"));
}

static size_t count_lines(const Form *form, Face face, Length type, Length width, Str text, Str *wide) {
    size_t n = 0;
    Str line;
    for (size_t at = 0; at < text.len; n++) at = text_line(form, face, type, width, text, at, &line, wide);
    return n;
}

static Length body_top(const Form *form, const Sheet *sheet, Str *wide) {
    Length type = title_type(form, sheet);
    size_t lines = count_lines(form, FACE_BOLD, type, title_room(form), sheet->title, wide);
    return form->top + form_lead(form->type) + (Length)lines * form_lead(type) + 6 * POINT;
}

static Length foot_top(const Form *form, const CardSet *set, Str *wide) {
    Length width = form->right - form->left;
    size_t lines = count_lines(form, FACE_PLAIN, form->small, width, card_identity(set), wide) +
                   count_lines(form, FACE_PLAIN, form->small, width, card_caution(set), wide);
    return form->bottom - (Length)lines * form_lead(form->small) - form_lead(form->type) - 4 * POINT;
}

static Length goes_on_height(const Form *form) {
    return form_lead(form->type) + form->type / 2;
}

static void add_badness(Badness *sum, const Badness *more) {
    sum->in_item += more->in_item;
    sum->in_whole += more->in_whole;
    sum->pages += more->pages;
    sum->at_item += more->at_item;
    sum->slack += more->slack;
}

static void set_sheet(Setup *setup, Arena *arena, const CardSet *set, const Sheet *sheet) {
    SheetPages *pages = &setup->sheets[setup->n++];
    Badness badness = {0};
    pages->sheet = sheet;
    pages->body_top = body_top(&setup->form, sheet, &setup->wide);
    Length room = foot_top(&setup->form, set, &setup->wide) - pages->body_top;
    if (room < 8 * form_lead(setup->form.type)) {
        setup->tight = true;
        return;
    }
    pages->strips = layout_strips(&setup->form, arena, sheet, &setup->wide);
    pages->breaks =
        layout_break(arena, pages->strips.at, pages->strips.n, room, goes_on_height(&setup->form), &badness);
    add_badness(&setup->badness, &badness);
    setup->pages += pages->breaks.n;
}

static Setup set_up(Arena *arena, const CardSet *set, Form form) {
    Setup setup = {.form = form, .sheets = ARENA_ARRAY(arena, SheetPages, set->sheets.n + 1)};
    for (size_t i = 0; !setup.tight && i < set->sheets.n; i++) set_sheet(&setup, arena, set, &set->sheets.at[i]);
    return setup;
}

static bool can_be_set(const Setup *setup) {
    return !setup->tight && !setup->wide.len;
}

static size_t count_strips(const Setup *setup) {
    size_t n = 0;
    for (size_t i = 0; i < setup->n; i++) n += setup->sheets[i].strips.n;
    return n;
}

static bool better(const Setup *setup, const Setup *than) {
    if (!can_be_set(setup)) return false;
    if (!can_be_set(than)) return true;
    Badness found = setup->badness, kept = than->badness;
    found.at_item = kept.at_item = 0, found.slack = kept.slack = 0;
    int order = badness_cmp(&found, &kept);
    return order < 0 || (!order && count_strips(setup) < count_strips(than));
}

/* Where the spine stands: where the breaks do least harm, then where the lines are fewest. */
static Setup choose_spine(Arena *arena, const CardSet *set, Form form, int *share) {
    static const int shares[] = {42, 38, 34, 46, 50};
    Setup best = {0};
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        Setup setup = set_up(arena, set, stand_spine(form, shares[i]));
        if (i && !better(&setup, &best)) continue;
        best = setup;
        *share = shares[i];
    }
    return best;
}

/* The largest type that costs no page and no break. */
static Setup choose_type(Arena *arena, const CardSet *set, const Press *press, const Paper *paper, Length least) {
    int share;
    Setup best = choose_spine(arena, set, make_form(set, press, paper, least), &share);
    int lo = 0, hi = can_be_set(&best) ? TYPE_STEPS : 0;
    while (lo < hi) {
        int middle = (lo + hi + 1) / 2;
        Form form = make_form(set, press, paper, least + middle * TYPE_STEP);
        Setup larger = set_up(arena, set, stand_spine(form, share));
        bool good = can_be_set(&larger) && larger.badness.in_item <= best.badness.in_item &&
                    larger.badness.in_whole <= best.badness.in_whole && larger.badness.pages <= best.badness.pages;
        if (good) best = larger, lo = middle;
        else hi = middle - 1;
    }
    return best;
}

/* ---- what cannot be set ---- */

static void buf_size(Buf *buf, Length type) {
    buf_uint(buf, (uint64_t)(type / POINT));
    if (type % POINT) buf_char(buf, '.'), buf_uint(buf, (uint64_t)(type % POINT / TYPE_STEP));
    buf_text(buf, " pt");
}

static void refuse(const CardSet *set, const Press *press, const Paper *paper, const Setup *setup) {
    Buf buf = {set->arena, NULL, 0, 0};
    if (setup->wide.len) {
        buf_text(&buf, "\"");
        buf_str(&buf, str_slice(setup->wide, 0, setup->wide.len < 60 ? setup->wide.len : 60));
        buf_text(&buf, "\" is wider than its column");
    } else buf_text(&buf, "head and foot leave no room for the lines");
    buf_text(&buf, " on ");
    buf_text(&buf, paper->name);
    buf_text(&buf, " in type of ");
    buf_size(&buf, setup->form.type);
    const Paper *larger = NULL;
    for (size_t i = 0; !larger && i < paper_count; i++) {
        if (papers[i].width <= paper->width) continue;
        int share;
        Form form = make_form(set, press, &papers[i], setup->form.type);
        Setup there = choose_spine(set->arena, set, form, &share);
        if (can_be_set(&there)) larger = &papers[i];
    }
    if (larger) buf_text(&buf, "; it can be set on "), buf_text(&buf, larger->name);
    else buf_text(&buf, ", and on every other paper; write it in fewer or shorter words");
    *set->input->why_not = buf_view(&buf);
}

static bool all_in_face(const CardSet *set, const Press *press, Str text, Str *why_not) {
    for (size_t at = 0; at < text.len;) {
        Utf8 code = utf8_decode(text, at);
        if (press->advance(FACE_PLAIN, code.code) < 0 || press->advance(FACE_BOLD, code.code) < 0) {
            Buf buf = {set->arena, NULL, 0, 0};
            buf_text(&buf, "the cards' typeface has no character \"");
            buf_utf8(&buf, code.code);
            buf_text(&buf, "\", which stands in \"");
            buf_str(&buf, str_slice(text, 0, text.len < 200 ? text.len : 200));
            buf_text(&buf, "\"");
            *why_not = buf_view(&buf);
            return false;
        }
        at += code.size;
    }
    return true;
}

static bool readable(const CardSet *set, const Press *press, Str *why_not) {
    if (!all_in_face(set, press, card_identity(set), why_not) || !all_in_face(set, press, card_caution(set), why_not))
        return false;
    for (size_t i = 0; i < set->sheets.n; i++) {
        const Sheet *sheet = &set->sheets.at[i];
        if (!all_in_face(set, press, sheet->title, why_not)) return false;
        for (size_t r = 0; r < sheet->rows.n; r++)
            if (!all_in_face(set, press, sheet->rows.at[r].thing, why_not) ||
                !all_in_face(set, press, sheet->rows.at[r].state, why_not))
                return false;
    }
    return true;
}

/* ---- drawing ---- */

typedef struct {
    const CardSet *set;
    const Form *form;
    Arena *arena;
    VEC(Draw) draws;
    size_t page, pages;
    Length foot_top;
    size_t spine, retry, inset; /* bars that may grow: 1 + their place among the draws; 0: none */
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

/* Capitals stand in the middle of their line. */
static void draw_text(Easel *easel, Face face, Length type, Length x, Length line_top, Str text) {
    if (!text.len) return;
    Length lead = form_lead(type),
           capital = (Length)((int64_t)type * easel->form->press->cap_height / easel->form->press->em);
    draw(easel, (Draw){.kind = DRAW_TEXT,
                       .face = face,
                       .x = x,
                       .y = line_top + (lead + capital) / 2,
                       .height = type,
                       .text = text});
}

static void draw_right(Easel *easel, Face face, Length type, Length right, Length line_top, Str text) {
    draw_text(easel, face, type, right - text_width(easel->form, face, type, text), line_top, text);
}

static void draw_bar(Easel *easel, Ink ink, Length x, Length y, Length width, Length height) {
    draw(easel, (Draw){.kind = DRAW_BAR, .ink = ink, .x = x, .y = y, .width = width, .height = height});
}

/* A bar that goes on from the line above, across the gap. */
static void grow_bar(Easel *easel, size_t *bar, Length x, Length top, Length gap, Length width, Length height) {
    Draw *last = *bar ? &easel->draws.at[*bar - 1] : NULL;
    if (last && last->x == x && last->width == width && last->y + last->height == top - gap) {
        last->height += gap + height;
        return;
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
    Length bottom = draw_wrapped(easel, FACE_BOLD, title_type(form, sheet), title_room(form), top, sheet->title);
    if (pages->breaks.n > 1)
        draw_right(easel, FACE_PLAIN, form->type, form->right, top, numbers(easel, "", part + 1, pages->breaks.n));
    close_role(easel, part ? "P" : "H1");
    draw_bar(easel, INK_BLACK, form->left, bottom + POINT, form->right - form->left, 3 * POINT / 2);
}

static void draw_foot(Easel *easel) {
    const Form *form = easel->form;
    Length width = form->right - form->left;
    draw_bar(easel, INK_BLACK, form->left, easel->foot_top + POINT, width, POINT / 2);
    open_role(easel, "P");
    Length top =
        draw_wrapped(easel, FACE_PLAIN, form->small, width, easel->foot_top + 3 * POINT, card_identity(easel->set));
    top = draw_wrapped(easel, FACE_PLAIN, form->small, width, top, card_caution(easel->set));
    draw_text(easel, FACE_PLAIN, form->type, form->left, top, str_of(easel->set->input->edition->code));
    draw_right(easel, FACE_BOLD, form->type, form->right, top, numbers(easel, "page ", easel->page, easel->pages));
    close_role(easel, "P");
}

/* ---- lines ---- */

static void draw_edges(Easel *easel, const Row *row, Length top, Length gap, Length height) {
    const Form *form = easel->form;
    if (row->retry) grow_bar(easel, &easel->retry, form->left, top, gap, 3 * POINT, height);
    else easel->retry = 0;
    if (row->inset)
        grow_bar(easel, &easel->inset, form->left + 6 * POINT, top, gap, row->inset > 1 ? 2 * POINT : POINT, height);
    else easel->inset = 0;
}

static void draw_remark_edge(Easel *easel, const Row *row, Length top, Length height) {
    const Form *form = easel->form;
    Draw bar = {
        .kind = DRAW_BAR, .ink = INK_RED, .x = form->left + 4 * POINT, .y = top, .width = 5 * POINT, .height = height};
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
    buf_number(&buf, row);
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
    int64_t room = easel->foot_top - pages->body_top, gaps = 0;
    if (to < pages->strips.n) room -= goes_on_height(easel->form);
    for (size_t i = from; i < to; i++) {
        room -= pages->strips.at[i].height;
        if (i > from) gaps += pages->strips.at[i].gap;
    }
    int64_t share = gaps ? room * 100 / gaps : 100;
    return share > 100 ? 100 : share < 40 ? 40 : share;
}

static void draw_strips(Easel *easel, const SheetPages *pages, size_t from, size_t to) {
    Length top = pages->body_top;
    int64_t share = spread(easel, pages, from, to);
    easel->spine = easel->retry = easel->inset = 0;
    for (size_t i = from; i < to; i++) {
        const Strip *strip = &pages->strips.at[i];
        const char *role = strip->row->kind == ROW_PHASE ? "H2" : "P";
        Length gap = i > from ? (Length)(strip->gap * share / 100) : 0;
        top += gap;
        if (strip->first || i == from) open_role(easel, role);
        draw_edges(easel, strip->row, top, gap, strip->height);
        if (row_on_spine(strip->row)) draw_on_spine(easel, strip, top, gap);
        else draw_across(easel, strip, top);
        if (strip->last || i + 1 == to) close_role(easel, role);
        top += strip->height;
    }
}

static void draw_goes_on(Easel *easel) {
    Length top = easel->foot_top - form_lead(easel->form->type);
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

static void set_last(Arena *arena, CardSet *set, Setup *setup) {
    Str *titles = ARENA_ARRAY(arena, Str, setup->pages + 1);
    size_t n = 0;
    for (size_t i = 0; i < setup->n; i++)
        for (size_t part = 0; part < setup->sheets[i].breaks.n; part++) titles[n++] = setup->sheets[i].sheet->title;
    card_set_last(set, titles, n);
    for (size_t i = 0; i < setup->n; i++) setup->sheets[i].sheet = &set->sheets.at[i];
    set_sheet(setup, arena, set, &set->sheets.at[setup->n]);
}

static Drawing draw_set(Arena *arena, const CardSet *set, const Setup *setup) {
    const Edition *edition = set->input->edition;
    Str wide = {0};
    Easel easel = {.set = set, .form = &setup->form, .arena = arena, .pages = setup->pages};
    easel.foot_top = foot_top(&setup->form, set, &wide);
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
                     .draws = easel.draws.at,
                     .n = easel.draws.n,
                     .pages = setup->pages};
}

static bool card_draw(const BackInput *input, Drawing *drawing) {
    const Press *press = input->press;
    Arena *arena = input->job->arena;
    const Edition *edition = input->edition;
    CardSet set = card_set(input);
    if (!readable(&set, press, input->why_not)) return false;
    Length least = legible_type(press, edition->read_at_mm);
    if (edition->type > least) least = (Length)edition->type;
    Setup setup = choose_type(arena, &set, press, edition->paper, least);
    if (can_be_set(&setup)) set_last(arena, &set, &setup);
    if (!can_be_set(&setup)) {
        refuse(&set, press, edition->paper, &setup);
        return false;
    }
    *drawing = draw_set(arena, &set, &setup);
    return true;
}

static bool painted(const BackInput *input, PaintKind kind, Sink sink) {
    Drawing drawing;
    const char *because = "";
    if (!card_draw(input, &drawing)) return false;
    if (input->press->paint(&drawing, kind, sink, &because)) return true;
    *input->why_not = str_of(because);
    return false;
}

bool card_pdf(const BackInput *input, Sink sink) {
    return painted(input, PAINT_PDF, sink);
}

bool card_png(const BackInput *input, Sink sink) {
    return painted(input, PAINT_PNG, sink);
}

bool card_drawing(const BackInput *input, Sink sink) {
    Drawing drawing;
    if (!card_draw(input, &drawing)) return false;
    Buf out = {input->job->arena, NULL, 0, 0};
    buf_drawing(&out, &drawing);
    return sink.write(sink.context, out.ptr, out.len);
}
