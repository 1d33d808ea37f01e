#include "front/scan.h"
#include "base/utf8.h"
#include "parser.h"

Str parser_text(const Parser *p, Span span) {
    return (Str){p->text + (span.lo - p->base), span.hi - span.lo};
}

/* ---- memory and text for the generated scanner ---- */
extern Parser *sw_scan_get_extra(void *scanner);

/* The size stands in front, so that growing knows what to copy. */
void *scan_memory(void *scanner, size_t size) {
    size_t *room = arena_alloc(&sw_scan_get_extra(scanner)->scratch, size + 2 * sizeof(size_t));
    room[0] = size;
    return room + 2;
}

void *scan_memory_again(void *scanner, void *old, size_t size) {
    if (old == NULL) return scan_memory(scanner, size);
    size_t had = ((size_t *)old - 2)[0];
    if (size <= had) return old;
    void *room = scan_memory(scanner, size);
    memcpy(room, old, had);
    return room;
}

size_t scan_feed(Parser *p, char *into, size_t room) {
    size_t n = p->size - p->fed;
    if (n > room) n = room;
    memcpy(into, p->text + p->fed, n);
    p->fed += (uint32_t)n;
    return n;
}

/* ---- tokens ---- */
static Span here(const Parser *p, uint32_t length) {
    return (Span){p->base + p->offset - length, p->base + p->offset};
}

/* A short text has few tokens. Those of a long one lie with the tree, which takes their place as they are read. */
static Token *page_new(Parser *p) {
    if (tokens_are_given(p)) return ARENA_ARRAY(p->job->arena, Token, TOKEN_PAGE);
    return ARENA_ARRAY(&p->scratch, Token, p->size < TOKEN_PAGE ? p->size + 1 : TOKEN_PAGE);
}

static Token *token_new(Parser *p) {
    Tokens *tokens = &p->tokens;
    if (tokens->n == tokens->n_pages * TOKEN_PAGE) {
        if (tokens->n_pages == tokens->cap_pages) {
            uint32_t cap = tokens->cap_pages ? tokens->cap_pages * 2 : 16;
            Token **pages = ARENA_ARRAY(&p->scratch, Token *, cap);
            if (tokens->n_pages) memcpy(pages, tokens->pages, tokens->n_pages * sizeof(Token *));
            tokens->pages = pages;
            tokens->cap_pages = cap;
        }
        tokens->pages[tokens->n_pages++] = page_new(p);
    }
    return token_at(tokens, tokens->n++);
}

static void put(Parser *p, int kind, uint32_t length, Name name) {
    Token *token = token_new(p);
    Span span = here(p, length);
    bool glued = !p->line_start && p->scanned.hi == span.lo;
    *token = (Token){span.lo, span.hi, name, (uint16_t)kind,
                     (uint8_t)((p->line_start ? TOKEN_FIRST : 0) | (glued ? TOKEN_GLUED : 0))};
    p->line_start = false;
    p->scanned = *token;
}

void scan_token(Parser *p, int kind, uint32_t length) {
    put(p, kind, length, 0);
}

void scan_newline(Parser *p) {
    p->line_start = true;
}

void scan_comment(Parser *p, uint32_t length, bool slashes) {
    Span span = here(p, length);
    if (slashes) {
        Span sign = {span.lo, span.lo + 2};
        FIX(p, REPORT(p, FINDING_CHARACTER, sign, "A comment begins with #, not with //."), FIX_SAFE, sign, "#");
    }
    vec_push(p->job->arena, &p->comments, ((Comment){span, p->line_start}));
}

static void long_word(Parser *p, uint32_t length) {
    Span span = here(p, length);
    REPORT(p, FINDING_LONG_NAME, span, "This word is %u bytes long; a name has at most %u.", (uint64_t)length,
           (uint64_t)LIMIT_NAME_BYTES);
}

void scan_word(Parser *p, int kind, const char *text, uint32_t length) {
    if (length > LIMIT_NAME_BYTES) long_word(p, length);
    Name name = name_intern(p->job->names, (Str){text, length > LIMIT_NAME_BYTES ? LIMIT_NAME_BYTES : length});
    if (kind == T_NAME && name < p->n_kinds && p->kind_of[name] != 0) kind = p->kind_of[name];
    put(p, kind, length, name);
}

/* ---- slips whose meaning is sure ---- */
/* A word with a word processor's dash: the word with a hyphen is meant. */
void scan_dashed(Parser *p, int kind, const char *text, uint32_t length) {
    Buf word = {.arena = &p->scratch};
    for (uint32_t i = 0; i < length; i++) {
        if ((unsigned char)text[i] < 0x80) buf_char(&word, text[i]);
        else {
            buf_char(&word, '-');
            i += 2;
        }
    }
    Span span = here(p, length);
    Finding *finding =
        REPORT(p, FINDING_WORD_PROCESSOR, span,
               "This word has a long dash in it, as word processors make: write a plain hyphen, %S.", buf_view(&word));
    FIX(p, finding, FIX_SAFE, span, "%S", buf_view(&word));
    Str text_meant = buf_view(&word);
    if (text_meant.len > LIMIT_NAME_BYTES) text_meant.len = LIMIT_NAME_BYTES;
    put(p, kind, length, name_intern(p->job->names, text_meant));
}

