/* `startwright outline KIND NAME`: the text of a new aircraft, with all that its kind has and nothing that only its handbook can say. It is
   checked at once, and what is still unknown is listed. */
#include "tool/outline.h"
#include "base/diag.h"
#include "tool/commands.h"
#include "tool/files.h"
#include "tool/outline_list.h"
#include "tool/page.h"
#include "tool/render.h"
#include "tool/run.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- skeletons ---- */

static Str part(Str section, const char *head, const char *next) {
    size_t lo = section.len, hi = section.len;
    for (size_t at = 0; at < section.len;) {
        size_t begin = at;
        Str line = page_next_line(section, &at);
        if (str_eq(line, str_of(head))) lo = at;
        else if (next && str_eq(line, str_of(next))) hi = begin;
    }
    return lo < hi ? str_slice(section, lo, hi) : STR("");
}

bool skeleton_at(size_t n, Skeleton *out) {
    Str all = {outline_text, outline_text_size};
    size_t found = 0, lo = all.len, hi = all.len;
    for (size_t at = 0; at < all.len;) {
        size_t begin = at;
        Str line = page_next_line(all, &at);
        if (!str_starts(line, STR("=== "))) continue;
        if (found == n) {
            size_t blank = 4;
            while (blank < line.len && line.ptr[blank] != ' ') blank++;
            out->kind = str_slice(line, 4, blank);
            out->words = str_slice(line, blank < line.len ? blank + 1 : blank, line.len);
            lo = at;
        } else if (found == n + 1) {
            hi = begin;
        }
        found++;
    }
    if (found <= n) return false;
    Str section = str_slice(all, lo, hi);
    out->uses = part(section, "--- use", "--- craft");
    out->craft = part(section, "--- craft", "--- text");
    out->text = part(section, "--- text", NULL);
    return true;
}

static int unknown_kind(const char *given) {
    Skeleton skeleton;
    Str near = STR("");
    for (size_t i = 0; given && skeleton_at(i, &skeleton); i++)
        if (str_distance(str_of(given), skeleton.kind, 2) <= 2) near = skeleton.kind;
    if (given)
        fprintf(stderr, "startwright outline: there is no kind \"%s\"%s%.*s%s\n", given,
                near.len ? "; did you mean " : "", (int)near.len, near.ptr, near.len ? "?" : "");
    else fprintf(stderr, "startwright outline: say a kind and a name: startwright outline piston \"Type 160\"\n");
    fprintf(stderr, "The kinds:\n");
    for (size_t i = 0; skeleton_at(i, &skeleton); i++)
        fprintf(stderr, "    %-14.*s %.*s\n", (int)skeleton.kind.len, skeleton.kind.ptr, (int)skeleton.words.len,
                skeleton.words.ptr);
    return EXIT_USAGE;
}

/* ---- names ---- */

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* "Type 160" -> "type-160"; false: it has no letter to begin with. */
static bool name_of(Buf *buf, Str given) {
    bool gap = false;
    for (size_t i = 0; i < given.len; i++) {
        char c = given.ptr[i];
        if (!is_letter(c) && !is_digit(c)) {
            gap = buf->len > 0;
            continue;
        }
        if (!buf->len && !is_letter(c)) return false;
        if (gap) buf_char(buf, '-');
        gap = false;
        buf_char(buf, c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c);
    }
    return buf->len > 0 && buf->len < 200;
}

/* As given; a name in small letters gets a capital, and blanks for its hyphens. */
static Str title_of(Arena *arena, Str given, Str name) {
    Buf buf = {arena, NULL, 0, 0};
    bool plain = str_eq(given, name);
    for (size_t i = 0; i < given.len; i++) {
        char c = given.ptr[i];
        if (plain && c == '-') c = ' ';
        if (plain && i == 0) c = (char)(c - 'a' + 'A');
        if (c == '"' || c == '\\' || c == '{' || c == '}') buf_char(&buf, '\\');
        buf_char(&buf, c);
    }
    return buf_view(&buf);
}

/* ---- the text ---- */

static void put_filled(Buf *buf, Str text, Str name) {
    for (size_t at = 0; at < text.len; at++) {
        if (str_starts(str_slice(text, at, text.len), STR("%NAME%"))) {
            buf_str(buf, name);
            at += 5;
        } else {
            buf_char(buf, text.ptr[at]);
        }
    }
}

