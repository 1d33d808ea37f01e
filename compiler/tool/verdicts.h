/* Every rule with its verdict, as a table for a person.
   takes   a unit compiled with SwGoal.details
   gives   text of at most 96 cells a line: verdicts by kind and by the tails that share them, then what they take for granted
   owns    what it wraps, in the arena given
   never   decides or leaves out anything: JSON has the same, tail by tail */
#ifndef TOOL_VERDICTS_H
#define TOOL_VERDICTS_H
#include "base/arena.h"
#include "tool/render.h"

void render_verdicts(Screen screen, Arena *arena, const SwUnit *unit);
#endif
