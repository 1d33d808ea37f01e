/* The proof alone: reads and lowers a file once, then times check_model on every tail of it.
   usage: proof FILE ROUNDS      gives: median nanoseconds, places, edges, rules, zones of the first pass, findings
   Files of the library come from the program; a file may not use neighbours. */
#include "check/check.h"
#include "front/front.h"
#include "sema/program.h"
#include "tool/files.h"
#include "workspace/library.h"
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

typedef struct {
    Job job;
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    NameMap files;
} World;

static File *load(void *context, const File *from, const Decl *use) {
    World *world = context;
    (void)from;
    File *known = map_get(&world->files, use->name.name);
    Str path = name_text(&world->names, use->name.name);
    for (size_t i = 0; !known && i < library_file_count; i++) {
        if (!str_eq(str_of(library_files[i].path), path)) continue;
        Str text = {library_files[i].text, library_files[i].len};
        known = parse_file(&world->job, source_add(&world->sources, path, text, true));
        map_put(&world->files, use->name.name, known);
    }
    return known;
}

static long long now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return time.tv_sec * 1000000000LL + time.tv_nsec;
}

static int by_time(const void *a, const void *b) {
    long long left = *(const long long *)a, right = *(const long long *)b;
    return left < right ? -1 : left > right;
}

static void time_proof(World *world, const Model *model, int rounds) {
    long long *times = calloc((size_t)rounds, sizeof *times);
    if (!times) return;
    CheckResult *result = NULL;
    for (int i = 0; i < rounds; i++) {
        long long before = now();
        result = check_model(&world->job, model, (CheckBudget){0});
        times[i] = now() - before;
    }
    qsort(times, (size_t)rounds, sizeof *times, by_time);
    printf("%lld %u %u %u %u %zu\n", times[rounds / 2], result->places, result->edges, result->n_verdicts,
           result->zones, world->findings.list.n);
    free(times);
}

int main(int argc, char **argv) {
    World *world = calloc(1, sizeof *world);
    Str text, why_not;
    if (!world || argc != 3) return 2;
    world->sources.arena = world->findings.arena = world->files.arena = &world->arena;
    names_open(&world->names, &world->arena);
    world->findings.names = &world->names;
    world->job = (Job){&world->arena, &world->names, &world->sources, &world->findings};
    if (!file_read(&world->arena, argv[1], &text, &why_not)) return 2;
    File *file = parse_file(&world->job, source_add(&world->sources, str_of(argv[1]), text, false));
    Program *program = program_open(&world->job, &file, 1, (Loader){world, load});
    for (size_t i = 0; i < program_tail_count(program); i++) {
        Tail *tail = program_tail(&world->job, program, program_tail_decl(program, i));
        Model *model = tail ? model_lower(&world->job, tail) : NULL;
        if (model) time_proof(world, model, atoi(argv[2]));
    }
    arena_free(&world->arena);
    free(world);
    return 0;
}
