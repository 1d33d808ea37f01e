/* How high a row must be for all that stands in it to be seen: programs that open a workbook, or print it, do not all find that themselves.
   takes   texts of the cells and the widths of their columns
   gives   a height in points, from the widths of the characters of Arial and of the faces that are made to its measure
   never   asks for a font of the host */
#ifndef BINDER_ROW_HEIGHT_H
#define BINDER_ROW_HEIGHT_H
#include "base/str.h"

/* Lines that a text takes in `width` characters of the file's unit, broken between words; 1 for an empty one. `bold`: it is wider. */
uint32_t lines_in_width(Str text, uint32_t width, bool bold);
/* Of a row whose fullest cell has so many lines of type of 10 points. */
double row_height(uint32_t lines);
#endif
