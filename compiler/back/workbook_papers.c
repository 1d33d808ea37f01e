/* The sheets about the document: what is signed for, the register of what it is and what belongs to it, who has a copy. */
#include "back/workbook.h"
#include "base/sha256.h"
#include "front/front.h"

/* ---- sign-off ---- */
enum { SIGN_TAIL, SIGN_NO, SIGN_PART, SIGN_WHAT, SIGN_RESULT, SIGN_INITIALS, SIGN_DATE, SIGN_REMARK, SIGN_COLUMNS };

static void sign_columns(Workbook *workbook) {
    const BookColumn columns[SIGN_COLUMNS] = {[SIGN_TAIL] = {.title = STR("Tail"), .width = 8},
                                              [SIGN_NO] = {.title = STR("No"), .width = 6},
                                              [SIGN_PART] = {.title = STR("Part"), .width = 12},
                                              [SIGN_WHAT] = {.title = STR("What is signed for"), .width = 76},
                                              [SIGN_RESULT] = sign_column(FILL_CHOICE, "Result", 14),
                                              [SIGN_INITIALS] = sign_column(FILL_INITIALS, "Initials", 9),
                                              [SIGN_DATE] = sign_column(FILL_DATE, "Date", 12),
                                              [SIGN_REMARK] = sign_column(FILL_WORDS, "Remark", 30)};
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_SIGN, "Sign-off", "Sign-off",
                       "For each part a result from the list, initials and the day. Signing here approves "
                       "nothing by itself: the document says who approved it, for which check code.",
                       "Nothing is there to be signed.");
    sheet->frozen = SIGN_WHAT;
    sheet_columns(&workbook->book, sheet, columns, SIGN_COLUMNS);
    workbook->sheets[SHEET_SIGN]->columns.at[SIGN_RESULT].name = "results";
}

static BookCell *sign_row(TailBook *t, const char *part, Str what) {
    BookSheet *sheet = t->workbook->sheets[SHEET_SIGN];
    BookCell *row = sheet_row(t->book, sheet);
    cell_text(t->book, &row[SIGN_TAIL], t->tail);
    cell_count(t->book, &row[SIGN_NO], sheet->rows.n);
    cell_text(t->book, &row[SIGN_PART], str_of(part));
    cell_text(t->book, &row[SIGN_WHAT], what);
    return row;
}

static Str compared_with(const TailBook *t, const Decl *decl) {
    Str source = why_source(t, decl->more->why, false);
    return source.len ? source : STR("the approved flight manual");
}

static void sign_texts(TailBook *t) {
    const Tail *tail = t->input->tail;
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        const Procedure *procedure = &tail->procedures[p];
        BookCell *row = sign_row(t, "procedure",
                                 TAIL_WORDS(t, "Every line of \"%S\" is compared with %S.", procedure->title,
                                            compared_with(t, procedure->decl)));
        cell_link(t->book, &row[SIGN_PART], row_of_procedure(t, p));
    }
    for (uint32_t d = 0; d < tail->n_drills; d++) {
        BookCell *row = sign_row(t, "drill",
                                 TAIL_WORDS(t, "Every line of the drill \"%S\" is compared with %S.",
                                            tail->drills[d].title, compared_with(t, tail->drills[d].decl)));
        cell_link(t->book, &row[SIGN_PART], row_of_drill(t, d));
    }
    sign_row(t, "limits", STR("Every number of the sheet Limits is compared with its source."));
    if (tail->handbook)
        sign_row(t, "deviations", STR("Every line of the sheet Deviations is looked at and has its result there."));
}

static void sign_rules(TailBook *t) {
    const CheckResult *result = t->input->result;
    for (uint32_t i = 0; i < result->n_verdicts; i++) {
        const Verdict *verdict = &result->verdicts[i];
        if (verdict->kind == VERDICT_PROVED || verdict->kind == VERDICT_NOT_APPLICABLE) continue;
        BookCell *row =
            sign_row(t, "open rule", TAIL_WORDS(t, "%S: %s.", verdict->gate->title, verdict_words[verdict->kind]));
        cell_link(t->book, &row[SIGN_PART], row_of_gate(t, i));
    }
    for (uint32_t i = 0; i < result->n_assumptions; i++) {
        BookCell *row = sign_row(t, "assumption", result->assumptions[i].text);
        cell_link(t->book, &row[SIGN_PART], row_of_assumption(t, result->assumptions[i].kind));
    }
    sign_row(t, "rules",
             STR("The rules that are not applicable are not applicable, and none is missing in the sheet Gates."));
}

