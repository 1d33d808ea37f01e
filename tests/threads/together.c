/* Workspaces in threads of their own, at once: each compiles its sources again and again, issues tables and cards of them and runs a table. What
   each thread gets must be what the first one got alone, byte for byte; a race that shows in no byte is what ThreadSanitizer is for.
   usage: together THREADS ROUNDS FILE.start...     exit status 1: bytes differ, 3: something could not be done */
#include "startwright.h"
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_THREADS = 16 };

static char **sources;
static SwText *texts;
static size_t n_sources, rounds;

typedef struct {
    char *bytes;
    size_t n, room;
} Bytes;

typedef struct {
    size_t first; /* the source it begins with, so that the threads are at different things */
    Bytes *got;   /* for each source */
    const char *failed;
} Work;

static bool take(void *context, const char *bytes, size_t n) {
    Bytes *to = context;
    if (to->n + n > to->room) {
        size_t room = (to->n + n) * 2;
        char *more = realloc(to->bytes, room);
        if (!more) return false;
        to->bytes = more;
        to->room = room;
    }
    if (n) memcpy(to->bytes + to->n, bytes, n);
    to->n += n;
    return true;
}

static bool ends_with(SwText text, const char *end) {
    size_t n = strlen(end);
    return text.len >= n && !memcmp(text.ptr + text.len - n, end, n);
}

/* Where a run of the table comes to by taking the first offer again and again. */
static bool run_table(Bytes *table, Bytes *to) {
    SwRun *run = sw_run_open((SwText){table->bytes, table->n});
    bool ran = run && !sw_run_why_not(run).len;
    for (int i = 0; ran && i < 40; i++) {
        const SwOffer *offers;
        size_t n;
        char line[300];
        if (!(ran = sw_run_offers(run, &offers, &n)) || !n) break;
        int length = snprintf(line, sizeof line, "%lld %.*s", (long long)offers[0].earliest_ms,
                              (int)offers[0].label.len, offers[0].label.ptr);
        ran = sw_run_line(run, (SwText){line, (size_t)length}, (SwSink){to, take});
    }
    sw_run_close(run);
    return ran;
}

/* What one thread does with one source: everything that needs no module. */
static const char *compile(size_t source, Bytes *to) {
    SwWorkspace *workspace = sw_open(NULL);
    SwText path = {sources[source], strlen(sources[source])};
    SwGoal goal = {.kind = SW_GOAL_ISSUE, .draft = true};
    const SwUnit *unit =
        workspace && sw_set_text(workspace, path, texts[source]) ? sw_compile(workspace, &path, 1, &goal) : NULL;
    const char *failed = unit ? NULL : "a source could not be compiled";
    size_t tables = 0;
    to->n = 0;
    for (size_t i = 0; unit && i < unit->n_findings; i++)
        take(to, unit->findings[i].message.ptr, unit->findings[i].message.len);
    for (size_t i = 0; unit && !failed && i < unit->n_outputs; i++) {
        SwText why_not = {NULL, 0}, name = unit->outputs[i].file_name;
        Bytes one = {NULL, 0, 0};
        if (!ends_with(name, ".table.json") && !ends_with(name, ".card.txt")) continue;
        if (!sw_emit(unit, i, (SwSink){&one, take}, &why_not)) failed = "an output could not be made";
        else if (!take(to, one.bytes, one.n)) failed = "no memory";
        else if (ends_with(name, ".table.json") && ++tables && !run_table(&one, to)) failed = "a table did not run";
        free(one.bytes);
    }
    if (!failed && !tables) failed = "there was no table";
    sw_close(workspace);
    return failed;
}

static void *work(void *argument) {
    Work *mine = argument;
    for (size_t i = 0; i < rounds * n_sources && !mine->failed; i++) {
        size_t source = (mine->first + i) % n_sources;
        mine->failed = compile(source, &mine->got[source]);
    }
    return NULL;
}

static bool read_source(const char *path, SwText *text) {
    FILE *file = fopen(path, "rb");
    Bytes all = {NULL, 0, 0};
    char part[4096];
    if (!file) return false;
    for (size_t n; (n = fread(part, 1, sizeof part, file)) > 0;)
        if (!take(&all, part, n)) break;
    bool whole = feof(file) && !ferror(file);
    fclose(file);
    *text = (SwText){all.bytes, all.n};
    return whole;
}

int main(int argc, char **argv) {
    size_t n_threads = argc > 3 ? strtoul(argv[1], NULL, 10) : 0;
    if (!n_threads || n_threads > MOST_THREADS) return 3;
    rounds = strtoul(argv[2], NULL, 10);
    sources = argv + 3;
    n_sources = (size_t)argc - 3;
    texts = calloc(n_sources, sizeof *texts);
    if (!texts) return 3;
    for (size_t i = 0; i < n_sources; i++)
        if (!read_source(sources[i], &texts[i])) return fprintf(stderr, "cannot read %s\n", sources[i]), 3;

    /* the last of the works is done alone, before the others */
    Work works[MOST_THREADS + 1] = {0};
    pthread_t threads[MOST_THREADS];
    for (size_t t = 0; t <= n_threads; t++) {
        works[t].first = t;
        if (!(works[t].got = calloc(n_sources, sizeof *works[t].got))) return 3;
    }
    Work *alone = &works[n_threads];
    work(alone);
    for (size_t t = 0; t < n_threads; t++)
        if (pthread_create(&threads[t], NULL, work, &works[t])) return 3;
    for (size_t t = 0; t < n_threads; t++) pthread_join(threads[t], NULL);

    int status = 0;
    size_t bytes = 0;
    for (size_t t = 0; t <= n_threads; t++) {
        if (works[t].failed) return fprintf(stderr, "thread %zu: %s\n", t, works[t].failed), 3;
        for (size_t i = 0; i < n_sources; i++) {
            Bytes *got = &works[t].got[i], *wanted = &alone->got[i];
            if (got->n != wanted->n || memcmp(got->bytes, wanted->bytes, got->n)) {
                printf("thread %zu got something else of %s\n", t, sources[i]);
                status = 1;
            }
            if (t == n_threads) bytes += got->n;
        }
    }
    if (!status) printf("%zu threads, %zu sources, %zu bytes each: the same\n", n_threads, n_sources, bytes);
    for (size_t t = 0; t <= n_threads; t++) {
        for (size_t i = 0; i < n_sources; i++) free(works[t].got[i].bytes);
        free(works[t].got);
    }
    for (size_t i = 0; i < n_sources; i++) free((char *)(size_t)texts[i].ptr);
    free(texts);
    return status;
}
