/* Braces that do not balance: puts in what is missing and drops what is too much, by what the layout says, and reports
   each at its place. Where the braces of a text balance, nothing here looks at its layout.
   takes   the tokens of the file
   gives   a list of repairs, which the filter applies
   never   touches a declaration whose own braces balance */
#include "front/filter.h"
#include "front/suggest.h"
#include "parser.h"

typedef struct {
    uint32_t token; /* of the "{"; the one before it where it was supplied */
    Span span;
    uint32_t indent; /* of the line it stands on */
    uint16_t key;    /* the word that opens it: phase, when, try … */
    bool supplied;
} Opener;

typedef struct {
    Parser *p;
    VEC(Opener) open;
    uint32_t begin, end;            /* tokens of this declaration */
    int surplus;                    /* "{" too many, "}" too many when negative; changes with each repair */
    uint32_t indent;                /* of the line, its continuations not counted */
    uint16_t key;                   /* the last word that opens a block, and still waits for its brace */
    uint32_t key_token, line_token; /* where it stands; the first token of the line */
} Repairing;

static bool opens_block(int kind) {
    switch (kind) {
    case T_PHASE:
    case T_MEMORY:
    case T_WHEN:
    case T_TRY:
    case T_CRANK:
    case T_CASES:
    case T_CASE:
    case T_FOR:
    case T_BETWEEN_TRIES:
    case T_OTHERWISE:
    case T_IF:
    case T_CONTROL:
    case T_SCENE:
    case T_CALL:
    case T_BRIEFING:
    case T_LINES:
    case T_AIRCRAFT:
    case T_TAIL:
    case T_PROCEDURE:
    case T_DRILL:
    case T_GROUP:
    case T_GATE:
    case T_STANDARD:
    case T_ADAPT:
    case T_DOCUMENT:
    case T_FLEET:
    case T_WORDING:
    case T_ADD:
    case T_WITH: return true;
    default: return false;
    }
}

static int kind_at(const Parser *p, uint32_t i) {
    return i < p->tokens.n ? token_at(&p->tokens, i)->kind : 0;
}

static bool named(int kind) {
    return token_is_name(kind) || kind == T_POS || kind == T_MIXED;
}

/* Whether token i is the first of a declaration: in the first column, and followed by what a declaration goes on with.
   Many of these words are verbs or names elsewhere. */
bool token_begins_decl(const Parser *p, uint32_t i) {
    const Token *token = token_at(&p->tokens, i);
    if (!(token->flags & TOKEN_FIRST) || token->kind < T_USE || token->kind > T_WORDING) return false;
    if (token->lo > p->base && p->text[token->lo - p->base - 1] != '\n' && p->text[token->lo - p->base - 1] != '\r')
        return false;
    if (i + 1 >= p->tokens.n || (token_at(&p->tokens, i + 1)->flags & TOKEN_FIRST)) return false;
    int next = kind_at(p, i + 1), third = kind_at(p, i + 2);
    switch (token->kind) {
    case T_USE: return next == T_SLASHED || next == T_TEXT || token_is_name(next);
    case T_WAIVE: return third == T_AT;
    case T_LIGHT:
    case T_CALL:
    case T_KIND:
    case T_STANDARD: return named(next) && (third == T_TEXT || third == T_EACH_ENGINE);
    case T_LINES: return named(next) && (third == T_NUM || third == T_SECTION);
    case T_CONTROL:
    case T_SCENE:
    case T_GAUGE:
    case T_PERSON:
    case T_BRIEFING:
    case T_SOURCE:
    case T_AIRCRAFT:
    case T_TAIL:
    case T_PROCEDURE:
    case T_DRILL:
    case T_GROUP:
    case T_EVENT:
    case T_STATE:
    case T_GATE:
    case T_ADAPT:
    case T_DOCUMENT:
    case T_FLEET:
    case T_WORDING: return named(next);
    default: return false;
    }
}

/* ---- is there anything to repair? ---- */
static bool balanced(const Parser *p) {
    int depth = 0;
    bool standard = false;
    for (uint32_t i = 0; i < p->tokens.n; i++) {
        int kind = token_at(&p->tokens, i)->kind;
        if (kind == T_OPEN) depth++;
        else if (kind == T_CLOSE && --depth < 0) return false;
        else if (kind >= T_USE && kind <= T_WORDING && token_begins_decl(p, i)) {
            if (depth > 0 && !(kind == T_GATE && standard)) return false;
            if (depth == 0) standard = kind == T_STANDARD;
        }
    }
    return depth == 0;
}

