/* Random runs of a model: edges by lot, and delays that lie on, just before and just after what the model and its gates ask for. */
#ifndef ORACLE_SAMPLE_H
#define ORACLE_SAMPLE_H
#include "replay.h"

typedef struct {
    const Model *model;
    uint32_t *ambient_first, *ambient; /* by place: the ambient edges that leave it */
    int64_t *times;                    /* lengths that gates speak of */
    uint32_t n_times;
    uint64_t seed;
} Sampler;

Sampler *sampler_new(const Model *model, uint64_t seed);
void sampler_free(Sampler *sampler);
/* One run of at most run->most edges; NULL, or why the interpreter refused what the sampler thought allowed. */
const char *sample_run(Sampler *sampler, Run *run, uint8_t *chosen);
#endif
