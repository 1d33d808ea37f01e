/* What to say where the grammar cannot go on. The questions stand in the order in which they are asked; the first that
   has an answer speaks. Never a token's name, and never more than one message a line. */
#include "front/parse.h"
#include "front/suggest.h"
#include "parser.h"

void parser_too_deep(Parser *p, Span span) {
    REPORT(p, FINDING_NESTED_TOO_DEEPLY, span, "Nested too deeply: at most %u braces or brackets within each other.",
           (uint64_t)LIMIT_NESTING);
    p->stopped = true;
}

static bool expects(const SyntaxError *e, int token) {
    for (size_t i = 0; i < e->n_expected; i++)
        if (e->expected[i] == token) return true;
    return false;
}

static Span span_of(const Token *token) {
    return (Span){token->lo, token->hi};
}

static Str small_letters(Parser *p, Str text) {
    Buf buf = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len && i < LIMIT_NAME_BYTES; i++)
        buf_char(&buf, text.ptr[i] >= 'A' && text.ptr[i] <= 'Z' ? (char)(text.ptr[i] - 'A' + 'a') : text.ptr[i]);
    return buf_view(&buf);
}

static bool word_like(int token) {
    return token_is_name(token) || token == T_POS || token == T_MIXED || token == T_DOTTED || token == T_SLASHED;
}

static bool ends_line(const SyntaxError *e) {
    return e->token == T_NL || e->token == 0;
}

static bool first_of_line(const Parser *p) {
    return p->last.lo == p->first.lo && p->last.kind == p->first.kind;
}

/* ---- the questions ---- */
static bool comma_in_the_air(Parser *p, const SyntaxError *e) {
    if (p->before.kind != T_COMMA) return false;
    bool new_line = p->last.flags & TOKEN_FIRST;
    if (!ends_line(e) && e->token != T_CLOSE && !new_line) return false;
    if (new_line && word_like(e->token) &&
        suggest_token(small_letters(p, parser_text(p, e->span)), e->expected, e->n_expected) != NULL)
        return false;
    Span comma = span_of(&p->before);
    Finding *finding =
        REPORT(p, FINDING_SYNTAX, comma, "Nothing follows this comma: delete it, or write what it announces.");
    FIX(p, finding, FIX_SAFE, comma, "");
    return true;
}

/* The words a line may begin with here. */
static Str first_words(Parser *p, const SyntaxError *e) {
    if (e->n_expected == 1 || expects(e, T_NAME)) return STR("set, check, expect, look, call, wait and others");
    Buf buf = {.arena = &p->scratch};
    for (size_t i = 0; i < e->n_expected; i++) {
        const char *word = token_word(e->expected[i]);
        if (word == NULL || word[0] < 'a' || word[0] > 'z') continue;
        if (buf.len > 0) buf_text(&buf, ", ");
        buf_text(&buf, word);
    }
    return buf_view(&buf);
}

static void unknown_first(Parser *p, const SyntaxError *e, Span span, const char *meant) {
    Str word = parser_text(p, span);
    if (meant == NULL) {
        REPORT(p, FINDING_UNKNOWN_WORD, span, "No line begins with \"%S\" here. Lines begin with %S.", word,
               first_words(p, e));
        return;
    }
    Finding *finding =
        REPORT(p, FINDING_UNKNOWN_WORD, span, "No line begins with \"%S\": did you mean \"%s\"?", word, meant);
    FIX(p, finding, FIX_REVIEW, span, "%s", meant);
}

/* An unknown verb is read as a label, so the colon is missed only behind it. */
static bool unknown_verb(Parser *p, const SyntaxError *e) {
    if (e->n_expected != 1 || e->expected[0] != T_COLON || p->before.kind != T_NAME) return false;
    if (p->before.lo != p->first.lo) return false;
    Span span = span_of(&p->before);
    unknown_first(p, e, span, suggest_item(parser_text(p, span)));
    return true;
}