static const char head[] = ": a skeleton. What only its handbook can say stands behind #? with dots for numbers: fill "
                           "in, and take the #? away.\n"
                           "#\n"
                           "# Where to look: gauges in the handbook's limitations and instrument markings; the "
                           "starter's duty there, or on the placard beside its\n"
                           "# switch; times and positions in the normal procedures; fires and faults in the abnormal "
                           "ones; what is fitted in the equipment list and the\n"
                           "# supplements. The approved flight manual, supplements, placards and local rules govern. "
                           "The lines below are what the trade usually does\n"
                           "# with such an engine, not what this aircraft's handbook says: compare each of them with "
                           "it, and let a qualified person do so again.\n";

static void put_aircraft(Buf *buf, const Skeleton *skeleton, Str name, Str title) {
    buf_str(buf, skeleton->uses);
    buf_format(
        buf, NULL,
        "\nsource handbook \"%S handbook\" edition \"…\"\n\n"
        "# ---- The aircraft: its own lines, then a tail for each that is flown: tail NAME \"MARKS\" is %S { … } ----\n"
        "aircraft %S \"%S\" {\n",
        title, name, name, title);
}

/* Of a list, two are for later: drills lean on lines that it seldom has, and what such an engine usually has not may be on it. */
static void put_craft(Buf *buf, Str craft, bool listed) {
    for (size_t at = 0; at < craft.len;) {
        Str line = page_next_line(craft, &at);
        bool later = listed && (str_starts(line, STR("    drills ")) || str_starts(line, STR("    not fitted ")));
        buf_format(buf, NULL, later ? "    #? %S\n" : "%S\n", later ? str_slice(line, 4, line.len) : line);
    }
}

/* What `--from` gives; text.ptr NULL: none is given, the kind's own procedures stand there. */
typedef struct {
    Str text;
    bool csv;
    ListCounts counts;
} List;

static Str outline_of(Arena *arena, const Skeleton *skeleton, Str name, Str title, List *list) {
    Buf buf = {arena, NULL, 0, 0};
    Buf body = buf;
    if (list->text.ptr) list->counts = outline_list(arena, skeleton, list->text, list->csv, name, &body);
    else put_filled(&body, skeleton->text, name);
    buf_format(&buf, NULL, "# %S%s", title, head);
    put_aircraft(&buf, skeleton, name, title);
    put_craft(&buf, skeleton->craft, list->text.ptr);
    if (list->counts.fitted.len)
        buf_format(&buf, NULL, "    fitted     %S  because \"today's list names them\"\n", list->counts.fitted);
    buf_text(&buf, "}\n\n");
    buf_str(&buf, buf_view(&body));
    buf_format(&buf, NULL,
               "\n# ---- What is printed ----\n"
               "document %S-lists \"%S checklists\" {\n"
               "    for       %S\n"
               "    revision  1\n"
               "    issue     cards, tables\n"
               "}\n",
               name, title, name);
    return buf_view(&buf);
}

/* ---- what is still unknown ---- */

/* What these are about stands behind #? */
static const char *const unknown_ids[] = {"value-missing",       "value-unknown",  "band-unknown",
                                          "equipment-undecided", "duty-not-given", "run-down-missing"};

static bool is_unknown(const SwFinding *finding) {
    for (size_t i = 0; i < sizeof unknown_ids / sizeof *unknown_ids; i++)
        if (str_eq((Str){finding->id.ptr, finding->id.len}, str_of(unknown_ids[i]))) return true;
    return false;
}

/* Several lines may want the same number. */
static bool told_before(const SwUnit *unit, size_t i) {
    Str message = {unit->findings[i].message.ptr, unit->findings[i].message.len};
    for (size_t k = 0; k < i; k++)
        if (str_eq(message, (Str){unit->findings[k].message.ptr, unit->findings[k].message.len})) return true;
    return false;
}

static size_t open_lines(Str text) {
    size_t n = 0;
    for (size_t at = 0; at < text.len;) {
        Str line = page_next_line(text, &at);
        while (line.len && line.ptr[0] == ' ') line = str_slice(line, 1, line.len);
        n += str_starts(line, STR("#? "));
    }
    return n;
}

