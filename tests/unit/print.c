/* The formatter: its look by examples (tests/cases/format), its laws on every source of the project, written in many ways. */
#include "unit.h"

#include "front/equal.h"
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
} Desk;

static void desk_open(Desk *desk) {
    memset(desk, 0, sizeof *desk);
    names_open(&desk->names, &desk->arena);
    desk->sources.arena = desk->findings.arena = &desk->arena;
    desk->findings.names = &desk->names;
    desk->job = (Job){&desk->arena, &desk->names, &desk->sources, &desk->findings};
}

static Str read_text(Arena *arena, const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file) return (Str){NULL, 0};
    Buf buf = {.arena = arena};
    char part[4096];
    for (size_t n; (n = fread(part, 1, sizeof part, file)) > 0;) buf_str(&buf, (Str){part, n});
    fclose(file);
    buf_text(&buf, ""); /* an empty file is a text, too */
    return (Str){buf.ptr ? buf.ptr : "", buf.len};
}

static File *parse(Desk *desk, Str text) {
    return parse_file(&desk->job, source_add(&desk->sources, STR("test"), text, false));
}

/* ---- the laws ---- */

static bool same_comments(const Desk *desk, const File *a, const File *b) {
    for (size_t i = 0; i < a->n_comments && i < b->n_comments; i++) {
        Str one = span_text(&desk->sources, a->comments[i].span), two = span_text(&desk->sources, b->comments[i].span);
        while (one.len && (str_ends(one, STR(" ")) || str_ends(one, STR("\t")))) one.len--;
        while (two.len && (str_ends(two, STR(" ")) || str_ends(two, STR("\t")))) two.len--;
        if (!str_eq(one, two)) return false;
    }
    return a->n_comments == b->n_comments;
}

static void law_broken(const char *what, const char *path, unsigned seed, Str text, Str printed) {
    fprintf(stderr, "%s (seed %u): %s\n---- source\n%.*s---- formatted\n%.*s----\n", path, seed, what, (int)text.len,
            text.ptr, (int)printed.len, printed.ptr);
    fail();
}

/* The formatted text says the same, keeps every comment in order, and is formatted. */
static Str keep_laws(Desk *desk, const char *path, unsigned seed, const File *meant, Str text) {
    File *file = parse(desk, text);
    if (file->broken) law_broken("it does not parse", path, seed, text, STR(""));
    if (meant && !file_equal(&desk->job, meant, file))
        law_broken("it is not written as meant", path, seed, text, STR(""));
    Str printed = print_file(&desk->job, file);
    File *again = parse(desk, printed);
    if (again->broken) law_broken("formatted, it does not parse", path, seed, text, printed);
    if (!file_equal(&desk->job, file, again))
        law_broken("formatted, it says something else", path, seed, text, printed);
    if (!same_comments(desk, file, again)) law_broken("comments got lost", path, seed, text, printed);
    Str twice = print_file(&desk->job, again);
    if (!str_eq(printed, twice)) law_broken("formatting again changes it", path, seed, printed, twice);
    for (size_t i = 0; i + 1 < printed.len; i++)
        if (printed.ptr[i] == ' ' && printed.ptr[i + 1] == '\n')
            law_broken("a line ends in a blank", path, seed, text, printed);
    return printed;
}

/* ---- the same source, written otherwise ---- */

typedef struct {
    Str text;
    size_t at;
    Str word, before;    /* the word read last, the one before it */
    bool newline, blank; /* between the two */
    unsigned state, comments;
    Buf out;
} Scramble;

static unsigned dice(Scramble *s, unsigned sides) {
    s->state = s->state * 1664525u + 1013904223u;
    return (s->state >> 16) % sides;
}

static bool among(Str word, const char *const *words) {
    for (; *words; words++)
        if (str_eq(word, str_of(*words))) return true;
    return false;
}

static bool is_sign(char c) {
    return c && strchr("{}(),:", c) != NULL;
}