static bool unknown_first_word(Parser *p, const SyntaxError *e) {
    if (!first_of_line(p) || !word_like(e->token)) return false;
    Str word = small_letters(p, parser_text(p, e->span));
    const char *meant = suggest_token(word, e->expected, e->n_expected);
    if (meant == NULL && expects(e, T_NAME)) meant = suggest_item(word);
    if (meant == NULL) meant = suggest_foreign(word);
    if (meant != NULL && e->token >= T_USE && e->token <= T_WARNING)
        meant = NULL; /* a word of the language, elsewhere */
    if (meant == NULL && token_word(e->token) != NULL) return false;
    unknown_first(p, e, e->span, meant);
    return true;
}

/* A joining word mistyped: told at the word itself, also where it could pass as a band or a thing. */
static bool mistyped(Parser *p, const Token *token, const char *meant) {
    if (meant == NULL) return false;
    Finding *finding = REPORT(p, FINDING_WORD, span_of(token), "Did you mean \"%s\" instead of \"%S\"?", meant,
                              parser_text(p, span_of(token)));
    if (strchr(meant, ' ') == NULL) FIX(p, finding, FIX_REVIEW, span_of(token), "%s", meant);
    return true;
}

static bool mistyped_here(Parser *p, const SyntaxError *e) {
    if (e->token != T_NAME && e->token != T_MIXED && e->token != T_POS && e->token != T_NO) return false;
    return mistyped(p, &p->last, suggest_token(small_letters(p, parser_text(p, e->span)), e->expected, e->n_expected));
}

static bool mistyped_before(Parser *p, const SyntaxError *e) {
    static const int joining[] = {T_WITHIN, T_UNTIL,    T_OTHERWISE, T_BECAUSE, T_FROM,   T_AFTER,  T_BELOW, T_ABOVE,
                                  T_SINCE,  T_ANSWERED, T_MEANS,     T_BECOMES, T_LEAVES, T_BEFORE, T_WHEN};
    if (p->before.kind != T_NAME || p->before.lo == p->first.lo || ends_line(e)) return false;
    return mistyped(p, &p->before,
                    suggest_close(parser_text(p, span_of(&p->before)), joining, sizeof joining / sizeof *joining));
}

static void two_items(Parser *p, const Token *verb) {
    Span place = {verb->lo, verb->lo};
    Str word = parser_text(p, span_of(verb));
    Finding *finding =
        REPORT(p, FINDING_TWO_ITEMS, span_of(verb), "\"%S\" begins an item, and an item has a line of its own.", word);
    FIX(p, finding, FIX_SAFE, place, "\n");
}

static bool second_item(Parser *p, const SyntaxError *e) {
    if (p->last.flags & TOKEN_FIRST) return false;
    if (suggest_is_item(e->token) && expects(e, T_NL) && !expects(e, T_NAME)) {
        two_items(p, &p->last);
        return true;
    }
    if (suggest_is_item(p->before.kind) && p->before.lo != p->first.lo && word_like(e->token) && expects(e, T_NL)) {
        two_items(p, &p->before);
        return true;
    }
    return false;
}

static bool no_deadline_here(Parser *p, const SyntaxError *e) {
    if (e->token == T_WITHIN) {
        REPORT(p, FINDING_WORD, e->span,
               p->first.kind == T_CHECK || p->first.kind == T_LOOK
                   ? "A check looks once and has no time: to wait for something \"within\" a time, write \"expect\"."
                   : "\"within\" cannot stand here: it follows what a set, an expect or an answer is to do in time.");
        return true;
    }
    if (e->token == T_UNTIL && (p->first.kind == T_WAIT || p->first.kind == T_CHECK)) {
        REPORT(p, FINDING_WORD, e->span, "To wait until something is so, write \"expect … within\" a time.");
        return true;
    }
    return false;
}