static int tell_unknown(const SwUnit *unit, const char *path, Str text) {
    size_t others = 0;
    for (size_t i = 0; i < unit->n_findings; i++)
        others += unit->findings[i].severity == SW_ERROR && !is_unknown(&unit->findings[i]);
    printf("%s: %zu lines wait behind #? for the handbook. What the checker asks for first:\n", path, open_lines(text));
    for (size_t i = 0; i < unit->n_findings; i++)
        if (is_unknown(&unit->findings[i]) && !told_before(unit, i))
            page_words("   ", (Str){unit->findings[i].message.ptr, unit->findings[i].message.len}, 6);
    if (others) render_findings(screen_of(stdout), unit);
    printf("Each of these is told until it is given; then every rule that fits is looked at. A skeleton is nobody's\n"
           "checklist: the approved flight manual, its supplements, placards and local rules govern.\n");
    return others ? EXIT_ERRORS : EXIT_CLEAN;
}

static void tell_list(const char *from, const char *path, ListCounts counts) {
    printf("%s: %zu lines became items; %zu are plain lines with a proposal, %zu without. A first card, marked NOT "
           "PROVED:\n"
           "startwright issue %s --into DIR --draft\n",
           from, counts.items, counts.proposed, counts.plain, path);
}

static int check_outline(const Options *options, const char *path, Str text) {
    Options check = *options;
    const char *files[] = {path};
    check.files = files, check.n_files = 1;
    Run run;
    int status = run_compile(&run, &check, SW_GOAL_CHECK);
    if (!status) status = tell_unknown(run.unit, path, text);
    run_close(&run);
    return status;
}

/* ---- the command ---- */

static bool is_there(Arena *arena, const char *path) {
    Str text, why_not;
    return file_read(arena, path, &text, &why_not) || !str_eq(why_not, STR("there is no such file"));
}

static bool read_list(Arena *arena, const char *path, List *list) {
    Str why_not;
    if (!path) return true;
    list->csv = str_ends(str_of(path), STR(".csv"));
    if (file_read(arena, path, &list->text, &why_not)) return true;
    fprintf(stderr, "startwright outline: cannot read %s: %.*s\n", path, (int)why_not.len, why_not.ptr);
    return false;
}

static int write_outline(Arena *arena, const Options *options, const Skeleton *skeleton) {
    Buf named = {arena, NULL, 0, 0}, path = {arena, NULL, 0, 0};
    Str given = str_of(options->files[1]), why_not;
    if (!name_of(&named, given)) {
        fprintf(stderr,
                "startwright outline: \"%s\" cannot name an aircraft; begin with a letter, such as \"Type 160\"\n",
                options->files[1]);
        return EXIT_USAGE;
    }
    List list = {0};
    if (!read_list(arena, options->value[OPTION_FROM], &list)) return EXIT_USAGE;
    Str name = buf_view(&named), text = outline_of(arena, skeleton, name, title_of(arena, given, name), &list);
    const char *into = options->value[OPTION_INTO];
    if (into && !folder_make(into, &why_not)) {
        fprintf(stderr, "startwright outline: cannot make %s: %.*s\n", into, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    if (into) buf_format(&path, NULL, "%s/", into);
    buf_format(&path, NULL, "%S.start", name);
    buf_char(&path, 0);
    if (is_there(arena, path.ptr)) {
        fprintf(stderr, "startwright outline: %s is there already; nothing was written\n", path.ptr);
        return EXIT_USAGE;
    }
    if (!file_replace(path.ptr, text, &why_not)) {
        fprintf(stderr, "startwright outline: cannot write %s: %.*s\n", path.ptr, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    if (list.text.ptr) tell_list(options->value[OPTION_FROM], path.ptr, list.counts);
    return check_outline(options, path.ptr, text);
}

int outline_command(const Options *options) {
    Skeleton skeleton;
    bool known = false;
    for (size_t i = 0; options->n_files && !known && skeleton_at(i, &skeleton); i++)
        known = str_eq(skeleton.kind, str_of(options->files[0]));
    if (!known) return unknown_kind(options->n_files ? options->files[0] : NULL);
    if (options->n_files != 2) {
        fprintf(stderr, "startwright outline: say one kind and one name: startwright outline %s \"Type 160\"\n",
                options->files[0]);
        return EXIT_USAGE;
    }
    Arena arena = {0};
    jmp_buf exhausted;
    arena.exhausted = &exhausted;
    if (setjmp(exhausted)) {
        fprintf(stderr, "startwright: there is no memory left\n");
        return EXIT_FAULT;
    }
    int status = write_outline(&arena, options, &skeleton);
    arena_free(&arena);
    return status;
}
