/* Good texts, and what a mutant makes of them. */
#include "front/front.h"
#include "mutate.h"
#include <stdlib.h>
#include <string.h>

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

bool subject_open(Subject *s, const char *words) {
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
    if (!compile_good(s, main != NULL) || s->good.unit->n_tails > TAILS_MOST) return false;
    Job job = s->good.unit->job;
    job.arena = &s->arena;
    for (; s->n_tails < s->good.unit->n_tails; s->n_tails++)
        s->models[s->n_tails] = model_lower(&job, s->good.unit->tails[s->n_tails].tail);
    return true;
}

void subject_close(Subject *s) {
    arena_free(&s->arena);
    text_discard(&s->good);
    free(s->main_text);
    free(s->text);
}

char *subject_mutated(const Subject *s, const Mutant *m) {
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

void mutant_loosen(Mutant *m, int64_t by_ms) {
    int64_t ms = m->longer ? m->time_ms + by_ms : m->time_ms - by_ms;
    if (ms % 1000) snprintf(m->cuts[0].text, sizeof m->cuts[0].text, "%.3f s", (double)ms / 1000);
    else snprintf(m->cuts[0].text, sizeof m->cuts[0].text, "%lld s", (long long)(ms / 1000));
}
