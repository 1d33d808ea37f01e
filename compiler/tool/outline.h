/* The skeletons of `startwright outline` (compiler/tool/outline/KIND.text), as bytes inside the program. */
#ifndef TOOL_OUTLINE_H
#define TOOL_OUTLINE_H
#include "base/str.h"

extern const char outline_text[]; /* a NUL follows, which the size does not count */
extern const size_t outline_text_size;

/* One kind's skeleton. */
typedef struct {
    Str kind, words; /* "piston", "carburetted piston engine, electric starter" */
    Str uses;        /* `use` lines */
    Str craft;       /* lines in the braces of the aircraft */
    Str text;        /* groups, procedures */
} Skeleton;

/* The n-th of them; false: there are no more. */
bool skeleton_at(size_t n, Skeleton *out);
#endif
