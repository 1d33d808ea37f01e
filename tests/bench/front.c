/* The front end alone: reads a file, parses it to the tree, and says how many findings there were.
   usage: front FILE */
#include "front/front.h"
#include "tool/files.h"
#include <stdio.h>

int main(int argc, char **argv) {
    Arena arena = {0};
    Names names;
    Sources sources = {.arena = &arena};
    Findings findings = {.arena = &arena, .names = &names};
    Job job = {&arena, &names, &sources, &findings};
    Str text, why_not;
    names_open(&names, &arena);
    if (argc != 2 || !file_read(&arena, argv[1], &text, &why_not)) return 2;
    const Source *source = source_add(&sources, str_of(argv[1]), text, false);
    if (!source) return 2;
    const File *file = parse_file(&job, source);
    printf("%zu findings\n", findings.list.n);
    return file->broken || findings.list.n ? 1 : 0;
}
