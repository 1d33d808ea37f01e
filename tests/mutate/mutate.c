/* usage: mutate PART PARTS EVERY SUBJECT...
   SUBJECT: a .start file, a .case file (its good twin), or FILE@MAIN: FILE is changed, and MAIN, which uses it, is checked.
   Makes the mutants of all subjects, looks at those whose number leaves the rest PART by PARTS, and of these at each EVERY-th, and prints a
   line for each: operator, fate, what the oracle says of a survivor on a safeguard, the gates it is a safeguard of, place, line, change,
   what is told. tests/mutate/table.py reads them. */
#include "mutate.h"
#include <stdlib.h>
#include <string.h>

struct Campaign {
    uint32_t part, parts, every;
    uint64_t n, mine;
};

/* From worst to best: what is said of a mutant. */
typedef enum { FATE_SILENT, FATE_TOLD, FATE_UNDECIDED, FATE_CAUGHT, FATE_REFUSED } Fate;
static const char *const fates[] = {"silent", "warned", "undecided", "caught", "refused"};

/* ---- a mutant ---- */
static bool compile_mutant(const Subject *s, const Mutant *m, Compiled *c, char **other) {
    char *text = subject_mutated(s, m);
    bool apart = strcmp(s->path, s->main_path) != 0;
    *other = apart ? text : NULL;
    return text_compile(c, s->main_path, apart ? strdup(s->main_text) : text, apart ? s->path : NULL, text);
}

static Fate fate_of(const Subject *s, const Compiled *c) {
    const SwUnit *u = &c->unit->public;
    if (u->errors && !u->n_verdicts) return FATE_REFUSED;
    bool broken = u->errors > 0;
    for (size_t k = 0; k < u->n_verdicts; k++) broken |= u->verdicts[k].kind == SW_BROKEN;
    if (broken) return FATE_CAUGHT;
    if (u->undecided) return FATE_UNDECIDED;
    return u->warnings > s->good.unit->public.warnings ? FATE_TOLD : FATE_SILENT;
}

/* What is found in the mutant and not in the good text, by id. */
static void say_findings(const Subject *s, const Compiled *c, char *said, size_t room) {
    const SwUnit *good = &s->good.unit->public, *u = &c->unit->public;
    size_t n = 0;
    said[0] = 0;
    for (size_t k = 0; k < u->n_findings; k++) {
        const SwFinding *f = &u->findings[k];
        char id[80];
        snprintf(id, sizeof id, "%.*s", (int)f->id.len, f->id.ptr);
        bool old = f->severity == SW_NOTE || strstr(said, id);
        for (size_t g = 0; g < good->n_findings && !old; g++)
            old = good->findings[g].severity == f->severity && good->findings[g].message.len == f->message.len &&
                  memcmp(good->findings[g].message.ptr, f->message.ptr, f->message.len) == 0;
        if (!old && n < room) n += (size_t)snprintf(said + n, room - n, "%s%s", n ? " " : "", id);
    }
}

/* ---- one line of the report ---- */
static void put_line(const Subject *s, uint32_t at) { /* the line of the text, blanks joined */
    const char *lo = s->text + at, *hi = s->text + at;
    while (lo > s->text && lo[-1] != '\n') lo--;
    while (*hi && *hi != '\n') hi++;
    while (lo < hi && *lo == ' ') lo++;
    for (; lo < hi; lo++)
        if (*lo != ' ' || lo[1] != ' ') putchar(*lo == '\t' ? ' ' : *lo);
}

static void put_change(const Subject *s, const Mutant *m) {
    const Cut *c = &m->cuts[0];
    if (strcmp(m->operator, "flip") && strcmp(m->operator, "redirect") && strcmp(m->operator, "loosen") &&
        strcmp(m->operator, "drop clause"))
        return;
    for (uint32_t k = c->lo; k < c->hi; k++)
        if (s->text[k] != '\n' && (s->text[k] != ' ' || s->text[k + 1] != ' ')) putchar(s->text[k]);
    printf(" -> %s", c->text);
}

