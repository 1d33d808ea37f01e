/* Reading a text as words, texts, signs and comments, one declaration at a time.
   The rule of where a line ends an item is the grammar's: after some words and before some words it does not. */
#include "base/limits.h"
#include "base/utf8.h"
#include "front/print.h"

typedef struct {
    const char *word;
    uint8_t kind;
} Keyword;
static const Keyword keywords[] = {
    {"and", PIECE_AND},
    {"or", PIECE_OR},
    {"not", PIECE_NOT},
    {"is", PIECE_IS},
    {"if", PIECE_IF},
    {"for", PIECE_FOR},
    {"then", PIECE_THEN},
    {"until", PIECE_UNTIL},
    {"within", PIECE_WITHIN},
    {"from", PIECE_FROM},
    {"because", PIECE_BECAUSE},
    {"as", PIECE_AS},
    {"by", PIECE_BY},
    {"over", PIECE_OVER},
    {"between", PIECE_BETWEEN},
    {"answered", PIECE_ANSWERED},
    {"otherwise", PIECE_OTHERWISE},
};

static uint8_t char_at(const Printer *p, size_t at) {
    return at < p->text.len ? (uint8_t)p->text.ptr[at] : (uint8_t)'\n';
}

/* Bytes of the blank at `at`: space, tab, no-break space, a byte order mark; 0 if there is none. */
static size_t blank_at(const Printer *p, size_t at) {
    uint8_t c = char_at(p, at);
    if (c == ' ' || c == '\t') {
        return 1;
    }
    if (c == 0xC2 && char_at(p, at + 1) == 0xA0) {
        return 2;
    }
    return at == 0 && str_starts(p->text, STR("\xEF\xBB\xBF")) ? 3 : 0;
}

typedef enum { IN_WORD, ENDS_WORD, MAY_END_WORD } CharClass;
/* Which bytes end a word: blanks, line ends, signs; "." if another follows; the first byte of a no-break space, perhaps. */
static const uint8_t char_class[256] = {
    [' '] = ENDS_WORD, ['\t'] = ENDS_WORD, ['\n'] = ENDS_WORD,   ['\r'] = ENDS_WORD,    ['{'] = ENDS_WORD,
    ['}'] = ENDS_WORD, ['('] = ENDS_WORD,  [')'] = ENDS_WORD,    [','] = ENDS_WORD,     [':'] = ENDS_WORD,
    ['#'] = ENDS_WORD, ['"'] = ENDS_WORD,  ['.'] = MAY_END_WORD, [0xC2] = MAY_END_WORD,
};

static bool ends_word(const Printer *p, size_t at) {
    uint8_t class = char_class[(uint8_t)p->text.ptr[at]];
    if (class != MAY_END_WORD) return class == ENDS_WORD;
    return p->text.ptr[at] == '.' ? char_at(p, at + 1) == '.' : char_at(p, at + 1) == 0xA0;
}

static size_t word_end(const Printer *p, size_t at) {
    while (at < p->text.len && !ends_word(p, at)) at++;
    return at;
}

/* Whether the next word on the same line is `word`. */
static bool followed_by(const Printer *p, size_t at, const char *word) {
    for (size_t n; (n = blank_at(p, at)) > 0;) {
        at += n;
    }
    return str_eq(str_slice(p->text, at, word_end(p, at)), str_of(word));
}

/* The first letters of the keywords. */
static bool may_be_keyword(Str word) {
    static const char letters[] = "abfinotuw";
    if (word.len < 2 || word.len > 9) return false;
    for (const char *letter = letters; *letter; letter++)
        if (word.ptr[0] == *letter) return true;
    return false;
}

static uint8_t word_kind(const Printer *p, Str word, size_t end) {
    if (!may_be_keyword(word)) return PIECE_WORD;
    for (size_t i = 0; i < sizeof keywords / sizeof *keywords; i++) {
        if (word.ptr[0] != keywords[i].word[0] || !str_eq(word, str_of(keywords[i].word))) {
            continue;
        }
        uint8_t kind = keywords[i].kind;
        if ((kind == PIECE_FROM && followed_by(p, end, "each")) ||
            (kind == PIECE_BETWEEN && !followed_by(p, end, "tries")) ||
            (kind == PIECE_OVER && !followed_by(p, end, "duty"))) {
            return PIECE_WORD;
        }
        return kind;
    }
    return PIECE_WORD;
}

static size_t text_end(const Printer *p, size_t at) {
    for (at++; at < p->text.len && char_at(p, at) != '\n' && char_at(p, at) != '\r'; at++) {
        if (char_at(p, at) == '"') {
            return at + 1;
        }
        if (char_at(p, at) == '\\' && at + 1 < p->text.len) {
            at++;
        }
    }
    return at < p->text.len ? at : p->text.len;
}

static size_t comment_end(const Printer *p, size_t at) {
    while (at < p->text.len && char_at(p, at) != '\n' && char_at(p, at) != '\r') {
        at++;
    }
    return at;
}

static uint32_t columns(Str text) {
    for (size_t i = 0; i < text.len; i++) {
        if ((uint8_t)text.ptr[i] >= 0x80) {
            return (uint32_t)utf8_text_width(text);
        }
    }
    return (uint32_t)text.len;
}

