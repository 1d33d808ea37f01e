/* Inside sema: a procedure or drill as a tree of lines that an adaptation can take out, put in and move.
   takes   the syntax tree of a procedure or drill, its groups written out
   gives   a copy of it, line by line, with the id of each line; in the end a syntax tree again
   owns    all in the job's arena
   never   writes into the tree it copies: other tails read it, too */
#ifndef SEMA_ADAPT_H
#define SEMA_ADAPT_H
#include "sema/items.h"

typedef struct Line Line;
typedef struct {
    Line *first, *last;
    Stmt **head;  /* where the first statement belongs in the copy */
    Line *owner;  /* the line it is inside of; NULL: the procedure itself */
    Name engine;  /* of the `for` around it, on a twin: ids begin with it; 0: none */
    bool dropped; /* this tail has nothing of it */
    uint32_t depth;
} LineList;

struct Line {
    Stmt *stmt; /* a copy of its own */
    LineList *list;
    Line *prev, *next;
    Line *same;                 /* another line of this id */
    Name id;                    /* 0: nothing can name it */
    const Line *anchor;         /* put behind this line by an adaptation; NULL */
    bool holds;                 /* lines stand inside it */
    bool dropped;               /* about what this tail has not */
    bool gone;                  /* omitted or replaced */
    const Edit *moved, *worded; /* by which they were last; NULL */
    const Edit *ended;          /* the edit that omitted or replaced it */
    uint32_t moved_level, worded_level, ended_level;
};

typedef struct {
    Resolver *r;
    const Decl *decl;
    Walk *walk; /* for the words of ids */
    Stmt *parts;
    NameMap by_id; /* Name -> Line, newest first */
    VEC(LineList *) lists;
    const Decl *groups[LIMIT_GROUP_DEPTH];
    uint32_t n_groups, n_lines;
} LineTree;

LineTree *lines_open(Resolver *r, const Decl *decl);
/* Copies of statements before `before` in the list (NULL: at its end). */
void lines_put(LineTree *tree, LineList *list, const Stmt *stmts, Line *before);
Name line_phase(const Line *line); /* 0: outside phases */
void line_unlink(Line *line);
void line_link(Line *line, LineList *list, Line *before);
bool line_is_remark(const Line *line); /* a note, caution or warning: read before the line below it */
const Stmt *lines_close(LineTree *tree);
#endif
