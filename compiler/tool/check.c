/* `startwright check` and `startwright issue`. */
#include "base/str.h"
#include "tool/commands.h"
#include "tool/files.h"
#include "tool/render.h"
#include "tool/run.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool wants_json(const Options *options, bool *json) {
    const char *format = options->value[OPTION_FORMAT];
    *json = format && !strcmp(format, "json");
    if (!format || *json || !strcmp(format, "text")) return true;
    fprintf(stderr, "startwright %s: --format is text or json, not \"%s\"\n", options->command, format);
    return false;
}

/* The day is said where it decided something: it stands in no file. */
static void report(const Run *run, const Options *options, bool json) {
    if (json) {
        render_json(stdout, run->unit);
        return;
    }
    Screen screen = screen_of(stdout);
    render_findings(screen, run->unit);
    if (options->value[OPTION_VERDICTS]) render_verdicts(screen, run->unit);
    if (run->unit->waived) printf("Waivers judged for %s.\n", run->today);
    render_summary(screen, run->unit);
}

int check_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json)) return EXIT_USAGE;
    Run run;
    int status = run_compile(&run, options, SW_GOAL_CHECK);
    if (!status) {
        report(&run, options, json);
        status = run_status(run.unit);
    }
    run_close(&run);
    return status;
}

/* ---- issue ---- */

static bool kind_known(const char *kind, size_t len) {
    return (len == 5 && !strncmp(kind, "cards", 5)) || (len == 6 && !strncmp(kind, "tables", 6));
}

static bool kinds_known(const char *only) {
    for (const char *at = only; at && *at;) {
        size_t len = strcspn(at, ",");
        if (!kind_known(at, len)) {
            fprintf(stderr, "startwright issue: --only knows cards and tables, not \"%.*s\"\n", (int)len, at);
            return false;
        }
        at += len + (at[len] == ',');
    }
    return true;
}

static bool kind_wanted(const char *only, SwText kind) {
    if (!only) return true;
    for (const char *at = only; *at;) {
        size_t len = strcspn(at, ",");
        if (len == kind.len && !strncmp(at, kind.ptr, len)) return true;
        at += len + (at[len] == ',');
    }
    return false;
}

static bool collect(void *context, const char *bytes, size_t n) {
    buf_str(context, (Str){bytes, n});
    return true;
}

/* Made whole in memory, then put in its place: a full disk leaves the old file. */
static int write_output(Run *run, size_t index, const char *into) {
    const SwOutput *output = &run->unit->outputs[index];
    Buf bytes = {&run->texts, NULL, 0, 0}, path = {&run->texts, NULL, 0, 0};
    buf_text(&path, into);
    buf_char(&path, '/');
    buf_str(&path, (Str){output->file_name.ptr, output->file_name.len});
    buf_char(&path, 0);
    if (!sw_emit(run->unit, index, (SwSink){&bytes, collect})) {
        fprintf(stderr, "startwright: %s could not be made: there is no memory left\n", path.ptr);
        return EXIT_FAULT;
    }
    Str why_not;
    if (!file_replace(path.ptr, buf_view(&bytes), &why_not)) {
        fprintf(stderr, "startwright: cannot write %s: %.*s; what stood there is unchanged\n", path.ptr, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    const char *mark = output->not_proved ? "  NOT PROVED" : output->draft ? "  DRAFT: not approved" : "";
    printf("%s%s\n", path.ptr, mark);
    return 0;
}

static int write_outputs(Run *run, const Options *options) {
    const char *into = options->value[OPTION_INTO], *only = options->value[OPTION_ONLY];
    Str why_not;
    if (!run->unit->n_outputs) {
        printf("Nothing was written: %s.\n", run->unit->tails ? "errors are open (--draft writes all the same, marked NOT PROVED)"
                                                              : "nothing could be proved until the errors above are mended");
        return 0;
    }
    if (!folder_make(into, &why_not)) {
        fprintf(stderr, "startwright: cannot use the folder %s: %.*s\n", into, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    int status = 0;
    for (size_t i = 0; !status && i < run->unit->n_outputs; i++)
        if (kind_wanted(only, run->unit->outputs[i].kind)) status = write_output(run, i, into);
    return status;
}

int issue_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json) || !kinds_known(options->value[OPTION_ONLY])) return EXIT_USAGE;
    if (!options->value[OPTION_INTO]) {
        fprintf(stderr, "startwright issue: say where to: --into DIR\n");
        return EXIT_USAGE;
    }
    Run run;
    int status = run_compile(&run, options, SW_GOAL_ISSUE);
    if (!status) {
        report(&run, options, json);
        int written = write_outputs(&run, options);
        status = written ? written : run_status(run.unit);
    }
    run_close(&run);
    return status;
}
