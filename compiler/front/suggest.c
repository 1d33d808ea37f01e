/* "Did you mean": the nearest word of the language, and words that people bring along from elsewhere. */
#include "front/suggest.h"
#include "parser.h"

/* What people write at the beginning of a line, and the word that means it here. */
static const struct {
    const char *written, *meant;
} foreign[] = {
    {"abort", "end"}, {"airplane", "aircraft"}, {"alert", "warning"}, {"announce", "call"}, {"assert", "gate"},
    {"begin", "begins with"}, {"checklist", "procedure"}, {"comment", "note"}, {"confirm", "check"},
    {"danger", "warning"}, {"define", "value"}, {"emergency", "drill"}, {"ensure", "check"}, {"execute", "do"},
    {"finish", "end"}, {"go", "turn to"}, {"goto", "turn to"}, {"import", "use"}, {"include", "use"},
    {"instrument", "gauge"}, {"jump", "turn to"}, {"keep", "hold"}, {"lamp", "light"}, {"let", "set"},
    {"loop", "try"}, {"monitor", "watch"}, {"observe", "look"}, {"pause", "wait"}, {"perform", "do"},
    {"plane", "aircraft"}, {"press", "set"}, {"pull", "set"}, {"push", "set"}, {"put", "set"}, {"read", "check"},
    {"remark", "note"}, {"repeat", "try"}, {"retry", "try"}, {"return", "again"}, {"run", "do"}, {"say", "call"},
    {"section", "phase"}, {"see", "look"}, {"select", "set"}, {"sensor", "gauge"}, {"shout", "call"}, {"step", "phase"},
    {"stop", "end"}, {"switch", "set"}, {"test", "check"}, {"turn", "set"}, {"unless", "when"}, {"verify", "check"},
};

/* The words an item, or another line of a procedure, begins with. */
static const uint16_t item_words[] = {
    T_SET, T_CHECK, T_EXPECT, T_LOOK, T_CALL, T_BRIEF, T_WAIT, T_CRANK, T_TRY, T_HOLD, T_RELEASE, T_WATCH, T_PLAIN,
    T_NOTE, T_CAUTION, T_WARNING, T_WHEN, T_CASES, T_FOR, T_DO, T_TURN_TO, T_END, T_AGAIN, T_BEGINS_WITH, T_APPLIES,
    T_DRILLS, T_CUE, T_ARMED, T_KEEPS_CRANKING, T_MEMORY, T_PHASE,
};

const char *suggest_foreign(Str word)
{
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
        if (str_eq(word, str_of(foreign[i].written))) return foreign[i].meant;
    return NULL;
}

/* One slip of the fingers, two in a word of six letters or more. */
static size_t reach(Str word)
{
    return word.len >= 6 ? 2 : word.len >= 3 ? 1 : 0;
}

const char *suggest_token(Str word, const int *tokens, size_t n)
{
    const char *best = NULL;
    size_t nearest = reach(word) + 1;
    for (size_t i = 0; i < n; i++) {
        const char *candidate = token_word(tokens[i]);
        if (candidate == NULL || candidate[0] < 'a') continue;
        size_t distance = str_distance(word, str_of(candidate), nearest);
        if (distance < nearest) {
            nearest = distance;
            best = candidate;
        }
    }
    return best;
}

const char *suggest_item(Str word)
{
    int tokens[sizeof item_words / sizeof *item_words];
    for (size_t i = 0; i < sizeof item_words / sizeof *item_words; i++) tokens[i] = item_words[i];
    const char *meant = suggest_token(word, tokens, sizeof item_words / sizeof *item_words);
    return meant != NULL ? meant : suggest_foreign(word);
}

bool suggest_is_item(int token)
{
    for (size_t i = 0; i < sizeof item_words / sizeof *item_words; i++)
        if (item_words[i] == token) return true;
    return false;
}
