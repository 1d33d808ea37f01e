/* `startwright gates [FILE…]`: which rules each aircraft has, and what some of them still lack; without a file, all of the library. */
#include "back/back.h"
#include "tool/commands.h"
#include "tool/page.h"
#include "tool/render.h"
#include "tool/rules.h"
#include "tool/run.h"
#include <stdio.h>
#include <string.h>

/* ---- the library ---- */
static Str words_of(Arena *arena, Str severity, Str title) {
    return format_text(arena, NULL, "%S: %S", severity, title);
}

static void print_rule(Arena *arena, Str name, Str severity, Str title) {
    char head[40];
    snprintf(head, sizeof head, "    %-25.*s", (int)name.len, name.ptr);
    page_words(head, words_of(arena, severity, title), 30);
}

/* What the program looks for besides, in any text: what is an error by itself is not ranked, and so is no rule. */
static size_t list_checks(Arena *arena) {
    size_t n = 0;
    printf("\nthe text itself, whatever the aircraft\n");
    for (int kind = 1; kind < FINDING_COUNT; kind++) {
        Severity severity = finding_info[kind].severity;
        if (severity != SEVERITY_WARNING && severity != SEVERITY_NOTE) continue;
        n++;
        print_rule(arena, str_of(finding_info[kind].id), severity == SEVERITY_WARNING ? STR("should") : STR("note"),
                   str_of(finding_info[kind].title));
    }
    return n;
}

static int list_library(Arena *arena) {
    RuleList rules = rules_read(arena);
    Str file = STR("");
    for (size_t i = 0; i < rules.n; i++) {
        if (!str_eq(file, rules.at[i].file))
            printf("%s%.*s\n", i ? "\n" : "", (int)rules.at[i].file.len, rules.at[i].file.ptr);
        file = rules.at[i].file;
        print_rule(arena, rules.at[i].name, rules.at[i].severity, rules.at[i].title);
    }
    size_t checks = list_checks(arena);
    printf("\n%zu rules, and %zu checks of the text itself; a standard ranks both (`rank NAME as must`).\n"
           "`startwright why NAME` explains one of them; `startwright gates FILE…` says which rules apply to an "
           "aircraft,\n"
           "and what some still lack.\n",
           rules.n, checks);
    return EXIT_CLEAN;
}

static int library_command(void) {
    Arena arena = {0};
    jmp_buf exhausted;
    arena.exhausted = &exhausted;
    if (setjmp(exhausted)) {
        fprintf(stderr, "startwright: there is no memory left\n");
        return EXIT_FAULT;
    }
    int status = list_library(&arena);
    arena_free(&arena);
    return status;
}

/* ---- the rules of aircraft ---- */
typedef struct {
    const SwGate *at;
    size_t n;
    bool told; /* with an earlier aircraft that has the very same */
} TailGates;

static Str str(SwText text) {
    return (Str){text.ptr, text.len};
}

static bool same(SwText a, SwText b) {
    return str_eq(str(a), str(b));
}

static bool same_gates(const TailGates *a, const TailGates *b) {
    bool equal = a->n == b->n;
    for (size_t i = 0; equal && i < a->n; i++)
        equal = same(a->at[i].gate, b->at[i].gate) && same(a->at[i].engine, b->at[i].engine) &&
                a->at[i].standing == b->at[i].standing && same(a->at[i].why, b->at[i].why);
    return equal;
}

static size_t split_tails(const SwUnit *unit, TailGates *tails) {
    size_t n = 0;
    for (size_t i = 0; i < unit->n_gates; i++) {
        if (!i || !same(unit->gates[i].tail, unit->gates[i - 1].tail))
            tails[n++] = (TailGates){&unit->gates[i], 0, false};
        tails[n - 1].n++;
    }
    return n;
}

static size_t count(const TailGates *tail, SwGateStanding standing) {
    size_t n = 0;
    for (size_t i = 0; i < tail->n; i++) n += tail->at[i].standing == standing;
    return n;
}

static Str rank(SwSeverity severity) {
    return severity == SW_ERROR ? STR("must") : severity == SW_WARNING ? STR("should") : STR("note");
}

/* An engine has its own where a rule speaks of one. */
static Str gate_name(Arena *arena, const SwGate *gate) {
    return gate->engine.len ? format_text(arena, NULL, "%S (%S)", str(gate->gate), str(gate->engine)) : str(gate->gate);
}

