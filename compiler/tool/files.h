/* Files as the program reads and writes them: whole, or not at all. Only tool/ touches files. */
#ifndef TOOL_FILES_H
#define TOOL_FILES_H
#include "base/str.h"

/* False with a reason in words ("it is a folder", "there is no such file"). At most LIMIT_FILE_BYTES. "-" is standard input. */
bool file_read(Arena *arena, const char *path, Str *text, Str *why_not);
/* Written beside the old file and put in its place in one step; on failure the old file stays as it was. */
bool file_replace(const char *path, Str text, Str *why_not);
/* The same in two steps, for several files of which all or none are to change: first each is written beside its place (false: nothing
   is left there), then each is put there. `beside` belongs to the caller until it is settled or unstaged. */
bool file_stage(const char *path, Str text, char **beside, Str *why_not);
bool file_settle(const char *path, char *beside, Str *why_not);
void file_unstage(char *beside);
/* The path of a file in the same folder whose name is like this one's; empty: none. */
Str file_nearest(Arena *arena, const char *path);
/* Makes a folder and those above it. */
bool folder_make(const char *path, Str *why_not);
#endif