bool scan_after_amount(const Parser *p) {
    if (p->line_start || p->tokens.n == 0) return false;
    if (p->scanned.kind == T_NUM) return true;
    return p->scanned.name != 0 && p->tokens.n > 1 && token_at(&p->tokens, p->tokens.n - 2)->kind == T_NUM;
}

static Str decimal_point(Parser *p, Span span) {
    Str text = str_copy(&p->scratch, parser_text(p, span));
    Buf fixed = {.arena = &p->scratch};
    for (size_t i = 0; i < text.len; i++) buf_char(&fixed, text.ptr[i] == ',' ? '.' : text.ptr[i]);
    return buf_view(&fixed);
}

static void meant_sign(Parser *p, Span span, const char *word) {
    Finding *finding =
        REPORT(p, FINDING_CHARACTER, span, "Write \"%s\" in words, not as %S.", word, parser_text(p, span));
    FIX(p, finding, FIX_SAFE, span, "%s", word);
}

static void meant_range(Parser *p, Span span) {
    Finding *finding = REPORT(p, FINDING_RANGE, span, "A range is written with two dots: 800..1000 rpm.");
    FIX(p, finding, FIX_SAFE, span, "..");
}

static void meant_quotes(Parser *p, Span span) {
    REPORT(p, FINDING_WORD_PROCESSOR, span,
           "A text stands in plain double quotes, \"like this\"; these quotes come from a word processor or another "
           "language.");
}

static void meant_text_end(Parser *p, Span span) {
    Finding *finding = REPORT(p, FINDING_TEXT, span, "This text has no closing quote on its line.");
    FIX(p, finding, FIX_REVIEW, ((Span){span.hi, span.hi}), "\"");
}

void scan_meant(Parser *p, int kind, uint32_t length, Meant meant) {
    Span span = here(p, length);
    switch (meant) {
    case MEANT_DECIMAL_POINT:
        FIX(p, REPORT(p, FINDING_DECIMAL, span, "Decimals have a point, not a comma: %S.", decimal_point(p, span)),
            FIX_SAFE, span, "%S", decimal_point(p, span));
        break;
    case MEANT_RANGE: meant_range(p, span); break;
    case MEANT_MINUS:
        FIX(p, REPORT(p, FINDING_WORD_PROCESSOR, span, "Write a plain hyphen as the minus sign."), FIX_SAFE,
            ((Span){span.lo, span.lo + 3}), "-");
        break;
    case MEANT_QUOTE_END: meant_text_end(p, span); break;
    case MEANT_QUOTES: meant_quotes(p, span); break;
    case MEANT_BRACKET:
        FIX(p, REPORT(p, FINDING_CHARACTER, span, "Brackets are round: ( and )."), FIX_REVIEW, span,
            kind == T_LEFT ? "(" : ")");
        break;
    case MEANT_AT_LEAST: meant_sign(p, span, "at least"); break;
    case MEANT_AT_MOST: meant_sign(p, span, "at most"); break;
    case MEANT_ABOVE: meant_sign(p, span, "above"); break;
    case MEANT_BELOW: meant_sign(p, span, "below"); break;
    case MEANT_AND: meant_sign(p, span, "and"); break;
    case MEANT_OR: meant_sign(p, span, "or"); break;
    case MEANT_NOT: meant_sign(p, span, "not"); break;
    }
    put(p, kind, length, 0);
}

void scan_dropped(Parser *p, uint32_t length, Dropped dropped) {
    Span span = here(p, length);
    Finding *finding = NULL;
    switch (dropped) {
    case DROPPED_EQUALS:
        finding =
            REPORT(p, FINDING_CHARACTER, span, "No sign stands between a thing and its position: \"mixture RICH\".");
        break;
    case DROPPED_SEMICOLON:
        finding = REPORT(p, FINDING_CHARACTER, span, "A line ends by itself; no semicolon is needed.");
        break;
    case DROPPED_STOP:
        finding = REPORT(p, FINDING_CHARACTER, span, "No full stop stands here: a line ends by itself.");
        break;
    }
    FIX(p, finding, FIX_SAFE, span, "");
    if (p->scanned.hi == span.lo) p->scanned.hi = span.hi; /* what follows closely stays close */
}

void scan_stray(Parser *p, uint32_t length) {
    Span span = here(p, length);
    unsigned char c = (unsigned char)p->text[span.lo - p->base];
    if (c < 0x20 || c == 0x7F || c >= 0x80)
        return; /* told when the bytes were looked through, or a lone quote of these */
    REPORT(p, FINDING_CHARACTER, span, "The sign %S has no meaning here.", parser_text(p, span));
}

/* ---- texts that are not closed as they should be ---- */
static uint32_t trim(const char *text, uint32_t length) {
    while (length > 1 && (text[length - 1] == ' ' || text[length - 1] == '\t')) length--;
    return length;
}

