/* How much each time of a proved rule could be tightened, the others as they stand, with the rule still proved.
   takes   a verdict, and a way to ask whether its rule would be proved with one time changed
   gives   the verdict's limits
   owns    them in the job's arena
   never   searches by itself */
#ifndef CHECK_SLACK_H
#define CHECK_SLACK_H
#include "check/observers.h"

typedef enum { HELD, NOT_HELD, NOT_KNOWN } Held;
/* Not held: a run that breaks the rule was come upon, and its clock read so much there. With a least time of up to `least`, or a most time from
   `most` on, that run may keep it; -1: not told. */
typedef struct {
    Held held;
    int64_t least, most;
    bool sure;  /* with every time longer than `least` it is broken … */
    bool tight; /* … and with `least` it holds */
} Answer;
typedef struct {
    void *context;
    Answer (*holds)(void *context, uint32_t part, OtherTime other); /* part: as in ObserverPlan */
} SlackProbe;

/* One limit that may be tightened down to nothing. `time`: what the probe is asked for; `guess`: what it may have to spare. */
void slack_measure_one(TimeLimit *limit, const int64_t *time, int64_t guess, SlackProbe probe);
void slack_measure(const Job *job, const Model *model, Verdict *verdict, SlackProbe probe);
#endif