static bool next_word(Scramble *s) {
    s->before = s->word;
    s->newline = s->blank = false;
    for (; s->at < s->text.len; s->at++) {
        char c = s->text.ptr[s->at];
        if (c == '#') {
            while (s->at < s->text.len && s->text.ptr[s->at] != '\n') s->at++;
            s->at--;
        } else if (c == '\n') {
            s->newline = true;
        } else if (c != ' ') {
            break;
        }
        s->blank = true;
    }
    size_t lo = s->at;
    if (lo == s->text.len) return false;
    char c = s->text.ptr[s->at++];
    if (c == '"') {
        while (s->text.ptr[s->at] != '"') s->at += s->text.ptr[s->at] == '\\' ? 2 : 1;
        s->at++;
    } else if (!is_sign(c)) {
        while (s->at < s->text.len && !strchr(" \n#\"", s->text.ptr[s->at]) && !is_sign(s->text.ptr[s->at])) s->at++;
    }
    s->word = str_slice(s->text, lo, s->at);
    return true;
}

static Str following(const Scramble *s) {
    Scramble ahead = *s;
    return next_word(&ahead) && !ahead.newline ? ahead.word : STR("");
}

/* The rule of the language: where a line may end without ending the item. */
static bool may_wrap(const Scramble *s) {
    static const char *const after[] = {"{", "(", ",", ":", "and", "or", "not", "otherwise", "then", NULL};
    static const char *const ahead[] = {"{",     ",",      ")",    "and",     "or", "otherwise",
                                        "until", "within", "from", "because", "as", NULL};
    if (among(s->before, after)) return true;
    if (str_eq(s->word, STR("from"))) return !str_eq(following(s), STR("each"));
    if (str_eq(s->word, STR("between"))) return str_eq(following(s), STR("tries"));
    if (str_eq(s->word, STR("over"))) return str_eq(following(s), STR("duty"));
    if (str_eq(s->word, STR("by"))) return !str_eq(s->before, STR("review"));
    return among(s->word, ahead) || s->word.ptr[0] == '"' || s->word.ptr[0] == '}';
}

static void put_comment(Scramble *s) {
    buf_text(&s->out, "# c");
    buf_uint(&s->out, ++s->comments);
    buf_text(&s->out, dice(s, 4) == 0 ? "  \n" : "\n");
}

static void put_gap(Scramble *s, bool ends) {
    bool wrap = may_wrap(s);
    if (ends || (wrap && dice(s, 3) == 0)) {
        for (unsigned n = dice(s, 3); n > 0; n--) {
            buf_text(&s->out, dice(s, 2) ? " " : "\t");
            if (dice(s, 3) == 0) put_comment(s);
            else buf_char(&s->out, '\n');
        }
        if (ends) buf_char(&s->out, '\n');
        buf_repeat(&s->out, ' ', dice(s, 9));
    }
    bool glued = !s->blank || s->word.ptr[0] == ',';
    buf_repeat(&s->out, ' ', glued ? 0 : 1 + (dice(s, 5) == 0));
}

/* Other blanks, line ends and comments; not another word. */
static Str scramble(Arena *arena, Str text, unsigned seed) {
    Scramble s = {.text = text, .state = seed * 2654435761u, .out = {.arena = arena}};
    while (next_word(&s)) {
        if (s.before.len) put_gap(&s, s.newline && !may_wrap(&s));
        buf_str(&s.out, s.word);
    }
    buf_text(&s.out, dice(&s, 2) ? "\n" : " # the end");
    return buf_view(&s.out);
}

static void laws_of_file(const char *path, unsigned seeds) {
    for (unsigned seed = 0; seed < seeds; seed++) {
        Desk desk;
        desk_open(&desk);
        Str text = read_text(&desk.arena, path);
        File *file = parse(&desk, text);
        if (file->broken) law_broken("it does not parse", path, seed, text, STR(""));
        keep_laws(&desk, path, seed, NULL, text);
        keep_laws(&desk, path, seed, file, scramble(&desk.arena, text, seed));
        Str printed = print_file(&desk.job, file);
        keep_laws(&desk, path, seed, file, scramble(&desk.arena, printed, seed + seeds));
        arena_free(&desk.arena);
    }
}