/* What is said of a mutant. */
typedef struct {
    Fate fate;
    char told[600], why[400];
    const char *oracle;
} Result;

static void report(const Subject *s, const Mutant *m, const Result *r) {
    uint32_t line = 1, at = m->at.lo - s->file->source->base;
    for (uint32_t k = 0; k < at; k++) line += s->text[k] == '\n';
    printf("%s\t%s\t%s\t%s\t%s:%u\t", m->operator, fates[r->fate], r->oracle, m->gates, s->path, line);
    put_line(s, at);
    putchar('\t');
    put_change(s, m);
    printf("\t%s\n", r->told);
}

/* `last`: it will be reported, so that a survivor is compared with the good text. */
static void try_mutant(const Subject *s, const Mutant *m, bool last, Result *r) {
    Compiled c;
    char *other = NULL;
    if (!compile_mutant(s, m, &c, &other)) abort();
    r->fate = fate_of(s, &c);
    r->oracle = "";
    if (r->fate <= FATE_TOLD && last && m->gates[0]) {
        const char *differs = equal_differs(s->equal, m, &c, r->why, sizeof r->why);
        r->oracle = differs ? differs : "equal";
    }
    say_findings(s, &c, r->told, sizeof r->told);
    text_discard(&c);
    free(other);
}

/* ---- loosening: how far, until it is told ---- */
static bool survives(const Subject *s, Mutant *m, int64_t by_ms, bool last, Result *r) {
    mutant_loosen(m, by_ms);
    try_mutant(s, m, last, r);
    return r->fate <= FATE_TOLD;
}

/* The least of `kept` + 1 … `lost` units that is told, if all before it are not. */
static int64_t first_told(const Subject *s, Mutant *m, int64_t unit, int64_t kept, int64_t lost) {
    Result r;
    while (lost - kept > 1) {
        int64_t middle = kept + (lost - kept) / 2;
        if (survives(s, m, middle * unit, false, &r)) kept = middle;
        else lost = middle;
    }
    return lost;
}

/* The mutant is the least whole second beyond what is allowed; of a time that nothing bounds, an hour more, or hardly any. */
static void loosen_beyond(const Subject *s, Mutant *m) {
    enum { SECOND = 1000, HOUR = 3600 };
    Result r;
    int64_t unit = SECOND, most = m->longer ? HOUR : (m->time_ms - 1) / SECOND;
    if (most < 1) most = 1, unit = m->time_ms - 1;
    if (survives(s, m, unit, most == 1, &r) && most > 1 && !survives(s, m, most * unit, true, &r)) {
        int64_t beyond = first_told(s, m, unit, 1, most);
        (void)survives(s, m, beyond * unit, true, &r);
    }
    report(s, m, &r);
}

void campaign_take(Campaign *campaign, const Subject *s, const Mutant *given) {
    if (campaign->n++ % campaign->parts != campaign->part || campaign->mine++ % campaign->every) return;
    Mutant m = *given;
    safeguard_gates(s, &m);
    if (m.time_ms) {
        loosen_beyond(s, &m);
        return;
    }
    Result r;
    try_mutant(s, &m, true, &r);
    report(s, &m, &r);
}

int main(int argc, char **argv) {
    if (argc < 5) {
        fprintf(stderr, "usage: mutate PART PARTS EVERY SUBJECT...\n");
        return 2;
    }
    Campaign campaign = {
        .part = (uint32_t)atoi(argv[1]), .parts = (uint32_t)atoi(argv[2]), .every = (uint32_t)atoi(argv[3])};
    for (int k = 4; k < argc; k++) {
        Subject s;
        if (!subject_open(&s, argv[k])) {
            fprintf(stderr, "%s: it is not good as it stands\n", argv[k]);
            return 1;
        }
        s.equal = equal_open(&s);
        mutants_make(&campaign, &s);
        equal_close(s.equal);
        subject_close(&s);
    }
    return 0;
}
