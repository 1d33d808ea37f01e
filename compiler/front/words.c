#include "front/parse.h"
#include "parser.h"

/* Words of the language in the order of LANGUAGE.md: those that join and the seven verbs first, then the free ones. */
#define WORDS(W)                                                                                                  \
    W(AND, "and") W(OR, "or") W(NOT, "not") W(IS, "is") W(IF, "if") W(IN, "in") W(AS, "as") W(TO, "to")           \
    W(WITH, "with") W(BY, "by") W(ON, "on") W(SINCE, "since") W(THEN, "then") W(MEANS, "means") W(FOR, "for")     \
    W(EACH, "each") W(WHILE, "while") W(BEFORE, "before") W(AFTER, "after") W(BELOW, "below") W(ABOVE, "above")   \
    W(WITHIN, "within") W(UNTIL, "until") W(FROM, "from") W(BECAUSE, "because") W(OTHERWISE, "otherwise")         \
    W(AGAIN, "again") W(WATCHING, "watching") W(NO, "no") W(FITTED, "fitted") W(BECOMES, "becomes")               \
    W(LEAVES, "leaves") W(SEEN, "seen") W(ANSWERED, "answered") W(LASTS, "lasts") W(KEPT, "kept") W(SET, "set")   \
    W(EXPECT, "expect") W(CASES, "cases") W(WHEN, "when") W(TRY, "try") W(DO, "do") W(END, "end")                 \
    W(USE, "use") W(CONTROL, "control") W(GAUGE, "gauge") W(LIGHT, "light") W(SCENE, "scene")                     \
    W(PERSON, "person") W(CALL, "call") W(BRIEFING, "briefing") W(SOURCE, "source") W(EDITION, "edition")         \
    W(AIRCRAFT, "aircraft") W(TAIL, "tail") W(ENGINES, "engines") W(KIND, "kind") W(LINES, "lines")               \
    W(LINE, "line") W(INOPERATIVE, "inoperative") W(DUTY, "duty") W(REST, "rest") W(TRIES, "tries")               \
    W(TIMES, "times") W(BAND, "band") W(VALUE, "value") W(PRINT, "print") W(PACE, "pace")                         \
    W(PROCEDURE, "procedure") W(DRILL, "drill") W(GROUP, "group") W(APPLIES, "applies") W(DRILLS, "drills")       \
    W(CUE, "cue") W(ARMED, "armed") W(PHASE, "phase") W(MEMORY, "memory") W(CASE, "case") W(EVENT, "event")       \
    W(STATE, "state") W(GATE, "gate") W(SEVERITY, "severity") W(STANDARD, "standard") W(HOLDS, "holds")           \
    W(RANK, "rank") W(WAIVE, "waive") W(AT, "at") W(ADAPT, "adapt") W(ADD, "add") W(REPLACE, "replace")           \
    W(MOVE, "move") W(REWORD, "reword") W(OMIT, "omit") W(DOCUMENT, "document") W(CONTAINS, "contains")           \
    W(REVISION, "revision") W(EFFECTIVE, "effective") W(CHANGES, "changes") W(PREPARED, "prepared")               \
    W(APPROVED, "approved") W(CARD, "card") W(TYPE, "type") W(ISSUE, "issue") W(FLEET, "fleet")                   \
    W(WORDING, "wording") W(STOPS, "stops") W(TURNS, "turns") W(POWERS, "powers") W(COUNTED, "counted")           \
    W(CHECK, "check") W(LOOK, "look") W(BRIEF, "brief") W(WAIT, "wait") W(CRANK, "crank") W(HOLD, "hold")         \
    W(RELEASE, "release") W(WATCH, "watch") W(PLAIN, "plain") W(NOTE, "note") W(CAUTION, "caution")               \
    W(WARNING, "warning")
