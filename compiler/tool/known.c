/* `startwright known`: a list of what is found today, for `startwright check --known`. */
#include "tool/commands.h"
#include "tool/files.h"
#include "tool/render.h"
#include "tool/run.h"
#include <stdio.h>

static int write_list(const SwUnit *unit, const char *path) {
    Str why_not;
    if (!file_replace(path, (Str){unit->known_list.ptr, unit->known_list.len}, &why_not)) {
        fprintf(stderr, "startwright: cannot write %s: %.*s; what stood there is unchanged\n", path, (int)why_not.len,
                why_not.ptr);
        return EXIT_USAGE;
    }
    printf("%s: %zu %s. Known is not approved: each stays open until the text is mended or a waiver with a reason "
           "stands for "
           "it.\n",
           path, unit->n_known_list, unit->n_known_list == 1 ? "finding" : "findings");
    return EXIT_CLEAN;
}

/* Errors of the text leave nothing proved: a list made of them would hide what the proof would say. */
static int refuse(const SwUnit *unit) {
    render_findings(screen_of(stdout), unit);
    printf("No list was written: %s.\n", unit->errors ? "nothing could be proved until the errors above are mended"
                                                      : "no aircraft stands in these files");
    return unit->errors ? EXIT_ERRORS : EXIT_USAGE;
}

int known_command(const Options *options) {
    if (!options->value[OPTION_LIST]) {
        fprintf(stderr, "startwright known: say where to: --list LIST\n");
        return EXIT_USAGE;
    }
    Run run;
    int status = run_compile(&run, options, SW_GOAL_CHECK);
    if (!status)
        status = run.unit->known_list.len && run.unit->tails ? write_list(run.unit, options->value[OPTION_LIST])
                                                             : refuse(run.unit);
    run_close(&run);
    return status;
}
