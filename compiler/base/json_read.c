#include "base/json_read.h"
#include "base/utf8.h"
#include <stdlib.h>
#include <string.h>

typedef struct {
    Arena *arena;
    Str text;
    size_t at;
    int depth;
} Reader;

static JsonNode *read_value(Reader *r);

static void skip_blanks(Reader *r) {
    while (r->at < r->text.len && strchr(" \t\n\r", r->text.ptr[r->at]) && r->text.ptr[r->at]) r->at++;
}

static bool eat(Reader *r, char c) {
    skip_blanks(r);
    if (r->at >= r->text.len || r->text.ptr[r->at] != c) return false;
    r->at++;
    return true;
}

static JsonNode *new_node(const Reader *r, JsonKind kind) {
    JsonNode *node = ARENA_NEW(r->arena, JsonNode);
    node->kind = kind;
    return node;
}

/* ---- strings ---- */

static bool read_hex(Reader *r, uint32_t *code) {
    *code = 0;
    for (int i = 0; i < 4; i++, r->at++) {
        char c = r->at < r->text.len ? r->text.ptr[r->at] : 0;
        uint32_t digit = c >= '0' && c <= '9'   ? (uint32_t)(c - '0')
                         : c >= 'a' && c <= 'f' ? (uint32_t)(c - 'a' + 10)
                         : c >= 'A' && c <= 'F' ? (uint32_t)(c - 'A' + 10)
                                                : 16;
        if (digit == 16) return false;
        *code = *code * 16 + digit;
    }
    return true;
}

static void put_code(Buf *buf, uint32_t code) {
    if (code < 0x80) {
        buf_char(buf, (char)code);
        return;
    }
    int more = code < 0x800 ? 1 : code < 0x10000 ? 2 : 3;
    static const unsigned char lead[] = {0, 0xC0, 0xE0, 0xF0};
    buf_char(buf, (char)(lead[more] | code >> (6 * more)));
    while (more--) buf_char(buf, (char)(0x80 | (code >> (6 * more) & 0x3F)));
}

/* A surrogate stands only with its other half. */
static bool read_code(Reader *r, Buf *buf) {
    uint32_t code, low;
    if (!read_hex(r, &code)) return false;
    if (code >= 0xD800 && code < 0xDC00) {
        if (r->at + 2 > r->text.len || r->text.ptr[r->at] != '\\' || r->text.ptr[r->at + 1] != 'u') return false;
        r->at += 2;
        if (!read_hex(r, &low) || low < 0xDC00 || low > 0xDFFF) return false;
        code = 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00);
    } else if (code >= 0xDC00 && code <= 0xDFFF) return false;
    put_code(buf, code);
    return true;
}

static bool read_escape(Reader *r, Buf *buf) {
    static const char names[] = "\"\\/bfnrt", values[] = "\"\\/\b\f\n\r\t";
    if (r->at >= r->text.len) return false;
    char c = r->text.ptr[r->at++];
    if (c == 'u') return read_code(r, buf);
    const char *name = c ? strchr(names, c) : NULL;
    if (!name) return false;
    buf_char(buf, values[name - names]);
    return true;
}

static bool read_string(Reader *r, Str *out) {
    if (!eat(r, '"')) return false;
    size_t from = r->at;
    Buf buf = {r->arena, NULL, 0, 0};
    bool decoded = false;
    while (r->at < r->text.len) {
        unsigned char c = (unsigned char)r->text.ptr[r->at];
        if (c == '"') {
            if (decoded) buf_str(&buf, str_slice(r->text, from, r->at));
            *out = decoded ? buf_finish(&buf) : str_slice(r->text, from, r->at);
            r->at++;
            return true;
        }
        if (c < 0x20) return false;
        if (c == '\\') {
            buf_str(&buf, str_slice(r->text, from, r->at));
            decoded = true;
            r->at++;
            if (!read_escape(r, &buf)) return false;
            from = r->at;
            continue;
        }
        Utf8 one = c < 0x80 ? (Utf8){c, 1, true} : utf8_decode(r->text, r->at);
        if (!one.valid) return false;
        r->at += one.size;
    }
    return false;
}

/* ---- numbers ---- */

static size_t digits(Reader *r) {
    size_t from = r->at;
    while (r->at < r->text.len && r->text.ptr[r->at] >= '0' && r->text.ptr[r->at] <= '9') r->at++;
    return r->at - from;
}

static void read_whole(JsonNode *node) {
    uint64_t size = 0;
    size_t i = node->text.ptr[0] == '-';
    for (; i < node->text.len; i++) {
        char c = node->text.ptr[i];
        if (c < '0' || c > '9' || size > (UINT64_C(1) << 53) / 10) return;
        size = size * 10 + (uint64_t)(c - '0');
    }
    node->whole = size < UINT64_C(1) << 53;
    node->value = node->text.ptr[0] == '-' ? -(int64_t)size : (int64_t)size;
}

