/* The pages of `startwright why` (compiler/tool/why.text), as bytes inside the program. */
#ifndef TOOL_WHY_H
#define TOOL_WHY_H
#include <stddef.h>

extern const char why_text[]; /* a NUL follows, which the size does not count */
extern const size_t why_text_size;
/* The library's gates each with a good and a bad twin (tests/gates/GATE.case), "=== GATE" before each. */
extern const char twins_text[];
extern const size_t twins_text_size;
#endif
