#include "tool/options.h"
#include "base/str.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    OptionId id;
    const char *name, *value; /* value NULL: the option takes none; with a blank in it: two */
    int commands;
    const char *help;
} OptionInfo;

static const OptionInfo option_table[] = {
    {OPTION_TAIL, "--tail", "NAME", COMMAND_CHECK | COMMAND_ISSUE | COMMAND_GATES | COMMAND_IDS | COMMAND_SOURCES,
     "only this tail"},
    {OPTION_FORMAT, "--format", "text|json|sarif",
     COMMAND_CHECK | COMMAND_ISSUE | COMMAND_GATES | COMMAND_IDS | COMMAND_SOURCES, "how it is written (text); sarif: of check and issue"},
    {OPTION_TODAY, "--today", "YYYY-MM-DD", COMMAND_CHECK | COMMAND_ISSUE,
     "the day by which waivers are judged (the real one)"},
    {OPTION_VERDICTS, "--verdicts", NULL, COMMAND_CHECK,
     "list every rule: verdict, what tests it, what it leans on, what its times have to spare"},
    {OPTION_INTO, "--into", "DIR", COMMAND_ISSUE, "the folder for what is made (needed)"},
    {OPTION_ONLY, "--only", "KIND,…", COMMAND_ISSUE, "only these kinds of output: cards, tables"},
    {OPTION_CHANGED, "--changed", "SOURCE SECTION", COMMAND_SOURCES, "only what rests on this section"},
    {OPTION_DRAFT, "--draft", NULL, COMMAND_ISSUE, "also where errors are open: every page says NOT PROVED"},
};
#define N_OPTIONS (sizeof option_table / sizeof *option_table)

typedef struct {
    CommandBit bit;
    const char *name, *arguments, *help;
} CommandInfo;
static const CommandInfo command_table[] = {
    {COMMAND_CHECK, "check", "FILE…", "says what is wrong with procedures, and which rules every path keeps"},
    {COMMAND_ISSUE, "issue", "FILE… --into DIR", "checks, then writes the cards and tables of each document and tail"},
    {COMMAND_TIDY, "tidy", "FILE…", "formats sources in place (--check, --diff; - for standard input)"},
    {COMMAND_GATES, "gates", "[FILE…]",
     "lists the rules that apply to each aircraft, and what some still lack; alone, all of the library"},
    {COMMAND_IDS, "ids", "FILE… [PROCEDURE]",
     "lists the ids by which adaptations and waivers name the lines of procedures and drills"},
    {COMMAND_SOURCES, "sources", "FILE…",
     "lists which lines, limits and rules rest on which section of which source, and counts those that name none"},
    {COMMAND_WHY, "why", "ID", "explains a finding or a rule, with a bad and a good example"},
};
#define N_COMMANDS (sizeof command_table / sizeof *command_table)

void options_help(void) {
    printf(
        "startwright: proves the pre-start and start procedures of aircraft, and makes cards and tables from them\n\n");
    for (size_t i = 0; i < N_COMMANDS; i++) {
        const CommandInfo *command = &command_table[i];
        printf("startwright %s %s\n    %s\n", command->name, command->arguments, command->help);
        for (size_t k = 0; k < N_OPTIONS; k++) {
            const OptionInfo *option = &option_table[k];
            if (!(option->commands & (int)command->bit)) continue;
            char head[64];
            snprintf(head, sizeof head, "%s %s", option->name, option->value ? option->value : "");
            printf("    %-*s %s\n", strlen(head) > 22 ? 26 : 22, head, option->help);
        }
    }
    printf("startwright --help | --version\n\n"
           "Exit status: 0 nothing worse than a warning, 1 an error, 2 wrong use or a file that cannot be read or "
           "written,\n"
           "3 a fault of the program or no memory, 4 no error, but something is not decided.\n");
}

static const CommandInfo *find_command(const char *name) {
    for (size_t i = 0; i < N_COMMANDS; i++)
        if (!strcmp(command_table[i].name, name)) return &command_table[i];
    return NULL;
}

static const char *nearest_command(const char *name) {
    for (size_t i = 0; i < N_COMMANDS; i++)
        if (str_distance(str_of(name), str_of(command_table[i].name), 2) <= 2) return command_table[i].name;
    return NULL;
}

static bool wrong_command(const char *name) {
    const char *nearest = nearest_command(name);
    fprintf(stderr, "startwright: there is no command \"%s\"%s%s%s; see startwright --help\n", name,
            nearest ? ", did you mean \"" : "", nearest ? nearest : "", nearest ? "\"" : "");
    return false;
}

static const OptionInfo *find_option(const char *text, size_t len, CommandBit command) {
    for (size_t i = 0; i < N_OPTIONS; i++)
        if (strlen(option_table[i].name) == len && !strncmp(option_table[i].name, text, len) &&
            (option_table[i].commands & (int)command))
            return &option_table[i];
    return NULL;
}

/* "--tail qm-1" or "--tail=qm-1"; steps *i over a value of its own. */
static bool read_option(Options *options, int argc, char **argv, int *i) {
    const char *text = argv[*i], *equals = strchr(text, '=');
    size_t len = equals ? (size_t)(equals - text) : strlen(text);
    const OptionInfo *option = find_option(text, len, options->bit);
    if (!option) {
        fprintf(stderr, "startwright %s: there is no option \"%.*s\"; see startwright --help\n", options->command,
                (int)len, text);
        return false;
    }
    if (!option->value && equals) {
        fprintf(stderr, "startwright %s: %s takes no value\n", options->command, option->name);
        return false;
    }
    const char *value = !option->value ? "" : equals ? equals + 1 : *i + 1 < argc ? argv[++*i] : NULL;
    if (!value || (option->value && !*value)) {
        fprintf(stderr, "startwright %s: %s needs a value: %s\n", options->command, option->name, option->value);
        return false;
    }
    options->value[option->id] = value;
    if (!option->value || !strchr(option->value, ' ')) return true;
    options->second[option->id] = *i + 1 < argc ? argv[++*i] : NULL;
    if (options->second[option->id]) return true;
    fprintf(stderr, "startwright %s: %s needs two values: %s\n", options->command, option->name, option->value);
    return false;
}

bool options_read(int argc, char **argv, Options *options) {
    const CommandInfo *command = find_command(argv[1]);
    if (!command) return wrong_command(argv[1]);
    options->command = command->name;
    options->bit = command->bit;
    options->files = malloc(sizeof *options->files * (size_t)argc);
    if (!options->files) return false;
    bool only_files = false;
    for (int i = 2; i < argc; i++) {
        if (!only_files && !strcmp(argv[i], "--")) only_files = true;
        else if (only_files || argv[i][0] != '-') options->files[options->n_files++] = argv[i];
        else if (!read_option(options, argc, argv, &i)) return false;
    }
    return true;
}
