#include "front/parse.h"
#include "parser.h"

enum { LONGEST_PHRASE = 6 };

typedef struct {
    const char *text;
    uint16_t kind;
} Known;

/* Those that join and the seven verbs first, then the words that are free to be names. */
static const Known words[] = {
    {"and", T_AND},
    {"or", T_OR},
    {"not", T_NOT},
    {"is", T_IS},
    {"if", T_IF},
    {"in", T_IN},
    {"as", T_AS},
    {"to", T_TO},
    {"with", T_WITH},
    {"by", T_BY},
    {"on", T_ON},
    {"since", T_SINCE},
    {"then", T_THEN},
    {"means", T_MEANS},
    {"for", T_FOR},
    {"each", T_EACH},
    {"while", T_WHILE},
    {"before", T_BEFORE},
    {"after", T_AFTER},
    {"below", T_BELOW},
    {"above", T_ABOVE},
    {"within", T_WITHIN},
    {"until", T_UNTIL},
    {"from", T_FROM},
    {"because", T_BECAUSE},
    {"otherwise", T_OTHERWISE},
    {"again", T_AGAIN},
    {"watching", T_WATCHING},
    {"no", T_NO},
    {"fitted", T_FITTED},
    {"becomes", T_BECOMES},
    {"leaves", T_LEAVES},
    {"seen", T_SEEN},
    {"answered", T_ANSWERED},
    {"lasts", T_LASTS},
    {"kept", T_KEPT},
    {"set", T_SET},
    {"expect", T_EXPECT},
    {"cases", T_CASES},
    {"when", T_WHEN},
    {"try", T_TRY},
    {"do", T_DO},
    {"end", T_END},
    {"use", T_USE},
    {"control", T_CONTROL},
    {"gauge", T_GAUGE},
    {"light", T_LIGHT},
    {"scene", T_SCENE},
    {"person", T_PERSON},
    {"call", T_CALL},
    {"briefing", T_BRIEFING},
    {"source", T_SOURCE},
    {"edition", T_EDITION},
    {"aircraft", T_AIRCRAFT},
    {"tail", T_TAIL},
    {"engines", T_ENGINES},
    {"kind", T_KIND},
    {"lines", T_LINES},
    {"line", T_LINE},
    {"inoperative", T_INOPERATIVE},
    {"duty", T_DUTY},
    {"rest", T_REST},
    {"tries", T_TRIES},
    {"times", T_TIMES},
    {"band", T_BAND},
    {"value", T_VALUE},
    {"print", T_PRINT},
    {"pace", T_PACE},
    {"procedure", T_PROCEDURE},
    {"drill", T_DRILL},
    {"group", T_GROUP},
    {"applies", T_APPLIES},
    {"drills", T_DRILLS},
    {"cue", T_CUE},
    {"armed", T_ARMED},
    {"phase", T_PHASE},
    {"memory", T_MEMORY},
    {"case", T_CASE},
    {"event", T_EVENT},
    {"state", T_STATE},
    {"gate", T_GATE},
    {"severity", T_SEVERITY},
    {"standard", T_STANDARD},
    {"holds", T_HOLDS},
    {"rank", T_RANK},
    {"waive", T_WAIVE},
    {"at", T_AT},
    {"adapt", T_ADAPT},
    {"add", T_ADD},
    {"replace", T_REPLACE},
    {"move", T_MOVE},
    {"reword", T_REWORD},
    {"omit", T_OMIT},
    {"document", T_DOCUMENT},
    {"contains", T_CONTAINS},
    {"revision", T_REVISION},
    {"effective", T_EFFECTIVE},
    {"changes", T_CHANGES},
    {"prepared", T_PREPARED},
    {"approved", T_APPROVED},
    {"distribution", T_DISTRIBUTION},
    {"card", T_CARD},
    {"type", T_TYPE},
    {"issue", T_ISSUE},
    {"fleet", T_FLEET},
    {"wording", T_WORDING},
    {"stops", T_STOPS},
    {"turns", T_TURNS},
    {"powers", T_POWERS},
    {"counted", T_COUNTED},
    {"check", T_CHECK},
    {"look", T_LOOK},
    {"brief", T_BRIEF},
    {"wait", T_WAIT},
    {"crank", T_CRANK},
    {"hold", T_HOLD},
    {"release", T_RELEASE},
    {"watch", T_WATCH},
    {"plain", T_PLAIN},
    {"note", T_NOTE},
    {"caution", T_CAUTION},
    {"warning", T_WARNING},
};
/* Of phrases with the same first word the longer stands first. The last three are slips. */
static const Known phrases[] = {
    {"at least", T_AT_LEAST},
    {"at most", T_AT_MOST},
    {"at each", T_AT_EACH},
    {"up to", T_UP_TO},
    {"turn to", T_TURN_TO},
    {"no more starts", T_NO_MORE_STARTS},
    {"next start after", T_NEXT_START_AFTER},
    {"start again at", T_START_AGAIN_AT},
    {"each engine", T_EACH_ENGINE},
    {"each item", T_EACH_ITEM},
    {"the first", T_THE_FIRST},
    {"the last rest of", T_THE_LAST_REST_OF},
    {"the last", T_THE_LAST},
    {"a pause of", T_A_PAUSE_OF},
    {"in any drill", T_IN_ANY_DRILL},
    {"in any", T_IN_ANY},
    {"except in", T_EXCEPT_IN},
    {"any drill", T_ANY_DRILL},
    {"all drills", T_ALL_DRILLS},
    {"every case has exactly one procedure", T_EVERY_CASE},
    {"every end of", T_EVERY_END_OF},
    {"every end", T_EVERY_END},
    {"can reach", T_CAN_REACH},
    {"keeps cranking", T_KEEPS_CRANKING},
    {"never waived", T_NEVER_WAIVED},
    {"begins with", T_BEGINS_WITH},
    {"from each", T_FROM_EACH},
    {"over duty", T_OVER_DUTY},
    {"between tries", T_BETWEEN_TRIES},
    {"review by", T_REVIEW_BY},
    {"read at", T_READ_AT},
    {"also in", T_ALSO_IN},
    {"duty of", T_DUTY_OF},
    {"or else", T_OTHERWISE},
    {"else if", T_IF},
    {"else", T_OTHERWISE},
};
enum { N_WORDS = sizeof words / sizeof *words, N_PHRASES = sizeof phrases / sizeof *phrases };