/* Of phrases with the same first word the longer stands first. The last three are slips. */
#define PHRASES(P)                                                                                                \
    P(AT_LEAST, "at least") P(AT_MOST, "at most") P(AT_EACH, "at each") P(UP_TO, "up to") P(TURN_TO, "turn to")   \
    P(NO_MORE_STARTS, "no more starts") P(NEXT_START_AFTER, "next start after")                                   \
    P(START_AGAIN_AT, "start again at") P(EACH_ENGINE, "each engine") P(EACH_ITEM, "each item")                   \
    P(THE_FIRST, "the first") P(THE_LAST_REST_OF, "the last rest of") P(THE_LAST, "the last")                     \
    P(A_PAUSE_OF, "a pause of") P(IN_ANY_DRILL, "in any drill") P(IN_ANY, "in any") P(EXCEPT_IN, "except in")     \
    P(ANY_DRILL, "any drill") P(ALL_DRILLS, "all drills") P(EVERY_CASE, "every case has exactly one procedure")   \
    P(EVERY_END_OF, "every end of") P(EVERY_END, "every end") P(CAN_REACH, "can reach")                           \
    P(KEEPS_CRANKING, "keeps cranking") P(NEVER_WAIVED, "never waived") P(BEGINS_WITH, "begins with")             \
    P(FROM_EACH, "from each") P(OVER_DUTY, "over duty") P(BETWEEN_TRIES, "between tries")                         \
    P(REVIEW_BY, "review by") P(READ_AT, "read at") P(ALSO_IN, "also in") P(DUTY_OF, "duty of")                   \
    P(OTHERWISE, "or else") P(IF, "else if") P(OTHERWISE, "else")

enum { LONGEST_PHRASE = 6 };
static const struct {
    const char *text;
    uint16_t kind;
} words[] = {
#define W(token, text) {text, T_##token},
    WORDS(W)
#undef W
};
static const struct {
    uint16_t kind;
    const char *text;
} phrases[] = {
#define P(token, text) {T_##token, text},
    PHRASES(P)
#undef P
};
enum { N_WORDS = sizeof words / sizeof *words, N_PHRASES = sizeof phrases / sizeof *phrases };

const char *token_word(int kind)
{
    for (size_t i = 0; i < N_WORDS; i++)
        if (words[i].kind == kind) return words[i].text;
    for (size_t i = 0; i < N_PHRASES; i++)
        if (phrases[i].kind == kind) return phrases[i].text;
    switch (kind) {
    case T_OPEN: return "{";
    case T_CLOSE: return "}";
    case T_LEFT: return "(";
    case T_RIGHT: return ")";
    case T_COMMA: return ",";
    case T_COLON: return ":";
    case T_DOTDOT: return "..";
    default: return NULL;
    }
}

bool token_is_name(int kind)
{
    return kind == T_NAME || (kind >= T_USE && kind <= T_WARNING);
}

bool token_is_reserved(int kind)
{
    return kind >= T_AND && kind <= T_END;
}

static void phrase_intern(Names *names, const char *text, Name *into, Name *highest)
{
    for (size_t k = 0; *text != 0; k++) {
        size_t length = strcspn(text, " ");
        into[k] = name_intern(names, (Str){text, length});
        if (into[k] > *highest) *highest = into[k];
        text += length + (text[length] == ' ');
    }
}

/* Words are interned first, so that a table over the first names tells a keyword without comparing texts. */
void words_open(Parser *p)
{
    Names *names = p->job->names;
    Name of_word[N_WORDS], of_phrase[N_PHRASES][LONGEST_PHRASE] = {{0}};
    Name highest = 0;
    for (size_t i = 0; i < N_WORDS; i++) {
        of_word[i] = name_intern(names, str_of(words[i].text));
        if (of_word[i] > highest) highest = of_word[i];
    }
    for (size_t i = 0; i < N_PHRASES; i++)
        phrase_intern(names, phrases[i].text, of_phrase[i], &highest);
    uint16_t *kind_of = ARENA_ARRAY(&p->scratch, uint16_t, highest + 1u);
    uint8_t *phrase_of = ARENA_ARRAY(&p->scratch, uint8_t, highest + 1u);
    for (size_t i = 0; i < N_WORDS; i++) kind_of[of_word[i]] = words[i].kind;
    for (size_t i = N_PHRASES; i-- > 0;) phrase_of[of_phrase[i][0]] = (uint8_t)(i + 1);
    p->kind_of = kind_of;
    p->phrase_of = phrase_of;
    p->n_kinds = highest + 1;
    p->phrase_names = arena_copy(&p->scratch, of_phrase, sizeof of_phrase);
}

