/* A set of cards as a flat list of marks on paper, and the press that knows the typeface and paints them.
   All lengths are thousandths of a point, from the page's upper left corner, so that a drawing is the same on every machine. */
#ifndef BACK_DRAW_H
#define BACK_DRAW_H
#include "base/sink.h"

typedef int32_t Length;
enum { POINT = 1000 };

/* The cards' own typeface, and another one for the words with characters that it lacks. */
typedef enum { FACE_PLAIN, FACE_BOLD, FACE_OTHER_PLAIN, FACE_OTHER_BOLD } Face;
enum { OWN_FACES = 2, FACES = 4 };
static inline bool face_is_own(Face face) {
    return face == FACE_PLAIN || face == FACE_BOLD;
}
static inline Face other_face(Face face) {
    return face == FACE_BOLD ? FACE_OTHER_BOLD : FACE_OTHER_PLAIN;
}
static inline bool face_is_bold(Face face) {
    return face == FACE_BOLD || face == FACE_OTHER_BOLD;
}
typedef enum { INK_BLACK, INK_RED, INK_AMBER, INK_PALE } Ink;
/* Red, green and blue, in thousandths. The amber is dark enough to be seen in a grey copy. */
static inline const int *ink_levels(Ink ink) {
    static const int levels[][3] = {
        [INK_BLACK] = {0, 0, 0}, [INK_RED] = {800, 50, 50}, [INK_AMBER] = {800, 450, 0}, [INK_PALE] = {930, 930, 930}};
    return levels[ink];
}

typedef enum {
    DRAW_PAGE,    /* a new page begins */
    DRAW_OPEN,    /* text: the role of what follows ("H1", "P"), for those who have the page read to them;
                     target: "foot" in a page's foot, which is not read in use */
    DRAW_CLOSE,   /* text: the same */
    DRAW_TEXT,    /* text in `face` of size `height` from x, on the line y */
    DRAW_ACROSS,  /* text as a picture, turned up along the page's diagonal, its middle at x, y, `width` long */
    DRAW_BAR,     /* x, y, width, height, filled */
    DRAW_FRAME,   /* the same, its edge only, one point wide, inside */
    DRAW_PLACE,   /* text: a name that links lead to; here, on this page */
    DRAW_LINK,    /* x, y, width, height lead to the place `text` */
    DRAW_OUTLINE, /* text: an entry of the contents; it leads to the place `target` */
} DrawKind;

typedef struct {
    DrawKind kind;
    Face face;
    Ink ink;
    Length x, y, width, height;
    Str text, target;
} Draw;

typedef struct {
    Str title, author, subject;
    Str day; /* YYYY-MM-DD; empty: none */
    Length width, height;
    Length page_width; /* of one of the pages that may lie side by side on it */
    const Draw *draws;
    size_t n, pages;
} Drawing;

typedef enum { PAINT_PDF, PAINT_PNG } PaintKind;

/* What the press module gives; it is opened when the first card is drawn. */
enum { PRESS_VERSION = 3, WHOLE_SIZE = 10000 };
typedef struct SwPress {
    uint32_t version;
    int32_t em, x_height, cap_height; /* of the typeface, in its own units */
    int32_t other_size;               /* of WHOLE_SIZE: of the other typeface, so that its small letters are as high */
    /* How far a character moves the pen, in units of the em; negative: the face has no such character that stands by itself. */
    int32_t (*advance)(Face face, uint32_t code);
    /* What two characters do not share, in per cent of what they cover together when they are laid on each other. */
    int32_t (*unlike)(Face face, uint32_t a, uint32_t b);
    /* A face with these characters only, without tables that would move them: an OpenType file. False: no memory. */
    bool (*subset)(Face face, const uint32_t *codes, size_t n, Sink sink);
    /* False: *why_not says why, in words. */
    bool (*paint)(const Drawing *drawing, PaintKind kind, Sink sink, const char **why_not);
} Press;

/* The drawing as text, one mark a line: what tests compare. */
void buf_drawing(Buf *buf, const Drawing *drawing);
/* As SVG with real text, its typeface inside (paint_svg.c). False: no memory. */
bool buf_svg(Buf *buf, Arena *arena, const Drawing *drawing, const Press *press);
#endif