static unsigned each_file(const char *folder, void (*visit)(const char *path)) {
    unsigned n = 0;
    DIR *dir = opendir(folder);
    if (!dir) return 0;
    for (struct dirent *entry; (entry = readdir(dir));) {
        Str name = str_of(entry->d_name);
        char path[512];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (str_ends(name, STR(".start"))) visit(path), n++;
        else if (name.ptr[0] != '.' && entry->d_type == DT_DIR) n += each_file(path, visit);
    }
    closedir(dir);
    return n;
}

static void laws_with_seeds(const char *path) {
    laws_of_file(path, 40);
}

static void laws_on_cases(void **state) {
    (void)state;
    assert_true(each_file("tests/cases/format", laws_with_seeds) >= 3);
}

static void laws_on_library(void **state) {
    (void)state;
    assert_true(each_file("stdlib", laws_with_seeds) >= 3);
}

static void laws_on_examples(void **state) {
    (void)state;
    assert_true(each_file("examples", laws_with_seeds) >= 1);
}

/* ---- the look ---- */

static void look_of(const char *path) {
    Desk desk;
    desk_open(&desk);
    char wanted[512];
    snprintf(wanted, sizeof wanted, "%.*sformatted", (int)(strlen(path) - strlen("start")), path);
    Str text = read_text(&desk.arena, path), expected = read_text(&desk.arena, wanted);
    Str printed = keep_laws(&desk, path, 0, NULL, text);
    if (!str_eq(printed, expected)) {
        print_error("%s: not as in %s, but\n%.*s", path, wanted, (int)printed.len, printed.ptr);
        fail();
    }
    keep_laws(&desk, wanted, 0, NULL, expected);
    arena_free(&desk.arena);
}

static void look(void **state) {
    (void)state;
    assert_true(each_file("tests/cases/format", look_of) >= 3);
}

static void line_ends_and_blanks(void **state) {
    (void)state;
    Desk desk;
    desk_open(&desk);
    File *file = parse(&desk, STR("kind a\r\nkind b\r\r\rkind c # x\t \r\n\xC2\xA0kind\xC2\xA0"
                                  "d"));
    assert_false(file->broken);
    assert_str(print_file(&desk.job, file), "kind    a\nkind    b\n\nkind    c  # x\nkind    d\n");
    arena_free(&desk.arena);
}

static void nothing_in_it(void **state) {
    (void)state;
    Desk desk;
    desk_open(&desk);
    File *file = parse(&desk, STR("\n\n# alone\n\n\n"));
    assert_str(print_file(&desk.job, file), "# alone\n");
    arena_free(&desk.arena);
}

static void broken_is_left(void **state) {
    (void)state;
    Desk desk;
    desk_open(&desk);
    Str text = STR("kind   a\ngroup g \"G\" {\n  set  \n");
    File *file = parse(&desk, text);
    assert_true(file->broken);
    assert_true(str_eq(print_file(&desk.job, file), text));
    arena_free(&desk.arena);
}

/* Memory beyond the tree's, on long texts: one long list, one long condition, many short things, many items. */
static void bounded(const char *head, const char *each, const char *tail) {
    Desk desk;
    desk_open(&desk);
    Buf buf = {.arena = &desk.arena};
    buf_text(&buf, head);
    for (size_t i = 0; i < 100000; i++) buf_text(&buf, each);
    buf_text(&buf, tail);
    Str text = buf_view(&buf);
    File *file = parse(&desk, text);
    assert_false(file->broken);
    size_t before = desk.arena.total;
    Str printed = print_file(&desk.job, file);
    size_t taken = desk.arena.total - before;
    if (taken > 32 * text.len) print_error("%s: %zu bytes for %zu of text\n", each, taken, text.len);
    assert_true(taken <= 32 * text.len);
    assert_true(printed.len > 100000);
    assert_true(file_equal(&desk.job, file, parse(&desk, printed)));
    arena_free(&desk.arena);
}

