/* The program: arguments, files, time and exit belong here and nowhere below. */
#include "tool/commands.h"
#include "tool/options.h"
#include "workspace/startwright.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int (*const run[COMMAND_COUNT])(const Options *options) = {
#define COMMAND(symbol, name, run, arguments, help) [COMMAND_##symbol] = run,
#include "tool/commands.def"
#undef COMMAND
};

static int flushed(int status) {
    if (fflush(stdout) || ferror(stdout)) {
        fprintf(stderr, "startwright: standard output cannot be written\n");
        return EXIT_USAGE;
    }
    return status;
}

static int run_command(int argc, char **argv) {
    Options options = {0};
    int status = options_read(argc, argv, &options) ? run[options.id](&options) : EXIT_USAGE;
    free(options.files);
    return status;
}

/* A stream that is closed from the start must not become one of our files. What takes its place fails at once. */
static void fill_closed_streams(void) {
    for (int stream = 0; stream < 3; stream++)
        if (fcntl(stream, F_GETFD) < 0) (void)!open("/dev/null", stream == 0 ? O_WRONLY : O_RDONLY);
}

int main(int argc, char **argv) {
    fill_closed_streams();
    if (argc < 2) {
        options_say_what();
        return EXIT_USAGE;
    }
    if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h")) {
        options_help();
        return flushed(EXIT_CLEAN);
    }
    if (!strcmp(argv[1], "--version")) {
        printf("startwright %s\n", SW_VERSION);
        return flushed(EXIT_CLEAN);
    }
    return flushed(run_command(argc, argv));
}
