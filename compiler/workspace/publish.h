/* Inside publishing: places and paths in the public shape. */
#ifndef WORKSPACE_PUBLISH_H
#define WORKSPACE_PUBLISH_H
#include "workspace/workspace.h"

SwPlace publish_place(Unit *unit, Span span);
void publish_trace(Unit *unit, const Trace *trace, SwFinding *out);
/* Findings with a path, and where they stand in `out`. Those that one path breaks get its number and its steps. */
typedef struct {
    const Finding *finding;
    size_t index;
} SharedPath;
void publish_shared(Unit *unit, SharedPath *all, size_t n, SwFinding *out);
#endif
