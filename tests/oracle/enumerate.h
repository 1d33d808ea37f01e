/* The oracle: does some run of a small model break a gate? Answered by going through every state, tick by tick.
   Written from the meaning of the rules alone and sharing no code with the explorer. */
#ifndef ORACLE_ENUMERATE_H
#define ORACLE_ENUMERATE_H
#include "sema/model.h"

typedef enum { ORACLE_KEPT, ORACLE_BROKEN, ORACLE_TOO_LARGE } OracleAnswer;
/* Every time of the model and the gate is at most ORACLE_TIME ticks (ms). */
enum { ORACLE_TIME = 8, ORACLE_FACTS = 5, ORACLE_CLOCKS = 4 };
OracleAnswer oracle_ask(const Model *model, const GateInstance *gate);
#endif
