/* `startwright check` and `startwright issue`. */
#include "back/back.h"
#include "base/json.h"
#include "base/str.h"
#include "tool/commands.h"
#include "tool/files.h"
#include "tool/render.h"
#include "tool/run.h"
#include "tool/verdicts.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The day is said where it decided something: it stands in no file. */
/* What was measured of the cards, an object each. */
typedef VEC(Str) MeasuredCards;

static void report(Run *run, const Options *options, Format format, const MeasuredCards *measured) {
    bool details = options->value[OPTION_VERDICTS];
    if (format == FORMAT_JSON) {
        render_json(stdout, run->unit, details, measured ? measured->at : NULL, measured ? measured->n : 0);
        return;
    }
    if (format == FORMAT_SARIF) {
        render_sarif(stdout, &run->texts, run->unit);
        return;
    }
    Screen screen = screen_of(stdout);
    render_findings(screen, run->unit);
    if (details) render_verdicts(screen, &run->texts, run->unit);
    if (run->unit->waived) printf("Waivers judged for %s.\n", run->today);
    render_summary(screen, run->unit, details);
}

/* ---- issue ---- */

static bool kind_known(const char *kind, size_t len) {
    for (size_t i = 0; i < back_end_count; i++)
        if (len == strlen(back_ends[i].kind) && !strncmp(kind, back_ends[i].kind, len)) return true;
    return false;
}

static bool kinds_known(const char *only) {
    Arena arena = {0};
    bool known = true;
    for (const char *at = only; known && at && *at;) {
        size_t len = strcspn(at, ",");
        known = kind_known(at, len);
        Str words = back_kinds(&arena);
        if (!known)
            fprintf(stderr, "startwright issue: --only knows %.*s, not \"%.*s\"\n", (int)words.len, words.ptr, (int)len,
                    at);
        at += len + (at[len] == ',');
    }
    arena_free(&arena);
    return known;
}

