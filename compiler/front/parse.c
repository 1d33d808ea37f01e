#include "front/build.h"
#include "parser.h"

static void parse_source(Parser *p) {
    words_open(p);
    if (!scan_file(p)) return;
    phrases_merge(p);
    repair_braces(p);
    (void)sw_parse(p);
}

File *parse_file(Job *job, const Source *source) {
    File *file = ARENA_NEW(job->arena, File);
    file->source = source;
    Parser parser = {.job = job,
                     .source = source,
                     .file = file,
                     .text = source->text.ptr,
                     .size = (uint32_t)source->text.len,
                     .base = source->base,
                     .line_start = true};
    parser.scratch.exhausted = job->arena->exhausted;
    parse_source(&parser);
    file->comments = parser.comments.at;
    file->n_comments = parser.comments.n;
    arena_free(&parser.scratch);
    return file;
}
