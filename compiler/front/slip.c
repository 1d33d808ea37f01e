#include "front/build.h"

static Str in_capitals(Parser *p, Str text) {
    Buf buf = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        buf_char(&buf, c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c == '_' ? '-' : c);
    }
    return buf_view(&buf);
}

static Str in_small_letters(Parser *p, Str text) {
    Buf buf = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        buf_char(&buf, c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c == '_' ? '-' : c);
    }
    return buf_view(&buf);
}

Word slip_position(Parser *p, Word word) {
    Str meant = in_capitals(p, parser_text(p, word.span));
    Finding *finding = REPORT(p, FINDING_WRONG_CASE, word.span, "A position is written in capitals: %S.", meant);
    FIX(p, finding, FIX_SAFE, word.span, "%S", meant);
    word.name =
        name_intern(p->job->names, str_slice(meant, 0, meant.len < LIMIT_NAME_BYTES ? meant.len : LIMIT_NAME_BYTES));
    return word;
}

/* "set ON master": the token behind the word in capitals, which the parser may not have asked for yet. */
static bool name_follows(const Parser *p, Word word) {
    const Token *next = &p->last;
    if (next->lo == word.span.lo) {
        if (p->held || p->next >= p->tokens.n) return false;
        next = token_at(&p->tokens, p->next);
    }
    return token_is_name(next->kind) && !(next->flags & TOKEN_FIRST);
}

Word slip_name(Parser *p, Word word) {
    if (p->text[word.span.lo - p->base] < 'a' && p->before.lo == p->first.lo && name_follows(p, word))
        REPORT(p, FINDING_ORDER, word.span, "The thing comes first, then its position: \"set mixture RICH\".");
    Str meant = in_small_letters(p, parser_text(p, word.span));
    Finding *finding = REPORT(p, FINDING_WRONG_CASE, word.span,
                              "A name is written in small letters, with hyphens between its words: %S.", meant);
    FIX(p, finding, FIX_SAFE, word.span, "%S", meant);
    word.name =
        name_intern(p->job->names, str_slice(meant, 0, meant.len < LIMIT_NAME_BYTES ? meant.len : LIMIT_NAME_BYTES));
    return word;
}

Word slip_two_words(Parser *p, Word first, Word second) {
    Str meant = format_text(&p->scratch, p->job->names, "%N-%N", first.name, second.name);
    Span both = {first.span.lo, second.span.hi};
    Finding *finding = REPORT(p, FINDING_SPLIT_NAME, both, "A name is one word: did you mean \"%S\"?", meant);
    FIX(p, finding, FIX_REVIEW, both, "%S", meant);
    return (Word){name_intern(p->job->names, meant), both};
}

Amount *slip_no_unit(Parser *p, Span number) {
    REPORT(p, FINDING_NO_UNIT, number, "%S of what? Every number has a unit: \"%S s\", \"%S psi\".",
           parser_text(p, number), parser_text(p, number), parser_text(p, number));
    return amount_make(p, number, number, (Word){0, {0, 0}});
}

static uint32_t digits_length(Str text) {
    uint32_t n = 0;
    while (n < text.len && ((text.ptr[n] >= '0' && text.ptr[n] <= '9') || text.ptr[n] == '.')) n++;
    return n;
}

/* "1.5min" looks like a section of a book to the scanner. */
Amount *slip_section_amount(Parser *p, Span section) {
    Str text = parser_text(p, section);
    uint32_t n = digits_length(text);
    Span number = {section.lo, section.lo + n}, unit = {section.lo + n, section.hi};
    if (n < text.len && text.ptr[n] != '-') {
        Finding *finding =
            REPORT(p, FINDING_NO_BLANK, section, "A blank stands between a number and its unit: \"%S %S\".",
                   parser_text(p, number), parser_text(p, unit));
        FIX(p, finding, FIX_SAFE, ((Span){unit.lo, unit.lo}), " ");
    } else {
        REPORT(p, FINDING_NO_UNIT, section, "%S is no amount: a number and a unit stand here, as in \"10 s\".", text);
    }
    return amount_make(p, section, number, (Word){0, {0, 0}});
}

Range *slip_dash_range(Parser *p, Word section, Word unit) {
    Str text = parser_text(p, section.span);
    uint32_t n = digits_length(text);
    Span lo = {section.span.lo, section.span.lo + n}, hi = {lo.hi, section.span.hi};
    if (hi.lo < hi.hi && p->text[hi.lo - p->base] == '-') hi.lo++;
    Finding *finding = REPORT(p, FINDING_RANGE, section.span, "A range is written with two dots: %S..%S %N.",
                              parser_text(p, lo), parser_text(p, hi), unit.name);
    FIX(p, finding, FIX_SAFE, ((Span){lo.hi, hi.lo}), "..");
    Amount *least = amount_make(p, lo, lo, (Word){0, {0, 0}});
    return range_make(p, least, amount_make(p, (Span){hi.lo, unit.span.hi}, hi, unit));
}