/* ---- repairs ---- */
static void repair(Repairing *r, uint32_t at, RepairKind kind) {
    Parser *p = r->p;
    vec_push(&p->scratch, &p->repairs, ((Repair){at, kind}));
    for (size_t i = p->repairs.n - 1; i > 0 && p->repairs.at[i - 1].at > at; i--) {
        p->repairs.at[i] = p->repairs.at[i - 1];
        p->repairs.at[i - 1] = (Repair){at, kind};
    }
    r->surplus += kind == REPAIR_OPEN ? 1 : kind == REPAIR_CLOSE ? -1 : kind_at(p, at) == T_OPEN ? -1 : 1;
}

static uint32_t indent_of(const Parser *p, const Token *token) {
    uint32_t at = token->lo - p->base, start = at, width = 0;
    while (start > 0 && p->text[start - 1] != '\n' && p->text[start - 1] != '\r') start--;
    for (; start < at; start++) {
        if (p->text[start] == '\t') width = (width / 8 + 1) * 8;
        else if (((unsigned char)p->text[start] & 0xC0) != 0x80) width++;
    }
    return width;
}

static Opener *top(Repairing *r) {
    return r->open.n > 0 ? &r->open.at[r->open.n - 1] : NULL;
}

/* Closes the innermost block before token `at`, and blames its opener. */
static void close_before(Repairing *r, uint32_t at) {
    const Opener *opener = top(r);
    Parser *p = r->p;
    uint32_t place = at > 0 ? token_at(&p->tokens, at - 1)->hi : p->base;
    if (!opener->supplied) {
        Finding *finding =
            REPORT(p, FINDING_UNCLOSED, opener->span, "This \"{\" is not closed: a \"}\" is missing after line %u.",
                   (uint64_t)report_line(p, place) + 1);
        FIX(p, finding, FIX_REVIEW, ((Span){place, place}), "\n}");
    }
    repair(r, at, REPAIR_CLOSE);
    r->open.n--;
}

static void drop(Repairing *r, uint32_t at, const char *message) {
    const Token *token = token_at(&r->p->tokens, at);
    Span span = {token->lo, token->hi};
    FIX(r->p, REPORT(r->p, FINDING_UNCLOSED, span, "%s", message), FIX_REVIEW, span, "");
    repair(r, at, REPAIR_DROP);
}

static void open_before(Repairing *r, uint32_t at) {
    const Token *before = token_at(&r->p->tokens, at - 1);
    Span place = {before->hi, before->hi};
    bool at_end = token_at(&r->p->tokens, at)->flags & TOKEN_FIRST;
    Finding *finding =
        REPORT(r->p, FINDING_UNCLOSED, place, "A \"{\" is missing %s.", at_end ? "at the end of this line" : "here");
    FIX(r->p, finding, FIX_SAFE, place, " {");
    repair(r, at, REPAIR_OPEN);
    vec_push(&r->p->scratch, &r->open, ((Opener){at - 1, place, r->indent, r->key, true}));
}

/* ---- what the layout says ---- */
static bool ends_before(const Repairing *r, const Opener *opener, const Token *token, uint32_t indent) {
    if (token->kind == T_PHASE) return opener->key != T_PROCEDURE && indent <= opener->indent + 4 && r->open.n > 1;
    if (token->kind == T_UNTIL) return opener->key == T_TRY || opener->key == T_CRANK;
    if (token->kind == T_OTHERWISE)
        return opener->key == T_WHEN || opener->key == T_CASE || opener->key == T_BETWEEN_TRIES;
    if (token->kind == T_CLOSE || token->kind == T_OPEN) return false;
    return indent <= opener->indent;
}

/* A "}" in the column of an outer block's line closes the inner ones, too. */
static void close_inner(Repairing *r, uint32_t at, uint32_t indent) {
    size_t outer = r->open.n;
    while (outer > 0 && r->open.at[outer - 1].indent != indent) outer--;
    if (outer == 0) return;
    while (r->open.n > outer && r->surplus > 0) close_before(r, at);
}

static void line_begins(Repairing *r, uint32_t i, bool new_line) {
    const Token *token = token_at(&r->p->tokens, i);
    uint32_t indent = indent_of(r->p, token);
    bool deeper = i > r->begin && indent > r->indent;
    bool paragraph = r->key == T_BRIEFING && token->kind == T_TEXT;
    if (r->surplus < 0 && (new_line || paragraph) && deeper && opens_block(r->key) && kind_at(r->p, i - 1) != T_OPEN)
        open_before(r, i);
    if (token->kind == T_CLOSE) close_inner(r, i, indent);
    else
        while (r->surplus > 0 && r->open.n > 0 && ends_before(r, top(r), token, indent)) close_before(r, i);
    if (!new_line) return;
    r->indent = indent;
    r->key = 0;
}

