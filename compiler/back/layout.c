/* Cards as a drawing: type, spine and pages are chosen so that everything can be read at its distance, then set. */
#include "back/layout.h"
#include "back/type.h"
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
    TYPE_STEPS = 48,         /* so much larger than the least is tried */
    LEAST_GAP = 40,          /* per cent of the gap above a row that always stays */
    CLOSE_GAP = 15,          /* the same, where that keeps a drill or a retry whole */
    LEAST_EDGE = 14 * POINT, /* what a printer can leave white above and below */
    X_HEIGHT_AT_600 = 7200   /* 0.10 in at 600 mm: the height of small letters that are read in use */
};

Length legible_type(const Press *press, int64_t read_at_mm) {
    int64_t at_600 = (int64_t)X_HEIGHT_AT_600 * press->em * read_at_mm, unit = (int64_t)press->x_height * 600;
    return (Length)((at_600 / unit + TYPE_STEP) / TYPE_STEP * TYPE_STEP);
}

static Length widest_number(const CardSet *set, const Form *form) {
    Length most = 0;
    for (size_t i = 0; i < set->sheets.n; i++)
        for (size_t r = 0; r < set->sheets.at[i].rows.n; r++) {
            const Row *row = &set->sheets.at[i].rows.at[r];
            char room[24];
            Buf buf = {set->arena, room, 0, sizeof room};
            if (row->number) buf_row_number(&buf, row);
            Length width = text_width(form, FACE_BOLD, form->type, buf_view(&buf));
            if (width > most) most = width;
        }
    return most;
}

static Form make_form(const CardSet *set, const Press *press, const Paper *paper, Length type) {
    Form form = {.press = press, .width = paper->width, .height = paper->height, .type = type};
    form.small = type / 100 * 64;
    form.left = paper->width / 1000 * 58, form.right = paper->width - paper->width / 1000 * 46;
    Length edge = paper->height / 1000 * 27 > LEAST_EDGE ? paper->height / 1000 * 27 : LEAST_EDGE;
    form.top = edge, form.bottom = paper->height - edge;
    form.least_gap = LEAST_GAP;
    form.edge = form.left + 13 * POINT;
    form.number = form.edge + widest_number(set, &form);
    form.thing = form.number + type / 2;
    return form;
}

/* Where the spine may stand: per cent of the line before it. */
enum { SPINES = 5 };
static const int spine_shares[SPINES] = {42, 38, 34, 46, 50};

static Form stand_spine(Form form, int share) {
    form.spine = form.thing + (form.right - form.thing) / 100 * share;
    form.state = form.spine + 5 * POINT + form.type / 2;
    return form;
}

/* ---- the pages of a set ---- */

static size_t count_lines(const Form *form, Face face, Length type, Length width, Str text, Str *wide) {
    size_t n = 0;
    Str line;
    for (size_t at = 0; at < text.len; n++) at = text_line(form, face, type, width, text, at, &line, wide);
    return n;
}

static Length body_top(const Form *form, const Sheet *sheet, Str *wide) {
    Length type = form_title_type(form, sheet);
    size_t lines = count_lines(form, FACE_BOLD, type, form_title_room(form), sheet->title, wide);
    return form->top + form_lead(form->type) + (Length)lines * form_lead(type) + 6 * POINT;
}

static Length widest_page_number(const Form *form) {
    return text_width(form, FACE_BOLD, form->type, STR("page 888 of 888"));
}

/* How wide the last line of a text is. */
static Length last_width(const Form *form, Length width, Str text, Str *wide) {
    Str line = {0};
    for (size_t at = 0; at < text.len;) at = text_line(form, FACE_PLAIN, form->small, width, text, at, &line, wide);
    return text_width(form, FACE_PLAIN, form->small, line);
}