static bool kind_wanted(const char *only, const SwOutput *output) {
    SwText kind = output->kind;
    if (!only) return !output->on_request;
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

/* ---- check ---- */

static bool ends_with(SwText text, const char *end) {
    size_t len = strlen(end);
    return text.len >= len && !memcmp(text.ptr + text.len - len, end, len);
}

static Str cannot_be_set(Run *run, const SwOutput *output, SwText because) {
    Buf out = {&run->texts, NULL, 0, 0};
    Json json;
    json_open(&json, (Sink){&out, collect});
    json_object(&json);
    json_key(&json, "document"), json_str(&json, (Str){output->document.ptr, output->document.len});
    json_key(&json, "tail"), json_str(&json, (Str){output->tail.ptr, output->tail.len});
    json_key(&json, "whyNot"), json_str(&json, (Str){because.ptr, because.len});
    json_end(&json);
    json_close(&json);
    return buf_view(&out);
}

/* MeasuredCards on the cards as they would be drawn, drafts, too. As text it is printed; as JSON it is put into the list. */
static int measure_cards(Run *run, MeasuredCards *list) {
    int status = 0;
    size_t cards = 0;
    for (size_t i = 0; i < run->unit->n_outputs; i++) {
        const SwOutput *output = &run->unit->outputs[i];
        if (!kind_wanted("legibility", output) || !ends_with(output->file_name, list ? ".json" : ".txt")) continue;
        Buf bytes = {&run->texts, NULL, 0, 0};
        SwText because = {0};
        bool good = sw_emit(run->unit, i, (SwSink){&bytes, collect}, &because);
        if (!good) status = because.len ? EXIT_ERRORS : EXIT_FAULT;
        cards++;
        if (list) {
            Str one = bytes.len ? buf_view(&bytes) : cannot_be_set(run, output, because);
            vec_push(&run->texts, list, one);
            continue;
        }
        printf("\n%.*s", (int)bytes.len, bytes.ptr ? bytes.ptr : "");
        if (!good && !bytes.len)
            printf("The cards of %.*s cannot be set: %.*s.\n", (int)output->tail.len, output->tail.ptr,
                   (int)because.len, because.ptr);
    }
    if (!cards && !list) printf("\nNo cards could be drawn, so nothing was measured.\n");
    return status;
}

static int check_and_measure(Run *run, const Options *options, Format format) {
    MeasuredCards list = {0};
    int status = 0;
    if (format == FORMAT_JSON) {
        status = measure_cards(run, &list);
        report(run, options, format, &list);
    } else {
        report(run, options, format, NULL);
        status = measure_cards(run, NULL);
    }
    return status ? status : run_status(run->unit);
}

int check_command(const Options *options) {
    Format format;
    bool measured = options->value[OPTION_LEGIBILITY];
    if (!read_format(options, &format)) return EXIT_USAGE;
    if (measured && format == FORMAT_SARIF) {
        fprintf(stderr, "startwright check: --legibility is told as text or JSON\n");
        return EXIT_USAGE;
    }
    Run run;
    int status = run_compile(&run, options, measured ? SW_GOAL_ISSUE : SW_GOAL_CHECK);
    if (!status && measured) {
        status = check_and_measure(&run, options, format);
    } else if (!status) {
        report(&run, options, format, NULL);
        status = run_status(run.unit);
    }
    run_close(&run);
    return status;
}

/* ---- issue: written whole ---- */

typedef struct {
    const SwOutput *output;
    char *path, *beside;
    SwText remark; /* what is worth a line on the terminal */
} Staged;
typedef struct {
    Staged *at;
    size_t n;
} StagedList;

/* Made whole in memory, then written beside its place: a full disk leaves the old file. */
static int stage_output(Run *run, size_t index, const char *into, StagedList *list) {
    const SwOutput *output = &run->unit->outputs[index];
    Buf bytes = {&run->texts, NULL, 0, 0}, path = {&run->texts, NULL, 0, 0};
    buf_text(&path, into);
    buf_char(&path, '/');
    buf_str(&path, (Str){output->file_name.ptr, output->file_name.len});
    buf_char(&path, 0);
    SwText because;
    if (!sw_emit(run->unit, index, (SwSink){&bytes, collect}, &because)) {
        bool memory = !because.len;
        if (memory) because = (SwText){"there is no memory left", 23};
        fprintf(stderr, "startwright: %s cannot be made: %.*s; nothing was written\n", path.ptr, (int)because.len,
                because.ptr);
        return memory ? EXIT_FAULT : EXIT_ERRORS;
    }
    Staged staged = {output, path.ptr, NULL, because};
    Str why_not;
    if (!file_stage(path.ptr, buf_view(&bytes), &staged.beside, &why_not)) {
        fprintf(stderr, "startwright: cannot write %s: %.*s; nothing was written, what stood there is unchanged\n",
                path.ptr, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    list->at[list->n++] = staged;
    return 0;
}

static int settle_outputs(StagedList *list) {
    int status = 0;
    for (size_t i = 0; i < list->n; i++) {
        Str why_not;
        if (file_settle(list->at[i].path, list->at[i].beside, &why_not)) continue;
        fprintf(stderr, "startwright: cannot write %s: %.*s; what stood there is unchanged\n", list->at[i].path,
                (int)why_not.len, why_not.ptr);
        list->at[i].output = NULL;
        status = EXIT_USAGE;
    }
    return status;
}

static void list_outputs(const StagedList *list) {
    for (size_t i = 0; i < list->n; i++) {
        const SwOutput *output = list->at[i].output;
        if (output)
            printf("%s%s\n", list->at[i].path,
                   output->not_proved ? "  NOT PROVED"
                   : output->draft    ? "  DRAFT: not approved"
                                      : "");
        if (output && list->at[i].remark.len) printf("    %.*s\n", (int)list->at[i].remark.len, list->at[i].remark.ptr);
    }
    if (!list->n)
        printf("Nothing was written: no document asks for that kind of output, or only one of a single tail for "
               "`fleet`.\n");
}

/* A path as make and ninja read it; false: it has a line end, which neither can read. */
static bool buf_depfile_path(Buf *buf, Str path) {
    for (size_t i = 0; i < path.len; i++) {
        char c = path.ptr[i];
        if (c == '\n' || c == '\r') return false;
        if (c == ' ' || c == '#') buf_char(buf, '\\');
        if (c == '$') buf_char(buf, '$');
        buf_char(buf, c);
    }
    return true;
}

/* What was made, and the files that it was made from; each of these also alone, so that make does not miss one that is gone. */
static int write_depfile(Run *run, const char *depfile, const StagedList *list) {
    const SwUnit *unit = run->unit;
    Buf text = {&run->texts, NULL, 0, 0};
    bool fits = true;
    for (size_t i = 0; i < list->n; i++) {
        if (i) buf_text(&text, " \\\n ");
        fits &= buf_depfile_path(&text, str_of(list->at[i].path));
    }
    buf_char(&text, ':');
    for (size_t i = 0; i < unit->n_inputs; i++) {
        buf_text(&text, " \\\n ");
        fits &= buf_depfile_path(&text, (Str){unit->inputs[i].ptr, unit->inputs[i].len});
    }
    buf_char(&text, '\n');
    for (size_t i = 0; i < unit->n_inputs; i++) {
        buf_char(&text, '\n');
        buf_depfile_path(&text, (Str){unit->inputs[i].ptr, unit->inputs[i].len});
        buf_text(&text, ":\n");
    }
    Str why_not = STR("a file's name has a line end, which no depfile can hold");
    if (fits && file_replace(depfile, buf_view(&text), &why_not)) return 0;
    fprintf(stderr, "startwright: cannot write %s: %.*s; what stood there is unchanged\n", depfile, (int)why_not.len,
            why_not.ptr);
    return EXIT_USAGE;
}

/* All of a run's outputs or none: a card of one revision must not stand beside a table of another. */
static int write_all_outputs(Run *run, const Options *options) {
    StagedList list = {arena_array(&run->texts, run->unit->n_outputs, sizeof(Staged)), 0};
    int status = 0;
    for (size_t i = 0; !status && i < run->unit->n_outputs; i++)
        if (kind_wanted(options->value[OPTION_ONLY], &run->unit->outputs[i]))
            status = stage_output(run, i, options->value[OPTION_INTO], &list);
    if (status) {
        for (size_t i = 0; i < list.n; i++) file_unstage(list.at[i].beside);
        return status;
    }
    status = settle_outputs(&list);
    list_outputs(&list);
    const char *depfile = options->value[OPTION_DEPFILE];
    return !status && depfile && list.n ? write_depfile(run, depfile, &list) : status;
}

static void list_held_back(const SwUnit *unit) {
    for (size_t i = 0; i < unit->n_held_back; i++)
        printf("Nothing was written for %.*s: an error is open there, or something not decided (--draft writes all the "
               "same, marked NOT PROVED).\n",
               (int)unit->held_back[i].len, unit->held_back[i].ptr);
}

static int nothing_to_write(const SwUnit *unit) {
    if (!unit->errors && !unit->undecided) {
        fprintf(stderr, "startwright issue: nothing was written: no aircraft stands in these files\n");
        return EXIT_USAGE;
    }
    const char *why = !unit->tails   ? "nothing could be proved until the errors above are mended"
                      : unit->errors ? "errors are open (--draft writes all the same, marked NOT PROVED)"
                                     : "something is not decided (--draft writes all the same, marked NOT PROVED)";
    printf("Nothing was written: %s.\n", why);
    return 0;
}

static int write_outputs(Run *run, const Options *options) {
    const char *into = options->value[OPTION_INTO];
    Str why_not;
    if (!run->unit->n_outputs) return nothing_to_write(run->unit);
    if (!folder_make(into, &why_not)) {
        fprintf(stderr, "startwright: cannot use the folder %s: %.*s\n", into, (int)why_not.len, why_not.ptr);
        return EXIT_USAGE;
    }
    int status = write_all_outputs(run, options);
    list_held_back(run->unit);
    return status;
}

int issue_command(const Options *options) {
    Format format;
    if (!read_format(options, &format) || !kinds_known(options->value[OPTION_ONLY])) return EXIT_USAGE;
    if (!options->value[OPTION_INTO]) {
        fprintf(stderr, "startwright issue: say where to: --into DIR\n");
        return EXIT_USAGE;
    }
    Run run;
    int status = run_compile(&run, options, SW_GOAL_ISSUE);
    if (!status) {
        report(&run, options, format, NULL);
        int written = write_outputs(&run, options);
        status = written ? written : run_status(run.unit);
    }
    run_close(&run);
    return status;
}
