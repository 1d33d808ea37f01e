/* The intern table: each distinct word once, compared by number. 0 is no name. */
#ifndef BASE_NAMES_H
#define BASE_NAMES_H
#include "base/str.h"

typedef uint32_t Name;

typedef struct {
    Arena *arena;
    Str *text; /* by Name */
    uint32_t n, cap;
    uint64_t *slots; /* open hash over the names, upper half of the hash beside the Name; never iterated */
    uint32_t slot_mask;
    const void *keywords; /* front/words.c keeps its tables here: one table of names has one set of keywords */
} Names;

void names_open(Names *names, Arena *arena);
Name name_intern(Names *names, Str text);     /* copies the text when new */
Name name_find(const Names *names, Str text); /* 0: not known */
Str name_text(const Names *names, Name name); /* "" for 0 */

/* Map from Name (or any nonzero 32-bit key) to a pointer; never iterated. */
typedef struct {
    Arena *arena;
    uint32_t *keys;
    void **values;
    uint32_t n, mask;
} NameMap;
void *map_get(const NameMap *map, uint32_t key);       /* NULL: absent */
void map_put(NameMap *map, uint32_t key, void *value); /* replaces */
#endif
