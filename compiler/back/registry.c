#include "back/back.h"
#include <string.h>

const BackEnd back_ends[] = {
    {"cards", "card.txt", BY_ITSELF, false, card_emit, NULL},
    {"cards", "card.pdf", BY_PRESS, false, card_pdf, NULL},
    {"cards", "card.html", BY_PRESS, false, card_html, NULL},
    {"tables", "table.json", BY_ITSELF, false, table_emit, NULL},
    {"pictures", "card.png", BY_PRESS, true, card_png, NULL},
    {"pictures", "card.svg", BY_PRESS, true, card_svg, NULL},
    {"sheets", "sheets.pdf", BY_PRESS, true, card_sheets, NULL},
    {"drawings", "card.draw", BY_PRESS, true, card_drawing, NULL},
    {"legibility", "legibility.txt", BY_PRESS, true, card_legibility, NULL},
    {"legibility", "legibility.json", BY_PRESS, true, card_legibility_json, NULL},
    {"deviations", "deviations.txt", BY_ITSELF, true, deviations_text, NULL},
    {"deviations", "deviations.html", BY_ITSELF, true, deviations_html, NULL},
    {"compare", "compare.txt", BY_ITSELF, true, compare_text, NULL},
    {"compare", "compare.html", BY_ITSELF, true, compare_html, NULL},
    {"changes", "changes.txt", BY_ITSELF, true, changes_text, NULL},
    {"changes", "changes.html", BY_ITSELF, true, changes_html, NULL},
    {"fleet", "fleet.txt", BY_ITSELF, true, NULL, &fleet_text_whole},
    {"fleet", "fleet.html", BY_ITSELF, true, NULL, &fleet_html_whole},
    {"fleet", "fleet.json", BY_ITSELF, true, NULL, &fleet_json_whole},
    {"workbook", "workbook.xlsx", BY_BINDER, true, NULL, &workbook_whole},
    {"c", "table.h", BY_ITSELF, true, table_c_emit, NULL},
    {"csv", "table.csv", BY_ITSELF, true, table_csv, NULL},
    {"csv", "table.sheet.csv", BY_ITSELF, true, table_csv_sheet, NULL},
    {"dot", "table.dot", BY_ITSELF, true, table_dot, NULL},
    {"scxml", "table.scxml", BY_ITSELF, true, table_scxml, NULL},
    {"lines", "lines.json", BY_ITSELF, true, lines_emit, NULL},
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
