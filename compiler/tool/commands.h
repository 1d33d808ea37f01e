/* The commands of the program; each returns its exit status (options.h). */
#ifndef TOOL_COMMANDS_H
#define TOOL_COMMANDS_H
#include "tool/options.h"

int check_command(const Options *options);
int issue_command(const Options *options);
int gates_command(const Options *options);
int ids_command(const Options *options);
int sources_command(const Options *options);
int why_command(const Options *options);
#endif