Foot layout_foot(const Form *form, const CardSet *set, Str *wide) {
    Length width = form_foot_width(form), all = form->right - form->left, small = form_lead(form->small);
    Str code = str_of(set->input->edition->code), identity = card_identity(set), caution = card_caution(set);
    size_t lines = count_lines(form, FACE_PLAIN, form->small, width, identity, wide) +
                   count_lines(form, FACE_PLAIN, form->small, width, caution, wide);
    Foot foot = {0};
    Length code_width = text_width(form, FACE_PLAIN, form->small, code) + form->type;
    foot.code_beside = text_width(form, FACE_PLAIN, form->small, identity) <=
                       width - (width + code_width > all ? width + code_width - all : 0);
    foot.number_beside = last_width(form, width, caution, wide) + form->type + widest_page_number(form) <= all;
    lines += !foot.code_beside, lines -= foot.number_beside;
    foot.top = form->bottom - (Length)lines * small - form_lead(form->type) - 4 * POINT;
    return foot;
}

static void add_badness(Badness *sum, const Badness *more) {
    sum->in_item += more->in_item;
    sum->in_whole += more->in_whole;
    sum->pages += more->pages;
    sum->uneven += more->uneven;
}

/* A sheet's pages with one form. False: head and foot leave no room. */
static bool break_sheet(SheetPages *pages, Arena *arena, const Foot *foot, Str *wide, Badness *badness) {
    const Form *form = &pages->form;
    pages->body_top = body_top(form, pages->sheet, wide);
    Room room = {foot->top - pages->body_top, form_goes_on_height(form), form->least_gap};
    if (room.height < 8 * form_lead(form->type)) return false;
    pages->strips = layout_strips(form, arena, pages->sheet, wide);
    pages->breaks = layout_break(arena, pages->strips.at, pages->strips.n, &room, badness);
    return true;
}

static bool has_harm(const Badness *badness) {
    return badness->in_item || badness->in_whole;
}

static bool less_harm(const Badness *a, const Badness *b) {
    return a->in_item < b->in_item || (a->in_item == b->in_item && a->in_whole < b->in_whole);
}

/* So much of the lines as would be too much for one page less, whatever is done to gaps and spine. */
static bool is_hopeless(const SheetPages *pages, const Foot *foot) {
    int64_t lines = 0, room = (int64_t)(foot->top - pages->body_top) * (int64_t)(pages->breaks.n - 1);
    for (size_t i = 0; i < pages->strips.n; i++) lines += pages->strips.at[i].height;
    return lines > room + room / 8;
}

/* What would be broken may be whole with its rows closer, or with a spine of its own. */
static void mend_sheet(SheetPages *pages, Arena *arena, const Foot *foot, Badness *badness) {
    for (size_t i = 0; has_harm(badness) && i < 2 * SPINES; i++) {
        SheetPages other = *pages;
        Badness harm = {0};
        Str wide = {0};
        if (i >= 2) other.form = stand_spine(other.form, spine_shares[i / 2]);
        other.form.least_gap = i % 2 ? CLOSE_GAP : LEAST_GAP;
        if (break_sheet(&other, arena, foot, &wide, &harm) && !wide.len && less_harm(&harm, badness))
            *pages = other, *badness = harm;
    }
}

static void set_sheet(Setup *setup, Arena *arena, const CardSet *set, const Sheet *sheet) {
    SheetPages *pages = &setup->sheets[setup->n++];
    Badness badness = {0};
    Foot foot = layout_foot(&setup->form, set, &setup->wide);
    pages->sheet = sheet, pages->form = setup->form;
    if (!break_sheet(pages, arena, &foot, &setup->wide, &badness)) {
        setup->tight = true;
        return;
    }
    if (has_harm(&badness) && !setup->wide.len && !is_hopeless(pages, &foot)) mend_sheet(pages, arena, &foot, &badness);
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
    found.uneven = kept.uneven = 0;
    int order = badness_cmp(&found, &kept);
    return order < 0 || (!order && count_strips(setup) < count_strips(than));
}

