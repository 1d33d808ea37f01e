#include "texts.h"
#include <stdlib.h>
#include <string.h>

char *text_read(FILE *file) {
    size_t n = 0, cap = 1u << 16;
    char *text = malloc(cap + 1);
    for (size_t got; (got = fread(text + n, 1, cap - n, file)) > 0;)
        if ((n += got) == cap) text = realloc(text, (cap *= 2) + 1);
    text[n] = 0;
    return text;
}

char *text_of_file(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file) return NULL;
    char *text = text_read(file);
    fclose(file);
    return text;
}

char *text_of_twin(const char *path, bool bad) {
    char *text = text_of_file(path), *to = text;
    if (!text) return NULL;
    for (char *line = text; *line;) {
        char *end = strchr(line, '\n'), *next = end ? end + 1 : line + strlen(line);
        bool only_bad = line[0] == '#' && line[1] == '+',
             only_good = end && end - line >= 2 && end[-1] == '-' && end[-2] == '#';
        if (only_bad && bad) line += 3;
        if (bad ? !only_good : !only_bad) {
            memmove(to, line, (size_t)(next - line));
            to += next - line;
        }
        line = next;
    }
    *to = 0;
    return text;
}

static SwRead read_used(void *context, SwText path, SwText *text) {
    Compiled *c = context;
    char name[300];
    if (path.len >= sizeof name || c->n_used == TEXTS_USED) return SW_READ_FAILED;
    memcpy(name, path.ptr, path.len);
    name[path.len] = 0;
    char *read = text_of_file(name);
    if (!read) return SW_READ_MISSING;
    c->used[c->n_used++] = read;
    *text = (SwText){read, strlen(read)};
    return SW_READ_OK;
}

static SwText as_text(const char *c_text) {
    return (SwText){c_text, strlen(c_text)};
}

bool text_compile(Compiled *c, const char *path, char *text, const char *other, const char *other_text) {
    *c = (Compiled){.text = text};
    SwHost host = {.context = c, .read = read_used};
    SwGoal goal = {.kind = SW_GOAL_ISSUE}; /* so that the results are kept */
    SwText name = as_text(path);
    c->workspace = sw_open(&host);
    if (!c->workspace || !sw_set_text(c->workspace, name, as_text(text))) return false;
    if (other && !sw_set_text(c->workspace, as_text(other), as_text(other_text))) return false;
    if (!sw_compile(c->workspace, &name, 1, &goal)) return false;
    c->unit = c->workspace->unit;
    for (size_t t = 0; t < c->unit->n_tails; t++)
        if (c->unit->tails[t].counted) unit_make_tail(&c->unit->tails[t], c->unit->job.arena);
    return true;
}

void text_discard(Compiled *c) {
    sw_close(c->workspace);
    free(c->text);
    while (c->n_used) free(c->used[--c->n_used]);
}