static bool otherwise_here(Parser *p, const SyntaxError *e) {
    if (e->token != T_OTHERWISE && e->token != T_IF) return false;
    if (e->token == T_IF && expects(e, T_NAME)) return false;
    REPORT(p, FINDING_OTHERWISE, e->span,
           "\"%S\" has nothing to follow here: it belongs behind a check, an expect, a look, a call, a wait, a crank, "
           "a try "
           "or a when.",
           parser_text(p, e->span));
    return true;
}

static bool no_otherwise(Parser *p, const SyntaxError *e) {
    bool acts = e->token == T_TURN_TO || e->token == T_AGAIN || e->token == T_END || e->token == T_OPEN;
    if (!acts || p->before.kind != T_COMMA || !expects(e, T_OTHERWISE)) return false;
    Span place = {e->span.lo, e->span.lo};
    FIX(p, REPORT(p, FINDING_WORD, place, "Say \"otherwise\" before what is done else."), FIX_SAFE, place,
        "otherwise ");
    return true;
}

static bool second_word(const Parser *p, const Token *token) {
    if (token->lo <= p->first.lo) return false;
    Str between = parser_text(p, (Span){p->first.hi, token->lo});
    for (size_t i = 0; i < between.len; i++)
        if (between.ptr[i] != ' ' && between.ptr[i] != '\t') return false;
    return true;
}

/* The title of a thing, and a reason, stand in quotes. */
static bool quotes_missing(Parser *p, const SyntaxError *e) {
    if (!expects(e, T_TEXT) || expects(e, T_NL)) return false;
    int before = p->before.kind;
    bool reason = before == T_BECAUSE || before == T_AS || before == T_BY || before == T_EDITION || before == T_PLAIN ||
                  before == T_NOTE || before == T_CAUTION || before == T_WARNING || before == T_CHANGES;
    bool title =
        p->first.kind >= T_USE && p->first.kind <= T_WORDING && second_word(p, &p->before) && !expects(e, T_NUM);
    if (reason)
        REPORT(p, FINDING_SYNTAX, e->span, "What follows \"%S\" stands in quotes: \"like this\".",
               parser_text(p, span_of(&p->before)));
    else if (title && word_like(e->token))
        REPORT(p, FINDING_SYNTAX, e->span, "A title stands in quotes: \"%S\".", parser_text(p, e->span));
    else if (title)
        REPORT(p, FINDING_SYNTAX, e->span, "The title is missing: what is printed, in quotes, as in %S \"Title\".",
               parser_text(p, span_of(&p->before)));
    return reason || title;
}

static bool bracket(Parser *p, const SyntaxError *e) {
    if (expects(e, T_RIGHT) && (ends_line(e) || e->token == T_OPEN || e->token == T_COMMA)) {
        Span place = {p->before.hi, p->before.hi};
        FIX(p, REPORT(p, FINDING_UNCLOSED, place, "A closing bracket \")\" is missing here."), FIX_REVIEW, place, ")");
        return true;
    }
    if (e->token != T_RIGHT || expects(e, T_NAME)) return false;
    FIX(p, REPORT(p, FINDING_UNCLOSED, e->span, "This bracket closes nothing: no \"(\" is open for it."), FIX_REVIEW,
        e->span, "");
    return true;
}

static bool label(Parser *p, const SyntaxError *e) {
    if (e->token == T_COLON && p->before.lo == p->first.lo && p->before.name != 0 && p->before.kind != T_NAME &&
        token_word(p->before.kind) != NULL) {
        REPORT(p, FINDING_WORD, span_of(&p->before),
               "\"%S\" is a word of the language and cannot be a label: add to it, as "
               "in \"%S-first:\".",
               parser_text(p, span_of(&p->before)), parser_text(p, span_of(&p->before)));
        return true;
    }
    bool missed =
        e->n_expected == 1 && e->expected[0] == T_COLON && p->before.kind == T_NAME && suggest_is_item(e->token);
    if (!missed || suggest_close_item(parser_text(p, span_of(&p->before))) != NULL) return false;
    Span place = {p->before.hi, p->before.hi};
    FIX(p,
        REPORT(p, FINDING_SYNTAX, place, "A colon is missing behind the label \"%S\".",
               parser_text(p, span_of(&p->before))),
        FIX_SAFE, place, ":");
    return true;
}

