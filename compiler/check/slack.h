/* How much each time of a proved rule could be tightened, the others as they stand, with the rule still proved.
   takes   a verdict, and a way to ask whether its rule would be proved with one time changed
   gives   the verdict's limits
   owns    them in the job's arena
   never   searches by itself */
#ifndef CHECK_SLACK_H
#define CHECK_SLACK_H
#include "check/observers.h"

typedef enum { HELD, NOT_HELD, NOT_KNOWN } Held;
typedef struct {
    void *context;
    Held (*holds)(void *context, uint32_t part, OtherTime other); /* part: as in ObserverPlan */
} SlackProbe;

/* One limit that may be tightened down to nothing. `time`: what the probe is asked for; `guess`: what it may have to spare. */
void slack_measure_one(TimeLimit *limit, const int64_t *time, int64_t guess, SlackProbe probe);
void slack_measure(const Job *job, const Model *model, Verdict *verdict, SlackProbe probe);
#endif
