/* The library in our own language (stdlib/), as bytes inside the program: made by one rule of the Makefile. */
#ifndef WORKSPACE_LIBRARY_H
#define WORKSPACE_LIBRARY_H
#include <stddef.h>

typedef struct {
    const char *path; /* as in `use`: "trade/piston" for stdlib/trade/piston.start */
    const char *text; /* a NUL follows, which len does not count */
    size_t len;
} LibraryFile;

extern const LibraryFile library_files[]; /* sorted by the bytes of their paths */
extern const size_t library_file_count;
#endif
