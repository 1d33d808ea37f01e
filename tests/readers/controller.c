/* Steps a table in C on scripts parted by lines "---", as a controller would, and prints the traces. Compiled once for each table:
   -DTABLE='"FILE.table.h"' -DT=PREFIX, which stands before all names of the header. */
#define JOIN_(a, b) a##b
#define JOIN(a, b) JOIN_(a, b)
#define NAME(name) JOIN(T, name)
#include TABLE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TIME_END (UINT64_C(1) << 53)

static NAME(state) state;
static bool begun, halted;
static unsigned line_number;

static void told(void *context, const NAME(state) * now, uint16_t edge, bool lapse) {
    (void)context;
    printf("%llu %s %s\n", (unsigned long long)now->now, lapse ? "lapse" : "take", NAME(edge_ids)[edge]);
    if (NAME(edge_to)[edge] != NAME(NONE) && NAME(outcomes)[now->place])
        printf("%llu end %s\n", (unsigned long long)now->now, NAME(outcomes)[now->place]);
}

static void wrong(const char *why) {
    printf("error: line %u: %s\n", line_number, why);
    halted = true;
}

static bool ends(NAME(result) result, const char *label) {
    unsigned long long now = state.now;
    if (result == NAME(OVERDUE)) printf("%llu error: overdue at %s\n", now, NAME(place_ids)[state.place]);
    else if (result == NAME(STANDS_STILL))
        printf("%llu error: time stands still at %s\n", now, NAME(place_ids)[state.place]);
    else if (result == NAME(AMBIGUOUS)) printf("%llu error: ambiguous: %s\n", now, label);
    else return false;
    return halted = true;
}

static uint64_t number(const char *word) {
    uint64_t n = 0;
    if (!*word) return TIME_END;
    for (; *word; word++) {
        if (*word < '0' || *word > '9') return TIME_END;
        n = n * 10 + (uint64_t)(*word - '0');
        if (n >= TIME_END) return TIME_END;
    }
    return n;
}

/* False: one of them names no fact, or no value that `allowed` has. */
static bool choices(char *text, NAME(choice) * list, uint8_t *n) {
    bool good = true;
    *n = 0;
    for (char *word = strtok(text, " "); word; word = strtok(NULL, " ")) {
        char *is = strchr(word, '=');
        unsigned fact = 0, k = 0;
        if (is) *is = 0;
        while (fact < NAME(FACTS) && strcmp(NAME(fact_ids)[fact], word)) fact++;
        uint64_t value = is ? number(is + 1) : TIME_END;
        if (fact == NAME(FACTS) || value >= NAME(values)[fact]) {
            good = false;
            continue;
        }
        while (k < *n && list[k].fact != fact) k++;
        if (k == *n) list[(*n)++] = (NAME(choice)){(uint8_t)fact, (uint8_t)value};
    }
    return good;
}

static void act(uint64_t at, const char *label, char *chosen) {
    NAME(choice) list[NAME(FACTS) + 1];
    uint8_t n;
    uint64_t wait;
    uint16_t l = 0;
    bool good = choices(chosen, list, &n);
    if (!good) list[0] = (NAME(choice)){255, 0}, n = 1; /* what no edge leaves open */
    while (l < NAME(LABELS) && strcmp(NAME(labels)[l], label)) l++;
    if (l == NAME(LABELS)) l = NAME(LABELS); /* one that no edge has */
    NAME(result) result = NAME(act)(&state, at, l, list, n, &wait, told, NULL);
    if (ends(result, label) || result == NAME(TAKEN)) return;
    printf("%llu refused %s: ", (unsigned long long)state.now, label);
    if (result == NAME(TOO_EARLY)) printf("too early, wait %llu ms\n", (unsigned long long)wait);
    else
        puts(result == NAME(TOO_LATE) ? "too late" : result == NAME(NO_SUCH_CHOICE) ? "no such choice" : "not offered");
}

static void begin_with(char *chosen) {
    NAME(choice) list[NAME(FACTS) + 1];
    uint8_t n;
    bool good = choices(chosen, list, &n);
    for (uint8_t k = 0; k < n; k++) good = good && NAME(initial)[list[k].fact] >> list[k].value & 1;
    if (!good) wrong("no such choice");
    for (uint8_t k = 0; good && k < n; k++) state.value[list[k].fact] = list[k].value;
}

static char *trimmed(char *text) {
    size_t n;
    while (*text == ' ') text++;
    for (n = strlen(text); n && (text[n - 1] == ' ' || text[n - 1] == '\r');) text[--n] = 0;
    return text;
}

static void stop_at(uint64_t at) {
    if (ends(NAME(pass)(&state, at, told, NULL), "")) return;
    printf("%llu stop %s", (unsigned long long)state.now, NAME(place_ids)[state.place]);
    for (unsigned f = 0; f < NAME(FACTS); f++) printf(" %s=%u", NAME(fact_ids)[f], state.value[f]);
    for (unsigned c = 0; c < NAME(CLOCKS); c++)
        printf(" %s=%llu", NAME(clock_ids)[c], (unsigned long long)(state.now - state.zero[c]));
    putchar('\n');
    halted = true;
}

static void input(char *text) {
    static char nothing[1];
    char *line = trimmed(text), *rest;
    line_number++;
    if (halted || !*line || *line == '#') return;
    bool first = !begun;
    begun = true;
    if (first && !strncmp(line, "start", 5) && (line[5] == ' ' || !line[5])) {
        begin_with(line + 5);
        return;
    }
    bool stops = !strncmp(line, "stop", 4) && (line[4] == ' ' || !line[4]);
    if (stops)
        for (line += 4; *line == ' ';) line++;
    rest = line + strcspn(line, " ");
    bool more = *rest;
    if (more) *rest++ = 0;
    uint64_t at = number(line);
    char *semicolon = strchr(rest, ';'), *chosen = semicolon ? semicolon + 1 : nothing;
    if (semicolon) *semicolon = 0;
    char *label = trimmed(rest);
    if (at >= TIME_END) wrong("a time is not a whole number of milliseconds below 2^53");
    else if (at < state.now) wrong("time goes back");
    else if (stops && more) wrong("nothing stands behind the time of a stop");
    else if (stops) stop_at(at);
    else if (!*label) wrong("a time needs a label");
    else act(at, label, chosen);
}

int main(void) {
    static char line[1 << 16];
    NAME(begin)(&state);
    while (fgets(line, sizeof line, stdin)) {
        line[strcspn(line, "\n")] = 0;
        if (strcmp(line, "---")) {
            input(line);
            continue;
        }
        puts("---");
        NAME(begin)(&state);
        begun = halted = false;
        line_number = 0;
    }
    return 0;
}
