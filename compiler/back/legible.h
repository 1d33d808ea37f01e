/* How well drawn cards can be read, measured on the finished drawing.
   takes   a drawing, the press it was set with, the distance it is read from
   gives   what was found, what is wanted, and who says so
   never   judges by what the layout meant to do: only by the marks on the paper and the typeface's own measures */
#ifndef BACK_LEGIBLE_H
#define BACK_LEGIBLE_H
#include "back/draw.h"
#include "base/json.h"
#include "base/vec.h"

typedef enum {
    LEGIBLE_KEPT,
    LEGIBLE_MARGINAL, /* custom and house limits: each costs a reader time, and they add up */
    LEGIBLE_SHORT     /* cannot be relied on to be read */
} LegibleGrade;

typedef struct {
    const char *what;
    Str found;          /* with its unit */
    const char *wanted; /* the same */
    const char *source; /* "not read": cited without having been read */
    LegibleGrade grade;
    size_t page, times; /* where the worst stands, and how often it is beyond; 0: everywhere alike */
} LegibleMeasure;
typedef VEC(LegibleMeasure) LegibleList;

LegibleList legible_measure(Arena *arena, const Drawing *drawing, const Press *press, int64_t read_at_mm);
/* A line for each; false: one is short. */
bool buf_legible(Buf *buf, const LegibleList *list);
/* An array of them; false: the same. */
bool json_legible(Json *json, const LegibleList *list);
#endif
