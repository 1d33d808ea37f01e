/* The search without a gate: what can be reached, and what is wrong whatever the rules say.
   takes   a model
   gives   findings, and what the gates lean on: the frame, the values possible at each place, the edges that some run takes
   owns    all in the arena given
   never   judges a gate by a search of its own */
#ifndef CHECK_FIRSTPASS_H
#define CHECK_FIRSTPASS_H
#include "check/reach.h"
#include "check/search.h"

typedef struct {
    Job *job;
    const Model *model;
    Frame *edges; /* every edge, also those that nothing can take */
    Frame *frame; /* the search's: without those that facts alone forbid */
    Frame *taken; /* only what some run takes, where the search came to its end; else the search's */
    Reach *reach;
    Search *
        search; /* its nodes are gone with the next search; its sets of edges and places stay. Of firstpass_grown: only these */
    bool
        complete; /* the search came to its end; else its sets hold all that facts alone leave possible, and nothing is sure to come */
    uint32_t zones;
} FirstPass;

/* Findings go to the job; what the pass keeps lies in `arena`. */
FirstPass *firstpass_run(Job *job, Arena *arena, const Model *model, Store *store, CheckBudget budget);
/* The same, without findings, of engines that take any time to come to rest: what the pass as given finds possible may lean on their
   run-down. */
FirstPass *firstpass_coasting(const FirstPass *as_given, Arena *arena, Store *store, CheckBudget budget);
/* For a model that has further edges besides those of the pass's, which came to its end: what the searches need, without a search of its
   own and without findings. */
FirstPass *firstpass_grown(const FirstPass *of, Arena *arena, const Model *model);
static inline bool pass_edge(const FirstPass *first, uint32_t edge) {
    return first->search->edge_taken[edge / 64] >> (edge % 64) & 1;
}
static inline bool pass_place(const FirstPass *first, uint32_t place) {
    return first->search->place_seen[place / 64] >> (place % 64) & 1;
}

/* Decides a gate from the values possible at each place where that is enough. */
typedef struct {
    bool decided;    /* kept on every path, or never put to the test */
    uint32_t tested; /* edges that put it to the test */
} Quick;
Quick firstpass_quick(const FirstPass *first, const GateInstance *gate, Arena *scratch);
/* The same of other values: those of `reach`, over the frame of the first pass. */
Quick firstpass_quick_at(const FirstPass *first, Reach *reach, const GateInstance *gate, Arena *scratch);

/* What puts a gate to the test: an edge from a place, or (edge NO_INDEX) a place. None where the search did not come to its end. */
typedef struct {
    uint32_t edge, place;
} TestPoint;
typedef VEC(TestPoint) TestPoints;
TestPoints firstpass_tests(const FirstPass *first, const GateInstance *gate, Arena *scratch);

/* ---- findings of the first pass (graph.c, lines.c) ---- */
void lines_report(FirstPass *first);
void graph_report(FirstPass *first);
#endif
