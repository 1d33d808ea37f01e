/* A state of a procedure set as a table that was issued has it. */
#include "back/side.h"
#include "base/json_read.h"

typedef struct {
    Arena *arena;
    const JsonNode *root;
    Side *side;
    Str why_not;
} Reading;

static Str text_in(const JsonNode *object, const char *key) {
    const JsonNode *member = json_member(object, key);
    return member && member->kind == JSON_STRING ? member->text : STR("");
}

static int64_t whole_in(const JsonNode *object, const char *key, int64_t without) {
    const JsonNode *member = json_member(object, key);
    return member && member->kind == JSON_NUMBER && member->whole ? member->value : without;
}

static bool flag_in(const JsonNode *object, const char *key) {
    const JsonNode *member = json_member(object, key);
    return member && member->kind == JSON_TRUE;
}

static const JsonNode *list_in(Reading *r, const JsonNode *object, const char *key) {
    const JsonNode *member = json_member(object, key);
    if (member && member->kind == JSON_ARRAY) return member;
    if (!r->why_not.len)
        r->why_not = format_text(r->arena, NULL,
                                 "it has no list \"%s\": tables say what is compared from version 0.2.2 on; issue it "
                                 "again, or compare the sources",
                                 key);
    return NULL;
}

/* ---- lines ---- */

static const char *set_of(Str kind) {
    return str_eq(kind, STR("drill")) ? "drill" : str_eq(kind, STR("briefing")) ? "briefing" : "procedure";
}

static SideLine read_line(const JsonNode *procedure, const JsonNode *line, Str of) {
    int64_t depth = whole_in(line, "depth", 0);
    return (SideLine){.of = of,
                      .set = set_of(text_in(procedure, "kind")),
                      .title = text_in(procedure, "title"),
                      .phase = text_in(line, "phase"),
                      .id = text_in(line, "id"),
                      .words = text_in(line, "words"),
                      .most_ms = whole_in(line, "atMostMs", -1),
                      .least_ms = whole_in(line, "atLeastMs", -1),
                      .remark = flag_in(line, "remark"),
                      .head = flag_in(line, "head"),
                      .depth = depth > 0 && depth < UINT32_MAX ? (uint32_t)depth : 0};
}

static void read_procedures(Reading *r) {
    VEC(SideLine) lines = {0};
    const JsonNode *procedures = list_in(r, r->root, "procedures");
    for (const JsonNode *at = procedures ? procedures->first : NULL; at; at = at->next) {
        const JsonNode *list = list_in(r, at, "lines");
        bool briefing = str_eq(text_in(at, "kind"), STR("briefing"));
        Str of = format_text(r->arena, NULL, "%s%S", briefing ? "briefing " : "", text_in(at, "id"));
        for (const JsonNode *line = list ? list->first : NULL; line; line = line->next)
            vec_push(r->arena, &lines, read_line(at, line, of));
    }
    r->side->lines = lines.at;
    r->side->n_lines = lines.n;
    side_set_parents(r->arena, r->side);
}

/* ---- numbers ---- */

static NumberRoom room_of(Str word) {
    for (NumberRoom room = ROOM_ABOVE; room < ROOM_UNKNOWN; room++)
        if (str_eq(word, str_of(room_word(room)))) return room;
    return ROOM_UNKNOWN;
}

/* "25 psi", "3". False: no such quantity. */
static bool read_amount(Str text, Rational *amount, const Measure **measure) {
    size_t blank = 0;
    while (blank < text.len && text.ptr[blank] != ' ') blank++;
    *measure = NULL;
    if (!rational_parse(str_slice(text, 0, blank), amount)) return false;
    if (blank == text.len) return true;
    *measure = measure_find(str_slice(text, blank + 1, text.len));
    if (*measure) *amount = measure_to_base(*measure, *amount);
    return *measure && !rational_overflowed(*amount);
}

static void read_limits(Reading *r) {
    const JsonNode *limits = list_in(r, r->root, "limits");
    if (!limits) return;
    r->side->numbers = ARENA_ARRAY(r->arena, SideNumber, (size_t)limits->n + 1);
    for (const JsonNode *at = limits->first; at; at = at->next) {
        SideNumber number = {.key = text_in(at, "key"),
                             .what = text_in(at, "what"),
                             .shown = text_in(at, "words"),
                             .room = room_of(text_in(at, "moreRoom"))};
        if (!read_amount(text_in(at, "amount"), &number.amount, &number.measure) && !r->why_not.len)
            r->why_not = format_text(r->arena, NULL, "\"%S\" of its limits is no quantity", text_in(at, "amount"));
        r->side->numbers[r->side->n_numbers++] = number;
    }
}

/* ---- verdicts, paper ---- */

static void read_verdicts(Reading *r) {
    const JsonNode *verdicts = list_in(r, r->root, "verdicts");
    if (!verdicts) return;
    r->side->verdicts = ARENA_ARRAY(r->arena, SideVerdict, (size_t)verdicts->n + 1);
    for (const JsonNode *at = verdicts->first; at; at = at->next) {
        Str gate = text_in(at, "gate"), engine = text_in(at, "engine");
        r->side->verdicts[r->side->n_verdicts++] =
            (SideVerdict){.gate = engine.len ? format_text(r->arena, NULL, "%S (%S)", gate, engine) : gate,
                          .title = text_in(at, "title"),
                          .verdict = text_in(at, "verdict"),
                          .rule = text_in(at, "rule"),
                          .hash = text_in(at, "hash")};
    }
}

static void read_paper(Reading *r) {
    const JsonNode *document = json_member(r->root, "document"), *tail = json_member(r->root, "tail");
    int64_t revision = whole_in(document, "revision", 0);
    r->side->paper = (SidePaper){.document = text_in(document, "id"),
                                 .effective = text_in(document, "effective"),
                                 .code = text_in(document, "checkCode"),
                                 .standing = text_in(r->root, "status"),
                                 .revision = revision > 0 && revision < UINT32_MAX ? (uint32_t)revision : 0,
                                 .tail = text_in(tail, "id"),
                                 .tail_title = text_in(tail, "title")};
    if (!r->side->paper.tail.len && !r->why_not.len) r->why_not = STR("it does not say of which tail it is");
}

const Side *side_read(Arena *arena, Str text, Str *why_not) {
    Reading r = {.arena = arena, .root = json_read(arena, text), .side = ARENA_NEW(arena, Side)};
    if (!r.root || r.root->kind != JSON_OBJECT || !str_starts(text_in(r.root, "schema"), STR("urn:startwright:"))) {
        *why_not = STR("it is no table of this program");
        return NULL;
    }
    read_paper(&r);
    read_procedures(&r);
    read_limits(&r);
    read_verdicts(&r);
    *why_not = r.why_not;
    return r.why_not.len ? NULL : r.side;
}
