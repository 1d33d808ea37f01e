/* What differs between two texts, line by line, in the unified form that patch(1) reads.
   takes   two texts and the name to head them with
   gives   hunks with three lines around each change; nothing where the texts are equal
   owns    scratch memory in the buffer's arena
   never   takes more than linear time beyond DIFF_MINIMAL changed lines: it is then no longer the least difference */
#ifndef TOOL_DIFF_H
#define TOOL_DIFF_H
#include "base/str.h"

#define DIFF_MINIMAL 1000

void diff_unified(Buf *buf, Str name, Str before, Str after);
#endif
