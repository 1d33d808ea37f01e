/* The rules by their meaning: is a gate kept by one recorded run? Looked up in the run's events and their times, without an observer. */
#ifndef ORACLE_RULES_H
#define ORACLE_RULES_H
#include "replay.h"

typedef struct {
    bool broken, by_time; /* by time: something was not done in time, or lasted too long */
    uint32_t moment;      /* the moment that breaks it first; by time: the one after which time went on too long */
    int64_t at_ms;
    uint32_t tested;      /* how often the run put the rule to the test */
} Judgement;

/* The run is looked at until its `now_ms`. False: a rule that speaks of no single run (the two decided on the graph). */
bool rule_speaks_of_runs(RuleKind rule);
Judgement rule_judge(const Run *run, const GateInstance *gate);
#endif