const char *token_word(int kind) {
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

bool token_is_name(int kind) {
    return kind == T_NAME || (kind >= T_USE && kind <= T_WARNING);
}

bool token_is_reserved(int kind) {
    return kind >= T_AND && kind <= T_END;
}

static void phrase_intern(Names *names, const char *text, Name *into, Name *highest) {
    for (size_t k = 0; *text != 0; k++) {
        size_t length = strcspn(text, " ");
        into[k] = name_intern(names, (Str){text, length});
        if (into[k] > *highest) *highest = into[k];
        text += length + (text[length] == ' ');
    }
}

/* Which names are keywords, made once for a table of names. */
typedef struct {
    const uint16_t *kind_of;
    const uint8_t *phrase_of;
    const Name *phrase_names;
    uint32_t n_kinds;
} Keywords;

/* Words are interned first, so that a table over the first names tells a keyword without comparing texts. */
static Keywords *keywords_make(Names *names) {
    Name of_word[N_WORDS], of_phrase[N_PHRASES][LONGEST_PHRASE] = {{0}};
    Name highest = 0;
    for (size_t i = 0; i < N_WORDS; i++) {
        of_word[i] = name_intern(names, str_of(words[i].text));
        if (of_word[i] > highest) highest = of_word[i];
    }
    for (size_t i = 0; i < N_PHRASES; i++) phrase_intern(names, phrases[i].text, of_phrase[i], &highest);
    uint16_t *kind_of = ARENA_ARRAY(names->arena, uint16_t, highest + 1u);
    uint8_t *phrase_of = ARENA_ARRAY(names->arena, uint8_t, highest + 1u);
    for (size_t i = 0; i < N_WORDS; i++) kind_of[of_word[i]] = words[i].kind;
    for (size_t i = N_PHRASES; i-- > 0;) phrase_of[of_phrase[i][0]] = (uint8_t)(i + 1);
    Keywords *made = ARENA_NEW(names->arena, Keywords);
    *made = (Keywords){kind_of, phrase_of, arena_copy(names->arena, of_phrase, sizeof of_phrase), highest + 1};
    return made;
}

void words_open(Parser *p) {
    Names *names = p->job->names;
    if (!names->keywords) names->keywords = keywords_make(names);
    const Keywords *keywords = names->keywords;
    p->kind_of = keywords->kind_of;
    p->phrase_of = keywords->phrase_of;
    p->phrase_names = keywords->phrase_names;
    p->n_kinds = keywords->n_kinds;
}

/* The number of tokens that phrase i takes from `at` on, 0 when it does not stand there. All stand on one line. */
static uint32_t phrase_length(const Parser *p, size_t i, uint32_t at) {
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

/* Where the words of a phrase are a word and a name instead: "before each engine", "in any drill: at most …" with a value
   named drill, and a thing named at in "control at each engine". */
static bool phrase_fits(const Parser *p, int kind, uint32_t at, uint32_t length, int before) {
    bool colon = at + length < p->tokens.n && token_at(&p->tokens, at + length)->kind == T_COLON;
    switch (kind) {
    case T_EACH_ENGINE: return before != T_BEFORE && before != T_AFTER;
    case T_IN_ANY_DRILL: return !colon;
    case T_AT_EACH: return (token_at(&p->tokens, at)->flags & TOKEN_FIRST) || before < T_USE || before > T_WORDING;
    default: return true;
    }
}

static size_t phrase_find(const Parser *p, uint32_t at, int before, uint32_t *length) {
    Name first = token_at(&p->tokens, at)->name;
    for (size_t i = p->phrase_of[first] - 1u; i < N_PHRASES && p->phrase_names[i * LONGEST_PHRASE] == first; i++) {
        *length = phrase_length(p, i, at);
        if (*length > 0 && phrase_fits(p, phrases[i].kind, at, *length, before)) return i;
    }
    return N_PHRASES;
}

static void slip_else(Parser *p, Span span, bool then_if) {
    const char *meant = then_if ? ", if" : "otherwise";
    Finding *finding = REPORT(p, FINDING_WORD, span, "\"%S\" is written \"%s\" here.", parser_text(p, span), meant);
    FIX(p, finding, FIX_SAFE, span, "%s", meant);
}

/* "10s": a number and its unit are two words. */
static void slip_glued(Parser *p, const Token *number, const Token *unit) {
    Finding *finding = REPORT(
        p, FINDING_NO_BLANK, ((Span){number->lo, unit->hi}), "A blank stands between a number and its unit: \"%S %S\".",
        parser_text(p, (Span){number->lo, number->hi}), parser_text(p, (Span){unit->lo, unit->hi}));
    FIX(p, finding, FIX_SAFE, ((Span){unit->lo, unit->lo}), " ");
}

typedef struct {
    uint32_t read, write;
    uint32_t nots; /* how many "not" stand in a row */
    Token last;
} Merge;

static void merge_put(Parser *p, Merge *m, Token token) {
    m->nots = token.kind == T_NOT ? m->nots + 1 : 0;
    if (m->nots > LIMIT_NESTING) {
        if (m->nots == LIMIT_NESTING + 1) parser_too_deep(p, (Span){token.lo, token.hi});
        return;
    }
    if ((token.flags & TOKEN_GLUED) && token.name != 0 && m->last.kind == T_NUM) slip_glued(p, &m->last, &token);
    *token_at(&p->tokens, m->write++) = token;
    m->last = token;
}

static void merge_phrase(Parser *p, Merge *m, size_t i, uint32_t length) {
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

void phrases_merge(Parser *p) {
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
