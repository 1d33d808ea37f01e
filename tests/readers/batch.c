/* Runs scripts, parted by lines "---", on a table through the public interface; prints the traces, parted likewise.
   usage: batch TABLE.json <SCRIPTS     exit status 2 and "refused: …" where the table is */
#include "startwright.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool print(void *context, const char *bytes, size_t n) {
    return fwrite(bytes, 1, n, context) == n;
}

static SwText read_all(FILE *file) {
    size_t size = 0, room = 1 << 16;
    char *text = malloc(room);
    for (size_t n; text && (n = fread(text + size, 1, room - size, file)) > 0;)
        if ((size += n) == room) text = realloc(text, room *= 2);
    return (SwText){text, size};
}

int main(int argc, char **argv) {
    FILE *file = argc == 2 ? fopen(argv[1], "rb") : NULL;
    if (!file) return 3;
    SwText table = read_all(file), scripts = read_all(stdin);
    fclose(file);
    SwRun *run = sw_run_open(table);
    if (!run) return 3;
    SwText why_not = sw_run_why_not(run);
    if (why_not.len) fprintf(stderr, "refused: %.*s\n", (int)why_not.len, why_not.ptr);
    for (size_t from = 0, to; from < scripts.len && !why_not.len; from = to + 1) {
        for (to = from; to < scripts.len && scripts.ptr[to] != '\n';) to++;
        SwText line = {scripts.ptr + from, to - from};
        if (line.len == 3 && !memcmp(line.ptr, "---", 3)) {
            puts("---");
            sw_run_again(run);
        } else if (!sw_run_line(run, line, (SwSink){stdout, print})) return 3;
    }
    bool refused = why_not.len > 0;
    sw_run_close(run);
    free((char *)(size_t)table.ptr);
    free((char *)(size_t)scripts.ptr);
    return refused ? 2 : 0;
}
