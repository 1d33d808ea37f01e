/* What can be read and what cannot, on drawings made by hand. */
#include "back/legible.h"
#include "unit.h"

enum { EM = 1000, MOST = 16 };

static int32_t advance_of_all(Face face, uint32_t code) {
    (void)face, (void)code;
    return 500;
}

static int32_t unlike_but_one(Face face, uint32_t a, uint32_t b) {
    return face == FACE_BOLD && a == '1' && b == 'l' ? 19 : 40;
}

static int32_t unlike_all(Face face, uint32_t a, uint32_t b) {
    (void)face, (void)a, (void)b;
    return 40;
}

static Press press = {PRESS_VERSION, EM, 550, 750, WHOLE_SIZE, advance_of_all, unlike_all, NULL, NULL};

typedef struct {
    Draw draws[MOST];
    size_t n;
} Page;

static void add(Page *page, Draw draw) {
    assert_true(page->n < MOST);
    page->draws[page->n++] = draw;
}

static void add_text(Page *page, Length type, Length y, const char *text) {
    add(page, (Draw){.kind = DRAW_TEXT, .height = type, .x = 40 * POINT, .y = y, .text = str_of(text)});
}

/* A page that can be read: two lines and a foot. */
static Page good_page(void) {
    Page page = {.n = 0};
    add(&page, (Draw){.kind = DRAW_PAGE});
    add(&page, (Draw){.kind = DRAW_OPEN, .text = STR("P")});
    add_text(&page, 13100, 40 * POINT, "Parking brake");
    add_text(&page, 13100, 57 * POINT, "ON");
    add(&page, (Draw){.kind = DRAW_CLOSE, .text = STR("P")});
    add(&page, (Draw){.kind = DRAW_OPEN, .text = STR("P"), .target = STR("foot")});
    add_text(&page, 8400, 400 * POINT, "revision 1");
    add(&page, (Draw){.kind = DRAW_CLOSE, .text = STR("P")});
    return page;
}

static LegibleGrade grade_of(const Page *page, int64_t from_mm, const char *what) {
    Arena arena = {0};
    Drawing drawing = {.width = 400 * POINT, .height = 500 * POINT, .draws = page->draws, .n = page->n, .pages = 1};
    LegibleList list = legible_measure(&arena, &drawing, &press, from_mm);
    for (size_t i = 0; i < list.n; i++) {
        if (!str_eq(str_of(list.at[i].what), str_of(what))) continue;
        LegibleGrade grade = list.at[i].grade;
        arena_free(&arena);
        return grade;
    }
    fail_msg("%s is not measured", what);
    return LEGIBLE_SHORT;
}

static void a_good_page_is_kept(void **state) {
    (void)state;
    Page page = good_page();
    Arena arena = {0};
    Drawing drawing = {.width = 400 * POINT, .height = 500 * POINT, .draws = page.draws, .n = page.n, .pages = 1};
    LegibleList list = legible_measure(&arena, &drawing, &press, 600);
    for (size_t i = 0; i < list.n; i++) assert_int_equal(list.at[i].grade, LEGIBLE_KEPT);
    Buf told = {&arena, NULL, 0, 0};
    assert_true(buf_legible(&told, &list));
    arena_free(&arena);
}

static void small_type_is_told(void **state) {
    (void)state;
    Page page = good_page();
    page.draws[3].height = 13000;
    assert_int_equal(grade_of(&page, 600, "small letters"), LEGIBLE_SHORT);
    page.draws[3].height = 13100;
    assert_int_equal(grade_of(&page, 600, "small letters"), LEGIBLE_KEPT);
    assert_int_equal(grade_of(&page, 610, "small letters"), LEGIBLE_SHORT);
    page.draws[6].height = 6000;
    assert_int_equal(grade_of(&page, 600, "small letters"), LEGIBLE_KEPT);
    assert_int_equal(grade_of(&page, 600, "small letters of the foot, held in the hand"), LEGIBLE_SHORT);
}

static void lines_too_near_are_told(void **state) {
    (void)state;
    Page page = good_page();
    page.draws[3].y = 40 * POINT + 13100 + 3275;
    assert_int_equal(grade_of(&page, 600, "gap between lines"), LEGIBLE_KEPT);
    page.draws[3].y -= 140;
    assert_int_equal(grade_of(&page, 600, "gap between lines"), LEGIBLE_SHORT);
}

