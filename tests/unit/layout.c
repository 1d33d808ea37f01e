/* Page breaks against every other way to break. */
#include "back/layout.h"
#include "back/impose.h"
#include "back/type.h"
#include "unit.h"

enum { MOST = 12, ROOM = 50 * POINT, GOES_ON = 6 * POINT, LEAST = 40, KINDS = 8 };

typedef struct {
    const Strip *strips;
    size_t n;
    Badness best;
    bool any;
} Search;

static uint32_t next_random(uint32_t *state) {
    return *state = *state * 1664525u + 1013904223u;
}

static void add_break(Badness *badness, BreakKind kind) {
    static const uint32_t harm[KINDS] = {
        [BREAK_AT_READ_ON] = 2, [BREAK_AT_FORK] = 7, [BREAK_IN_WHOLE] = 8, [BREAK_IN_FORK] = 9};
    badness->in_item += kind == BREAK_IN_ITEM;
    badness->in_whole += harm[kind];
    badness->uneven += kind == BREAK_AT_ITEM ? 25 * 25 : kind == BREAK_AT_LONE ? 50 * 50 : 0;
}

/* Bit i of `cuts`: a page ends behind strip i. False: a page is too full. */
static bool judge(const Search *search, uint32_t cuts, Badness *badness) {
    int64_t used = 0;
    *badness = (Badness){.pages = 1};
    for (size_t i = 0; i < search->n; i++) {
        bool last = i + 1 == search->n, cut = !last && cuts >> i & 1, fresh = !i || cuts >> (i - 1) & 1;
        used += search->strips[i].height + (fresh ? 0 : least_gap(&search->strips[i], LEAST));
        int64_t room = last ? ROOM : ROOM - GOES_ON;
        if ((cut || last) && used > room) return false;
        if (cut || last) badness->uneven += (room - used) / POINT * ((room - used) / POINT);
        if (!cut) continue;
        badness->pages++;
        add_break(badness, search->strips[i + 1].before);
        used = 0;
    }
    return true;
}

static void search_all(Search *search) {
    for (uint32_t cuts = 0; cuts < 1u << (search->n - 1); cuts++) {
        Badness badness;
        if (!judge(search, cuts, &badness)) continue;
        if (!search->any || badness_cmp(&badness, &search->best) < 0) search->best = badness;
        search->any = true;
    }
}

static void breaks_are_the_best_there_are(void **state) {
    (void)state;
    uint32_t random = 1;
    size_t pages = 0;
    for (int round = 0; round < 3000; round++) {
        Arena arena = {0};
        Strip strips[MOST] = {{0}};
        size_t n = 1 + next_random(&random) / 65536 % MOST;
        for (size_t i = 0; i < n; i++)
            strips[i] = (Strip){.before = (BreakKind)(next_random(&random) / 65536 % KINDS),
                                .gap = (Length)(next_random(&random) / 65536 % 10) * POINT,
                                .height = (Length)(5 + next_random(&random) / 65536 % 15) * POINT};
        Search search = {.strips = strips, .n = n};
        search_all(&search);
        assert_true(search.any);
        Badness badness;
        Breaks breaks = layout_break(&arena, strips, n, &(Room){ROOM, GOES_ON, LEAST}, &badness);
        assert_int_equal(badness_cmp(&badness, &search.best), 0);
        uint32_t cuts = 0;
        for (size_t page = 1; page < breaks.n; page++) cuts |= 1u << (breaks.starts[page] - 1);
        assert_int_equal(breaks.starts[0], 0);
        assert_true(judge(&search, cuts, &badness));
        assert_int_equal(badness_cmp(&badness, &search.best), 0);
        pages += breaks.n;
        arena_free(&arena);
    }
    assert_true(pages > 6000);
}

/* Every character is half an em wide, in the other typeface seven tenths; ř is only there, ψ nowhere. */
static int32_t half_an_em(Face face, uint32_t code) {
    if (code == 0x3c8 || (code == 0x159 && face_is_own(face))) return -1;
    return face_is_own(face) ? 500 : 700;
}

static const Press press = {
    .version = PRESS_VERSION, .em = 1000, .x_height = 550, .cap_height = 750, .advance = half_an_em};

static void lines_break_at_blanks_but_not_before_a_unit(void **state) {
    (void)state;
    const Form form = {.press = &press, .type = 10 * POINT};
    Str line, wide = {0}, text = STR("within 30 s of firing");
    size_t at = text_line(&form, FACE_PLAIN, form.type, 48 * POINT, text, 0, &line, &wide);
    assert_str(line, "within");
    at = text_line(&form, FACE_PLAIN, form.type, 35 * POINT, text, at, &line, &wide);
    assert_str(line, "30 s of");
    at = text_line(&form, FACE_PLAIN, form.type, 35 * POINT, text, at, &line, &wide);
    assert_str(line, "firing");
    assert_int_equal(at, text.len);
    assert_int_equal(wide.len, 0);
    assert_int_equal(text_width(&form, FACE_PLAIN, form.type, STR("30 s")), 20 * POINT);
}

