/* Where a line ends: a filter over the tokens, in front of the parser. Each newline becomes one NL but after what cannot
   end a line and before what cannot begin one; one is supplied before "}" and at the end of the file. */
#include "front/filter.h"
#include "front/build.h"
#include "parser.h"

static bool cannot_end_line(int kind) {
    switch (kind) {
    case 0: /* the beginning of the file */
    case T_OPEN:
    case T_LEFT:
    case T_COMMA:
    case T_COLON:
    case T_AND:
    case T_OR:
    case T_NOT:
    case T_OTHERWISE:
    case T_THEN: return true;
    default: return false;
    }
}

static bool cannot_begin_line(int kind) {
    switch (kind) {
    case T_OPEN:
    case T_COMMA:
    case T_RIGHT:
    case T_TEXT:
    case T_AND:
    case T_OR:
    case T_OTHERWISE:
    case T_UNTIL:
    case T_WITHIN:
    case T_FROM:
    case T_BECAUSE:
    case T_AS:
    case T_BY:
    case T_BETWEEN_TRIES:
    case T_OVER_DUTY: return true;
    default: return false;
    }
}

bool filter_joins(int before, int after) {
    return cannot_end_line(before) || cannot_begin_line(after);
}

static Token supplied(const Parser *p, int kind, uint8_t flags) {
    uint32_t at = p->real.hi != 0 ? p->real.hi : p->base;
    return (Token){.lo = at, .hi = at, .kind = (uint16_t)kind, .flags = flags};
}

/* The next token that was scanned. Nobody looks back at a page of tokens that is read. */
static Token token_next(Parser *p) {
    Token token = *token_at(&p->tokens, p->next++);
    if (p->next % TOKEN_PAGE == 0 && tokens_are_given(p))
        arena_give(p->job->arena, p->tokens.pages[p->next / TOKEN_PAGE - 1], TOKEN_PAGE * sizeof(Token));
    return token;
}

/* The next token of the text, as the repair of braces would have it. */
static Token take(Parser *p) {
    uint8_t first = 0;
    while (p->next_repair < p->repairs.n && p->repairs.at[p->next_repair].at == p->next) {
        RepairKind kind = p->repairs.at[p->next_repair++].kind;
        if (kind == REPAIR_OPEN) return supplied(p, T_OPEN, 0);
        if (kind == REPAIR_CLOSE) return supplied(p, T_CLOSE, TOKEN_FIRST);
        first |= token_next(p).flags & TOKEN_FIRST;
    }
    if (p->next >= p->tokens.n) return (Token){.lo = p->base + p->size, .hi = p->base + p->size};
    Token token = token_next(p);
    token.flags |= first;
    return token;
}

static bool line_ends_before(const Parser *p, const Token *token) {
    if (token->kind == 0) return p->real.kind != 0;
    if (token->kind == T_CLOSE) return p->real.kind != T_OPEN && p->real.kind != 0;
    return (token->flags & TOKEN_FIRST) && !filter_joins(p->real.kind, token->kind);
}

static Token next_token(Parser *p) {
    if (p->held) {
        p->held = false;
        return p->waiting;
    }
    Token token = take(p);
    if (!line_ends_before(p, &token)) return token;
    p->held = true;
    p->waiting = token;
    return supplied(p, T_NL, 0);
}

/* Braces and brackets deeper than the limit end the file: the parser's stack and every walk of the tree rest on it. */
static bool too_deep(Parser *p, const Token *token) {
    if (token->kind == T_OPEN || token->kind == T_LEFT) p->depth++;
    else if ((token->kind == T_CLOSE || token->kind == T_RIGHT) && p->depth > 0) p->depth--;
    return p->depth > LIMIT_NESTING;
}

/* The word a line begins with, its label passed over: messages go by it. */
static void note_first(Parser *p, const Token *token) {
    bool label = p->last.kind == T_COLON && p->before.kind == T_NAME && p->before.lo == p->first.lo;
    if (p->last.kind == 0 || p->last.kind == T_NL || p->last.kind == T_OPEN || label) p->first = *token;
    else if (p->last.kind == T_CLOSE) p->first = (Token){0};
}

int sw_lex(SW_STYPE *value, Span *location, Parser *p) {
    Token token = next_token(p);
    p->unopened = token.kind == T_CLOSE && p->depth == 0;
    if (too_deep(p, &token)) {
        parser_too_deep(p, (Span){token.lo, token.hi});
        p->next = p->tokens.n;
        p->next_repair = (uint32_t)p->repairs.n;
        p->held = false;
        token.kind = 0;
    }
    note_first(p, &token);
    p->before = p->last;
    p->last = token;
    if (token.kind != T_NL) p->real = token;
    *location = (Span){token.lo, token.hi};
    value->word = (Word){token.name, *location};
    return token.kind;
}
