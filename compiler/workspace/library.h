/* The library in our own language (stdlib/), as bytes inside the program, and as what parsing it gives: both made by the Makefile. */
#ifndef WORKSPACE_LIBRARY_H
#define WORKSPACE_LIBRARY_H
#include "front/ast.h"
#include <stddef.h>

typedef struct {
    const char *path; /* as in `use`: "trade/piston" for stdlib/trade/piston.start */
    const char *text; /* a NUL follows, which len does not count */
    size_t len;
} LibraryFile;

extern const LibraryFile library_files[]; /* sorted by the bytes of their paths */
extern const size_t library_file_count;

/* Made at build time by tool/prepare.c; read only, shared by all workspaces. A workspace begins with copies of the two tables. */
typedef struct {
    Names names;     /* keywords, and every word of the library */
    Sources sources; /* of the library files, in their order; nothing else comes before them */
    File **files;    /* by library file */
} Prepared;
extern const Prepared library_prepared;
#endif
