/* "each STATE can reach STATE": a game on the places, the pilot against engine and world. */
#ifndef CHECK_WAYS_H
#define CHECK_WAYS_H
#include "check/firstpass.h"

typedef struct {
    VerdictKind kind;
    uint32_t tested;
    Str why;
    Finding *finding;
} WaysAnswer;
WaysAnswer ways_decide(Job *job, const FirstPass *first, const GateInstance *gate);
#endif
