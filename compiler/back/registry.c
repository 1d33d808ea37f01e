#include "back/back.h"
#include <string.h>

const BackEnd back_ends[] = {
    {"cards", "card.txt", false, false, card_emit},
    {"cards", "card.pdf", true, false, card_pdf},
    {"cards", "card.html", true, false, card_html},
    {"tables", "table.json", false, false, table_emit},
    {"pictures", "card.png", true, true, card_png},
    {"pictures", "card.svg", true, true, card_svg},
    {"drawings", "card.draw", true, true, card_drawing},
    {"legibility", "legibility.txt", true, true, card_legibility},
    {"deviations", "deviations.txt", false, true, deviations_text},
    {"deviations", "deviations.html", false, true, deviations_html},
    {"compare", "compare.txt", false, true, compare_text},
    {"compare", "compare.html", false, true, compare_html},
    {"lines", "lines.json", false, true, lines_emit},
    {"c", "table.h", false, true, table_c_emit},
    {"csv", "table.csv", false, true, table_csv},
    {"csv", "table.sheet.csv", false, true, table_csv_sheet},
    {"dot", "table.dot", false, true, table_dot},
};
const size_t back_end_count = sizeof back_ends / sizeof *back_ends;

static bool kind_is_new(size_t at) {
    for (size_t i = 0; i < at; i++)
        if (!strcmp(back_ends[i].kind, back_ends[at].kind)) return false;
    return true;
}

Str back_kinds(Arena *arena) {
    Buf words = {arena, NULL, 0, 0};
    size_t last = 0;
    for (size_t i = 0; i < back_end_count; i++)
        if (kind_is_new(i)) last = i;
    for (size_t i = 0; i < back_end_count; i++) {
        if (!kind_is_new(i)) continue;
        if (i) buf_text(&words, i == last ? " and " : ", ");
        buf_text(&words, back_ends[i].kind);
    }
    return buf_view(&words);
}

const char *const caution_line =
    "only. Flight manual, supplements and placards govern. Draft until a qualified person has compared every line.";

const char *const caution_lines[] = {
    "The approved flight manual, its supplements, placards and local rules govern. Where this differs, stop and use "
    "them.",
    "It is a draft until a qualified person has compared every line with the current manual for this aircraft.",
    "\"No findings\" is not an approval: only the rules listed were looked at.",
    NULL,
};

const char *const scope_of_claim = "Proved as written means: on every path of this text, for the aircraft as described "
                                   "here and under the assumptions listed, the rule "
                                   "was kept. It does not say that the handbook, the numbers, the equipment or the "
                                   "crew are right, that the list of rules is complete, or "
                                   "that anybody has approved it.";
