/* Texts of the tests, compiled in this process: files, twins, and what they use. */
#ifndef ORACLE_TEXTS_H
#define ORACLE_TEXTS_H
#include "workspace/workspace.h"
#include <stdio.h>

enum { TEXTS_USED = 64 };
typedef struct {
    SwWorkspace *workspace;
    Unit *unit;
    char *text;             /* the main file's */
    char *used[TEXTS_USED]; /* those of files that it uses */
    uint32_t n_used;
} Compiled;

/* By malloc, NUL-terminated; NULL: cannot be read. */
char *text_read(FILE *file);
char *text_of_file(const char *path);
/* The good or the bad one of two twins: tests/gates/run says how they stand in one file. */
char *text_of_twin(const char *path, bool bad);

/* `text` is given over. `other`: NULL, or a path whose text shall be `other_text` wherever it is used. False: no memory, or too much. */
bool text_compile(Compiled *c, const char *path, char *text, const char *other, const char *other_text);
void text_discard(Compiled *c);
#endif
