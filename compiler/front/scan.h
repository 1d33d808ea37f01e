/* What the rules of grammar/lexer.l call: one call a rule. */
#ifndef FRONT_SCAN_H
#define FRONT_SCAN_H
#include "front/parse.h"

/* A slip whose meaning is sure: the token that was meant is given. */
typedef enum {
    MEANT_DECIMAL_POINT,
    MEANT_RANGE,
    MEANT_MINUS,
    MEANT_QUOTE_END,
    MEANT_QUOTES,
    MEANT_BRACKET,
    MEANT_AT_LEAST,
    MEANT_AT_MOST,
    MEANT_ABOVE,
    MEANT_BELOW,
    MEANT_AND,
    MEANT_OR,
    MEANT_NOT
} Meant;
/* A sign that means nothing here and is passed over. */
typedef enum { DROPPED_EQUALS, DROPPED_SEMICOLON, DROPPED_STOP } Dropped;

size_t scan_feed(Parser *p, char *into, size_t room);
void *scan_memory(void *scanner, size_t size);
void *scan_memory_again(void *scanner, void *old, size_t size);

void scan_newline(Parser *p);
void scan_comment(Parser *p, uint32_t length, bool slashes);
void scan_word(Parser *p, int kind, const char *text, uint32_t length);
void scan_dashed(Parser *p, int kind, const char *text, uint32_t length);
void scan_meant(Parser *p, int kind, uint32_t length, Meant meant);
void scan_dropped(Parser *p, uint32_t length, Dropped dropped);
void scan_stray(Parser *p, uint32_t length);
/* A dash here stands between two amounts. */
bool scan_after_amount(const Parser *p);
/* How much of an unclosed text, or of a line that begins with a word processor's quote, is the text. */
uint32_t scan_open_text(const char *text, uint32_t length);
uint32_t scan_smart_text(const char *text, uint32_t length);

#endif
