/* A search in the widest view, without time and facts of the model: sets of situations flow along the edges until nothing is new.
   takes   a Search of a slice of such a view, with an observer
   gives   the same end as search_run; of the sets of edges only those that put the rule to the test
   owns    as the search
   never   tells a path */
#ifndef CHECK_SWEEP_H
#define CHECK_SWEEP_H
#include "check/search.h"

bool sweep_fits(const Search *search);
/* SEARCH_BUDGET: the rule keeps too many situations apart; search_run must decide. */
SearchEnd sweep_run(Search *search);
#endif
