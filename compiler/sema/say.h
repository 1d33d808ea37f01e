/* Inside sema: a sentence about a rule while it is being made. say.c has its words, rule_words.c its forms. */
#ifndef SEMA_SAY_H
#define SEMA_SAY_H
#include "sema/rules.h"

typedef struct {
    Resolver *r;
    const GateInstance *gate;
    Buf buf;
    Scene scene;
    NameMap said; /* names of states whose meaning stands in the sentence already */
    uint32_t depth;
} Say;

void say(Say *s, const char *words);
void say_name(Say *s, Name name);
/* A thing that is not found is silent: what the tail has not was dealt with before. NULL: none. */
const Thing *thing_said(const Say *s, Name ref);
void say_title(Say *s, Name ref); /* "left mixture" */
bool is_procedure(const Say *s, Name name);
void say_value(Say *s, Name name); /* "oil-time (30 s)" */
void say_measured(Say *s, const Measured *measured);
void say_range(Say *s, const Range *range, const char *to);
void say_cond(Say *s, const Cond *cond);
void say_state(Say *s, Name name);
/* order: as what is to be done ("bring the key to OUT"), else as a clause ("the starter goes to ENGAGED"). */
void say_events(Say *s, const Event *event, bool order);
#endif