/* Whether token i can be the first of a block that opens on the same line: an item, a position, a paragraph. */
static bool begins_body(const Repairing *r, uint32_t i) {
    int kind = kind_at(r->p, i), before = kind_at(r->p, i - 1);
    bool go = kind == T_TURN_TO || kind == T_END || kind == T_AGAIN;
    if (suggest_is_item(kind)) return !(go && (r->key == T_OTHERWISE || r->key == T_IF));
    return before == T_TEXT && (kind == T_POS || kind == T_TEXT || kind == T_NUM || token_is_name(kind));
}

/* "when c set a ON }": the brace lost in the middle of a line that closes it. */
static bool open_lost(Repairing *r, uint32_t close) {
    const Opener *opener = top(r);
    if (r->surplus >= 0 || (opener != NULL && opener->token >= r->line_token)) return false;
    uint32_t from = r->key != 0 && r->key_token >= r->line_token ? r->key_token + 1 : r->line_token + 1;
    for (uint32_t i = from; i < close; i++) {
        if (!begins_body(r, i)) continue;
        open_before(r, i);
        return true;
    }
    return false;
}

static bool too_many(const Repairing *r, uint32_t i) {
    const Token *token = token_at(&r->p->tokens, i);
    const Opener *opener = &r->open.at[r->open.n - 1];
    if (token->flags & TOKEN_FIRST) return indent_of(r->p, token) > opener->indent;
    return opener->token < r->line_token && kind_at(r->p, i - 1) == T_CLOSE;
}

static void close_met(Repairing *r, uint32_t i) {
    if (!(token_at(&r->p->tokens, i)->flags & TOKEN_FIRST) && kind_at(r->p, i - 1) != T_CLOSE) (void)open_lost(r, i);
    if (r->open.n == 0) r->surplus++; /* left to the parser, which knows whether its block was lost before */
    else if (r->surplus < 0 && too_many(r, i)) drop(r, i, "This \"}\" closes nothing: no \"{\" is open for it.");
    else r->open.n--;
    r->key = 0;
}

static void open_met(Repairing *r, uint32_t i) {
    const Token *token = token_at(&r->p->tokens, i);
    if (r->surplus > 0 && i > r->begin && kind_at(r->p, i - 1) == T_OPEN) {
        drop(r, i, "A second \"{\" stands here: one opens the block.");
        return;
    }
    vec_push(&r->p->scratch, &r->open, ((Opener){i, {token->lo, token->hi}, r->indent, r->key, false}));
    r->key = 0;
}

/* "otherwise" and "between tries" whose lines follow without a brace. */
static bool wants_block(const Repairing *r, uint32_t i) {
    int before = kind_at(r->p, i - 1);
    return r->surplus < 0 && i > r->begin && (before == T_OTHERWISE || before == T_BETWEEN_TRIES);
}

static void key_met(Repairing *r, uint32_t i) {
    r->key = token_at(&r->p->tokens, i)->kind;
    r->key_token = i;
}

static void repair_segment(Repairing *r) {
    const Parser *p = r->p;
    r->open.n = 0;
    for (uint32_t i = r->begin; i < r->end; i++) {
        const Token *token = token_at(&p->tokens, i);
        int before = i > r->begin ? kind_at(p, i - 1) : 0;
        if (token->flags & TOKEN_FIRST) {
            r->line_token = i;
            bool goes_on = filter_joins(before, token->kind) && before != T_OPEN && before != 0;
            if (wants_block(r, i) && token->kind != T_OPEN) {
                open_before(r, i);
                goes_on = false;
            }
            line_begins(r, i, !goes_on);
        }
        if (token->kind == T_OPEN) open_met(r, i);
        else if (token->kind == T_CLOSE) close_met(r, i);
        else if (opens_block(token->kind)) key_met(r, i);
    }
    while (r->open.n > 0) close_before(r, r->end);
}

/* The end of the declaration that begins at token i, and how many "{" it has too many. */
static uint32_t segment_end(Repairing *r, uint32_t i) {
    const Parser *p = r->p;
    bool standard = kind_at(p, i) == T_STANDARD;
    bool dips = false;
    int depth = 0;
    uint32_t end = i;
    do {
        int kind = kind_at(p, end);
        if (kind == T_OPEN) depth++;
        else if (kind == T_CLOSE && --depth < 0) dips = true;
        end++;
    } while (end < p->tokens.n &&
             !(token_begins_decl(p, end) && !(standard && depth > 0 && kind_at(p, end) == T_GATE)));
    r->surplus = depth;
    r->begin = i;
    r->end = depth == 0 && !dips ? i : end;
    return end;
}

void repair_braces(Parser *p) {
    if (balanced(p)) return;
    Repairing r = {.p = p};
    for (uint32_t i = 0; i < p->tokens.n;) {
        uint32_t next = segment_end(&r, i);
        if (r.end > r.begin) repair_segment(&r);
        i = next;
    }
}
