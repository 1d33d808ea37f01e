/* The lines of a source, as they are declared, and which items of a tail take them over.
   takes   the declarations, a tail
   gives   which declared line an item names; what nobody takes over or leaves out
   owns    nothing: the trees are the program's
   never   compares words: a key names a line, it does not repeat it */
#ifndef SEMA_HANDBOOK_H
#define SEMA_HANDBOOK_H
#include "sema/program.h"

/* The list of a source's section; NULL: none is declared. */
const Decl *program_lines(const Program *program, Name source, Name section);
const LineDecl *line_find(const Job *job, const Decl *lines, uint32_t number);
/* The number of a line as written; 0: none is written. */
uint32_t number_written(const Job *job, Amount amount);
/* The declared line that these clauses name; NULL: none, or one that is not declared. */
const LineDecl *line_named(const Job *job, const Program *program, const Why *why);
/* The procedure or drill is that section of the source, by its heading. */
bool heads_section(const Decl *of, const Decl *lines);
/* The line of the aircraft, from the type down, that says of this thing that it is fitted, not fitted or inoperative: the last one. */
const CraftLine *craft_about(const Tail *tail, CraftKind kind, Name thing);
/* The thing that a line is about which drops out; 0: not to be said. */
Name dropped_thing(const Tail *tail, const Stmt *stmt);
#endif