/* The number of tokens that phrase i takes from `at` on, 0 when it does not stand there. All stand on one line. */
static uint32_t phrase_length(const Parser *p, size_t i, uint32_t at)
{
    const Name *wanted = p->phrase_names + i * LONGEST_PHRASE;
    uint32_t k = 1;
    while (k < LONGEST_PHRASE && wanted[k] != 0) {
        if (at + k >= p->tokens.n) return 0;
        const Token *token = token_at(&p->tokens, at + k);
        if (token->name != wanted[k] || (token->flags & TOKEN_FIRST)) return 0;
        k++;
    }
    return k;
}

/* "before each engine" is each and a thing's name. */
static bool phrase_fits(int kind, int before)
{
    return kind != T_EACH_ENGINE || (before != T_BEFORE && before != T_AFTER);
}

static size_t phrase_find(const Parser *p, uint32_t at, int before, uint32_t *length)
{
    Name first = token_at(&p->tokens, at)->name;
    for (size_t i = p->phrase_of[first] - 1u; i < N_PHRASES && p->phrase_names[i * LONGEST_PHRASE] == first; i++) {
        *length = phrase_length(p, i, at);
        if (*length > 0 && phrase_fits(phrases[i].kind, before)) return i;
    }
    return N_PHRASES;
}

static void slip_else(Parser *p, Span span, bool then_if)
{
    const char *meant = then_if ? ", if" : "otherwise";
    Finding *finding = REPORT(p, FINDING_WORD, span, "\"%S\" is written \"%s\" here.", parser_text(p, span), meant);
    FIX(p, finding, FIX_SAFE, span, "%s", meant);
}

/* "10s": a number and its unit are two words. */
static void slip_glued(Parser *p, const Token *number, const Token *unit)
{
    Finding *finding = REPORT(p, FINDING_NO_BLANK, ((Span){number->lo, unit->hi}),
                              "A blank stands between a number and its unit: \"%S %S\".",
                              parser_text(p, (Span){number->lo, number->hi}), parser_text(p, (Span){unit->lo, unit->hi}));
    FIX(p, finding, FIX_SAFE, ((Span){unit->lo, unit->lo}), " ");
}

typedef struct {
    uint32_t read, write;
    uint32_t nots; /* how many "not" stand in a row */
    Token last;
} Merge;

static void merge_put(Parser *p, Merge *m, Token token)
{
    m->nots = token.kind == T_NOT ? m->nots + 1 : 0;
    if (m->nots > LIMIT_NESTING) {
        if (m->nots == LIMIT_NESTING + 1) parser_too_deep(p, (Span){token.lo, token.hi});
        return;
    }
    if ((token.flags & TOKEN_GLUED) && token.name != 0 && m->last.kind == T_NUM) slip_glued(p, &m->last, &token);
    *token_at(&p->tokens, m->write++) = token;
    m->last = token;
}

static void merge_phrase(Parser *p, Merge *m, size_t i, uint32_t length)
{
    Token token = *token_at(&p->tokens, m->read);
    token.hi = token_at(&p->tokens, m->read + length - 1)->hi;
    token.kind = phrases[i].kind;
    token.name = 0;
    if (token.kind == T_IF) {
        Token comma = token;
        slip_else(p, (Span){token.lo, token.hi}, true);
        comma.kind = T_COMMA;
        comma.flags = 0;
        merge_put(p, m, comma);
        token.flags = 0;
    } else if (token.kind == T_OTHERWISE) {
        slip_else(p, (Span){token.lo, token.hi}, false);
    }
    merge_put(p, m, token);
    m->read += length;
}

void phrases_merge(Parser *p)
{
    Merge m = {0};
    while (m.read < p->tokens.n) {
        const Token *token = token_at(&p->tokens, m.read);
        uint32_t length = 0;
        size_t i = N_PHRASES;
        if (token->name != 0 && token->name < p->n_kinds && p->phrase_of[token->name] != 0)
            i = phrase_find(p, m.read, m.last.kind, &length);
        if (i < N_PHRASES) {
            merge_phrase(p, &m, i, length);
        } else {
            merge_put(p, &m, *token);
            m.read++;
        }
    }
    p->tokens.n = m.write;
}
