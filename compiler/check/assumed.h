/* What every proof of a tail takes for granted, and what single verdicts lean on, in words and numbers.
   takes   a model
   gives   the list, the same for every gate
   owns    it in the job's arena
   never   searches */
#ifndef CHECK_ASSUMED_H
#define CHECK_ASSUMED_H
#include "check/check.h"

void assumed_list(const Job *job, const Model *model, CheckResult *result);
/* The engagements that the gate's duty lets go over: there are some. */
bool assumed_over_duty(const Model *model, const GateInstance *gate);
#endif
