/* startwright tidy: the formatter on files.
   takes   the arguments behind the program's name, "tidy" first
   gives   the exit status: 0; 1 where a file has errors or, with --check or --diff, would change; 2 for wrong use and
           files that cannot be read or written; 3 for a fault of the program or no memory
   never   touches a file that has errors, that would not change, or whose formatted text would not mean the same */
#ifndef TOOL_TIDY_H
#define TOOL_TIDY_H

int tidy_command(int argc, char **argv);
#endif
