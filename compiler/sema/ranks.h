/* What standards say of severities, whatever the aircraft: which standards they build on, how they rank the program's own checks, and
   whether two that one builds on are at odds.
   takes   the program's declarations
   gives   severities by finding; findings about ranks that cannot count */
#ifndef SEMA_RANKS_H
#define SEMA_RANKS_H
#include "sema/program_parts.h"

enum { STANDARD_DEPTH = 16 }; /* standards upon standards */

/* False: the word is none of must, should and note. No word (0) is should. */
bool rank_severity(const Names *names, Name word, Severity *out);
/* Is this the file that a path names, with or without its ending? */
bool source_has_path(const Source *source, Str path);
/* The standards that a word of a `holds` line stands for: one of that name, or those written in the file of that path. */
Decls standards_held(const Program *program, Word word);
/* program_check.c: ranks of checks that have their severity for good, and ranks of held standards that are at odds. */
void ranks_check(Program *program, const Decl *standard);
#endif
