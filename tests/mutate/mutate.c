/* usage: mutate PART PARTS EVERY SUBJECT...
   SUBJECT: a .start file, a .case file (its good twin), or FILE@MAIN: FILE is changed, and MAIN, which uses it, is checked.
   Makes the mutants of all subjects, looks at those whose number leaves the rest PART by PARTS, and of these at each EVERY-th, and prints a
   line for each: operator, fate, what the oracle says of a survivor on a safeguard, the gates it is a safeguard of, place, line, change,
   what is told. tests/mutate/table.py reads them. */
#include "mutate.h"
#include "front/front.h"
#include <stdlib.h>
#include <string.h>

struct Campaign {
    uint32_t part, parts, every;
    uint64_t n, mine;
};

/* From worst to best: what is said of a mutant. */
typedef enum { FATE_SILENT, FATE_TOLD, FATE_UNDECIDED, FATE_CAUGHT, FATE_REFUSED } Fate;
static const char *const fates[] = {"silent", "warned", "undecided", "caught", "refused"};

/* ---- a subject ---- */
static char *formatted(const char *path, char *text) {
    Compiled c;
    if (!text || !text_compile(&c, path, text, NULL, NULL) || c.unit->files.at[0]->broken) return NULL;
    Str printed = print_file(&c.unit->job, c.unit->files.at[0]);
    char *copy = calloc(printed.len + 1, 1);
    memcpy(copy, printed.ptr, printed.len);
    text_discard(&c);
    return copy;
}

static char *good_text(const char *path, char *as, size_t room) {
    const char *end = strrchr(path, '.');
    snprintf(as, room, "%s", path);
    if (!end || strcmp(end, ".case") != 0) return text_of_file(path);
    return text_of_twin(path, false);
}

static bool compile_good(Subject *s, bool apart) {
    if (!text_compile(&s->good, s->main_path, strdup(s->main_text), apart ? s->path : NULL, s->text)) return false;
    for (size_t f = 0; f < s->good.unit->files.n; f++)
        if (str_eq(s->good.unit->files.at[f]->source->path, str_of(s->path))) s->file = s->good.unit->files.at[f];
    return s->file && !s->good.unit->public.errors && !s->good.unit->public.undecided;
}

static bool subject_open(Subject *s, const char *words) {
    *s = (Subject){0};
    char file[200];
    snprintf(file, sizeof file, "%s", words);
    char *main = strchr(file, '@');
    if (main) *main++ = 0;
    s->main_text = good_text(main ? main : file, s->main_path, sizeof s->main_path);
    s->text = formatted(file, good_text(file, s->path, sizeof s->path));
    if (!s->main_text || !s->text) return false;
    if (!main) {
        free(s->main_text);
        s->main_text = strdup(s->text);
    }
    if (!compile_good(s, main != NULL) || s->good.unit->tails.n > TAILS_MOST) return false;
    Job job = s->good.unit->job;
    job.arena = &s->arena;
    for (; s->n_tails < s->good.unit->tails.n; s->n_tails++)
        s->models[s->n_tails] = model_lower(&job, s->good.unit->tails.at[s->n_tails].tail);
    s->equal = equal_open(s);
    return true;
}

static void subject_close(Subject *s) {
    equal_close(s->equal);
    arena_free(&s->arena);
    text_discard(&s->good);
    free(s->main_text);
    free(s->text);
}

/* ---- a mutant ---- */
static char *mutated(const Subject *s, const Mutant *m) {
    size_t len = strlen(s->text), room = len + 1;
    for (uint32_t k = 0; k < m->n_cuts; k++) room += strlen(m->cuts[k].text);
    char *text = malloc(room), *to = text;
    uint32_t at = 0;
    for (uint32_t k = 0; k < m->n_cuts; k++) {
        const Cut *c = &m->cuts[k];
        memcpy(to, s->text + at, c->lo - at);
        to += c->lo - at;
        to = stpcpy(to, c->text);
        at = c->hi;
    }
    strcpy(to, s->text + at);
    return text;
}

static bool compile_mutant(const Subject *s, const Mutant *m, Compiled *c, char **other) {
    char *text = mutated(s, m);
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
static void set_time(Mutant *m, int64_t by_ms) {
    int64_t ms = m->longer ? m->time_ms + by_ms : m->time_ms - by_ms;
    if (ms % 1000) snprintf(m->cuts[0].text, sizeof m->cuts[0].text, "%.3f s", (double)ms / 1000);
    else snprintf(m->cuts[0].text, sizeof m->cuts[0].text, "%lld s", (long long)(ms / 1000));
}

static bool survives(const Subject *s, Mutant *m, int64_t by_ms, bool last, Result *r) {
    set_time(m, by_ms);
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
        mutants_make(&campaign, &s);
        subject_close(&s);
    }
    return 0;
}
