/* Inside sema: what the gates' files share. */
#ifndef SEMA_RULES_H
#define SEMA_RULES_H
#include "sema/items.h"

/* A gate with the severity that its standard gives it. */
typedef struct {
    const Decl *decl;
    Severity severity;
} Chosen;
typedef VEC(Chosen) ChosenGates;

/* standards.c: the gates a tail is held to, in order: the library's first. standard NULL: all. */
ChosenGates gates_choose(Resolver *r, const Decl *standard);
#endif