static JsonNode *read_number(Reader *r) {
    JsonNode *node = new_node(r, JSON_NUMBER);
    size_t from = r->at;
    if (r->text.ptr[r->at] == '-') r->at++;
    size_t first = r->at, n = digits(r);
    if (!n || (n > 1 && r->text.ptr[first] == '0')) return NULL;
    if (r->at < r->text.len && r->text.ptr[r->at] == '.') {
        r->at++;
        if (!digits(r)) return NULL;
    }
    if (r->at < r->text.len && (r->text.ptr[r->at] | 0x20) == 'e') {
        r->at++;
        if (r->at < r->text.len && (r->text.ptr[r->at] == '+' || r->text.ptr[r->at] == '-')) r->at++;
        if (!digits(r)) return NULL;
    }
    node->text = str_slice(r->text, from, r->at);
    read_whole(node);
    return node;
}

/* ---- containers ---- */

static JsonNode *read_members(Reader *r, JsonKind kind) {
    JsonNode *node = new_node(r, kind), **last = &node->first;
    char end = kind == JSON_OBJECT ? '}' : ']';
    if (eat(r, end)) return node;
    do {
        Str key = {"", 0};
        if (kind == JSON_OBJECT && (!read_string(r, &key) || !eat(r, ':'))) return NULL;
        JsonNode *member = read_value(r);
        if (!member) return NULL;
        member->key = key;
        *last = member, last = &member->next;
        node->n++;
    } while (eat(r, ','));
    return eat(r, end) ? node : NULL;
}

static JsonNode *read_word(Reader *r) {
    static const struct {
        Str word;
        JsonKind kind;
    } words[] = {{{"null", 4}, JSON_NULL}, {{"false", 5}, JSON_FALSE}, {{"true", 4}, JSON_TRUE}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (!str_starts(str_slice(r->text, r->at, r->text.len), words[i].word)) continue;
        r->at += words[i].word.len;
        return new_node(r, words[i].kind);
    }
    return NULL;
}

static JsonNode *read_value(Reader *r) {
    skip_blanks(r);
    if (r->at >= r->text.len || r->depth + 2 >= JSON_DEPTH) return NULL;
    char c = r->text.ptr[r->at];
    JsonNode *node;
    r->depth++;
    if (eat(r, '{')) node = read_members(r, JSON_OBJECT);
    else if (eat(r, '[')) node = read_members(r, JSON_ARRAY);
    else if (c == '"') {
        node = new_node(r, JSON_STRING);
        if (!read_string(r, &node->text)) node = NULL;
    } else if (c == '-' || (c >= '0' && c <= '9')) node = read_number(r);
    else node = read_word(r);
    r->depth--;
    return node;
}

const JsonNode *json_read(Arena *arena, Str text) {
    Reader r = {arena, text, 0, 0};
    const JsonNode *node = read_value(&r);
    skip_blanks(&r);
    return r.at == text.len ? node : NULL;
}

const JsonNode *json_member(const JsonNode *object, const char *key) {
    const JsonNode *found = NULL;
    if (!object || object->kind != JSON_OBJECT) return NULL;
    Str wanted = str_of(key);
    for (const JsonNode *member = object->first; member; member = member->next)
        if (str_eq(member->key, wanted)) found = member;
    return found;
}

/* ---- written again ---- */

static int by_key(const void *left, const void *right) {
    const JsonNode *a = *(const JsonNode *const *)left, *b = *(const JsonNode *const *)right;
    return json_key_order(a->key, b->key);
}

/* Of members with one key the last stays. */
static size_t sort_members(Arena *arena, const JsonNode *object, const JsonNode ***out) {
    const JsonNode **list = ARENA_ARRAY(arena, const JsonNode *, object->n + 1u);
    size_t n = 0, kept = 0;
    for (const JsonNode *member = object->first; member; member = member->next) list[n++] = member;
    bool sorted = true;
    for (size_t i = 1; i < n; i++) sorted &= json_key_order(list[i - 1]->key, list[i]->key) < 0;
    if (!sorted) qsort(list, n, sizeof *list, by_key);
    for (size_t i = 0; i < n; i++)
        if (!kept || json_key_order(list[kept - 1]->key, list[i]->key)) list[kept++] = list[i];
    for (size_t i = 0; kept < n && i < kept; i++)
        for (const JsonNode *member = object->first; member; member = member->next)
            if (str_eq(member->key, list[i]->key)) list[i] = member;
    *out = list;
    return kept;
}

/* As deep as what was read. */
void json_put(Json *json, Arena *arena, const JsonNode *node, const char *but) {
    const JsonNode **members;
    switch (node->kind) {
    case JSON_NULL: json_null(json); break;
    case JSON_FALSE: json_bool(json, false); break;
    case JSON_TRUE: json_bool(json, true); break;
    case JSON_NUMBER: json_raw(json, node->text); break;
    case JSON_STRING: json_str(json, node->text); break;
    case JSON_ARRAY:
        json_array(json);
        for (const JsonNode *one = node->first; one; one = one->next) json_put(json, arena, one, NULL);
        json_end(json);
        break;
    case JSON_OBJECT: {
        size_t n = sort_members(arena, node, &members);
        json_object(json);
        for (size_t i = 0; i < n; i++) {
            if (but && str_eq(members[i]->key, str_of(but))) continue;
            json_key_str(json, members[i]->key);
            json_put(json, arena, members[i], NULL);
        }
        json_end(json);
        break;
    }
    }
}
