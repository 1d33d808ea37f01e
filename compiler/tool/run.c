#include "tool/run.h"
#include "base/diag.h"
#include "tool/files.h"
#include <dlfcn.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static SwRead host_read(void *context, SwText path, SwText *text) {
    Run *run = context;
    char *name = arena_alloc(&run->texts, path.len + 1);
    memcpy(name, path.ptr, path.len);
    Str bytes, why_not;
    if (file_read(&run->texts, name, &bytes, &why_not)) {
        *text = (SwText){bytes.ptr, bytes.len};
        return SW_READ_OK;
    }
    *text = (SwText){why_not.ptr, why_not.len};
    return SW_READ_FAILED;
}

/* A module stands beside the program, or where it is installed. */
static const char *const module_places[] = {"", "../lib/startwright/"};

static void *open_module(Run *run, const char *file) {
    char program[4096];
    ssize_t len = readlink("/proc/self/exe", program, sizeof program);
    if (len <= 0 || (size_t)len == sizeof program) return NULL;
    while (len && program[len - 1] != '/') len--;
    for (size_t i = 0; i < sizeof module_places / sizeof *module_places; i++) {
        Buf path = {&run->texts, NULL, 0, 0};
        buf_str(&path, (Str){program, (size_t)len});
        buf_text(&path, module_places[i]);
        buf_text(&path, file);
        buf_char(&path, 0);
        if (access(path.ptr, F_OK)) continue;
        return dlopen(path.ptr, RTLD_NOW | RTLD_LOCAL);
    }
    return NULL;
}

/* What the function `give` of the module gives; NULL: *why_not says why there is none. */
static const void *from_module(Run *run, const char *file, const char *give, SwText *why_not) {
    void *module = open_module(run, file);
    union {
        void *symbol;
        const void *(*call)(void);
    } found = {module ? dlsym(module, give) : NULL};
    const void *given = found.symbol ? found.call() : NULL;
    if (given) return given;
    const char *because = found.symbol ? "the module has no room to begin" : dlerror();
    Buf words = {&run->texts, NULL, 0, 0};
    if (because) buf_text(&words, because);
    else buf_text(&words, file), buf_text(&words, " does not stand beside the program");
    *why_not = (SwText){words.ptr, words.len};
    return NULL;
}

static const struct SwPress *host_press(void *context, SwText *why_not) {
    Run *run = context;
    if (!run->press) run->press = from_module(run, "startwright-press.so", "startwright_press", why_not);
    return run->press;
}

static const struct SwBinder *host_binder(void *context, SwText *why_not) {
    Run *run = context;
    signal(SIGXFSZ, SIG_IGN); /* told, as in file_stage() */
    if (!run->binder) run->binder = from_module(run, "startwright-binder.so", "startwright_binder", why_not);
    return run->binder;
}