static void long_texts(void **state) {
    (void)state;
    bounded("fleet f { a", ", another-tail", " }\n");
    bounded("state s means a", " and (b)", "\n");
    bounded("", "kind a # note\n", "");
    bounded("group g \"G\" {\n", "set a ON\n", "}\n");
    bounded("group g \"G\" {\n", "when a { check b, otherwise { do c } } # d\n", "}\n");
}

/* ---- conditions, events, items in words ---- */

static void conditions_in_words(void **state) {
    (void)state;
    static const char *const pairs[][2] = {
        {"mixture RICH", NULL},
        {"mixture is not RICH", NULL},
        {"mixture is RICH", NULL},
        {"(a)", "a"},
        {"oil-pressure at least 25 psi", NULL},
        {"oat below -5 degC and (itt at most hot or itt above 1000.5 degC for 5 s)", NULL},
        {"tach 800 .. 1000 rpm", "tach 800..1000 rpm"},
        {"volts 4 V..14 V", NULL},
        {"not ((a and b))", "not (a and b)"},
        {"(not a) for 3 s", NULL},
        {"not a for oil-time", NULL},
        {"(a or b) and (c and d)", NULL},
        {"fitted beacon or watching left.itt", NULL},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        Desk desk;
        desk_open(&desk);
        Buf text = {.arena = &desk.arena}, out = {.arena = &desk.arena};
        buf_text(&text, "state s means ");
        buf_text(&text, pairs[i][0]);
        File *file = parse(&desk, buf_view(&text));
        assert_false(file->broken);
        print_cond(&out, &desk.job, file->first->u.cond);
        assert_str(buf_view(&out), pairs[i][1] ? pairs[i][1] : pairs[i][0]);
        arena_free(&desk.arena);
    }
}

static void events_in_words(void **state) {
    (void)state;
    static const char *const events[] = {
        "crank-start",
        "left.mixture becomes RICH or mixture RICH",
        "starter leaves ENGAGED",
        "oil-pressure seen normal",
        "clear answered NOT-CLEAR",
        "set key OUT",
        "look prop-area CLEAR",
        "call clear",
        "brief passengers",
    };
    for (size_t i = 0; i < sizeof events / sizeof *events; i++) {
        Desk desk;
        desk_open(&desk);
        Buf text = {.arena = &desk.arena}, out = {.arena = &desk.arena};
        buf_text(&text, "event e means ");
        buf_text(&text, events[i]);
        File *file = parse(&desk, buf_view(&text));
        assert_false(file->broken);
        print_event(&out, &desk.job, file->first->u.event);
        assert_str(buf_view(&out), events[i]);
        arena_free(&desk.arena);
    }
}

