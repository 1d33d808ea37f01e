/* What every unit test includes: cmocka with what it needs, and comparing a Str with C text. */
#ifndef UNIT_H
#define UNIT_H
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
/* cmocka wants the four above first */
#include <cmocka.h>

#include "base/str.h"

#define assert_str(text, expected) assert_str_at((text), (expected), __FILE__, __LINE__)
static inline void assert_str_at(Str text, const char *expected, const char *file, int line) {
    if (text.len == strlen(expected) && memcmp(text.ptr, expected, text.len) == 0) return;
    print_error("got      \"%.*s\"\nexpected \"%s\"\n", (int)text.len, text.ptr, expected);
    _fail(file, line);
}
#endif
