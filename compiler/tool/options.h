/* The command line: one table of options, from which parsing and --help both come. */
#ifndef TOOL_OPTIONS_H
#define TOOL_OPTIONS_H
#include <stdbool.h>
#include <stddef.h>

enum { EXIT_CLEAN = 0, EXIT_ERRORS = 1, EXIT_USAGE = 2, EXIT_FAULT = 3, EXIT_UNDECIDED = 4 };

typedef enum {
    COMMAND_CHECK = 1,
    COMMAND_ISSUE = 2,
    COMMAND_TIDY = 4,
    COMMAND_WHY = 8,
    COMMAND_GATES = 16,
    COMMAND_IDS = 32,
    COMMAND_SOURCES = 64
} CommandBit;

typedef enum {
    OPTION_TAIL,
    OPTION_FORMAT,
    OPTION_TODAY,
    OPTION_VERDICTS,
    OPTION_INTO,
    OPTION_ONLY,
    OPTION_DRAFT,
    OPTION_CHANGED,
    OPTION_COUNT
} OptionId;

typedef struct {
    const char *command;
    CommandBit bit;
    const char *value[OPTION_COUNT];  /* NULL: not given; "" for one without a value */
    const char *second[OPTION_COUNT]; /* of an option with two values */
    const char **files;               /* in argv's order */
    size_t n_files;
} Options;

/* False after a message on standard error (exit EXIT_USAGE). `argv` outlives the options. */
bool options_read(int argc, char **argv, Options *options);
void options_help(void);
#endif