/* "at lest 5 s", "up too 5 s": the first word of the two is read as the name of a time, and the second is misspelt. */
static bool half_number_word(Parser *p, Span span, Str text) {
    bool least = str_eq(text, STR("at"));
    if (!least && !str_eq(text, STR("up"))) return false;
    const char *meant = least ? "at least" : "up to", *next = p->text + (span.hi - p->base);
    size_t gap = strspn(next, " \t"), letters = strspn(next + gap, "abcdefghijklmnopqrstuvwxyz");
    if (letters) span.hi += (uint32_t)(gap + letters);
    FIX(p, REPORT(p, FINDING_WORD, span, "Did you mean \"%s\" instead of \"%S\"?", meant, parser_text(p, span)),
        FIX_REVIEW, span, "%s", meant);
    return true;
}

void slip_no_number_word(Parser *p, Span span, const Amount *amount, bool wait) {
    (void)amount;
    Str text = parser_text(p, span);
    if (half_number_word(p, span, text)) return;
    if (str_starts(text, STR("for "))) text = str_slice(text, 4, text.len);
    Finding *finding =
        wait ? REPORT(p, FINDING_BARE_TIME, span,
                      "At least this long, or at most? Write \"wait at least %S\" or \"wait up to %S\".", text, text)
             : REPORT(p, FINDING_BARE_TIME, span, "Write \"crank up to %S\".", text);
    FIX(p, finding, wait ? FIX_REVIEW : FIX_SAFE, span, wait ? "at least %S" : "up to %S", text);
}

void slip_no_comma(Parser *p, Span at, const char *before) {
    uint32_t end = at.lo;
    while (end > p->base && strchr(" \t\r\n", p->text[end - p->base - 1]) != NULL && p->text[end - p->base - 1] != 0)
        end--;
    Str word = before != NULL ? str_of(before) : parser_text(p, at);
    Finding *finding = REPORT(p, FINDING_NO_COMMA, ((Span){end, end}), "A comma is missing before \"%S\".", word);
    FIX(p, finding, FIX_SAFE, ((Span){end, end}), ",");
}

void slip_when_for_if(Parser *p, Span when) {
    FIX(p, REPORT(p, FINDING_WORD, when, "An outcome after a comma begins with \"if\", not with \"when\"."), FIX_SAFE,
        when, "if");
}

void slip_for_at_least(Parser *p, Span at_least) {
    Finding *finding =
        REPORT(p, FINDING_WORD, at_least, "\"for\" already means at least this long: leave out \"at least\".");
    FIX(p, finding, FIX_SAFE, ((Span){at_least.lo, at_least.hi + 1}), "");
}

void slip_range_to(Parser *p, Span to, Span low, Span high) {
    REPORT(p, FINDING_RANGE, to, "A range is written with two dots: %S..%S.", parser_text(p, low),
           parser_text(p, high));
}

void slip_no_compare(Parser *p, Span amount) {
    REPORT(
        p, FINDING_NO_COMPARE, amount,
        "How does it compare? Write \"at least %S\", \"at most %S\", \"above\", \"below\", or a range with two dots.",
        parser_text(p, amount), parser_text(p, amount));
}

void slip_date(Parser *p, Span section) {
    REPORT(p, FINDING_DATE, section, "A date is written year-month-day with all its digits: 2031-06-05.");
}

/* Is there such a day? What is written has the form of a date. */
void date_judge(Parser *p, Span date) {
    static const uint8_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    static const char *const months[] = {"January", "February", "March",     "April",   "May",      "June",
                                         "July",    "August",   "September", "October", "November", "December"};
    Str text = parser_text(p, date);
    uint32_t part[3] = {0, 0, 0}, at = 0; /* year, month, day */
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] == '-' && at < 2) at++;
        else part[at] = part[at] * 10 + (uint32_t)(text.ptr[i] - '0');
    }
    uint32_t month = part[1], last;
    if (month < 1 || month > 12) {
        REPORT(p, FINDING_DATE, date, "There is no month %u: a date is written year-month-day.", (uint64_t)month);
        return;
    }
    bool leap = (part[0] % 4 == 0 && part[0] % 100 != 0) || part[0] % 400 == 0;
    last = days[month - 1] + (month == 2 && leap ? 1u : 0u);
    if (part[2] >= 1 && part[2] <= last) return;
    REPORT(p, FINDING_DATE, date, "There is no such day: %s %u ends with its day %u.", months[month - 1],
           (uint64_t)part[0], (uint64_t)last);
}

Cond *slip_mixed(Parser *p, Cond *join, Span word, Cond *last) {
    REPORT(p, FINDING_MIXED, word,
           "\"and\" with \"or\" can be read in two ways: put brackets around what belongs together, (a and b) or c.");
    return cond_more(join, last);
}

/* "if" as a line of its own is a when; "if" behind an item that has outcomes is one of them without its comma. */
Block *slip_if_line(Parser *p, Span if_word, const Action *action) {
    if (action->kind == ACTION_BLOCK) {
        FIX(p, REPORT(p, FINDING_WORD, if_word, "A line that begins a choice says \"when\", not \"if\"."), FIX_SAFE,
            if_word, "when");
        return action->block;
    }
    slip_no_comma(p, if_word, "if");
    Stmt *go = stmt_make(p, action->span, (Stmt){.kind = STMT_GO}, &(StmtMore){.action = action_keep(p, action)},
                         (Clauses){NULL, NULL});
    return block_make(p, action->span, (Stmts){go, go});
}
