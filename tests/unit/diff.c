/* The unified difference of two texts: its form by example; and that it leads from one text to the other. */
#include "unit.h"

#include "tool/diff.h"
#include <stdlib.h>

static void forms(void **state) {
    (void)state;
    static const char *const cases[][3] = {
        {"", "", ""},
        {"a\nb\n", "a\nb\n", ""},
        {"", "a\n", "--- f\n+++ f\n@@ -0,0 +1 @@\n+a\n"},
        {"a\n", "", "--- f\n+++ f\n@@ -1 +0,0 @@\n-a\n"},
        {"a\n", "a", "--- f\n+++ f\n@@ -1 +1 @@\n-a\n+a\n\\ No newline at end of file\n"},
        {"1\n2\n3\n4\n5\n6\n7\n8\n9\n", "1\n2\n3\n4\nx\n6\n7\n8\n9\n",
         "--- f\n+++ f\n@@ -2,7 +2,7 @@\n 2\n 3\n 4\n-5\n+x\n 6\n 7\n 8\n"},
        {"a\n1\n2\n3\n4\n5\n6\nb\n", "A\n1\n2\n3\n4\n5\n6\nB\n",
         "--- f\n+++ f\n@@ -1,8 +1,8 @@\n-a\n+A\n 1\n 2\n 3\n 4\n 5\n 6\n-b\n+B\n"},
        {"a\n1\n2\n3\n4\n5\n6\n7\nb\n", "A\n1\n2\n3\n4\n5\n6\n7\nB\n",
         "--- f\n+++ f\n@@ -1,4 +1,4 @@\n-a\n+A\n 1\n 2\n 3\n@@ -6,4 +6,4 @@\n 5\n 6\n 7\n-b\n+B\n"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Arena arena = {0};
        Buf buf = {.arena = &arena};
        diff_unified(&buf, STR("f"), str_of(cases[i][0]), str_of(cases[i][1]));
        assert_str(buf.len ? buf_view(&buf) : STR(""), cases[i][2]);
        arena_free(&arena);
    }
}

static Str next_line(Str text, size_t *at) {
    size_t lo = *at;
    while (*at < text.len && text.ptr[*at] != '\n') ++*at;
    if (*at < text.len) ++*at;
    return str_slice(text, lo, *at);
}

/* Reads the hunks as patch does: lines outside them are taken over, " " and "-" must be there, "+" comes in. */
static Str apply(Arena *arena, Str before, Str diff, size_t *changes) {
    Buf out = {.arena = arena};
    size_t at = 0, line = 0;
    for (size_t d = 0; d < diff.len;) {
        Str l = next_line(diff, &d);
        if (str_starts(l, STR("---")) || str_starts(l, STR("+++"))) continue;
        if (l.ptr[0] == '@') {
            size_t wanted = strtoul(l.ptr + 4, NULL, 10);
            bool none = strstr(l.ptr, ",0 +") != NULL && strstr(l.ptr, ",0 +") < l.ptr + l.len;
            for (wanted -= !none; line < wanted; line++) buf_str(&out, next_line(before, &at));
            continue;
        }
        if (l.ptr[0] == '+') buf_str(&out, str_slice(l, 1, l.len));
        else {
            Str old = next_line(before, &at);
            line++;
            assert_true(str_eq(old, str_slice(l, 1, l.len)));
            if (l.ptr[0] == ' ') buf_str(&out, old);
        }
        *changes += l.ptr[0] != ' ';
    }
    while (at < before.len) buf_str(&out, next_line(before, &at));
    return out.len ? buf_view(&out) : STR("");
}

static unsigned dice(unsigned *state, unsigned sides) {
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 16) % sides;
}

/* Two texts of about n lines; one line in `every` is changed, dropped or put in. */
static size_t lead_across(unsigned seed, size_t n, unsigned every, unsigned words) {
    Arena arena = {0};
    unsigned state = seed * 2654435761u;
    Buf a = {.arena = &arena}, b = {.arena = &arena}, diff = {.arena = &arena};
    buf_text(&a, "");
    for (size_t i = 0; i < n; i++) {
        unsigned what = dice(&state, every), word = dice(&state, words);
        if (what != 1) buf_uint(&a, word), buf_char(&a, '\n');
        if (what != 0) buf_uint(&b, what == 2 ? word + 1 : word), buf_char(&b, '\n');
    }
    size_t changes = 0;
    diff_unified(&diff, STR("f"), buf_view(&a), buf_view(&b));
    Str reached = apply(&arena, buf_view(&a), diff.len ? buf_view(&diff) : STR(""), &changes);
    assert_true(str_eq(reached, buf_view(&b)));
    arena_free(&arena);
    return changes;
}

static void leads_across(void **state) {
    (void)state;
    for (unsigned seed = 1; seed < 300; seed++) lead_across(seed, 1 + seed % 60, 3 + seed % 7, 2 + seed % 9);
}

/* Beyond the least difference: still right, still near it, and quick. */
static void leads_across_much(void **state) {
    (void)state;
    size_t changes = lead_across(1, 40000, 10, 1000000);
    assert_true(changes >= 10000 && changes < 30000);
    lead_across(2, 40000, 4, 5);
    lead_across(3, 5000, 3, 1000000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forms),
        cmocka_unit_test(leads_across),
        cmocka_unit_test(leads_across_much),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
