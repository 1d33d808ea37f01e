/* "Did you mean": the nearest word of the language, and words that people bring along from elsewhere. */
#include "front/suggest.h"
#include "parser.h"

/* What people write at the beginning of a line, and the word that means it here. */
static const struct {
    const char *written, *meant;
} foreign[] = {
    {"abort", "end"},
    {"airplane", "aircraft"},
    {"alert", "warning"},
    {"announce", "call"},
    {"assert", "gate"},
    {"begin", "begins with"},
    {"checklist", "procedure"},
    {"comment", "note"},
    {"confirm", "check"},
    {"danger", "warning"},
    {"define", "value"},
    {"emergency", "drill"},
    {"ensure", "check"},
    {"execute", "do"},
    {"finish", "end"},
    {"go", "turn to"},
    {"goto", "turn to"},
    {"import", "use"},
    {"include", "use"},
    {"instrument", "gauge"},
    {"jump", "turn to"},
    {"keep", "hold"},
    {"lamp", "light"},
    {"let", "set"},
    {"loop", "try"},
    {"monitor", "watch"},
    {"observe", "look"},
    {"pause", "wait"},
    {"perform", "do"},
    {"plane", "aircraft"},
    {"press", "set"},
    {"pull", "set"},
    {"push", "set"},
    {"put", "set"},
    {"read", "check"},
    {"remark", "note"},
    {"repeat", "try"},
    {"retry", "try"},
    {"return", "again"},
    {"run", "do"},
    {"say", "call"},
    {"section", "phase"},
    {"see", "look"},
    {"select", "set"},
    {"sensor", "gauge"},
    {"shout", "call"},
    {"step", "phase"},
    {"stop", "end"},
    {"switch", "set"},
    {"test", "check"},
    {"turn", "set"},
    {"unless", "when"},
    {"verify", "check"},
};

/* The words an item, or another line of a procedure, begins with. */
static const uint16_t item_words[] = {
    T_SET,     T_CHECK,  T_EXPECT,  T_LOOK,  T_CALL,           T_BRIEF,  T_WAIT,    T_CRANK,
    T_TRY,     T_HOLD,   T_RELEASE, T_WATCH, T_PLAIN,          T_NOTE,   T_CAUTION, T_WARNING,
    T_WHEN,    T_CASES,  T_FOR,     T_DO,    T_TURN_TO,        T_END,    T_AGAIN,   T_BEGINS_WITH,
    T_APPLIES, T_DRILLS, T_CUE,     T_ARMED, T_KEEPS_CRANKING, T_MEMORY, T_PHASE,
};

const char *suggest_foreign(Str word) {
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
        if (str_eq(word, str_of(foreign[i].written))) return foreign[i].meant;
    return NULL;
}

/* Ways to compare that are written otherwise here. */
static const struct {
    const char *written, *meant;
} comparisons[] = {
    {"between", "as a range: 25..115 psi"},
    {"from", "as a range: 25..115 psi"},
    {"exceeds", "\"above\""},
    {"greater", "\"above\""},
    {"more", "\"above\""},
    {"over", "\"above\""},
    {"less", "\"below\""},
    {"lower", "\"below\""},
    {"under", "\"below\""},
    {"min", "\"at least\""},
    {"minimum", "\"at least\""},
    {"max", "\"at most\""},
    {"maximum", "\"at most\""},
    {"is", "\"at least\", \"at most\", \"above\", \"below\" or as a range"},
    {"equals", "\"at least\", \"at most\", \"above\", \"below\" or as a range"},
};

const char *suggest_comparison(Str word) {
    for (size_t i = 0; i < sizeof comparisons / sizeof *comparisons; i++)
        if (str_eq(word, str_of(comparisons[i].written))) return comparisons[i].meant;
    return NULL;
}

/* One slip of the fingers, two in a word of six letters or more. */
static size_t reach(Str word) {
    return word.len >= 6 ? 2 : word.len >= 3 ? 1 : 0;
}

/* The first words of a phrase count as near to it. */
static size_t distance_to(Str word, const char *candidate, size_t limit) {
    Str text = str_of(candidate);
    if (word.len >= 2 && text.len > word.len && str_starts(text, word) && text.ptr[word.len] == ' ') return 0;
    return str_distance(word, text, limit);
}

