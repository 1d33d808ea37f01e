/* A program of someone else: it knows the public header and the archive only. */
#include <startwright.h>
#include <stdio.h>
#include <string.h>

static SwText text_of(const char *text) {
    return (SwText){text, strlen(text)};
}

int main(void) {
    SwHost host = {0};
    SwWorkspace *workspace = sw_open(&host);
    if (!workspace) return 3;
    SwText path = text_of("client.start"), gone = text_of("gone.start");
    SwGoal goal = {.kind = SW_GOAL_PARSE};

    sw_set_text(workspace, path, text_of("use trade/common\n"));
    const SwUnit *unit = sw_compile(workspace, &path, 1, &goal);
    if (!unit || unit->n_findings != 0) return puts("a sound text has findings"), 1;

    sw_set_text(workspace, path, text_of("use trade/common\n\nprocedure {{{\n"));
    unit = sw_compile(workspace, &path, 1, &goal);
    if (!unit || unit->errors == 0) return puts("a broken text has no findings"), 1;
    if (unit->findings[0].place.line != 3) return puts("the finding is not on line 3"), 1;

    unit = sw_compile(workspace, &gone, 1, &goal);
    if (!unit || unit->n_findings != 1) return puts("a missing file is not one finding"), 1;
    if (unit->findings[0].id.len != 11 || memcmp(unit->findings[0].id.ptr, "cannot-read", 11))
        return puts("a missing file is not cannot-read"), 1;
    sw_close(workspace);
    return 0;
}
