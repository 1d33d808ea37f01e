/* The command line: one table of commands and one of options, from which parsing and --help both come. */
#ifndef TOOL_OPTIONS_H
#define TOOL_OPTIONS_H
#include <stdbool.h>
#include <stddef.h>

enum { EXIT_CLEAN = 0, EXIT_ERRORS = 1, EXIT_USAGE = 2, EXIT_FAULT = 3, EXIT_UNDECIDED = 4 };

/* Commands by their number, options as bits of their commands. */
typedef enum {
#define COMMAND(symbol, name, run, arguments, help) COMMAND_##symbol,
#include "tool/commands.def"
#undef COMMAND
    COMMAND_COUNT
} CommandId;

typedef enum {
#define OPTION(symbol, name, value, commands, help) OPTION_##symbol,
#include "tool/options.def"
#undef OPTION
    OPTION_COUNT
} OptionId;

typedef struct {
    const char *command;
    CommandId id;
    const char *value[OPTION_COUNT];  /* NULL: not given; "" for one without a value */
    const char *second[OPTION_COUNT]; /* of an option with two values */
    const char **files;               /* in argv's order; "-" is standard input */
    size_t n_files;
} Options;

/* False after a message on standard error (exit EXIT_USAGE). `argv` outlives the options. */
bool options_read(int argc, char **argv, Options *options);
void options_help(void);
void options_say_what(void); /* what could be done, on standard error */
#endif
