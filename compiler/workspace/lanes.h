/* Several tails at once.
   takes   a unit that has read its texts, and work to be done for each of n
   gives   the work done, in no order, by as many threads as there are lanes
   owns    the lanes, until the workspace's next compile
   never   calls the host but for its `stop` and, one at a time, its `progress` */
#ifndef WORKSPACE_LANES_H
#define WORKSPACE_LANES_H
#include "workspace/workspace.h"

typedef struct {
    void *context;
    void (*each)(void *context, Unit *lane, size_t i);
} LaneWork;
/* Opens lanes until there are `wanted`, the unit itself being one; how many there are. */
size_t lanes_open(Unit *unit, size_t wanted);
/* A lane that runs out of memory ends the compile. */
void lanes_run(Unit *unit, LaneWork work, size_t n);
void lanes_close(SwWorkspace *workspace);
#endif