/* A word of the language that begins a line, but not here. */
static bool elsewhere(Parser *p, const SyntaxError *e) {
    if (!first_of_line(p) || token_word(e->token) == NULL || e->token < T_SET) return false;
    const char *where = suggest_place(e->token);
    if (where == NULL) return false;
    REPORT(p, FINDING_SYNTAX, e->span, "\"%s\" cannot stand here: it belongs %s.", token_word(e->token), where);
    return true;
}

/* Where an amount is compared in other words than these. */
static bool comparison(Parser *p, const SyntaxError *e) {
    bool than = e->token == T_NAME && str_eq(parser_text(p, e->span), STR("than"));
    if (p->before.lo <= p->first.lo || (e->token != T_NUM && !than)) return false;
    const char *meant = suggest_comparison(parser_text(p, span_of(&p->before)));
    if (meant == NULL) return false;
    REPORT(p, FINDING_NO_COMPARE, span_of(&p->before), "Write %s instead of \"%S\".", meant,
           parser_text(p, (Span){p->before.lo, than ? e->span.hi : p->before.hi}));
    return true;
}

static const Token *token_ahead(const Parser *p) {
    return !p->held && p->next < p->tokens.n ? token_at(&p->tokens, p->next) : &p->before;
}

/* Words that other languages put in, between a thing and its position, or before a time. */
static bool needless(Parser *p, const SyntaxError *e) {
    bool joins = e->token == T_TO || e->token == T_IS || e->token == T_AS || e->token == T_ON || e->token == T_IN;
    if (joins && expects(e, T_POS) && token_ahead(p)->kind == T_POS && !(token_ahead(p)->flags & TOKEN_FIRST)) {
        Finding *finding = REPORT(p, FINDING_WORD, e->span,
                                  "No \"%S\" stands between a thing and its position: \"mixture "
                                  "RICH\".",
                                  parser_text(p, e->span));
        FIX(p, finding, FIX_SAFE, ((Span){e->span.lo, token_ahead(p)->lo}), "");
        return true;
    }
    if (p->first.kind == T_CRANK && e->token == T_FOR) {
        FIX(p, REPORT(p, FINDING_BARE_TIME, e->span, "Write \"crank up to\" a time."), FIX_SAFE, e->span, "up to");
        return true;
    }
    if (p->first.kind == T_FOR && (e->token == T_ENGINES || e->token == T_EACH) &&
        (expects(e, T_OPEN) || expects(e, T_EACH_ENGINE))) {
        REPORT(p, FINDING_WORD, e->span, "Write \"for each engine { … }\", or the name of one: \"for left { … }\".");
        return true;
    }
    return false;
}

static bool path_slip(Parser *p, const SyntaxError *e) {
    if (e->token != T_DOTTED || !expects(e, T_SLASHED)) return false;
    Str text = parser_text(p, e->span);
    bool file = str_ends(text, STR(".start"));
    Buf meant = {.arena = &p->scratch};
    if (file) buf_char(&meant, '"');
    for (size_t i = 0; i < text.len; i++) buf_char(&meant, text.ptr[i] == '.' && !file ? '/' : text.ptr[i]);
    if (file) buf_char(&meant, '"');
    FIX(p,
        REPORT(p, FINDING_SYNTAX, e->span,
               file ? "A file of your own stands in quotes: %S." : "A file of the library is named with a stroke: %S.",
               buf_view(&meant)),
        FIX_SAFE, e->span, "%S", buf_view(&meant));
    return true;
}

static bool bare_pause(Parser *p, const SyntaxError *e) {
    if (e->n_expected != 1 || !expects(e, T_DOTDOT)) return false;
    REPORT(p, FINDING_BARE_TIME, span_of(&p->before),
           "At least this long, or between two times? Write \"a pause of at least 3 "
           "s\" or \"a pause of 3..15 s\".");
    return true;
}

