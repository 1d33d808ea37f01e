/* One compile as the program does it: files from the disk, the day from the clock unless given. */
#ifndef TOOL_RUN_H
#define TOOL_RUN_H
#include "base/arena.h"
#include "tool/options.h"
#include "workspace/startwright.h"

typedef struct {
    Arena texts; /* what was read; lives until run_close */
    jmp_buf exhausted;
    SwWorkspace *workspace;
    const SwUnit *unit;
    char today[11];
    const struct SwPress *press;   /* NULL until something is drawn */
    const struct SwBinder *binder; /* NULL until a workbook is made */
} Run;

typedef enum { FORMAT_TEXT, FORMAT_JSON, FORMAT_SARIF } Format;
/* False after a message on standard error: --format is none that this command knows. */
bool read_format(const Options *options, Format *format);
bool wants_json(const Options *options, bool *json);
/* 0, or the exit status after a message on standard error; run_close in either case. */
int run_compile(Run *run, const Options *options, SwGoalKind goal);
void run_close(Run *run);
/* After a list of lines: that errors are open, where they are. */
void lines_errors(const SwUnit *unit);
/* By what was found: EXIT_CLEAN, EXIT_ERRORS, EXIT_UNDECIDED. */
int run_status(const SwUnit *unit);
#endif
