/* What a text literal holds: letters, escapes, holes. */
#include "unit.h"

#include "front/front.h"

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    Text text;
    TextPart *parts;
} Desk;

/* The literal stands behind other words, so that places are not counted from 0. */
static void desk_open(Desk *desk, const char *literal) {
    memset(desk, 0, sizeof *desk);
    names_open(&desk->names, &desk->arena);
    desk->sources.arena = desk->findings.arena = &desk->arena;
    desk->findings.names = &desk->names;
    desk->job = (Job){&desk->arena, &desk->names, &desk->sources, &desk->findings};
    source_add(&desk->sources, STR("first"), STR("kind a\n"), false);
    Buf buf = {.arena = &desk->arena};
    buf_text(&buf, "note ");
    buf_text(&buf, literal);
    Str text = buf_view(&buf);
    const Source *source = source_add(&desk->sources, STR("second"), text, false);
    desk->text.span = (Span){source->base + 5, source->base + (uint32_t)text.len};
    desk->parts = text_parse(&desk->job, desk->text);
}

static void put_amount(Buf *buf, const Desk *desk, Amount amount) {
    buf_str(buf, span_text(&desk->sources, amount.number));
    buf_char(buf, '~');
    buf_str(buf, name_text(&desk->names, amount.unit.name));
}

/* letters [amount] [lo..hi] <ref> <ref:band> */
static Str shape(Desk *desk) {
    Buf buf = {.arena = &desk->arena};
    for (const TextPart *part = desk->parts; part; part = part->next) {
        if (part->kind == TEXT_LITERAL) buf_str(&buf, part->literal);
        if (part->kind == TEXT_AMOUNT) {
            buf_char(&buf, '[');
            if (part->range.lo.span.hi) put_amount(&buf, desk, part->range.lo);
            buf_text(&buf, part->range.lo.span.hi ? ".." : "");
            put_amount(&buf, desk, part->range.hi);
            buf_char(&buf, ']');
        }
        if (part->kind == TEXT_REF) {
            buf_char(&buf, '<');
            buf_str(&buf, name_text(&desk->names, part->ref.name));
            buf_text(&buf, part->band.name ? ":" : "");
            buf_str(&buf, name_text(&desk->names, part->band.name));
            buf_char(&buf, '>');
        }
    }
    return buf_view(&buf);
}

static void what_it_holds(void **state) {
    (void)state;
    static const char *const cases[][3] = {
        /* literal, parts, raw */
        {"\"\"", "", ""},
        {"\"OPEN\"", "OPEN", "OPEN"},
        {"\"OPEN {6 mm}\"", "OPEN [6~mm]", "OPEN {6 mm}"},
        {"\"{ 6.5   mm }, {-5 degC}\"", "[6.5~mm], [-5~degC]", "{ 6.5   mm }, {-5 degC}"},
        {"\"{5..15 s} {5 .. 15 s}\"", "[5~..15~s] [5~..15~s]", "{5..15 s} {5 .. 15 s}"},
        {"\"{5 s..15 min}\"", "[5~s..15~min]", "{5 s..15 min}"},
        {"\"{30 %} {3 gal/h} {20 °C}\"", "[30~%] [3~gal/h] [20~°C]", "{30 %} {3 gal/h} {20 °C}"},
        {"\"CLEAR {engine} PROP\"", "CLEAR <engine> PROP", "CLEAR {engine} PROP"},
        {"\"{oil-time}{left.mixture}\"", "<oil-time><left.mixture>", "{oil-time}{left.mixture}"},
        {"\"{oil-pressure normal}\"", "<oil-pressure:normal>", "{oil-pressure normal}"},
        {"\"say \\\"now\\\"\"", "say \"now\"", "say \"now\""},
        {"\"a \\\\ b\"", "a \\ b", "a \\ b"},
        {"\"\\{6 mm\\}\"", "{6 mm}", "{6 mm}"},
        {"\"\\\\{6 mm}\\\\\"", "\\[6~mm]\\", "\\{6 mm}\\"},
        {"\"Zündmagnete\"", "Zündmagnete", "Zündmagnete"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Desk desk;
        desk_open(&desk, cases[i][0]);
        assert_int_equal(desk.findings.list.n, 0);
        assert_str(shape(&desk), cases[i][1]);
        assert_str(text_raw(&desk.job, desk.text), cases[i][2]);
        arena_free(&desk.arena);
    }
}

static void one_finding_each(void **state) {
    (void)state;
    static const struct {
        const char *literal;
        FindingKind kind;
        size_t n;
        const char *place, *shape;
    } cases[] = {
        {"\"OPEN {6} on\"", FINDING_TEXT_HOLE, 1, "{6}", "OPEN  on"},
        {"\"{}\"", FINDING_TEXT_HOLE, 1, "{}", ""},
        {"\"{6 mm 7}\"", FINDING_TEXT_HOLE, 1, "{6 mm 7}", ""},
        {"\"{6,5 mm}\"", FINDING_TEXT_HOLE, 1, "{6,5 mm}", ""},
        {"\"{6. mm}\"", FINDING_TEXT_HOLE, 1, "{6. mm}", ""},
        {"\"{RICH}\"", FINDING_TEXT_HOLE, 1, "{RICH}", ""},
        {"\"{oil- time}\"", FINDING_TEXT_HOLE, 1, "{oil- time}", ""},
        {"\"{a b c}\"", FINDING_TEXT_HOLE, 1, "{a b c}", ""},
        {"\"{a b c d e f g}\"", FINDING_TEXT_HOLE, 1, "{a b c d e f g}", ""},
        {"\"{oil-time\"", FINDING_TEXT_HOLE, 1, "{oil-time", ""},
        {"\"{oil {engine}\"", FINDING_TEXT_HOLE, 1, "{oil ", "<engine>"},
        {"\"a } b\"", FINDING_TEXT_HOLE, 1, "}", "a } b"},
        {"\"{x\\\"y}\"", FINDING_TEXT_HOLE, 2, "{x", "\"y}"},
        {"\"a \\n b\"", FINDING_TEXT_ESCAPE, 1, "\\n", "a \\n b"},
        {"\"{1} {2}\"", FINDING_TEXT_HOLE, 2, "{1}", " "},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Desk desk;
        desk_open(&desk, cases[i].literal);
        if (desk.findings.list.n != cases[i].n) print_error("%s\n", cases[i].literal);
        assert_int_equal(desk.findings.list.n, cases[i].n);
        assert_int_equal(desk.findings.list.at[0]->kind, cases[i].kind);
        assert_str(span_text(&desk.sources, desk.findings.list.at[0]->span), cases[i].place);
        assert_str(shape(&desk), cases[i].shape);
        arena_free(&desk.arena);
    }
}

/* A broken file may hold texts without their closing quote, and none at all. */
static void broken_texts(void **state) {
    (void)state;
    static const char *const literals[] = {"\"", "\"open", "\"open\\", "\"a\\\"", "\"{6 mm"};
    for (size_t i = 0; i < sizeof literals / sizeof *literals; i++) {
        Desk desk;
        desk_open(&desk, literals[i]);
        Str raw = text_raw(&desk.job, desk.text);
        assert_true(raw.len < strlen(literals[i]));
        assert_null(text_parse(&desk.job, (Text){{0, 0}}));
        assert_str(text_raw(&desk.job, (Text){{0, 0}}), "");
        arena_free(&desk.arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_it_holds),
        cmocka_unit_test(one_finding_each),
        cmocka_unit_test(broken_texts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
