#include "unit.h"

#include "base/diag.h"
#include "base/limits.h"

typedef struct {
    Arena arena;
    Names names;
    Findings findings;
} Desk;

static int open_desk(void **state) {
    static Desk desk;
    memset(&desk, 0, sizeof desk);
    names_open(&desk.names, &desk.arena);
    desk.findings.arena = &desk.arena;
    desk.findings.names = &desk.names;
    *state = &desk;
    return 0;
}

static int close_desk(void **state) {
    arena_free(&((Desk *)*state)->arena);
    return 0;
}

static void formats_each_kind(void **state) {
    Desk *desk = *state;
    Name oil = name_intern(&desk->names, STR("oil-pressure"));
    Str text = format_text(&desk->arena, &desk->names, "%N: %s, %S; %u of %d is 100%%", oil, "never set", STR("cut"),
                           (uint64_t)UINT64_MAX, (int64_t)-7);
    assert_str(text, "oil-pressure: never set, cut; 18446744073709551615 of -7 is 100%");
    assert_str(format_text(&desk->arena, &desk->names, ""), "");
    assert_str(format_text(&desk->arena, NULL, "plain"), "plain");
    Buf buf = {.arena = &desk->arena};
    buf_format(&buf, &desk->names, "%%%s", "");
    buf_format(&buf, &desk->names, "<%N>", (Name)0);
    assert_str(buf_view(&buf), "%<>");
}

static void a_nul_in_a_text_does_not_cut_it(void **state) {
    Desk *desk = *state;
    Str text = format_text(&desk->arena, &desk->names, "[%S]", STR("a\0b"));
    assert_int_equal(text.len, 5);
    assert_true(str_eq(text, STR("[a\0b]")));
}

static void findings_keep_order_notes_and_fixes(void **state) {
    Desk *desk = *state;
    Finding *first = finding_add(&desk->findings, FINDING_SYNTAX, (Span){3, 5}, "one %s", "thing");
    finding_add(&desk->findings, FINDING_SYNTAX, (Span){1, 2}, "another");
    finding_note(&desk->findings, first, (Span){7, 8}, "as said %s", "here");
    finding_note(&desk->findings, first, (Span){0, 0}, "and so");
    finding_fix(&desk->findings, first, FIX_SAFE, (Span){3, 5}, "%d s", (int64_t)30);
    finding_fix(&desk->findings, first, FIX_SHOWN, (Span){3, 3}, "x");
    assert_int_equal(desk->findings.list.n, 2);
    assert_ptr_equal(desk->findings.list.at[0], first);
    assert_str(first->message, "one thing");
    assert_int_equal(first->severity, SEVERITY_ERROR);
    assert_str(first->notes->text, "as said here");
    assert_str(first->notes->next->text, "and so");
    assert_null(first->notes->next->next);
    assert_str(first->fixes->text, "30 s");
    assert_int_equal(first->fixes->next->grade, FIX_SHOWN);
    assert_null(first->trace);
}

static void past_the_limit_they_are_counted(void **state) {
    Desk *desk = *state;
    for (int i = 0; i < LIMIT_FINDINGS + 5; i++) {
        Finding *finding = finding_add(&desk->findings, FINDING_SYNTAX, (Span){1, 2}, "again");
        assert_non_null(finding);
        finding_note(&desk->findings, finding, (Span){0, 0}, "note");
        finding_fix(&desk->findings, finding, FIX_SAFE, (Span){1, 1}, "fix");
    }
    assert_int_equal(desk->findings.list.n, LIMIT_FINDINGS);
    assert_int_equal(desk->findings.beyond[SEVERITY_ERROR], 5);
    assert_null(desk->findings.scrap->notes);
}

/* Ids are permanent words: small letters, digits and hyphens, each once, each with a title. */
static void the_registry_is_sound(void **state) {
    (void)state;
    for (int i = 1; i < FINDING_COUNT; i++) {
        const char *id = finding_info[i].id;
        assert_int_equal(strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-"), strlen(id));
        assert_true(id[0] >= 'a' && id[0] <= 'z');
        assert_true(finding_info[i].title[0] != 0);
        for (int k = 1; k < i; k++) assert_string_not_equal(id, finding_info[k].id);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(formats_each_kind, open_desk, close_desk),
        cmocka_unit_test_setup_teardown(a_nul_in_a_text_does_not_cut_it, open_desk, close_desk),
        cmocka_unit_test_setup_teardown(findings_keep_order_notes_and_fixes, open_desk, close_desk),
        cmocka_unit_test_setup_teardown(past_the_limit_they_are_counted, open_desk, close_desk),
        cmocka_unit_test_setup_teardown(the_registry_is_sound, open_desk, close_desk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