static bool is_day(const char *text) {
    if (strlen(text) != 10 || text[4] != '-' || text[7] != '-') return false;
    for (size_t i = 0; i < 10; i++)
        if (i != 4 && i != 7 && (text[i] < '0' || text[i] > '9')) return false;
    static const int days[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year = atoi(text), month = atoi(text + 5), day = atoi(text + 8);
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    if (month < 1 || month > 12 || day < 1 || day > days[month - 1]) return false;
    return month != 2 || day < 29 || leap;
}

static bool find_today(Run *run, const char *given) {
    if (given) {
        if (!is_day(given)) {
            fprintf(stderr, "startwright: --today wants a day such as 2031-05-01, not \"%s\"\n", given);
            return false;
        }
        memcpy(run->today, given, sizeof run->today);
        return true;
    }
    time_t now = time(NULL);
    struct tm day;
    return localtime_r(&now, &day) && strftime(run->today, sizeof run->today, "%Y-%m-%d", &day) == 10;
}

/* A file named twice is one file, and stands where it is named first. */
static bool named_before(const SwText *paths, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (paths[i].len == paths[n].len && memcmp(paths[i].ptr, paths[n].ptr, paths[n].len) == 0) return true;
    return false;
}

/* Files named on the command line that cannot be read are wrong use, not findings. */
static bool read_main_files(Run *run, const Options *options, SwText *paths) {
    bool all = true;
    for (size_t i = 0; i < options->n_files; i++) {
        const char *path = options->files[i];
        Str text, why_not;
        paths[i] = (SwText){path, strlen(path)};
        if (strncmp(path, "./", 2) == 0) paths[i] = (SwText){path + 2, strlen(path) - 2};
        if (named_before(paths, i)) continue;
        if (!file_read(&run->texts, path, &text, &why_not)) {
            fprintf(stderr, "startwright: cannot read %s: %.*s [%s]\n", path, (int)why_not.len, why_not.ptr,
                    finding_info[FINDING_CANNOT_READ].id);
            all = false;
        } else if (!sw_set_text(run->workspace, paths[i], (SwText){text.ptr, text.len})) {
            fprintf(stderr, "startwright: %s does not fit: no memory, or over 4 GiB of texts\n", path);
            all = false;
        }
    }
    return all;
}

/* Tables and workbooks show all of a verdict; cards show none. */
static bool details_wanted(const Options *options) {
    const char *only = options->value[OPTION_ONLY];
    return options->id == COMMAND_ISSUE && (!only || strstr(only, "tables") || strstr(only, "workbook"));
}

/* Read before the compile, so that a list that is not there is wrong use. */
static bool read_known(Run *run, const char *path) {
    Str text, why_not;
    if (!path) return true;
    if (!file_read(&run->texts, path, &text, &why_not)) {
        fprintf(stderr, "startwright: cannot read %s: %.*s [%s]\n", path, (int)why_not.len, why_not.ptr,
                finding_info[FINDING_CANNOT_READ].id);
        return false;
    }
    return sw_set_text(run->workspace, (SwText){path, strlen(path)}, (SwText){text.ptr, text.len});
}

static int no_memory(void) {
    fprintf(stderr, "startwright: there is no memory left\n");
    return EXIT_FAULT;
}

bool read_format(const Options *options, Format *format) {
    static const char *const names[] = {"text", "json", "sarif"};
    bool sarif = options->id == COMMAND_CHECK || options->id == COMMAND_ISSUE;
    const char *given = options->value[OPTION_FORMAT];
    *format = FORMAT_TEXT;
    if (!given) return true;
    for (int i = 0; i < (sarif ? 3 : 2); i++) {
        *format = (Format)i;
        if (!strcmp(given, names[i])) return true;
    }
    fprintf(stderr, "startwright %s: --format is %s, not \"%s\"\n", options->command,
            sarif ? "text, json or sarif" : "text or json", given);
    return false;
}

bool wants_json(const Options *options, bool *json) {
    Format format;
    bool known = read_format(options, &format);
    *json = format == FORMAT_JSON;
    return known;
}

/* How many tails to work on at once; 0 after a message. */
static size_t find_workers(const char *given) {
    enum { WORKERS_MOST = 256 };
    long here = given ? 0 : sysconf(_SC_NPROCESSORS_ONLN);
    if (!given) return here < 1 ? 1 : here > WORKERS_MOST ? WORKERS_MOST : (size_t)here;
    char *end;
    unsigned long n = strtoul(given, &end, 10);
    if (*given >= '0' && *given <= '9' && !*end && n && n <= WORKERS_MOST) return n;
    fprintf(stderr, "startwright: --workers wants a whole number from 1 to %d, not \"%s\"\n", WORKERS_MOST, given);
    return 0;
}

/* Only where somebody watches, and a fleet is long enough for that. */
static void host_progress(void *context, size_t done, size_t of) {
    (void)context;
    if (of >= 20 && isatty(STDERR_FILENO))
        fprintf(stderr, done < of ? "\r%zu of %zu aircraft proved" : "\r\x1b[K", done, of);
}

int run_compile(Run *run, const Options *options, SwGoalKind goal_kind) {
    memset(run, 0, sizeof *run);
    if (!options->n_files) {
        fprintf(stderr, "startwright %s: name at least one file\n", options->command);
        return EXIT_USAGE;
    }
    run->texts.exhausted = &run->exhausted;
    if (setjmp(run->exhausted)) return no_memory();
    size_t workers = find_workers(options->value[OPTION_WORKERS]);
    if (!workers) return EXIT_USAGE;
    SwHost host = {.context = run,
                   .read = host_read,
                   .press = host_press,
                   .binder = host_binder,
                   .workers = workers,
                   .progress = host_progress};
    run->workspace = sw_open(&host);
    if (!run->workspace) return no_memory();
    if (!find_today(run, options->value[OPTION_TODAY])) return EXIT_USAGE;
    SwText *paths = arena_array(&run->texts, options->n_files, sizeof *paths);
    if (!read_main_files(run, options, paths)) return EXIT_USAGE;
    const char *tail = options->value[OPTION_TAIL], *known = options->value[OPTION_KNOWN];
    if (!read_known(run, known)) return EXIT_USAGE;
    SwGoal goal = {.kind = goal_kind,
                   .tail = {tail, tail ? strlen(tail) : 0},
                   .today = {run->today, 10},
                   .known = {known, known ? strlen(known) : 0},
                   .list_known = options->value[OPTION_LIST],
                   .draft = options->value[OPTION_DRAFT] || options->value[OPTION_LEGIBILITY],
                   .details =
                       options->value[OPTION_VERDICTS] || details_wanted(options)};
    run->unit = sw_compile(run->workspace, paths, options->n_files, &goal);
    return run->unit ? 0 : no_memory();
}

void run_close(Run *run) {
    sw_close(run->workspace);
    arena_free(&run->texts);
}

void lines_errors(const SwUnit *unit) {
    if (unit->errors)
        printf("\n%zu %s open, so lines may be missing here; `startwright check` tells %s.\n", unit->errors,
               unit->errors == 1 ? "error is" : "errors are", unit->errors == 1 ? "it" : "them");
}

int run_status(const SwUnit *unit) {
    if (unit->errors) return EXIT_ERRORS;
    return unit->undecided ? EXIT_UNDECIDED : EXIT_CLEAN;
}
