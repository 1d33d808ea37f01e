#include "tool/page.h"
#include <stdio.h>

enum { PAGE_WIDTH = 80, CODE_HANG = 8 };

Str page_next_line(Str text, size_t *at) {
    size_t lo = *at, hi = lo;
    while (hi < text.len && text.ptr[hi] != '\n') hi++;
    *at = hi < text.len ? hi + 1 : hi;
    return str_slice(text, lo, hi);
}

/* Columns: one for each character. */
static size_t width(Str text) {
    size_t n = 0;
    for (size_t i = 0; i < text.len; i++) n += ((unsigned char)text.ptr[i] & 0xC0) != 0x80;
    return n;
}

static void put(Str text) {
    fwrite(text.ptr, 1, text.len, stdout);
}

static void put_blanks(size_t n) {
    printf("%*s", (int)n, "");
}

void page_words(const char *head, Str text, size_t hang) {
    size_t column = (size_t)printf("%s", head);
    bool first = true;
    for (size_t at = 0; at < text.len;) {
        size_t lo = at;
        while (at < text.len && text.ptr[at] != ' ') at++;
        Str word = str_slice(text, lo, at);
        while (at < text.len && text.ptr[at] == ' ') at++;
        if (!word.len) continue;
        bool wraps = !first && column + 1 + width(word) > PAGE_WIDTH;
        if (wraps) putchar('\n');
        size_t blanks = wraps ? hang : first && column < hang ? hang - column : column > 0;
        put_blanks(blanks);
        put(word);
        column = (wraps ? 0 : column) + blanks + width(word);
        first = false;
    }
    putchar('\n');
}

/* ---- sources ---- */

/* A source may go on in the next line behind these signs, and before these words. */
static bool goes_on(Str before, Str after) {
    static const char *const words[] = {"and ",     "or ", "otherwise", "until ",        "within ", "from ",
                                        "because ", "as ", "by ",       "between tries", "{"};
    char last = before.len ? before.ptr[before.len - 1] : ' ';
    if (last == ',' || last == '(' || last == ':') return true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (str_starts(after, str_of(words[i]))) return true;
    return false;
}

/* Where the line is broken: the last place within `room` columns where it may be; its length: nowhere. */
static size_t break_at(Str line, size_t room) {
    size_t best = 0, column = 0;
    bool quoted = false;
    for (size_t i = 0; i < line.len; i++) {
        char c = line.ptr[i];
        if (c == '"' && (i == 0 || line.ptr[i - 1] != '\\')) quoted = !quoted;
        if (c == ' ' && !quoted && column <= room && i + 1 < line.len && line.ptr[i + 1] != ' ') {
            Str before = str_slice(line, 0, i);
            while (before.len && before.ptr[before.len - 1] == ' ') before.len--;
            if (before.len && goes_on(before, str_slice(line, i + 1, line.len))) best = i;
        }
        column += ((unsigned char)c & 0xC0) != 0x80;
    }
    return column <= room || !best ? line.len : best;
}

static size_t indent_of(Str line) {
    size_t n = 0;
    while (n < line.len && line.ptr[n] == ' ') n++;
    return n;
}

static Str trim_end(Str text) {
    while (text.len && text.ptr[text.len - 1] == ' ') text.len--;
    return text;
}

void page_code(const char *mark, Str line) {
    size_t indent = indent_of(line), hang = 0;
    line = trim_end(line);
    if (!line.len) {
        putchar('\n');
        return;
    }
    for (Str rest = line; rest.len;) {
        size_t cut = break_at(rest, PAGE_WIDTH - 4 - hang);
        fputs(hang ? "    " : mark, stdout);
        put_blanks(hang);
        put(trim_end(str_slice(rest, 0, cut)));
        putchar('\n');
        while (cut < rest.len && rest.ptr[cut] == ' ') cut++;
        rest = str_slice(rest, cut, rest.len);
        hang = indent + CODE_HANG;
    }
}
