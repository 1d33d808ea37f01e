/* Why nothing puts a gate to the test, in words; empty where nothing short can be said of it.
   The text lives in the job's arena. */
#ifndef CHECK_UNTESTED_H
#define CHECK_UNTESTED_H
#include "check/firstpass.h"

Str untested_why(const FirstPass *first, const GateInstance *gate);
/* It begins with a drill of which a finding says already that the aircraft has none. */
bool untested_is_told(const Model *m, const GateInstance *gate);
#endif