static void a_word_wider_than_the_line_is_told_and_cut(void **state) {
    (void)state;
    const Form form = {.press = &press, .type = 10 * POINT};
    Str line, wide = {0}, text = STR("to extraordinary");
    size_t at = text_line(&form, FACE_PLAIN, form.type, 25 * POINT, text, 0, &line, &wide);
    assert_str(line, "to");
    at = text_line(&form, FACE_PLAIN, form.type, 25 * POINT, text, at, &line, &wide);
    assert_str(line, "extra");
    assert_str(wide, "extraordinary");
    /* not even one character: it goes on all the same */
    at = text_line(&form, FACE_PLAIN, form.type, POINT, text, at, &line, &wide);
    assert_str(line, "o");
}

static void a_word_has_one_face(void **state) {
    (void)state;
    Str text = STR("set P\u0159\xc3\xadklad on"), run;
    Face face;
    size_t at = 0;
    assert_true(next_run(&press, FACE_BOLD, text, &at, &run, &face));
    assert_str(run, "set ");
    assert_int_equal(face, FACE_BOLD);
    assert_true(next_run(&press, FACE_BOLD, text, &at, &run, &face));
    assert_str(run, "P\u0159\xc3\xadklad ");
    assert_int_equal(face, FACE_OTHER_BOLD);
    assert_true(next_run(&press, FACE_BOLD, text, &at, &run, &face));
    assert_str(run, "on");
    assert_false(next_run(&press, FACE_BOLD, text, &at, &run, &face));
    assert_int_equal(text_units(&press, FACE_PLAIN, text), 4 * 500 + 8 * 700 + 2 * 500);
    assert_int_equal(text_unset(&press, text), 0);
    assert_int_equal(text_unset(&press, STR("a \u03c8")), 0x3c8);
    /* and a line is as wide as what stands on it */
    const Form form = {.press = &press, .type = 10 * POINT};
    Str line, wide = {0};
    text_line(&form, FACE_PLAIN, form.type, 20 * POINT + 7 * 7 * POINT - 1, text, 0, &line, &wide);
    assert_str(line, "set");
    text_line(&form, FACE_PLAIN, form.type, 20 * POINT + 7 * 7 * POINT, text, 0, &line, &wide);
    assert_str(line, "set P\u0159\xc3\xadklad");
}

/* Whoever folds the sheets turns the pages 1, 2, 3 … : the side behind each page bears the next one. */
static void folded_pages_follow_each_other(void **state) {
    (void)state;
    size_t left, right;
    folded_sides(8, 0, &left, &right);
    assert_int_equal(left, 8), assert_int_equal(right, 1);
    folded_sides(8, 1, &left, &right);
    assert_int_equal(left, 2), assert_int_equal(right, 7);
    folded_sides(8, 3, &left, &right);
    assert_int_equal(left, 4), assert_int_equal(right, 5);
    for (size_t n = 1; n < 70; n++) {
        size_t sides = folded_side_count(n), seen[72] = {0};
        assert_int_equal(sides % 2, 0);
        assert_true(2 * sides >= n && 2 * sides < n + 4);
        for (size_t side = 0; side < sides; side++) {
            folded_sides(n, side, &left, &right);
            seen[left]++, seen[right]++;
            size_t back_left, back_right;
            folded_sides(n, side ^ 1, &back_left, &back_right);
            /* turned over the short edge, what is behind the right is the left of the other side */
            if (side % 2 == 0 && back_left) assert_int_equal(back_left, right + 1);
            if (side % 2 == 0 && left) assert_int_equal(back_right + 1, left);
        }
        for (size_t page = 1; page <= n; page++) assert_int_equal(seen[page], 1);
    }
}

static void marks_move_with_their_page(void **state) {
    (void)state;
    Arena arena = {0};
    const Draw draws[] = {
        {.kind = DRAW_PAGE}, {.kind = DRAW_BAR, .x = 1}, {.kind = DRAW_PAGE}, {.kind = DRAW_BAR, .x = 2}};
    const Paper *page = paper_find(STR("a5")), *sheet = paper_sheet(page);
    Drawing drawing = {.width = page->width, .height = page->height, .draws = draws, .n = 4, .pages = 2};
    assert_string_equal(sheet->name, "a4");
    Drawing made = impose(&arena, &drawing, sheet);
    assert_int_equal(made.pages, 2), assert_int_equal(made.n, 4);
    assert_int_equal(made.width, sheet->height), assert_int_equal(made.height, sheet->width);
    assert_int_equal(made.draws[1].x, 1 + made.width / 2);               /* page 1 on the right of the front */
    assert_int_equal(made.draws[3].x, 2 + made.width / 2 - page->width); /* page 2 behind it */
    assert_null(paper_sheet(paper_find(STR("a4"))));
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(folded_pages_follow_each_other),
        cmocka_unit_test(marks_move_with_their_page),
        cmocka_unit_test(a_word_has_one_face),
        cmocka_unit_test(breaks_are_the_best_there_are),
        cmocka_unit_test(lines_break_at_blanks_but_not_before_a_unit),
        cmocka_unit_test(a_word_wider_than_the_line_is_told_and_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