/* Without the last brace where that belongs to the lines around the text: a "{", or a "}" that closes no hole. */
static uint32_t without_brace(const char *text, uint32_t length) {
    length = trim(text, length);
    int open = 0;
    for (uint32_t i = 1; i + 1 < length; i++) {
        if (text[i] == '\\') i++;
        else if (text[i] == '{') open++;
        else if (text[i] == '}' && open > 0) open--;
    }
    char last = text[length - 1];
    if (length > 1 && (last == '{' || (last == '}' && open == 0))) length = trim(text, length - 1);
    return length;
}

/* The number of bytes of a word processor's quote here, 0: none. */
static uint32_t smart_quote(const char *at, uint32_t left) {
    const unsigned char *c = (const unsigned char *)at;
    if (left >= 3 && c[0] == 0xE2 && c[1] == 0x80 && c[2] >= 0x98 && c[2] <= 0x9F) return 3;
    if (left >= 2 && c[0] == 0xC2 && (c[1] == 0xAB || c[1] == 0xBB)) return 2;
    return 0;
}

static bool apostrophe(const char *at, uint32_t left) {
    return left >= 3 && memcmp(at, "\xE2\x80\x99", 3) == 0;
}

/* The first quote after `from` that closes a text; 0: none. Gives the end behind it. */
static uint32_t smart_end(const char *text, uint32_t length, uint32_t from, bool single) {
    for (uint32_t i = from; i < length; i++) {
        if (text[i] == '"') return i + 1;
        uint32_t n = smart_quote(text + i, length - i);
        if (n > 0 && (single || !apostrophe(text + i, length - i))) return i + n;
    }
    return 0;
}

uint32_t scan_open_text(const char *text, uint32_t length) {
    uint32_t end = smart_end(text, length, 1, false);
    return end ? end : without_brace(text, length);
}

uint32_t scan_smart_text(const char *text, uint32_t length) {
    uint32_t n = smart_quote(text, length);
    uint32_t end = smart_end(text, length, n, memcmp(text, "\xE2\x80\x98", 3) == 0);
    return end ? end : without_brace(text, length);
}

/* ---- bytes ---- */
/* Some editors begin a file with one; it says nothing. */
static bool byte_order_mark(uint32_t code, uint32_t at) {
    return code == 0xFEFF && at == 0;
}

static uint32_t byte_report(Parser *p, uint32_t at) {
    Utf8 one = utf8_decode((Str){p->text, p->size}, at);
    Span span = {p->base + at, p->base + at + one.size};
    if (!one.valid)
        REPORT(p, FINDING_NOT_UTF8, span,
               "This is not UTF-8 text: the byte here begins no character. Save the file as UTF-8.");
    else if (one.code == 0)
        REPORT(p, FINDING_CHARACTER, span, "There is a NUL byte here, which no text has. Is this a .start file?");
    else if (utf8_turns(one.code))
        REPORT(
            p, FINDING_BIDI, span,
            "An invisible character here turns the direction of writing, so the line may not say what it shows: delete "
            "it.");
    else if (utf8_hides(one.code) && !byte_order_mark(one.code, at))
        REPORT(p, FINDING_CHARACTER, span, "There is an invisible character here (%X): delete it.", one.code);
    return one.size;
}

static bool plain(unsigned char c) {
    return (c >= 0x20 && c < 0x7F) || c == '\n' || c == '\t' || c == '\r';
}

/* Whether eight bytes are all ASCII that is neither control, but for newlines, nor DEL. Without a top bit no sum carries over. */
static bool plain_word(const unsigned char *at) {
    const uint64_t ones = 0x0101010101010101u, tops = 0x8080808080808080u;
    uint64_t word;
    memcpy(&word, at, sizeof word);
    if (word & tops) return false;
    uint64_t printed = word + ones * 0x60, other = (word ^ ones * '\n') + ones * 0x7F,
             kept = (word ^ ones * 0x7F) + ones * 0x7F;
    return ((printed | ~other) & kept & tops) == tops;
}

/* Most bytes need no look; the rest is ASCII control, or must be UTF-8. */
static void bytes_check(Parser *p) {
    const unsigned char *text = (const unsigned char *)p->text;
    for (uint32_t i = 0; i < p->size;) {
        if (p->size - i >= 8 && plain_word(text + i)) i += 8;
        else i += plain(text[i]) ? 1 : byte_report(p, i);
    }
}

static bool begins_utf16(Str text) {
    if (text.len < 2) return false;
    const unsigned char *c = (const unsigned char *)text.ptr;
    return (c[0] == 0xFF && c[1] == 0xFE) || (c[0] == 0xFE && c[1] == 0xFF);
}

bool scan_file(Parser *p) {
    if (begins_utf16(p->source->text)) {
        REPORT(p, FINDING_NOT_UTF8, ((Span){p->base, p->base + 2}), "This file is UTF-16 text. Save it as UTF-8.");
        return false;
    }
    bytes_check(p);
    lexer_run(p);
    return true;
}
