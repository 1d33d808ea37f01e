#include "base/json.h"
#include "base/utf8.h"
#include <assert.h>
#include <string.h>

void json_open(Json *json, Sink sink) {
    memset(json, 0, offsetof(Json, buffer));
    json->sink = sink;
}

static void flush(Json *json) {
    if (json->used && !json->failed) json->failed = !json->sink.write(json->sink.context, json->buffer, json->used);
    json->used = 0;
}

bool json_close(Json *json) {
    assert(json->depth == 0 && !json->after_key);
    flush(json);
    return !json->failed;
}

static void put(Json *json, Str bytes) {
    if (bytes.len > JSON_BUFFER - json->used) flush(json);
    if (bytes.len > JSON_BUFFER) {
        if (!json->failed) json->failed = !sink_str(json->sink, bytes);
        return;
    }
    if (bytes.len) memcpy(json->buffer + json->used, bytes.ptr, bytes.len);
    json->used += bytes.len;
}

static void separate(Json *json) {
    if (json->has_one[json->depth]) put(json, STR(","));
    json->has_one[json->depth] = true;
}

/* Before a value: in an object it follows its key, elsewhere the value before it. */
static void begin_value(Json *json) {
    assert(json->after_key || !json->is_object[json->depth]);
    if (!json->after_key) separate(json);
    json->after_key = false;
}

static void enter(Json *json, bool object) {
    begin_value(json);
    assert(json->depth + 1 < JSON_DEPTH);
    json->depth++;
    json->has_one[json->depth] = false;
    json->is_object[json->depth] = object;
    json->last_key[json->depth] = (Str){"", 0};
    put(json, object ? STR("{") : STR("["));
}

void json_object(Json *json) {
    enter(json, true);
}

void json_array(Json *json) {
    enter(json, false);
}

void json_end(Json *json) {
    assert(json->depth && !json->after_key);
    put(json, json->is_object[json->depth] ? STR("}") : STR("]"));
    json->depth--;
}

static Str short_escape(unsigned char c) {
    switch (c) {
    case '"': return STR("\\\"");
    case '\\': return STR("\\\\");
    case '\b': return STR("\\b");
    case '\f': return STR("\\f");
    case '\n': return STR("\\n");
    case '\r': return STR("\\r");
    case '\t': return STR("\\t");
    default: return (Str){"", 0};
    }
}

static void put_control(Json *json, unsigned char c) {
    Str escape = short_escape(c);
    if (escape.len) {
        put(json, escape);
        return;
    }
    char hex[] = {'\\', 'u', '0', '0', (char)('0' + (c >> 4)), "0123456789abcdef"[c & 15]};
    put(json, (Str){hex, sizeof hex});
}

/* Runs that need no escape go out in one piece. */
static void put_string(Json *json, Str text) {
    put(json, STR("\""));
    size_t run = 0, at = 0;
    while (at < text.len) {
        unsigned char c = (unsigned char)text.ptr[at];
        Utf8 one = c < 0x80 ? (Utf8){c, 1, true} : utf8_decode(text, at);
        if (c >= 0x20 && c != '"' && c != '\\' && one.valid) {
            at += one.size;
            continue;
        }
        put(json, str_slice(text, run, at));
        if (one.valid) put_control(json, c);
        else put(json, STR("\uFFFD"));
        at += one.size;
        run = at;
    }
    put(json, str_slice(text, run, at));
    put(json, STR("\""));
}

/* The first UTF-16 unit: the order is as by code points, but that what lies beyond U+FFFF comes before U+E000..U+FFFF. */
static uint32_t utf16_rank(uint32_t code) {
    return code > 0xFFFF ? 0xD7C0 + (code >> 10) : code;
}

int json_key_order(Str a, Str b) {
    size_t at = 0;
    while (at < a.len && at < b.len && a.ptr[at] == b.ptr[at]) at++;
    if (at == a.len || at == b.len) return (a.len > b.len) - (a.len < b.len);
    while (at && ((unsigned char)a.ptr[at] & 0xC0) == 0x80) at--;
    uint32_t code_a = utf8_decode(a, at).code, code_b = utf8_decode(b, at).code;
    uint32_t rank_a = utf16_rank(code_a), rank_b = utf16_rank(code_b);
    if (rank_a != rank_b) return rank_a < rank_b ? -1 : 1;
    return (code_a > code_b) - (code_a < code_b);
}

void json_key_str(Json *json, Str key) {
    assert(json->is_object[json->depth] && !json->after_key);
    assert(!json->has_one[json->depth] || json_key_order(json->last_key[json->depth], key) < 0);
    json->last_key[json->depth] = key;
    separate(json);
    put_string(json, key);
    put(json, STR(":"));
    json->after_key = true;
}

void json_key(Json *json, const char *key) {
    json_key_str(json, str_of(key));
}

void json_str(Json *json, Str text) {
    begin_value(json);
    put_string(json, text);
}

void json_text(Json *json, const char *c_text) {
    json_str(json, str_of(c_text));
}

void json_int(Json *json, int64_t n) {
    assert(n <= (int64_t)1 << 53 && n >= -((int64_t)1 << 53));
    begin_value(json);
    char digits[20];
    size_t at = sizeof digits;
    uint64_t size = n < 0 ? 0 - (uint64_t)n : (uint64_t)n;
    do {
        digits[--at] = (char)('0' + size % 10);
        size /= 10;
    } while (size);
    if (n < 0) digits[--at] = '-';
    put(json, (Str){digits + at, sizeof digits - at});
}

void json_bool(Json *json, bool truth) {
    begin_value(json);
    put(json, truth ? STR("true") : STR("false"));
}

void json_null(Json *json) {
    begin_value(json);
    put(json, STR("null"));
}

void json_raw(Json *json, Str value) {
    begin_value(json);
    put(json, value);
}
