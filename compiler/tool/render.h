/* Findings and verdicts as text for a person, as JSON, or as SARIF. */
#ifndef TOOL_RENDER_H
#define TOOL_RENDER_H
#include "base/arena.h"
#include "base/str.h"
#include "workspace/startwright.h"
#include <stdio.h>

typedef struct {
    FILE *file;
    bool colour; /* only on a terminal, and never with NO_COLOR */
} Screen;

Screen screen_of(FILE *file);
/* file:line:column: error: text [id], the line with the place marked, notes, the counterexample, the fix. */
void render_findings(Screen screen, const SwUnit *unit);
/* Counts, the scope of what is claimed, the cautions. */
void render_summary(Screen screen, const SwUnit *unit, bool details); /* details: the verdicts stand before it */
/* legibility: what was measured of each tail's cards, an object each; 0: nothing was. */
bool render_json(FILE *file, const SwUnit *unit, bool details, const Str *legibility, size_t n_legibility);
/* `arena`: for what is needed on the way. */
bool render_sarif(FILE *file, Arena *arena, const SwUnit *unit);
#endif
