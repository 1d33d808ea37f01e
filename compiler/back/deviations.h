/* The deviations of a tail from its aircraft in a line each, for the last page of its cards.
   takes   a tail
   gives   "N2 Starter, on: 12 s, aircraft 10 s, LOOSER"
   owns    all in the job's arena
   never   gives reasons: those are in the list of deviations */
#ifndef BACK_DEVIATIONS_H
#define BACK_DEVIATIONS_H
#include "back/back.h"

typedef struct {
    Str of; /* the aircraft; empty: the tail is the aircraft by its own text */
    VEC(Str) lines;
} BriefDeviations;
BriefDeviations deviations_brief(const BackInput *input);
#endif