/* "set master on": a joining word where a position is wanted. */
static bool small_position(Parser *p, const SyntaxError *e) {
    bool joins = token_is_reserved(e->token) && e->token < T_SET;
    if (!joins || !expects(e, T_POS) || expects(e, T_DOTTED) || p->before.lo == p->first.lo) return false;
    Buf meant = {.arena = &p->scratch};
    Str text = parser_text(p, e->span);
    for (size_t i = 0; i < text.len; i++) buf_char(&meant, (char)(text.ptr[i] - 'a' + 'A'));
    Finding *finding =
        REPORT(p, FINDING_WRONG_CASE, e->span, "A position is written in capitals: %S.", buf_view(&meant));
    FIX(p, finding, FIX_SAFE, e->span, "%S", buf_view(&meant));
    return true;
}

static bool wrong_case(Parser *p, const SyntaxError *e) {
    bool capitals = token_is_name(e->token) && expects(e, T_POS) && !expects(e, T_NAME) && e->n_expected <= 3;
    bool small = (e->token == T_POS || e->token == T_MIXED) && expects(e, T_NAME) && !expects(e, T_POS);
    if (!capitals && !small) return false;
    Str text = parser_text(p, e->span);
    Buf meant = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (capitals && c >= 'a' && c <= 'z') c = (char)(c - 'a' + 'A');
        else if (small && c >= 'A' && c <= 'Z') c = (char)(c - 'A' + 'a');
        buf_char(&meant, c == '_' ? '-' : c);
    }
    Finding *finding = REPORT(p, FINDING_WRONG_CASE, e->span,
                              capitals ? "A position is written in capitals: %S."
                                       : "A name is written in small letters, with hyphens between its words: %S.",
                              buf_view(&meant));
    FIX(p, finding, FIX_SAFE, e->span, "%S", buf_view(&meant));
    return true;
}

/* A line of a list: what stands side by side there is parted by commas. */
static bool in_list(int first) {
    switch (first) {
    case T_ENGINES:
    case T_KIND:
    case T_FITTED:
    case T_NOT:
    case T_INOPERATIVE:
    case T_DUTY:
    case T_BAND:
    case T_DRILLS:
    case T_HOLDS:
    case T_RANK:
    case T_FOR:
    case T_STANDARD:
    case T_ISSUE:
    case T_CONTAINS:
    case T_REVISION:
    case T_CARD:
    case T_DISTRIBUTION:
    case T_POS:
    case T_NUM:
    case T_PROCEDURE:
    case T_DRILL:
    case T_ADAPT:
    case T_WAIVE: return true;
    default: return token_is_name(first) && !suggest_is_item(first);
    }
}

static bool no_comma(Parser *p, const SyntaxError *e) {
    bool goes_on = word_like(e->token) || e->token == T_NUM || e->token == T_UP_TO || e->token == T_AT_MOST ||
                   e->token == T_THEN || e->token == T_REVIEW_BY || e->token == T_READ_AT || e->token == T_ALSO_IN ||
                   e->token == T_ALL_DRILLS || e->token == T_NO_MORE_STARTS || e->token == T_NEXT_START_AFTER;
    if (!goes_on || !expects(e, T_COMMA) || !in_list(p->first.kind) || (p->last.flags & TOKEN_FIRST)) return false;
    if (p->first.kind == T_RANK && expects(e, T_AS)) return false;
    Span place = {p->before.hi, p->before.hi};
    Finding *finding = REPORT(p, FINDING_NO_COMMA, place, "A comma is missing before \"%S\".", parser_text(p, e->span));
    FIX(p, finding, FIX_SAFE, place, ",");
    return true;
}

