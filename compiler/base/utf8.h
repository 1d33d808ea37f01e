/* UTF-8: checking, reading one code point, and how many cells of a terminal it takes.
   takes   bytes, valid or not
   gives   code points; an invalid byte counts as one U+FFFD
   owns    nothing
   never   reads past the text's end */
#ifndef BASE_UTF8_H
#define BASE_UTF8_H
#include "base/str.h"

typedef struct {
    uint32_t code; /* U+FFFD where the bytes are not valid */
    uint32_t size; /* bytes read: 1 to 4; 1 for an invalid byte */
    bool valid;
} Utf8;

Utf8 utf8_decode(Str text, size_t at); /* at < text.len */
/* Whether it turns the direction of writing, so that a text reads other than it looks. */
bool utf8_turns(uint32_t code);
/* Whether it is a character without any shape (a zero-width space, a soft hyphen, a control; not tab, LF, CR): nobody sees that it stands there. */
bool utf8_hides(uint32_t code);
/* Cells of a fixed-width display: 0 for combining marks and controls, 2 for wide East Asian characters, else 1. */
uint32_t utf8_width(uint32_t code);
size_t utf8_text_width(Str text); /* sum over the text; a tab counts 1 */
size_t utf8_count(Str text);      /* code points */
void buf_utf8(Buf *buf, uint32_t code);
#endif
