/* Inside back: why a line, a number or equipment of a tail differs from its aircraft's, by which source, and on whose word. */
#ifndef BACK_REASONS_H
#define BACK_REASONS_H
#include "back/changes.h"

typedef struct {
    Str reason, source, who; /* empty: not said */
    bool given;              /* a reason or a source is */
} Reason;

/* What an adaptation says of its line; of the whole adaptation where the line is silent. */
Reason reason_of_edit(const BackInput *input, const TailEdit *made);
Reason reason_of_craft(const BackInput *input, const CraftLine *line);
/* The adaptation that took a line out, or replaced it or what it stands in; NULL: none did. */
const TailEdit *edit_that_ended(const BackInput *input, const Side *side, const SideLine *line);
/* The last of that kind that was about the line; NULL: none. */
const TailEdit *edit_about(const BackInput *input, EditKind a, EditKind b, const SideLine *line);
/* "because, from SOURCE SECTION (title)" in one cell; what is missing is said. */
Str reason_cell(const BackInput *input, const Reason *reason);
Str who_cell(const BackInput *input, const Reason *reason);
#endif
