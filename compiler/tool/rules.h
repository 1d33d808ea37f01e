/* The library's rules as pages: title, reason, source, the rule as written, and its pair of twins. */
#ifndef TOOL_RULES_H
#define TOOL_RULES_H
#include "base/str.h"

typedef struct {
    Str name, title, file;         /* file: as `use` names it */
    Str because, severity, source; /* source: its title and section */
    Str text;                      /* the declaration as written */
} LibraryRule;
typedef struct {
    LibraryRule *at;
    size_t n;
} RuleList;

RuleList rules_read(Arena *arena);
void rule_print(Arena *arena, const LibraryRule *rule);
#endif