static void items_in_words(void **state) {
    (void)state;
    static const char *const pairs[][2] = {
        {"lab: set   primer 3 STROKES within 5 s after engine-fires because \"x\"",
         "set primer 3 STROKES within 5 s after engine-fires"},
        {"check (a or b), otherwise turn to c", "check a or b"},
        {"expect tach idle within t after e, otherwise again", "expect tach idle within t after e"},
        {"call clear by me, answered AWAY within 1 min", "call clear, answered AWAY within 1 min"},
        {"wait 5..15 s after clear \"listen\"", "wait 5..15 s after clear \"listen\""},
        {"wait at least prime-time", "wait at least prime-time"},
        {"wait up to 15 s, otherwise again", "wait up to 15 s"},
        {"crank up to 5 s over duty because \"x\" { set a ON } until b",
         "crank up to 5 s over duty because \"x\" until b"},
        {"try up to 3 times { crank } until b", "try up to 3 times until b"},
        {"end SECURED, no more starts, next start after 10 min",
         "end SECURED, no more starts, next start after 10 min"},
        {"end READY, start again at b", "end READY, start again at b"},
        {"plain \"a\" \"b\" from c 1", "plain \"a\" \"b\""},
        {"for each engine { do c }", "for each engine"},
        {"hold brakes PRESSED", "hold brakes PRESSED"},
        {"when a { do c }", "when a"},
        {"drills a, b", "drills a, b"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        Desk desk;
        desk_open(&desk);
        Buf text = {.arena = &desk.arena}, out = {.arena = &desk.arena};
        buf_text(&text, "procedure p \"P\" for a {\n");
        buf_text(&text, pairs[i][0]);
        buf_text(&text, "\n}\n");
        File *file = parse(&desk, buf_view(&text));
        assert_false(file->broken);
        print_stmt_head(&out, &desk.job, file->first->u.parts);
        assert_str(buf_view(&out), pairs[i][1]);
        arena_free(&desk.arena);
    }
}

/* ---- equal, and not ---- */

static void what_differs(void **state) {
    (void)state;
    static const char *const pairs[][2] = {
        {"kind a", "kind b"},
        {"kind a", "kind a \"A\""},
        {"kind a", "kind a\nkind b"},
        {"control c \"C\" { ON, OFF }", "control c \"C\" { OFF, ON }"},
        {"control c \"C\" { ON stops engine }", "control c \"C\" { ON turns engine }"},
        {"gauge g \"G\" psi", "gauge g \"G\" kPa"},
        {"group g \"G\" { set a ON within 5 s }", "group g \"G\" { set a ON within 6 s }"},
        {"group g \"G\" { set a ON }", "group g \"G\" { l: set a ON }"},
        {"group g \"G\" { check a }", "group g \"G\" { check a, otherwise again }"},
        {"group g \"G\" { check a from b 1 }", "group g \"G\" { check a from b 2 }"},
        {"group g \"G\" { wait 5..6 s }", "group g \"G\" { wait 5..6 min }"},
        {"state s means a and b", "state s means a or b"},
        {"state s means a at least 5 s", "state s means a at most 5 s"},
        {"gate g \"G\" { every end: a }", "gate g \"G\" { every end READY: a }"},
        {"gate g \"G\" { after a: no b }", "gate g \"G\" { after a: no b for at least 5 s }"},
        {"fleet f { a }", "fleet f { b }"},
        {"wording w { a \"A\" }", "wording w { a \"B\" }"},
        {"lines b 1 { 1 \"A\" }", "lines b 1 { 2 \"A\" }"},
        {"document d \"D\" { revision 1 }", "document d \"D\" { revision 2 }"},
        {"adapt a for b { omit c }", "adapt a for b { omit d }"},
        {"standard s \"S\" { holds a/b }", "standard s \"S\" { holds a/c }"},
        {"aircraft a \"A\" { value v 5 s }", "aircraft a \"A\" { value v 5 s when b }"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        Desk desk;
        desk_open(&desk);
        File *a = parse(&desk, str_of(pairs[i][0])), *b = parse(&desk, str_of(pairs[i][1]));
        if (a->broken || b->broken) print_error("%s | %s\n", pairs[i][0], pairs[i][1]);
        assert_false(a->broken || b->broken);
        assert_true(file_equal(&desk.job, a, a));
        if (file_equal(&desk.job, a, b)) print_error("%s = %s\n", pairs[i][0], pairs[i][1]);
        assert_false(file_equal(&desk.job, a, b));
        arena_free(&desk.arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(look),
        cmocka_unit_test(laws_on_cases),
        cmocka_unit_test(laws_on_library),
        cmocka_unit_test(laws_on_examples),
        cmocka_unit_test(line_ends_and_blanks),
        cmocka_unit_test(nothing_in_it),
        cmocka_unit_test(broken_is_left),
        cmocka_unit_test(long_texts),
        cmocka_unit_test(conditions_in_words),
        cmocka_unit_test(events_in_words),
        cmocka_unit_test(items_in_words),
        cmocka_unit_test(what_differs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