static void colour_alone_is_told(void **state) {
    (void)state;
    Page page = good_page();
    page.draws[4] = (Draw){.kind = DRAW_BAR, .ink = INK_RED};
    assert_int_equal(grade_of(&page, 600, "red and amber"), LEGIBLE_SHORT);
    page.draws[2].text = STR("WARNING: keep clear");
    assert_int_equal(grade_of(&page, 600, "red and amber"), LEGIBLE_KEPT);
    page.draws[4].ink = INK_AMBER;
    assert_int_equal(grade_of(&page, 600, "red and amber"), LEGIBLE_SHORT);
    page.draws[2].ink = INK_RED;
    assert_int_equal(grade_of(&page, 600, "text that is not black"), LEGIBLE_SHORT);
}

static void long_lines_and_capitals_are_marginal(void **state) {
    (void)state;
    Page page = good_page();
    page.draws[2].text = STR("THIS IS A RUN OF CAPITALS WHICH GOES ON AND ON AND O"); /* 52 */
    assert_int_equal(grade_of(&page, 600, "longest run of capitals"), LEGIBLE_MARGINAL);
    page.draws[2].text = STR("THIS IS A RUN OF CAPITALS which GOES ON AND ON AND O");
    assert_int_equal(grade_of(&page, 600, "longest run of capitals"), LEGIBLE_KEPT);
    page.draws[3].y = page.draws[2].y;
    page.draws[3].text = STR("and the rest of one line");
    assert_int_equal(grade_of(&page, 600, "longest line"), LEGIBLE_MARGINAL);
}

static void glyphs_alike_are_told(void **state) {
    (void)state;
    Page page = good_page();
    press.unlike = unlike_but_one;
    assert_int_equal(grade_of(&page, 600, "characters most alike, of 10 pairs that are taken for each other"),
                     LEGIBLE_SHORT);
    press.unlike = unlike_all;
}

/* The own typeface has no ř. */
static int32_t advance_without_one(Face face, uint32_t code) {
    return face_is_own(face) && code == 0x159 ? -1 : 500;
}

static void words_in_another_typeface_are_counted_and_blamed(void **state) {
    (void)state;
    Page page = good_page();
    page.draws[3].face = FACE_OTHER_PLAIN, page.draws[3].text = STR("P\u0159\xc3\xadklad \u0159");
    press.advance = advance_without_one;
    Arena arena = {0};
    Drawing drawing = {.width = 400 * POINT, .height = 500 * POINT, .draws = page.draws, .n = page.n, .pages = 1};
    LegibleList list = legible_measure(&arena, &drawing, &press, 600);
    for (size_t i = 0; i < list.n; i++)
        if (str_eq(str_of(list.at[i].what), STR("words in another typeface"))) {
            assert_str(list.at[i].found, "2 words, for \"\u0159\"");
            assert_int_equal(list.at[i].grade, LEGIBLE_MARGINAL);
        }
    press.advance = advance_of_all;
    arena_free(&arena);
    Page plain = good_page();
    assert_int_equal(grade_of(&plain, 600, "words in another typeface"), LEGIBLE_KEPT);
}

static Page card_of(const char *title, size_t pages, const char *next) {
    Page page = {.n = 0};
    for (size_t i = 0; i < pages; i++) {
        add(&page, (Draw){.kind = DRAW_PAGE});
        if (!i) add(&page, (Draw){.kind = DRAW_OUTLINE, .text = str_of(title)});
    }
    add(&page, (Draw){.kind = DRAW_PAGE});
    add(&page, (Draw){.kind = DRAW_OUTLINE, .text = str_of(next)});
    return page;
}

static void a_drill_on_two_pages_is_told(void **state) {
    (void)state;
    static const char what[] = "drills that go on on another page";
    Page broken = card_of("D3 STARTER STAYS ENGAGED", 2, "BRIEFINGS");
    Page whole = card_of("D3 STARTER STAYS ENGAGED", 1, "D4 NO OIL PRESSURE");
    Page procedure = card_of("DAILY START", 2, "D4 NO OIL PRESSURE");
    assert_int_equal(grade_of(&broken, 600, what), LEGIBLE_MARGINAL);
    assert_int_equal(grade_of(&whole, 600, what), LEGIBLE_KEPT);
    assert_int_equal(grade_of(&procedure, 600, what), LEGIBLE_KEPT);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_in_another_typeface_are_counted_and_blamed),
        cmocka_unit_test(a_drill_on_two_pages_is_told),
        cmocka_unit_test(a_good_page_is_kept),
        cmocka_unit_test(small_type_is_told),
        cmocka_unit_test(lines_too_near_are_told),
        cmocka_unit_test(colour_alone_is_told),
        cmocka_unit_test(long_lines_and_capitals_are_marginal),
        cmocka_unit_test(glyphs_alike_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
