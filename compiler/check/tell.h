/* What is said of a broken gate: one sentence, what would have kept it, and why it matters. */
#ifndef CHECK_TELL_H
#define CHECK_TELL_H
#include "check/observers.h"
#include "check/witness.h"

Str tell_broken(const Broken *broken); /* without the title */
Str tell_wanted(const Broken *broken);
Str gate_title(const Job *job, const GateInstance *gate);
/* A finding of the gate with its severity and its reason, without a path. */
Finding *tell_gate(Job *job, const GateInstance *gate, Span span, Str what);
Span gate_span(const GateInstance *gate);
/* The verdict's finding with its notes and its path. The search is used up. */
Finding *tell_finding(Job *job, const Broken *broken, Arena *scratch);
/* The same of an end that giving up leads to: a warning at the line that was given up. */
Finding *tell_giving_up(Job *job, const Broken *broken);
#endif
