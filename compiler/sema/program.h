/* All declarations of a compile, found by name, and the tails resolved from them.
   takes   parsed files (the main file, its `use`s, the library's)
   gives   Program, and a Tail for each tail asked for
   owns    all in the job's arena
   never   reads a file: the caller hands over each one that is named */
#ifndef SEMA_PROGRAM_H
#define SEMA_PROGRAM_H
#include "sema/tail.h"

typedef struct Program Program;

/* Called for each `use`: returns the parsed file or NULL after having reported at `use`. `from` is the file that names it. */
typedef struct {
    void *context;
    File *(*load)(void *context, const File *from, const Decl *use);
} Loader;

/* Reads everything reachable from the main files, reports circles, doubles and names nobody declared. Never NULL. */
Program *program_open(Job *job, File *const *files, size_t n_files, Loader loader);

/* Tails to check: every tail, and every aircraft type that has none, of the main files and their neighbours (not the library), in order
   of their declaration. */
size_t program_tail_count(const Program *program);
const Decl *program_tail_decl(const Program *program, size_t index);
/* NULL where the tail is too broken to go on (reported). */
Tail *program_tail(Job *job, Program *program, const Decl *tail_decl);
/* The same once more: what its lines have wrong has been told, and what is found again goes nowhere. */
Tail *program_tail_again(const Job *job, Program *program, const Decl *tail_decl);

/* Findings from the first on, of lines of a tail that is adapted, count for that tail: another may not have the lines so. */
void findings_of_tail(const Job *job, const Tail *tail, size_t first);

/* The aircraft at the root of a tail by its own text: without adaptations, without gates. Made once for each aircraft; what is
   wrong with it is not told. NULL: it cannot be made. */
const Tail *program_handbook(Program *program, const Decl *tail_decl);
/* Are all declared lines of a source taken over or left out for a reason, and has each difference from the aircraft that drops a line
   or gives more room a reason? */
void handbook_check(Job *job, Program *program, const Tail *tail);

/* Documents that name this tail, in order. */
size_t program_documents(const Program *program, const Decl *tail_decl, const Decl ***documents);
/* The standard of the first document for this tail that names one; NULL: none does. */
const Decl *program_standard(const Program *program, const Decl *tail_decl);
/* ranks.c: how a standard, with those it builds on, ranks the program's own checks. Errors of the text keep their severity. */
typedef struct {
    bool said;
    Severity severity;
} CheckRank;
void standard_check_ranks(Program *program, const Decl *standard, CheckRank ranks[FINDING_COUNT]);
const Decl *program_find(const Program *program, DeclKind kind, Name name);
/* All declarations of one kind, in the order of the files; a file comes after the files it uses. Gates written inside a standard
   are not among them (program_find knows them by name). */
size_t program_all(const Program *program, DeclKind kind, const Decl ***decls);
/* Those of them that are written for this tail (see program_is_for), in the same order. The list lasts until another tail is asked for. */
size_t program_all_for(const Program *program, DeclKind kind, const Decl *tail_decl, const Decl ***decls);
bool program_in_library(const Program *program, const Decl *decl);
/* The aircraft type at the root of a tail (itself for a type); NULL where the chain is broken (reported). */
const Decl *program_aircraft(const Program *program, const Decl *tail_decl);
/* Is a procedure, drill or adaptation written for this tail: its `for` names the tail, one it is derived from, or nobody? */
bool program_is_for(const Program *program, const Decl *decl, const Decl *tail_decl);
/* Waivers that name the gate (by decl kind DECL_WAIVE), in order. */
size_t program_waivers(const Program *program, const Decl ***waivers);
#endif
