/* What every floor is given for one compile: where to allocate, which words and texts there are, where to report. */
#ifndef BASE_JOB_H
#define BASE_JOB_H
#include "base/diag.h"

typedef struct {
    Arena *arena; /* the unit's: syntax trees, models, findings; freed in one call */
    Names *names;
    Sources *sources;
    Findings *findings;
} Job;
#endif
