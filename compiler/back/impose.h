/* Pages put on sheets to be folded once: printed on both sides, turned over the short edge, laid into each other and folded, the pages
   follow each other.
   takes   a drawing of single pages, the sheet they are put on
   gives   a drawing of sheets, a page of it for each side, two pages on each, lying
   owns    nothing: marks are copied into the arena
   never   changes what stands on a page */
#ifndef BACK_IMPOSE_H
#define BACK_IMPOSE_H
#include "back/back.h"

/* The sheet that two pages of this paper lie on; NULL: there is none. */
const Paper *paper_sheet(const Paper *page);
/* The page, from 1 on, on the left and on the right of a side, sides counted from 0, where n pages are folded; 0: none, it stays white. */
void folded_sides(size_t n, size_t side, size_t *left, size_t *right);
size_t folded_side_count(size_t n);
Drawing impose(Arena *arena, const Drawing *drawing, const Paper *sheet);
#endif
