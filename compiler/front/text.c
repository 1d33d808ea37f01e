/* What a text literal holds: letters, escapes and holes. A hole is read here and looked up by nobody yet. */
#include "front/front.h"

typedef struct {
    Job *job;
    Str text;      /* the literal with its quotes */
    uint32_t base; /* of its first byte, in the space of all texts */
    size_t end;    /* where its contents end */
    TextPart *first, **next;
} Reader;

static Span span_of(const Reader *r, size_t lo, size_t hi) {
    return (Span){r->base + (uint32_t)lo, r->base + (uint32_t)hi};
}

static bool opens(Str text) {
    return text.len > 0 && text.ptr[0] == '"';
}

/* Where the contents end: before the closing quote, which a broken file may lack. */
static size_t contents_end(Str text) {
    size_t end = text.len;
    bool escaped = false;
    for (size_t i = 1; i < text.len; i++) {
        if (!escaped && text.ptr[i] == '"') {
            end = i;
            break;
        }
        escaped = !escaped && text.ptr[i] == '\\';
    }
    return end;
}

static bool escapable(char c) {
    return c == '"' || c == '\\' || c == '{' || c == '}';
}

static TextPart *add_part(Reader *r, TextPartKind kind, Span span) {
    TextPart *part = ARENA_NEW(r->job->arena, TextPart);
    part->kind = (uint8_t)kind;
    part->span = span;
    *r->next = part;
    r->next = &part->next;
    return part;
}

/* ---- holes ---- */

