/* Printing pages for a terminal of 80 columns, to standard output. */
#ifndef TOOL_PAGE_H
#define TOOL_PAGE_H
#include "base/str.h"

/* The line of `text` at *at, without its end; *at moves behind it. */
Str page_next_line(Str text, size_t *at);
/* Behind `head` the words, from column `hang` on, broken at blanks. */
void page_words(const char *head, Str text, size_t hang);
/* A line of a source behind `mark` (4 columns); a wide one is broken where the language lets a line go on. */
void page_code(const char *mark, Str line);
#endif
