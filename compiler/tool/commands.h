/* The commands of the program (commands.def); each returns its exit status (options.h). */
#ifndef TOOL_COMMANDS_H
#define TOOL_COMMANDS_H
#include "tool/options.h"

#define COMMAND(symbol, name, run, arguments, help) int run(const Options *options);
#include "tool/commands.def"
#undef COMMAND
#endif
