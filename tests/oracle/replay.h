/* A model run by hand: an interpreter of the timed transition system, written from its definition and sharing nothing with the
   explorer. One run has one value for each fact and whole milliseconds; whatever the model does not allow is refused. */
#ifndef ORACLE_REPLAY_H
#define ORACLE_REPLAY_H
#include "sema/model.h"

/* One edge taken, with what was before and after it. The first moment is the beginning: no edge. */
typedef struct {
    uint32_t edge, from, to;
    int64_t at_ms;
    const uint8_t *before, *after; /* by fact: its value */
} Moment;

typedef struct {
    const Model *model;
    Moment *moments;
    uint8_t *values;   /* of all moments, the facts after each */
    int64_t *zero_ms;  /* by clock: when it was last zeroed */
    uint32_t n, most;
    uint32_t place;
    int64_t now_ms, entered_ms; /* entered: the place */
    bool paced;        /* the pilot keeps the stated pace */
} Run;

Run *run_new(const Model *model, uint32_t most); /* room for `most` edges; by malloc */
void run_free(Run *run);
/* Each returns NULL, or why the model does not allow it; then nothing has changed. `chosen`: by fact, where the world chooses. */
const char *replay_begin(Run *run, const uint8_t *chosen);
const char *run_wait(Run *run, int64_t until_ms);
const char *run_refuses(const Run *run, uint32_t edge);
const char *replay_take(Run *run, uint32_t edge, const uint8_t *chosen);
bool guard_holds(const Guard *guard, const uint8_t *facts);
#define RUN_NO_END INT64_MAX
int64_t run_latest(const Run *run); /* until when time may pass here; RUN_NO_END */
bool edge_leaves(const Model *model, const Edge *edge, uint32_t place);
#endif
