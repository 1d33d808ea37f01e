/* The last page of the cards: the cautions, what this tail has of its own, what was waived, and the pages in force. */
#include "back/card.h"
#include "back/deviations.h"
#include "sema/handbook.h"

static void head_line(Card *card, Str text) {
    Buf capitals = {card->arena, NULL, 0, 0};
    buf_capitals(&capitals, text);
    card_blank(card);
    card_line(card, ROW_PHASE, STR(""), buf_view(&capitals));
}

static void identity_line(Card *card, Str what, Str who) {
    if (who.len) card_line(card, ROW_LINE, what, who);
}

/* ---- what this tail has of its own ---- */

static void deviation_lines(Card *card) {
    const BackInput *input = card->input;
    BriefDeviations brief = deviations_brief(input);
    if (!brief.of.len) return;
    head_line(card, format_text(card->arena, NULL, "Deviations from the %S", brief.of));
    card_line(card, ROW_LINE, STR(""),
              str_of(brief.lines.n ? "By the aircraft's own text; reasons and sources are in the list of deviations."
                                   : "None from the aircraft by its own text."));
    for (size_t i = 0; i < brief.lines.n; i++) card_line(card, ROW_LIST, STR(""), brief.lines.at[i]);
}

static void waiver_lines(CardSet *set, Card *card) {
    const Edition *edition = set->input->edition;
    if (edition->n_waivers) head_line(card, STR("Waivers"));
    for (uint32_t i = 0; i < edition->n_waivers; i++) {
        const Decl *waiver = edition->waivers[i];
        Buf buf = {set->arena, NULL, 0, 0};
        buf_str(&buf, name_text(set->input->job->names, waiver->more->ref.name));
        buf_text(&buf, " at ");
        buf_str(&buf, name_text(set->input->job->names, waiver->more->ref2.name));
        buf_text(&buf, " until ");
        buf_str(&buf, span_text(set->input->job->sources, waiver->more->date));
        buf_text(&buf, ", because ");
        buf_filled(&buf, set->input, waiver->text, NO_INDEX);
        buf_text(&buf, ", by ");
        buf_filled(&buf, set->input, waiver->more->text2, NO_INDEX);
        card_line(card, ROW_LINE, STR("Waived:"), buf_view(&buf));
    }
}

typedef struct {
    Name thing;
    Buf where;
} Missing;
typedef VEC(Missing) MissingList;

static Missing *missing_of(CardSet *set, MissingList *list, Name thing) {
    for (size_t i = 0; i < list->n; i++)
        if (list->at[i].thing == thing) return &list->at[i];
    vec_push(set->arena, list, ((Missing){thing, {set->arena, NULL, 0, 0}}));
    return &list->at[list->n - 1];
}

/* Each thing that is not fitted once, with the cards on which it left out a line. */
static void collect_missing(CardSet *set, MissingList *list, Str where, Item *const *dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        Name thing = dropped_thing(set->input->tail, dropped[i]->stmt);
        if (!thing) continue;
        Buf *buf = &missing_of(set, list, thing)->where;
        Str known = buf_view(buf);
        if (known.len >= where.len && str_eq(str_slice(known, known.len - where.len, known.len), where)) continue;
        if (known.len) buf_text(buf, "; ");
        buf_str(buf, where);
    }
}

static void missing_lines(CardSet *set, Card *card) {
    const Tail *tail = set->input->tail;
    MissingList list = {0};
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        if (card_prints_procedure(set, &tail->procedures[p]))
            collect_missing(set, &list, tail->procedures[p].title, tail->procedures[p].dropped,
                            tail->procedures[p].n_dropped);
    for (uint32_t d = 0; d < set->n_marks; d++) {
        const Drill *drill = &tail->drills[set->drills[d]];
        Str mark = format_text(set->arena, NULL, "D%u", (uint64_t)set->marks[set->drills[d]]);
        collect_missing(set, &list, mark, drill->dropped, drill->n_dropped);
    }
    if (list.n) head_line(card, STR("Not fitted, lines left out"));
    for (size_t i = 0; i < list.n; i++) {
        Str thing = spoken(set->arena, name_text(set->input->job->names, list.at[i].thing));
        card_line(card, ROW_LINE, format_text(set->arena, NULL, "%S:", thing), buf_view(&list.at[i].where));
    }
}

/* ---- the document ---- */

static void document_lines(Card *card) {
    const Edition *edition = card->input->edition;
    Str distribution = edition_distribution(card->input);
    Str changes = edition->follows ? STR("") : edition->changes;
    bool any = changes.len || edition->prepared_by.len || distribution.len || !edition->draft;
    if (any) head_line(card, format_text(card->arena, NULL, "Revision %u", (uint64_t)edition->revision));
    identity_line(card, STR("Changes:"), changes);
    identity_line(card, STR("Prepared by:"), edition->prepared_by);
    if (!edition->draft) {
        identity_line(card, STR("Approved by:"), edition->approved_by);
        identity_line(card, STR("Approved on:"), edition->approved_on);
    }
    identity_line(card, STR("Distribution:"), distribution);
}

static void pages_in_force(Card *card, const Str *page_titles, size_t n) {
    if (!n) return;
    const Edition *edition = card->input->edition;
    Buf head = {card->arena, NULL, 0, 0};
    buf_format(&head, NULL, "Pages in force: revision %u", (uint64_t)edition->revision);
    if (edition->effective.len) buf_text(&head, " of "), buf_str(&head, edition->effective);
    head_line(card, buf_view(&head));
    for (size_t i = 0, end; i < n; i = end) {
        Buf line = {card->arena, NULL, 0, 0};
        for (end = i + 1; end < n && str_eq(page_titles[end], page_titles[i]); end++) {
        }
        buf_uint(&line, i + 1);
        if (end > i + 1) buf_text(&line, " to "), buf_uint(&line, end);
        buf_text(&line, "  ");
        buf_str(&line, page_titles[i]);
        card_line(card, ROW_LIST, STR(""), buf_view(&line));
    }
}

Str card_last_title(bool pages) {
    return str_of(pages ? "CAUTIONS, CHANGES, PAGES" : "CAUTIONS, CHANGES");
}

void card_set_last(CardSet *set, const Str *page_titles, size_t n) {
    Card card = card_open(set);
    for (size_t i = 0; caution_lines[i]; i++) card_line(&card, ROW_LINE, STR(""), str_of(caution_lines[i]));
    waiver_lines(set, &card);
    deviation_lines(&card);
    missing_lines(set, &card);
    document_lines(&card);
    pages_in_force(&card, page_titles, n);
    card_add_sheet(set, card_last_title(n), &card, NO_INDEX, NO_INDEX);
}
