#include "check/ways.h"

WaysAnswer ways_decide(Job *job, const FirstPass *first, const GateInstance *gate) {
    (void)job;
    (void)first;
    WaysAnswer answer = {.kind = VERDICT_NOT_DECIDED, .why = STR("rules of this form are not decided by this edition")};
    if (gate->rule == RULE_CASES) answer.why = STR("whether the cases are complete is told where they stand, not by a rule");
    return answer;
}
