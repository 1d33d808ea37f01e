/* What pages and pictures for screens have in common: text that is safe in markup, and the card's typeface inside the file, cut down to
   the characters that it uses. Nothing made here asks for anything from elsewhere. */
#ifndef BACK_WEB_H
#define BACK_WEB_H
#include "back/draw.h"

/* Which characters are used of each face. */
typedef struct {
    uint8_t used[FACES][0x10000 / 8]; /* the faces have no characters beyond the first plane */
} Glyphs;
void glyphs_add(Glyphs *glyphs, Face face, Str text);
/* The characters that the cards' own typeface lacks are asked of the other one. */
void glyphs_settle(Glyphs *glyphs, const Press *press);
/* `@font-face` rules for "card", and for "more", the other typeface, where it is used; false: no memory. */
bool buf_faces(Buf *buf, Arena *arena, const Press *press, const Glyphs *glyphs);

/* In text and in attributes between double quotes. */
void buf_escaped(Buf *buf, Str text);
/* In points, with no more digits than it has: "419.528", "13". */
void buf_points(Buf *buf, Length length);
#endif