/* Where the spine stands: where the breaks do least harm, then where the lines are fewest. */
static Setup choose_spine(Arena *arena, const CardSet *set, Form form, int *share) {
    Setup best = {0};
    for (size_t i = 0; i < SPINES; i++) {
        Setup setup = set_up(arena, set, stand_spine(form, spine_shares[i]));
        if (i && !better(&setup, &best)) continue;
        best = setup;
        *share = spine_shares[i];
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

/* U+0590 to U+08FF, and the shapes of these: Hebrew, Arabic, Syriac and their kin. */
static bool runs_leftward(uint32_t code) {
    return (code >= 0x590 && code <= 0x8ff) || (code >= 0xfb1d && code <= 0xfdff) ||
           (code >= 0xfe70 && code <= 0xfeff) || (code >= 0x10800 && code <= 0x10fff) ||
           (code >= 0x1e800 && code <= 0x1efff);
}

static void buf_code_point(Buf *buf, uint32_t code) {
    static const char digits[] = "0123456789ABCDEF";
    buf_text(buf, "U+");
    for (int shift = code > 0xfffff ? 20 : code > 0xffff ? 16 : 12; shift >= 0; shift -= 4) buf_char(buf, digits[code >> shift & 15]);
}

static void tell_unset(Buf *buf, uint32_t code, Str text) {
    if (runs_leftward(code))
        buf_text(buf, "the cards cannot be set in writing from right to left, with the character ");
    else if (!utf8_width(code))
        buf_text(buf,
                 "the cards cannot put a mark onto another character; write both as one (\xc3\xa9) instead of with ");
    else buf_text(buf, "neither typeface of the cards has the character ");
    if (utf8_width(code) && !runs_leftward(code)) buf_char(buf, '"'), buf_utf8(buf, code), buf_text(buf, "\", ");
    buf_code_point(buf, code);
    buf_text(buf, ", which stands in \"");
    buf_str(buf, str_slice(text, 0, text.len < 200 ? text.len : 200));
    buf_text(buf, "\"");
}

static bool all_in_face(const CardSet *set, const Press *press, Str text, Str *why_not) {
    uint32_t code = text_unset(press, text);
    if (!code) return true;
    Buf buf = {set->arena, NULL, 0, 0};
    tell_unset(&buf, code, text);
    *why_not = buf_view(&buf);
    return false;
}

bool card_readable(const CardSet *set, const Press *press, Str *why_not) {
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

/* ---- the whole ---- */

/* The last card lists its own pages, too: as many as it turns out to have. */
static void set_last(Arena *arena, CardSet *set, Setup *setup) {
    enum { OWN_PAGES = 8 };
    Str *titles = ARENA_ARRAY(arena, Str, setup->pages + OWN_PAGES);
    size_t n = 0, own = 1, others = setup->pages;
    for (size_t i = 0; i < setup->n; i++)
        for (size_t part = 0; part < setup->sheets[i].breaks.n; part++) titles[n++] = setup->sheets[i].sheet->title;
    for (size_t i = 0; i < OWN_PAGES; i++) titles[n + i] = card_last_title(true);
    Setup before = *setup;
    for (size_t tries = 0; tries < OWN_PAGES; tries++) {
        *setup = before;
        set->sheets.n = before.n;
        card_set_last(set, titles, n + own);
        for (size_t i = 0; i < setup->n; i++) setup->sheets[i].sheet = &set->sheets.at[i];
        set_sheet(setup, arena, set, &set->sheets.at[setup->n]);
        size_t made = setup->pages - others;
        if (!can_be_set(setup) || made == own || made > OWN_PAGES) return;
        own = made;
    }
}

bool card_draw(const BackInput *input, Drawing *drawing) {
    const Press *press = input->press;
    Arena *arena = input->job->arena;
    const Edition *edition = input->edition;
    CardSet set = card_set(input);
    if (!card_readable(&set, press, input->why_not)) return false;
    Length least = legible_type(press, edition->read_at_mm);
    if (edition->type > least) least = (Length)edition->type;
    Setup setup = choose_type(arena, &set, press, edition->paper, least);
    if (can_be_set(&setup)) set_last(arena, &set, &setup);
    if (!can_be_set(&setup)) {
        refuse(&set, press, edition->paper, &setup);
        return false;
    }
    *drawing = layout_draw(arena, &set, &setup);
    return true;
}