static bool brace_missing(Parser *p, const SyntaxError *e) {
    if (!expects(e, T_OPEN)) return false;
    if (e->token == T_THEN) {
        FIX(p, REPORT(p, FINDING_WORD, e->span, "No \"then\" is needed before what is done."), FIX_SAFE, e->span, "");
        return true;
    }
    if (suggest_is_item(e->token) && !expects(e, T_TURN_TO)) {
        REPORT(p, FINDING_UNCLOSED, e->span, "What is done then stands in braces: { %S … }.", parser_text(p, e->span));
        return true;
    }
    if (e->token != T_NL) return false;
    if (expects(e, T_TURN_TO)) {
        REPORT(p, FINDING_SYNTAX, e->span,
               "This line does not say what is done then: \"turn to\" a drill, \"again\", an \"end\", or lines in "
               "braces.");
        return true;
    }
    Finding *finding = REPORT(p, FINDING_UNCLOSED, e->span, "A \"{\" is missing at the end of this line.");
    FIX(p, finding, FIX_REVIEW, e->span, " {");
    return true;
}

static bool stray_close(Parser *p, const SyntaxError *e) {
    if (e->token != T_CLOSE || !p->unopened) return false;
    FIX(p, REPORT(p, FINDING_UNCLOSED, e->span, "This \"}\" closes nothing: no \"{\" is open for it."), FIX_REVIEW,
        e->span, "");
    return true;
}

static bool reserved_name(Parser *p, const SyntaxError *e) {
    if (!token_is_reserved(e->token) || !expects(e, T_NAME) || expects(e, T_NL)) return false;
    REPORT(p, FINDING_WORD, e->span, "\"%S\" joins the words of a sentence and cannot be a name.",
           parser_text(p, e->span));
    return true;
}

/* ---- what would fit ---- */
static const char *class_text(int token) {
    switch (token) {
    case 0: return "the end of the file";
    case T_NL: return "the end of the line";
    case T_NAME: return "a name";
    case T_POS: return "a position in capitals";
    case T_DOTTED: return "a name with its engine";
    case T_SLASHED: return "a path of the library";
    case T_MIXED: return "a unit";
    case T_NUM: return "a number";
    case T_SECTION: return "a section";
    case T_DATE: return "a date";
    case T_TEXT: return "a text in quotes";
    default: return NULL;
    }
}

enum { MOST_EXPECTED = 6 };

/* The tokens worth naming: a name stands for all words that may be names. */
static size_t worth_naming(const Parser *p, const SyntaxError *e, int *into) {
    bool any_name = expects(e, T_NAME), number = expects(e, T_NUM);
    bool unit = any_name && expects(e, T_SLASHED) && expects(e, T_POS) && !expects(e, T_TEXT);
    bool lenient = any_name && expects(e, T_POS) && expects(e, T_MIXED) && !unit;
    bool position = lenient && !expects(e, T_DOTTED) && (p->before.lo != p->first.lo || p->before.kind == T_END);
    size_t n = 0;
    for (size_t i = 0; i < e->n_expected; i++) {
        int token = e->expected[i];
        if (unit && (token == T_NAME || token == T_POS || token == T_SLASHED)) continue;
        if (unit && token == T_MIXED) {
            into[n++] = token;
            continue;
        }
        if (lenient && token == (position ? T_NAME : T_POS)) continue;
        if (token == T_MIXED && lenient) continue;
        if (any_name && (token == T_DOTTED || (token_is_name(token) && token != T_NAME))) continue;
        if (number && token == T_SECTION) continue;
        if (token == T_MIXED && (any_name || expects(e, T_POS))) continue;
        if (n == MOST_EXPECTED) return MOST_EXPECTED + 1;
        into[n++] = token;
    }
    return n;
}

static Str expected_text(Parser *p, const int *tokens, size_t n) {
    Buf buf = {.arena = &p->scratch};
    for (size_t i = 0; i < n; i++) {
        if (i > 0) buf_text(&buf, i + 1 < n ? ", " : " or ");
        const char *text = class_text(tokens[i]);
        if (text != NULL) {
            buf_text(&buf, text);
            continue;
        }
        buf_char(&buf, '"');
        buf_text(&buf, token_word(tokens[i]) != NULL ? token_word(tokens[i]) : "");
        buf_char(&buf, '"');
    }
    return buf_view(&buf);
}

