/* Startwright in another program: compiles a source, takes the state table of its first tail, and runs the table as far as it
   offers something: always the first thing that the pilot or the world can do.
   cc embed.c $(pkg-config --cflags --libs startwright)     usage: embed SOURCE.start */
#include <startwright.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    char *ptr;
    size_t len, room;
} Bytes;

static bool append(void *context, const char *bytes, size_t n) {
    Bytes *to = context;
    if (to->len + n > to->room) {
        size_t room = (to->len + n) * 2;
        char *grown = realloc(to->ptr, room);
        if (!grown) return false;
        to->ptr = grown, to->room = room;
    }
    memcpy(to->ptr + to->len, bytes, n);
    to->len += n;
    return true;
}

static bool print(void *context, const char *bytes, size_t n) {
    return fwrite(bytes, 1, n, context) == n;
}

/* The table of the first tail; empty, with words on stderr: there is none. */
static Bytes table_of(SwText path, SwText source) {
    Bytes table = {NULL, 0, 0};
    SwWorkspace *workspace = sw_open(NULL);
    SwGoal goal = {.kind = SW_GOAL_ISSUE};
    const SwUnit *unit =
        workspace && sw_set_text(workspace, path, source) ? sw_compile(workspace, &path, 1, &goal) : NULL;
    for (size_t i = 0; unit && i < unit->n_findings; i++)
        if (unit->findings[i].severity == SW_ERROR)
            fprintf(stderr, "%.*s\n", (int)unit->findings[i].message.len, unit->findings[i].message.ptr);
    for (size_t i = 0; unit && i < unit->n_outputs && !table.len; i++) {
        SwText why_not = {NULL, 0};
        if (unit->outputs[i].kind.len != 6 || memcmp(unit->outputs[i].kind.ptr, "tables", 6)) continue;
        if (!sw_emit(unit, i, (SwSink){&table, append}, &why_not)) table.len = 0;
    }
    sw_close(workspace);
    return table;
}

static void follow(SwRun *run) {
    char line[300];
    for (int i = 0; i < 12; i++) {
        const SwOffer *offers;
        size_t n;
        SwRunState state = sw_run_state(run);
        if (state.words.len) printf("next: %.*s\n", (int)state.words.len, state.words.ptr);
        if (!sw_run_offers(run, &offers, &n) || !n) break;
        int length = snprintf(line, sizeof line, "%lld %.*s", (long long)offers[0].earliest_ms,
                              (int)offers[0].label.len, offers[0].label.ptr);
        sw_run_line(run, (SwText){line, (size_t)length}, (SwSink){stdout, print});
    }
    int length = snprintf(line, sizeof line, "stop %lld", (long long)sw_run_state(run).now_ms);
    sw_run_line(run, (SwText){line, (size_t)length}, (SwSink){stdout, print});
}

int main(int argc, char **argv) {
    Bytes source = {NULL, 0, 0};
    FILE *file = argc == 2 ? fopen(argv[1], "rb") : NULL;
    if (!file) return fputs("usage: embed SOURCE.start\n", stderr), 2;
    char room[4096];
    for (size_t n; (n = fread(room, 1, sizeof room, file)) > 0;) append(&source, room, n);
    fclose(file);
    Bytes table = table_of((SwText){argv[1], strlen(argv[1])}, (SwText){source.ptr, source.len});
    SwRun *run = table.len ? sw_run_open((SwText){table.ptr, table.len}) : NULL;
    bool runs = run && !sw_run_why_not(run).len;
    if (runs) follow(run);
    sw_run_close(run);
    free(table.ptr);
    free(source.ptr);
    return runs ? 0 : 1;
}