static void sign_waivers(TailBook *t) {
    const Edition *edition = t->input->edition;
    for (uint32_t i = 0; i < edition->n_waivers; i++) {
        const Decl *waiver = edition->waivers[i];
        sign_row(t, "waiver",
                 TAIL_WORDS(t, "%N is waived at %N until %S.", waiver->more->ref.name, waiver->more->ref2.name,
                            span_text(t->input->job->sources, waiver->more->date)));
    }
    sign_row(t, "cards",
             TAIL_WORDS(t, "The printed cards bear the check code %s; older ones are withdrawn.", edition->code));
}

/* ---- register ---- */
enum {
    REGISTER_TAIL,
    REGISTER_PART,
    REGISTER_WHAT,
    REGISTER_WORDS,
    REGISTER_NUMBER,
    REGISTER_UNTIL,
    REGISTER_REASON,
    REGISTER_WHO,
    REGISTER_COLUMNS
};

static void register_columns(Workbook *workbook) {
    static const BookMark parts[] = {{BOOK_IS, TONE_ALARM, "waiver", NULL, 0},
                                     {BOOK_IS, TONE_ALARM, "inoperative", NULL, 0},
                                     {BOOK_IS, TONE_ALARM, "held back", NULL, 0}};
    const BookColumn columns[REGISTER_COLUMNS] = {
        [REGISTER_TAIL] = {.title = STR("Tail"), .width = 8},
        [REGISTER_PART] = {.title = STR("Part"), .width = 12, .marks = parts, .n_marks = 3},
        [REGISTER_WHAT] = {.title = STR("What"), .width = 36},
        [REGISTER_WORDS] = {.title = STR("In words"), .width = 56},
        [REGISTER_NUMBER] = {.title = STR("Number"), .width = 8},
        [REGISTER_UNTIL] = {.title = STR("Until"), .width = 12},
        [REGISTER_REASON] = {.title = STR("Reason"), .width = 36},
        [REGISTER_WHO] = {.title = STR("Who"), .width = 18}};
    BookSheet *sheet = workbook_sheet(workbook, SHEET_REGISTER, "Register", "Register",
                                      "What this document is, what it was made from, which pages are in force, what is "
                                      "waived or inoperative and until when.",
                                      "Nothing is registered.");
    sheet->frozen = REGISTER_WHAT;
    sheet_columns(&workbook->book, sheet, columns, REGISTER_COLUMNS);
}

static BookCell *register_row(TailBook *t, Str tail, const char *part, Str what) {
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_REGISTER]);
    cell_text(t->book, &row[REGISTER_TAIL], tail);
    cell_text(t->book, &row[REGISTER_PART], str_of(part));
    cell_text(t->book, &row[REGISTER_WHAT], what);
    return row;
}

static void document_row(TailBook *t, const char *what, Str words, const char *name) {
    if (!words.len) return;
    BookCell *row = register_row(t, STR(""), "document", str_of(what));
    cell_text(t->book, &row[REGISTER_WORDS], words);
    if (name) sheet_cell_name(t->book, t->workbook->sheets[SHEET_REGISTER], REGISTER_WORDS, name);
}

static void document_rows(TailBook *t) {
    const Edition *edition = t->input->edition;
    document_row(t, "Document", edition->document, "document");
    document_row(t, "Title", edition->title, NULL);
    cell_count(t->book, &register_row(t, STR(""), "document", STR("Revision"))[REGISTER_NUMBER], edition->revision);
    sheet_cell_name(t->book, t->workbook->sheets[SHEET_REGISTER], REGISTER_NUMBER, "revision");
    document_row(t, "Effective", edition->effective, "effective");
    document_row(t, "Review by", edition->review_by, "review_by");
    document_row(t, "Prepared by", edition->prepared_by, NULL);
    document_row(t, "Changes", edition->changes, NULL);
}

static void source_rows(TailBook *t) {
    const Decl **sources;
    size_t n = t->input->program ? program_all(t->input->program, DECL_SOURCE, &sources) : 0;
    for (size_t i = 0; i < n; i++) {
        if (program_in_library(t->input->program, sources[i])) continue;
        Name name = sources[i]->name.name;
        BookCell *row = register_row(t, STR(""), "source", name_text(t->input->job->names, name));
        cell_text(t->book, &row[REGISTER_WORDS], source_title(t->input, name));
    }
}

static void file_rows(TailBook *t) {
    const Sources *sources = t->input->job->sources;
    for (uint32_t i = 0; i < sources->n; i++) {
        if (sources->at[i]->library) continue;
        Sha256Digest digest = sha256_of(sources->at[i]->text);
        Buf hex = {t->arena, NULL, 0, 0};
        buf_text(&hex, "sha256:");
        buf_hex(&hex, &digest, 32);
        cell_text(t->book, &register_row(t, STR(""), "text", sources->at[i]->path)[REGISTER_WORDS], buf_view(&hex));
    }
}

