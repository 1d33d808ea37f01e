/* A path as the explorer tells it, edges and times, run by the interpreter: values are looked for that the world can choose along
   it, so that every step is allowed at its time and the rule is broken where the path says, or kept to its end. */
#ifndef ORACLE_RETELL_H
#define ORACLE_RETELL_H
#include "rules.h"

typedef struct {
    const Model *model;
    const GateInstance *gate;
    const uint32_t *edges; /* n, from the joint on */
    const int64_t *at_ms;  /* of each edge, then of the break where it is by time */
    uint32_t n;
    bool by_time;
    bool kept; /* it is said to keep the rule */
} Told;

/* NULL: it is as told. Else what is wrong. `earlier`: the run breaks the rule, but an earlier step of it did so already: the path
   is longer than it need be. */
const char *retell(const Told *told, uint64_t seed, bool *earlier);
#endif
