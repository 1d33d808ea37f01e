/* A run that the explorer found, with the earliest times of its moves.
   takes   a search that ended with a node that was looked for
   gives   Path; where on it things happened
   owns    in the arena given
   never   searches */
#ifndef CHECK_WITNESS_H
#define CHECK_WITNESS_H
#include "check/search.h"

typedef struct {
    uint32_t *nodes; /* from the first to the bad one; move k leads into node k */
    uint32_t n;
    int64_t *at_ms; /* when move k is made; [n]: when the break is certain */
    bool timed;     /* false: the times could not be found (then they are all 0) */
    bool by_time;   /* the break is that time goes on in the last node, by no edge */
} Path;

/* What is told: a gate, and the run that breaks it. */
typedef struct {
    const Job *job;
    const Model *model;
    const GateInstance *gate;
    Search *search;
    const Path *path;
    uint32_t part; /* as in ObserverPlan */
} Broken;

Path witness_path(Arena *arena, const Search *search);
const Edge *witness_edge(const Search *search, const Path *path, uint32_t move);
uint32_t witness_place(const Search *search, const Path *path, uint32_t move); /* where the move leads */
/* The line that a move belongs to: its own, else the one that was next; NULL: none. */
const Item *witness_line(const Search *search, const Path *path, uint32_t move);
/* Where the finding stands: the item of the last edge; where time broke the rule, the item where the pilot waited. */
const Item *witness_item(const Search *search, const Path *path);
/* The move at which the observer's clock was last zeroed. */
uint32_t witness_reset(const Search *search, const Path *path);
#endif