/* Passes blanks and line ends; the number of line ends, 2 at most. */
static uint8_t pass_blanks(Printer *p) {
    uint8_t breaks = 0;
    while (p->at < p->text.len) {
        uint8_t c = char_at(p, p->at);
        size_t blank = blank_at(p, p->at);
        if (blank > 0) {
            p->at += blank;
        } else if (c == '\n' || c == '\r') {
            p->at += c == '\r' && p->at + 1 < p->text.len && char_at(p, p->at + 1) == '\n' ? 2 : 1;
            breaks = (uint8_t)(breaks < 2 ? breaks + 1 : 2);
        } else {
            break;
        }
    }
    return breaks;
}

static uint8_t sign_kind(uint8_t c) {
    switch (c) {
    case '{': return PIECE_OPEN;
    case '}': return PIECE_CLOSE;
    case '(': return PIECE_LEFT;
    case ')': return PIECE_RIGHT;
    case ',': return PIECE_COMMA;
    case ':': return PIECE_COLON;
    default: return PIECE_WORD;
    }
}

static size_t trimmed_end(const Printer *p, size_t lo, size_t hi) {
    while (hi > lo + 1 && (p->text.ptr[hi - 1] == ' ' || p->text.ptr[hi - 1] == '\t')) {
        hi--;
    }
    return hi;
}

static void piece_shape(Printer *p, Piece *piece) {
    size_t at = p->at, end = at + 1;
    uint8_t c = char_at(p, at);
    piece->kind = sign_kind(c);
    if (c == '#') {
        piece->kind = PIECE_COMMENT;
        end = comment_end(p, at);
    } else if (c == '"') {
        piece->kind = PIECE_TEXT;
        end = text_end(p, at);
    } else if (c == '.' && char_at(p, at + 1) == '.') {
        piece->kind = PIECE_DOTS;
        end = at + 2;
    } else if (piece->kind == PIECE_WORD) {
        end = word_end(p, at);
        end = end > at ? end : at + 1;
        piece->kind = word_kind(p, str_slice(p->text, at, end), end);
    }
    p->at = end;
    piece->lo = (uint32_t)at;
    piece->hi = (uint32_t)(piece->kind == PIECE_COMMENT ? trimmed_end(p, at, end) : end);
    piece->width = columns(str_slice(p->text, piece->lo, piece->hi));
}

static bool no_end_after(uint8_t kind) {
    return kind == PIECE_OPEN || kind == PIECE_LEFT || kind == PIECE_COMMA || kind == PIECE_COLON ||
           kind == PIECE_AND || kind == PIECE_OR || kind == PIECE_NOT || kind == PIECE_OTHERWISE || kind == PIECE_THEN;
}

static bool no_end_before(uint8_t kind) {
    return kind == PIECE_OPEN || kind == PIECE_COMMA || kind == PIECE_RIGHT || kind == PIECE_TEXT ||
           kind == PIECE_AND || kind == PIECE_OR || kind == PIECE_OTHERWISE ||
           (kind >= PIECE_UNTIL && kind <= PIECE_BY) || kind == PIECE_BETWEEN || kind == PIECE_OVER;
}

/* An opening brace and a comma close up to the word before, in front of the comments between them: a line may end behind them. */
static void piece_add(Printer *p, Piece piece) {
    vec_push(p->arena, &p->pieces, piece);
    if (piece.kind != PIECE_OPEN && piece.kind != PIECE_COMMA) {
        return;
    }
    size_t i = p->pieces.n - 1;
    size_t to = i;
    while (to > 0 && p->pieces.at[to - 1].kind == PIECE_COMMENT) {
        to--;
    }
    if (to > 0 && to < i) {
        memmove(&p->pieces.at[to + 1], &p->pieces.at[to], (i - to) * sizeof *p->pieces.at);
        p->pieces.at[to] = piece;
    }
}

bool print_read(Printer *p) {
    p->pieces.n = 0;
    for (bool begun = false;;) {
        size_t before = p->at;
        Piece piece = {.breaks = pass_blanks(p)};
        if (p->at >= p->text.len) {
            return p->pieces.n > 0;
        }
        bool own = before == 0 || piece.breaks > 0;
        uint32_t lines = p->broken_lines + piece.breaks;
        piece_shape(p, &piece);
        if (piece.kind == PIECE_COMMENT) {
            piece.marks = own ? MARK_OWN : 0;
            p->broken_lines = lines;
            piece_add(p, piece);
            continue;
        }
        if (piece.kind == PIECE_BY && p->pieces.n > 0 && print_is(p, (uint32_t)p->pieces.n - 1, "review")) {
            piece.kind = PIECE_WORD; /* "review by" is one phrase */
        }
        piece.ends_line = lines > 0 && !no_end_after(p->last) && !no_end_before(piece.kind);
        if (begun && piece.ends_line && p->depth == 0) {
            p->at = before; /* the next declaration's first word, read again then */
            p->broken_lines = lines - piece.breaks;
            return true;
        }
        begun = true;
        p->broken_lines = 0;
        p->last = piece.kind;
        p->depth += piece.kind == PIECE_OPEN;
        p->depth -= piece.kind == PIECE_CLOSE && p->depth > 0;
        p->unreadable |= p->depth > LIMIT_NESTING;
        piece_add(p, piece);
    }
}
