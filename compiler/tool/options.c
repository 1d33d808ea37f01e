#include "tool/options.h"
#include "base/utf8.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const char *name, *value;
    unsigned commands; /* a bit each */
    const char *help;
} OptionInfo;

#define FOR(symbol) (1u << COMMAND_##symbol)
static const OptionInfo option_table[OPTION_COUNT] = {
#define OPTION(symbol, name, value, commands, help) [OPTION_##symbol] = {name, value, commands, help},
#include "tool/options.def"
#undef OPTION
};

typedef struct {
    const char *name, *arguments, *help;
} CommandInfo;
static const CommandInfo command_table[COMMAND_COUNT] = {
#define COMMAND(symbol, name, run, arguments, help) [COMMAND_##symbol] = {name, arguments, help},
#include "tool/commands.def"
#undef COMMAND
};

static bool takes(size_t command, size_t option) {
    return option_table[option].commands >> command & 1u;
}

static void help_option(const OptionInfo *option) {
    const char *value = option->value ? option->value : "";
    size_t cells = strlen(option->name) + utf8_text_width(str_of(value)), column = cells > 22 ? 26 : 22;
    printf("    %s %s%*s%s\n", option->name, value, (int)(column > cells ? column - cells : 1), "", option->help);
}

void options_help(void) {
    printf(
        "startwright: proves the pre-start and start procedures of aircraft, and makes cards and tables from them\n\n");
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        const CommandInfo *command = &command_table[i];
        printf("startwright %s %s\n    %s\n", command->name, command->arguments, command->help);
        for (size_t k = 0; k < OPTION_COUNT; k++)
            if (takes(i, k)) help_option(&option_table[k]);
    }
    printf("startwright --help | --version\n\n"
           "Exit status: 0 nothing worse than a warning, 1 an error, 2 wrong use or a file that cannot be read or "
           "written,\n"
           "3 a fault of the program or no memory, 4 no error, but something is not decided.\n");
}

void options_say_what(void) {
    fputs("startwright: say what to do: ", stderr);
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        fprintf(stderr, "%s%s", i == 0 ? "" : i + 1 == COMMAND_COUNT ? " or " : ", ", command_table[i].name);
    fputs("; see startwright --help\n", stderr);
}

/* COMMAND_COUNT: there is none. */
static size_t find_command(const char *name) {
    size_t i = 0;
    while (i < COMMAND_COUNT && strcmp(command_table[i].name, name) != 0) i++;
    return i;
}

static const char *nearest_command(const char *name) {
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (str_distance(str_of(name), str_of(command_table[i].name), 2) <= 2) return command_table[i].name;
    return NULL;
}

static bool wrong_command(const char *name) {
    const char *nearest = nearest_command(name);
    fprintf(stderr, "startwright: there is no command \"%s\"%s%s%s; see startwright --help\n", name,
            nearest ? ", did you mean \"" : "", nearest ? nearest : "", nearest ? "\"" : "");
    return false;
}

/* OPTION_COUNT: the command takes no such option. */
static size_t find_option(const char *text, size_t len, CommandId command) {
    size_t i = 0;
    while (i < OPTION_COUNT &&
           (strlen(option_table[i].name) != len || strncmp(option_table[i].name, text, len) != 0 || !takes(command, i)))
        i++;
    return i;
}

/* "--tail qm-1" or "--tail=qm-1"; steps *i over a value of its own. */
static bool read_option(Options *options, int argc, char **argv, int *i) {
    const char *text = argv[*i], *equals = strchr(text, '=');
    size_t len = equals ? (size_t)(equals - text) : strlen(text);
    size_t id = find_option(text, len, options->id);
    if (id == OPTION_COUNT) {
        fprintf(stderr, "startwright %s: there is no option \"%.*s\"; see startwright --help\n", options->command,
                (int)len, text);
        return false;
    }
    const OptionInfo *option = &option_table[id];
    if (!option->value && equals) {
        fprintf(stderr, "startwright %s: %s takes no value\n", options->command, option->name);
        return false;
    }
    const char *value = !option->value ? "" : equals ? equals + 1 : *i + 1 < argc ? argv[++*i] : NULL;
    if (!value || (option->value && !*value)) {
        fprintf(stderr, "startwright %s: %s needs a value: %s\n", options->command, option->name, option->value);
        return false;
    }
    options->value[id] = value;
    if (!option->value || !strchr(option->value, ' ')) return true;
    options->second[id] = *i + 1 < argc ? argv[++*i] : NULL;
    if (options->second[id]) return true;
    fprintf(stderr, "startwright %s: %s needs two values: %s\n", options->command, option->name, option->value);
    return false;
}

bool options_read(int argc, char **argv, Options *options) {
    size_t command = find_command(argv[1]);
    if (command == COMMAND_COUNT) return wrong_command(argv[1]);
    options->command = command_table[command].name;
    options->id = (CommandId)command;
    options->files = malloc(sizeof *options->files * (size_t)argc);
    if (!options->files) return false;
    bool only_files = false;
    for (int i = 2; i < argc; i++) {
        if (!only_files && !strcmp(argv[i], "--")) only_files = true;
        else if (only_files || argv[i][0] != '-' || !argv[i][1]) options->files[options->n_files++] = argv[i];
        else if (!read_option(options, argc, argv, &i)) return false;
    }
    return true;
}
