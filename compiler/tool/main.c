/* The program: arguments, files, time and exit belong here and nowhere below. */
#include "tool/commands.h"
#include "tool/options.h"
#include "tool/tidy.h"
#include "workspace/startwright.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const char *name;
    int (*run)(const Options *options);
} Command;
static const Command commands[] = {
    {"check", check_command}, {"issue", issue_command},     {"gates", gates_command},
    {"ids", ids_command},     {"sources", sources_command}, {"why", why_command},
};

static int flushed(int status) {
    if (fflush(stdout) || ferror(stdout)) {
        fprintf(stderr, "startwright: standard output cannot be written\n");
        return EXIT_USAGE;
    }
    return status;
}

static int run_command(int argc, char **argv) {
    if (!strcmp(argv[1], "tidy")) return tidy_command(argc - 1, argv + 1);
    Options options = {0};
    int status = EXIT_USAGE;
    if (options_read(argc, argv, &options))
        for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
            if (!strcmp(commands[i].name, options.command)) status = commands[i].run(&options);
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
        fprintf(
            stderr,
            "startwright: say what to do: check, issue, tidy, gates, ids, sources or why; see startwright --help\n");
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
