/* Which edges of a model make which events of a rule. */
#ifndef CHECK_EVENTS_H
#define CHECK_EVENTS_H
#include "check/observers.h"

typedef struct {
    const Trigger *trigger;
    uint32_t role;
    bool counts; /* its strokes count */
} RoleList;

void events_find(Observer *o, const ObserverPlan *plan, const RoleList *lists, uint32_t n_lists);
#endif
