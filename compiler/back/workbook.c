#include "back/workbook.h"
#include "front/front.h"
#include "sema/handbook.h"

/* ---- words ---- */

Str text_filled(const TailBook *t, Text text) {
    Buf buf = {t->arena, NULL, 0, 0};
    if (text.span.hi) buf_filled(&buf, t->input, text, NO_INDEX);
    return buf_view(&buf);
}

Str why_because(const TailBook *t, const Why *why, uint32_t engine) {
    Buf buf = {t->arena, NULL, 0, 0};
    if (why && why->because.span.hi) buf_filled(&buf, t->input, why->because, engine);
    return buf_view(&buf);
}

Str why_source(const TailBook *t, const Why *why, bool with_line) {
    if (!why || !why->source.name) return STR("");
    Str section = name_text(t->input->job->names, why->section.name);
    if (section.len > 1 && section.ptr[0] == '"') section = str_slice(section, 1, section.len - 1);
    Buf buf = {t->arena, NULL, 0, 0};
    buf_str(&buf, source_title(t->input, why->source.name));
    if (section.len) buf_format(&buf, NULL, "; %S", section);
    uint32_t line = with_line ? number_written(t->input->job, why->line) : 0;
    if (line) buf_format(&buf, NULL, " line %u", (uint64_t)line);
    return buf_view(&buf);
}

Str engine_of(const TailBook *t, uint32_t engine) {
    bool several = engine != NO_INDEX && t->input->tail->n_engines > 1;
    return several ? name_text(t->input->job->names, t->input->tail->engines[engine]) : STR("");
}

Str words_place(const TailBook *t, Span span) {
    if (!span.hi) return STR("");
    Position at = source_position(t->input->job->sources, span.lo);
    return at.source ? TAIL_WORDS(t, "%S:%u", at.source->path, (uint64_t)at.line) : STR("");
}

/* ---- cells ---- */

void put_quantity_cells(const TailBook *t, BookCell *number, BookCell *unit, const Measure *measure, Rational base) {
    cell_number(t->book, number, measure ? measure_from_base(measure, base) : base);
    if (measure) cell_text(t->book, unit, str_of(measure->printed));
}

void put_ms(const TailBook *t, BookCell *number, int64_t ms) {
    cell_number(t->book, number, rational_of(ms, 1000));
}

BookSheet *workbook_sheet(Workbook *workbook, SheetKind kind, const char *name, const char *title, const char *about,
                          const char *none) {
    BookSheet *sheet = book_sheet(&workbook->book, name, str_of(title));
    workbook->sheets[kind] = sheet;
    sheet_line(&workbook->book, sheet, str_of(about));
    sheet->none = str_of(none);
    return sheet;
}

/* ---- names of rows ---- */

static Str row_name(const TailBook *t, const char *kind, uint32_t index) {
    return TAIL_WORDS(t, "%s/%S/%u", kind, t->tail, (uint64_t)index);
}

Str row_of_drill(const TailBook *t, uint32_t drill) {
    return row_name(t, "drill", drill);
}
Str row_of_gate(const TailBook *t, uint32_t gate) {
    return row_name(t, "gate", gate);
}
Str row_of_path(const TailBook *t, uint32_t gate) {
    return row_name(t, "path", gate);
}
Str row_of_assumption(const TailBook *t, AssumptionKind kind) {
    return row_name(t, "assumption", kind);
}

Str row_of_procedure(const TailBook *t, uint32_t procedure) {
    return row_name(t, "procedure", procedure);
}

/* ---- pages of the cards ---- */

static uint32_t page_of(const TailBook *t, uint32_t procedure, uint32_t drill) {
    for (size_t i = 0; i < t->cards.sheets.n; i++)
        if (t->cards.sheets.at[i].procedure == procedure && t->cards.sheets.at[i].drill == drill) return t->pages[i];
    return 0;
}