static void print_standing(Arena *arena, const TailGates *tail, SwGateStanding standing, const char *head) {
    if (!count(tail, standing)) return;
    printf("  %s:\n", head);
    for (size_t i = 0; i < tail->n; i++) {
        const SwGate *gate = &tail->at[i];
        if (gate->standing != standing) continue;
        print_rule(arena, gate_name(arena, gate), rank(gate->severity), str(gate->title));
        if (gate->why.len) page_words("                                lacks:", str(gate->why), 32);
    }
}

/* Rules of other kinds of aircraft are many: by reason, their names are enough. */
static void print_reasons(Arena *arena, const TailGates *tail) {
    bool *told = arena_array(arena, tail->n, sizeof *told);
    if (count(tail, SW_GATE_NOT_APPLICABLE)) printf("  Do not apply:\n");
    for (size_t i = 0; i < tail->n; i++) {
        if (tail->at[i].standing != SW_GATE_NOT_APPLICABLE || told[i]) continue;
        Buf names = {arena, NULL, 0, 0};
        for (size_t k = i; k < tail->n; k++) {
            if (tail->at[k].standing != SW_GATE_NOT_APPLICABLE || !same(tail->at[k].why, tail->at[i].why)) continue;
            told[k] = true;
            buf_format(&names, NULL, names.len ? ", %S" : ": %S", gate_name(arena, &tail->at[k]));
        }
        page_words("   ", format_text(arena, NULL, "%S%S", str(tail->at[i].why), buf_view(&names)), 6);
    }
}

static void print_tails(Arena *arena, TailGates *tails, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (tails[i].told) continue;
        if (i) putchar('\n');
        printf("%.*s", (int)tails[i].at->tail.len, tails[i].at->tail.ptr);
        for (size_t k = i + 1; k < n; k++) {
            if (tails[k].told || !same_gates(&tails[i], &tails[k])) continue;
            tails[k].told = true;
            printf(", %.*s", (int)tails[k].at->tail.len, tails[k].at->tail.ptr);
        }
        printf(": %zu rules; %zu apply, %zu wait, %zu do not apply\n", tails[i].n, count(&tails[i], SW_GATE_APPLIES),
               count(&tails[i], SW_GATE_WAITS), count(&tails[i], SW_GATE_NOT_APPLICABLE));
        print_standing(arena, &tails[i], SW_GATE_WAITS, "Wait for something that the aircraft does not say");
        print_standing(arena, &tails[i], SW_GATE_APPLIES, "Apply");
        print_reasons(arena, &tails[i]);
    }
}

/* A rule that waits is not decided, whoever asks for it. */
static int gates_status(const SwUnit *unit) {
    bool waits = false;
    for (size_t i = 0; i < unit->n_gates; i++) waits |= unit->gates[i].standing == SW_GATE_WAITS;
    int status = run_status(unit);
    return status == EXIT_CLEAN && waits ? EXIT_UNDECIDED : status;
}

/* Errors of the text leave nothing to list: they are told instead. What is merely missing is what the list is for. */
static int print_gates(Run *run) {
    const SwUnit *unit = run->unit;
    if (!unit->n_gates) {
        Screen screen = screen_of(stdout);
        render_findings(screen, unit);
        if (!unit->n_findings) printf("No aircraft stands in these files.\n");
        return unit->errors ? EXIT_ERRORS : EXIT_USAGE;
    }
    TailGates *tails = arena_array(&run->texts, unit->tails + 1, sizeof *tails);
    print_tails(&run->texts, tails, split_tails(unit, tails));
    putchar('\n');
    page_words(
        "Nothing was proved here: `startwright check` proves the rules that apply.",
        STR("A list of rules is not complete because it is long: a qualified person says what else an aircraft wants."),
        0);
    for (size_t i = 0; caution_lines[i]; i++) page_words("", str_of(caution_lines[i]), 0);
    return gates_status(unit);
}

int gates_command(const Options *options) {
    bool json;
    if (!wants_json(options, &json)) return EXIT_USAGE;
    if (!options->n_files && !json) return library_command();
    Run run;
    int status = run_compile(&run, options, SW_GOAL_GATES);
    if (!status && json) {
        render_json(stdout, run.unit, false, NULL, 0);
        status = gates_status(run.unit);
    } else if (!status) {
        status = print_gates(&run);
    }
    run_close(&run);
    return status;
}