static const char *nearest_of(Str word, const int *tokens, size_t n, size_t within) {
    const char *best = NULL;
    size_t nearest = within + 1;
    for (size_t i = 0; i < n; i++) {
        const char *candidate = token_word(tokens[i]);
        if (candidate == NULL || candidate[0] < 'a') continue;
        size_t distance = distance_to(word, candidate, nearest);
        if (distance < nearest) {
            nearest = distance;
            best = candidate;
        }
    }
    return best;
}

const char *suggest_token(Str word, const int *tokens, size_t n) {
    return nearest_of(word, tokens, n, reach(word));
}

const char *suggest_close(Str word, const int *tokens, size_t n) {
    return word.len < 3 ? NULL : nearest_of(word, tokens, n, 1);
}

static const char *nearest_item(Str word, size_t within) {
    int tokens[sizeof item_words / sizeof *item_words];
    for (size_t i = 0; i < sizeof item_words / sizeof *item_words; i++) tokens[i] = item_words[i];
    return nearest_of(word, tokens, sizeof item_words / sizeof *item_words, within);
}

const char *suggest_close_item(Str word) {
    return word.len < 3 ? NULL : nearest_item(word, 1);
}

const char *suggest_item(Str word) {
    const char *meant = suggest_foreign(word);
    return meant != NULL ? meant : nearest_item(word, reach(word));
}

const char *suggest_place(int token) {
    switch (token) {
    case T_CASE: return "into the braces of \"cases\"";
    case T_PHASE: return "directly into the braces of a procedure, a drill or a group";
    case T_BEGINS_WITH:
    case T_APPLIES: return "directly into the braces of a procedure";
    case T_DRILLS: return "directly into the braces of a procedure, an aircraft or a tail";
    case T_CUE:
    case T_ARMED:
    case T_KEEPS_CRANKING:
    case T_MEMORY: return "directly into the braces of a drill";
    case T_SEVERITY:
    case T_NEVER_WAIVED: return "into the braces of a gate";
    case T_ENGINES:
    case T_INOPERATIVE:
    case T_DUTY:
    case T_BAND:
    case T_VALUE:
    case T_PRINT:
    case T_PACE: return "into the braces of an aircraft or a tail";
    case T_HOLDS:
    case T_RANK: return "into the braces of a standard";
    case T_REPLACE:
    case T_MOVE:
    case T_REWORD:
    case T_OMIT: return "into the braces of an adapt";
    case T_CONTAINS:
    case T_REVISION:
    case T_CHANGES:
    case T_PREPARED:
    case T_APPROVED:
    case T_DISTRIBUTION:
    case T_CARD:
    case T_ISSUE: return "into the braces of a document";
    case T_USE:
    case T_CONTROL:
    case T_GAUGE:
    case T_LIGHT:
    case T_SCENE:
    case T_PERSON:
    case T_BRIEFING:
    case T_SOURCE:
    case T_AIRCRAFT:
    case T_TAIL:
    case T_LINES:
    case T_PROCEDURE:
    case T_DRILL:
    case T_GROUP:
    case T_EVENT:
    case T_STATE:
    case T_GATE:
    case T_WAIVE:
    case T_ADAPT:
    case T_DOCUMENT:
    case T_FLEET:
    case T_WORDING: return "at the left, outside all braces";
    case T_SET:
    case T_EXPECT:
    case T_CHECK:
    case T_LOOK:
    case T_CALL:
    case T_BRIEF:
    case T_WAIT:
    case T_CRANK:
    case T_TRY:
    case T_HOLD:
    case T_RELEASE:
    case T_WATCH:
    case T_PLAIN:
    case T_CAUTION:
    case T_WARNING:
    case T_DO:
    case T_CASES: return "into the braces of a phase, a procedure, a drill or a group";
    default: return NULL;
    }
}

bool suggest_is_item(int token) {
    for (size_t i = 0; i < sizeof item_words / sizeof *item_words; i++)
        if (item_words[i] == token) return true;
    return false;
}