static void page_rows(TailBook *t) {
    for (size_t i = 0; i < t->cards.sheets.n; i++) {
        BookCell *row = register_row(t, t->tail, "page", t->cards.sheets.at[i].title);
        if (!t->pages[i]) continue;
        cell_count(t->book, &row[REGISTER_NUMBER], t->pages[i]);
        cell_text(t->book, &row[REGISTER_WORDS], t->card_file);
        cell_link_page(t, &row[REGISTER_NUMBER], t->pages[i]);
    }
}

static void waiver_rows(TailBook *t) {
    const Edition *edition = t->input->edition;
    for (uint32_t i = 0; i < edition->n_waivers; i++) {
        const Decl *waiver = edition->waivers[i];
        BookCell *row = register_row(t, t->tail, "waiver", name_text(t->input->job->names, waiver->more->ref.name));
        cell_text(t->book, &row[REGISTER_WORDS], TAIL_WORDS(t, "at %N", waiver->more->ref2.name));
        cell_text(t->book, &row[REGISTER_UNTIL], span_text(t->input->job->sources, waiver->more->date));
        cell_text(t->book, &row[REGISTER_REASON], text_filled(t, waiver->text));
        cell_text(t->book, &row[REGISTER_WHO], text_filled(t, waiver->more->text2));
    }
}

static void inoperative_rows(TailBook *t) {
    for (uint32_t i = 0; i < t->input->tail->n_held; i++) {
        const Craft *craft = t->input->tail->held[i].craft;
        if (craft->kind != CRAFT_INOPERATIVE) continue;
        for (const WordList *word = craft->words; word; word = word->next) {
            BookCell *row = register_row(t, t->tail, "inoperative", name_text(t->input->job->names, word->word.name));
            cell_text(t->book, &row[REGISTER_UNTIL], span_text(t->input->job->sources, craft->until));
            cell_text(t->book, &row[REGISTER_REASON], text_filled(t, craft->because));
            cell_text(t->book, &row[REGISTER_WHO], text_filled(t, craft->by));
        }
    }
}

static void tail_row(TailBook *t) {
    const Edition *edition = t->input->edition;
    BookCell *row = register_row(t, t->tail, "tail", t->input->tail->title);
    const char *standing = card_standing(edition);
    cell_text(t->book, &row[REGISTER_WORDS],
              TAIL_WORDS(t, "check code %s%s%s", edition->code, *standing ? ", " : "", standing));
    if (!edition->draft) cell_text(t->book, &row[REGISTER_WHO], edition->approved_by);
}

/* ---- distribution ---- */
enum { COPY_NO, COPY_HOLDER, COPY_INITIALS, COPY_DATE, COPY_BACK, COPY_COLUMNS };

static void copy_columns(Workbook *workbook) {
    static const char *const back[] = {"handed back", "destroyed", "there was none", NULL};
    BookColumn columns[COPY_COLUMNS] = {[COPY_NO] = {.title = STR("Copy"), .width = 8},
                                        [COPY_HOLDER] = sign_column(FILL_WORDS, "Holder, or where it is kept", 46),
                                        [COPY_INITIALS] = sign_column(FILL_INITIALS, "Received, initials", 12),
                                        [COPY_DATE] = sign_column(FILL_DATE, "Date", 12),
                                        [COPY_BACK] = sign_column(FILL_CHOICE, "The older revision", 20)};
    columns[COPY_BACK].choices = back;
    columns[COPY_BACK].n_marks = 0;
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_DISTRIBUTION, "Distribution", "Distribution",
                       "Who holds a printed copy of this revision, and what became of the older one.", "");
    sheet->frozen = COPY_HOLDER;
    sheet_columns(&workbook->book, sheet, columns, COPY_COLUMNS);
}

/* ---- all of them ---- */

void papers_columns(Workbook *workbook) {
    sign_columns(workbook);
    register_columns(workbook);
    copy_columns(workbook);
}

void papers_add(TailBook *t) {
    sign_texts(t);
    sign_rules(t);
    sign_waivers(t);
    if (!t->workbook->added) {
        document_rows(t);
        source_rows(t);
        file_rows(t);
    }
    tail_row(t);
    waiver_rows(t);
    inoperative_rows(t);
    page_rows(t);
}

void papers_end(Workbook *workbook) {
    enum { COPIES = 12 };
    for (uint64_t i = 1; i <= COPIES; i++)
        cell_count(&workbook->book, &sheet_row(&workbook->book, workbook->sheets[SHEET_DISTRIBUTION])[COPY_NO], i);
    for (size_t i = 0; i < workbook->document->n_held_back; i++) {
        BookCell *row = sheet_row(&workbook->book, workbook->sheets[SHEET_REGISTER]);
        cell_text(&workbook->book, &row[REGISTER_TAIL], workbook->document->held_back[i]);
        cell_text(&workbook->book, &row[REGISTER_PART], STR("held back"));
        cell_text(&workbook->book, &row[REGISTER_WHAT], STR("an error is open there, or something not decided"));
    }
}