static void unfinished(Parser *p, const SyntaxError *e, const int *tokens, size_t n) {
    if (n > 0 && n <= MOST_EXPECTED)
        REPORT(p, FINDING_SYNTAX, e->span, "This line is not finished: %S should follow.", expected_text(p, tokens, n));
    else REPORT(p, FINDING_SYNTAX, e->span, "This line is not finished.");
}

static void misplaced(Parser *p, const SyntaxError *e, const int *tokens, size_t n) {
    Str text = parser_text(p, e->span);
    if (text.len > 60) text = STR("This");
    bool number = e->token == T_NUM || e->token == T_TEXT;
    const char *quote = number || text.len == 0 || text.ptr[0] == 'T' ? "" : "\"";
    if (n > 0 && n <= MOST_EXPECTED)
        REPORT(p, FINDING_SYNTAX, e->span, "%s%S%s cannot stand here: %S is expected.", quote, text, quote,
               expected_text(p, tokens, n));
    else if (expects(e, T_NL) && e->token != T_CLOSE)
        REPORT(p, FINDING_SYNTAX, e->span, "%s%S%s cannot stand here: the line could end before it.", quote, text,
               quote);
    else REPORT(p, FINDING_SYNTAX, e->span, "%s%S%s cannot stand here.", quote, text, quote);
}

/* Lines of a body stand outside all braces, because their heading is lost or closed too early: told at the first. */
static bool told_astray(Parser *p, const SyntaxError *e) {
    if (!expects(e, 0) || !expects(e, T_USE)) return false;
    if (word_like(e->token) &&
        suggest_token(small_letters(p, parser_text(p, e->span)), e->expected, e->n_expected) != NULL)
        return false;
    bool told = p->astray;
    if (e->token != T_CLOSE) p->astray = true;
    return told;
}

/* "check chocks are removed": the verb is left out, the position stands in capitals. */
static bool plural_verb(Parser *p, const SyntaxError *e) {
    if (!token_is_name(e->token) || p->before.kind != T_NAME) return false;
    Span verb = span_of(&p->before);
    if (!str_eq(parser_text(p, verb), STR("are"))) return false;
    Str text = parser_text(p, e->span);
    Buf meant = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len; i++)
        buf_char(&meant, text.ptr[i] >= 'a' && text.ptr[i] <= 'z' ? (char)(text.ptr[i] - 'a' + 'A') : text.ptr[i]);
    Span both = {verb.lo, e->span.hi};
    Finding *finding = REPORT(p, FINDING_WORD, both,
                              "How it stands is said without \"are\", in capitals: did you mean %S?", buf_view(&meant));
    FIX(p, finding, FIX_REVIEW, both, "%S", buf_view(&meant));
    return true;
}

void syntax_error(Parser *p, const SyntaxError *e) {
    if (told_astray(p, e)) return;
    static bool (*const questions[])(Parser *, const SyntaxError *) = {
        comma_in_the_air, label,       unknown_verb,    unknown_first_word, elsewhere,        needless,
        mistyped_here,    second_item, mistyped_before, no_otherwise,       no_deadline_here, otherwise_here,
        comparison,       path_slip,   bare_pause,      small_position,     no_comma,         quotes_missing,
        plural_verb,      wrong_case,  bracket,         brace_missing,      stray_close,      reserved_name,
    };
    for (size_t i = 0; i < sizeof questions / sizeof *questions; i++)
        if (questions[i](p, e)) return;
    int tokens[MOST_EXPECTED];
    size_t n = worth_naming(p, e, tokens);
    if (ends_line(e)) unfinished(p, e, tokens, n);
    else misplaced(p, e, tokens, n);
}
