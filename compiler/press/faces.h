/* The faces that the press carries.
   takes   a face, a character
   gives   its glyph, how far it moves the pen, how alike two look, a face cut down to some of them
   owns    the opened faces, from faces_open() on
   never   opens a file: the bytes are part of the module */
#ifndef PRESS_FACES_H
#define PRESS_FACES_H
#include "back/draw.h"
#include <cairo.h>

/* Sets what the press says of its typeface. False: a face cannot be read. */
bool faces_open(Press *press);
cairo_font_face_t *face_font(Face face);
double face_size(Face face); /* times the size of type: 1 for the cards' own */
unsigned long face_glyph(Face face, uint32_t code);
int32_t face_advance(Face face, uint32_t code);
int32_t face_unlike(Face face, uint32_t a, uint32_t b);
bool face_subset(Face face, const uint32_t *codes, size_t n, Sink sink);
#endif
