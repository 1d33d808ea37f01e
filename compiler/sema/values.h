/* The values of a fact in words: "RICH or LEAN", "at least 925 degC".
   takes   a fact and a set of its values
   gives   its text; steps of a gauge that stand side by side are said as one
   owns    nothing */
#ifndef SEMA_VALUES_H
#define SEMA_VALUES_H
#include "sema/tail.h"

void buf_values(Buf *buf, const Fact *fact, uint64_t mask);
#endif