uint32_t page_of_procedure(const TailBook *t, uint32_t procedure) {
    return page_of(t, procedure, NO_INDEX);
}
uint32_t page_of_drill(const TailBook *t, uint32_t drill) {
    return page_of(t, NO_INDEX, drill);
}

void cell_link_page(const TailBook *t, BookCell *cell, uint32_t page) {
    if (page && t->card_file.len)
        cell_link_file(t->book, cell, TAIL_WORDS(t, "%S#page=%u", t->card_file, (uint64_t)page));
}

/* The contents of the drawn cards have an entry for each of their sheets, in order. */
static void find_pages(TailBook *t) {
    Drawing drawing;
    Str why_not = {0};
    BackInput input = *t->input;
    input.why_not = &why_not;
    t->pages = ARENA_ARRAY(t->arena, uint32_t, t->cards.sheets.n + 1);
    if (!input.press || !card_draw(&input, &drawing)) return;
    uint32_t page = 0;
    size_t sheet = 0;
    for (size_t i = 0; i < drawing.n; i++) {
        page += drawing.draws[i].kind == DRAW_PAGE;
        if (drawing.draws[i].kind == DRAW_OUTLINE && sheet < t->cards.sheets.n) t->pages[sheet++] = page;
    }
}

static bool issues_cards(const BackInput *input) {
    bool any = false;
    const Edition *edition = input->edition;
    for (const DocLine *line = edition->decl ? edition->decl->u.doclines : NULL; line; line = line->next) {
        if (line->kind != DOC_ISSUE) continue;
        any = true;
        for (const WordList *word = line->words; word; word = word->next)
            if (str_eq(name_text(input->job->names, word->word.name), STR("cards"))) return true;
    }
    return !any;
}

/* ---- for whoever signs ---- */

const char *const sign_choices[] = {"agrees", "does not agree", "does not apply", "open", NULL};

BookColumn sign_column(FillKind fill, const char *title, uint32_t width) {
    static const BookMark marks[] = {{BOOK_IS, TONE_ALARM, "does not agree", NULL, 0},
                                     {BOOK_IS, TONE_OPEN, "open", NULL, 0}};
    BookColumn column = {.title = str_of(title), .width = width, .fill = fill};
    if (fill == FILL_CHOICE) column.choices = sign_choices, column.marks = marks, column.n_marks = 2;
    return column;
}

/* ---- the whole ---- */

static void *workbook_begin(const BackDocument *document) {
    Workbook *workbook = ARENA_NEW(document->arena, Workbook);
    workbook->document = document;
    book_open(&workbook->book, document->arena);
    overview_columns(workbook);
    items_columns(workbook);
    limits_columns(workbook);
    gates_columns(workbook);
    records_columns(workbook);
    drills_columns(workbook);
    papers_columns(workbook);
    return workbook;
}

static void workbook_add(void *made, const BackInput *input) {
    Workbook *workbook = made;
    TailBook t = {.workbook = workbook,
                  .book = &workbook->book,
                  .input = input,
                  .arena = input->job->arena,
                  .cards = card_set(input),
                  .tail = name_text(input->job->names, input->tail->name)};
    if (issues_cards(input))
        t.card_file =
            TAIL_WORDS(&t, "%S-%S-%u.card.pdf", input->edition->document, t.tail, (uint64_t)input->edition->revision);
    find_pages(&t);
    workbook->draft |= input->edition->draft;
    workbook->not_proved |= input->edition->not_proved;
    limits_add(&t);
    items_add(&t);
    gates_add(&t);
    records_add(&t);
    drills_add(&t);
    papers_add(&t);
    overview_add(&t);
    workbook->added++;
}

static bool workbook_end(void *made, Sink sink) {
    Workbook *workbook = made;
    papers_end(workbook);
    overview_end(workbook);
    book_close(&workbook->book);
    const char *why_not = "";
    bool good = workbook->document->binder->bind(&workbook->book, sink, &why_not);
    if (!good && why_not) *workbook->document->why_not = str_of(why_not);
    return good;
}

const BackWhole workbook_whole = {workbook_begin, workbook_add, workbook_end, false};