static bool lower_or_digit(char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

/* A lower-case name with its hyphens; `dots`: also of one engine, left.mixture. */
static bool is_name(Str word, bool dots) {
    bool begins = true;
    for (size_t i = 0; i < word.len; i++) {
        char c = word.ptr[i];
        bool joint = c == '-' || (dots && c == '.');
        if (joint &&
            (i == 0 || i + 1 == word.len || !lower_or_digit(word.ptr[i - 1]) || !lower_or_digit(word.ptr[i + 1]))) {
            return false;
        }
        if (!joint && (!lower_or_digit(c) || (begins && c <= '9'))) {
            return false;
        }
        begins = c == '.';
    }
    return word.len > 0;
}

static bool is_number(Str word) {
    size_t i = word.len > 0 && word.ptr[0] == '-' ? 1 : 0;
    size_t digits = 0, points = 0;
    for (; i < word.len; i++) {
        char c = word.ptr[i];
        points += c == '.';
        digits += c >= '0' && c <= '9';
        if ((c != '.' && (c < '0' || c > '9')) || points > 1 || (c == '.' && (digits == 0 || i + 1 == word.len))) {
            return false;
        }
    }
    return digits > 0;
}

static bool is_unit(Str word) {
    if (word.len == 0) {
        return false;
    }
    uint8_t c = (uint8_t)word.ptr[0];
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%' || c >= 0x80;
}

typedef struct {
    size_t lo, hi; /* in the literal */
} Part;
#define HOLE_WORDS 5 /* {5 s..15 s} */

static bool blank(const Reader *r, size_t at) {
    return r->text.ptr[at] == ' ' || r->text.ptr[at] == '\t';
}

static bool dots(const Reader *r, size_t at, size_t hi) {
    return at + 1 < hi && r->text.ptr[at] == '.' && r->text.ptr[at + 1] == '.';
}

/* The words of a hole, ".." being one; HOLE_WORDS + 1 if there are too many. */
static size_t split_hole(const Reader *r, size_t lo, size_t hi, Part *words) {
    size_t n = 0;
    for (size_t at = lo; at < hi;) {
        if (blank(r, at)) {
            at++;
            continue;
        }
        size_t end = at;
        while (end < hi && !blank(r, end) && !dots(r, end, hi)) {
            end++;
        }
        end = end == at ? at + 2 : end;
        if (n == HOLE_WORDS) {
            return HOLE_WORDS + 1;
        }
        words[n++] = (Part){at, end};
        at = end;
    }
    return n;
}

static Str part_text(const Reader *r, Part part) {
    return str_slice(r->text, part.lo, part.hi);
}

static Word make_word(const Reader *r, Part part) {
    return (Word){name_intern(r->job->names, part_text(r, part)), span_of(r, part.lo, part.hi)};
}

/* `unit` NULL: the number stands alone. */
static Amount make_amount(const Reader *r, Part number, const Part *unit) {
    Amount amount = {.number = span_of(r, number.lo, number.hi)};
    amount.span = span_of(r, number.lo, unit ? unit->hi : number.hi);
    if (unit) {
        amount.unit = make_word(r, *unit);
    }
    return amount;
}

static bool amount_at(const Reader *r, const Part *words, size_t at) {
    return is_number(part_text(r, words[at])) && is_unit(part_text(r, words[at + 1]));
}

static bool dots_at(const Reader *r, const Part *words, size_t at) {
    return str_eq(part_text(r, words[at]), STR(".."));
}

/* {6 mm}, {5..15 s}, {5 s..15 s} */
static bool read_amount(Reader *r, const Part *w, size_t n, Span span) {
    if (n == 2 && amount_at(r, w, 0)) {
        add_part(r, TEXT_AMOUNT, span)->range.hi = make_amount(r, w[0], &w[1]);
        return true;
    }
    if (n == 4 && is_number(part_text(r, w[0])) && dots_at(r, w, 1) && amount_at(r, w, 2)) {
        TextPart *part = add_part(r, TEXT_AMOUNT, span);
        part->range = (Range){make_amount(r, w[0], NULL), make_amount(r, w[2], &w[3])};
        return true;
    }
    if (n == 5 && amount_at(r, w, 0) && dots_at(r, w, 2) && amount_at(r, w, 3)) {
        TextPart *part = add_part(r, TEXT_AMOUNT, span);
        part->range = (Range){make_amount(r, w[0], &w[1]), make_amount(r, w[3], &w[4])};
        return true;
    }
    return false;
}

/* {oil-time}, {engine}, {left.mixture}, {oil-pressure normal} */
static bool read_ref(Reader *r, const Part *w, size_t n, Span span) {
    if (n < 1 || n > 2 || !is_name(part_text(r, w[0]), true) || (n == 2 && !is_name(part_text(r, w[1]), false))) {
        return false;
    }
    TextPart *part = add_part(r, TEXT_REF, span);
    part->ref = make_word(r, w[0]);
    if (n == 2) {
        part->band = make_word(r, w[1]);
    }
    return true;
}

static void bad_hole(const Reader *r, size_t lo, size_t hi) {
    finding_add(
        r->job->findings, FINDING_TEXT_HOLE, span_of(r, lo, hi),
        "Braces in a text hold an amount with its unit, as in {6 mm} or {5..15 s}, or a name, as in {oil-time}, "
        "{engine} or {oil-pressure normal}. A brace that is to be printed is written with a backslash before it.");
}

/* The hole that opens at `lo`; gives where the text goes on. */
static size_t read_hole(Reader *r, size_t lo) {
    size_t hi = lo + 1;
    while (hi < r->end && r->text.ptr[hi] != '}' && r->text.ptr[hi] != '{' && r->text.ptr[hi] != '\\') {
        hi++;
    }
    if (hi == r->end || r->text.ptr[hi] != '}') {
        bad_hole(r, lo, hi);
        return hi;
    }
    Part words[HOLE_WORDS] = {{0, 0}};
    size_t n = split_hole(r, lo + 1, hi, words);
    Span span = span_of(r, lo, hi + 1);
    if (n == 0 || n > HOLE_WORDS || (!read_amount(r, words, n, span) && !read_ref(r, words, n, span))) {
        bad_hole(r, lo, hi + 1);
    }
    return hi + 1;
}

/* ---- letters ---- */

static void bad_escape(const Reader *r, size_t at) {
    finding_add(r->job->findings, FINDING_TEXT_ESCAPE, span_of(r, at, at + 2),
                "A backslash stands only before \", \\, { and }. Write \\\\ for a backslash that is to be printed.");
}

/* Letters up to the next hole; gives where it begins. */
static size_t read_letters(Reader *r, size_t lo) {
    Buf buf = {.arena = r->job->arena};
    size_t at = lo, from = lo;
    while (at < r->end && r->text.ptr[at] != '{') {
        char c = r->text.ptr[at];
        if (c == '}') {
            bad_hole(r, at, at + 1);
        }
        if (c != '\\' || at + 1 >= r->end) {
            at++;
            continue;
        }
        if (escapable(r->text.ptr[at + 1])) {
            buf_str(&buf, str_slice(r->text, from, at));
            from = at + 1;
        } else {
            bad_escape(r, at);
        }
        at += 2;
    }
    at = at < r->end ? at : r->end;
    TextPart *part = add_part(r, TEXT_LITERAL, span_of(r, lo, at));
    if (buf.len == 0 && from == lo) {
        part->literal = str_slice(r->text, lo, at); /* nothing to undo: the source's own bytes */
        return at;
    }
    buf_str(&buf, str_slice(r->text, from, at));
    part->literal = buf_view(&buf);
    return at;
}

TextPart *text_parse(Job *job, Text text) {
    Reader r = {.job = job, .text = span_text(job->sources, text.span), .base = text.span.lo};
    if (text.span.hi == 0 || !opens(r.text)) {
        return NULL;
    }
    r.end = contents_end(r.text);
    r.next = &r.first;
    for (size_t at = 1; at < r.end;) {
        at = r.text.ptr[at] == '{' ? read_hole(&r, at) : read_letters(&r, at);
    }
    return r.first;
}

Str text_raw(Job *job, Text text) {
    Str all = span_text(job->sources, text.span);
    if (text.span.hi == 0 || !opens(all)) {
        return text.span.hi == 0 ? STR("") : all;
    }
    Str in = str_slice(all, 1, contents_end(all));
    Buf buf = {.arena = job->arena};
    size_t from = 0;
    for (size_t i = 0; i + 1 < in.len; i++) {
        if (in.ptr[i] != '\\') {
            continue;
        }
        if (escapable(in.ptr[i + 1])) {
            buf_str(&buf, str_slice(in, from, i));
            from = i + 1;
        }
        i++;
    }
    if (from == 0) {
        return in;
    }
    buf_str(&buf, str_slice(in, from, in.len));
    return buf_view(&buf);
}
