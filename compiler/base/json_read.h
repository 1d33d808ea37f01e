/* JSON read into a tree: what this program writes itself, as it comes back.
   takes   UTF-8 text (RFC 8259), at most JSON_DEPTH - 1 containers within each other
   gives   nodes in the arena; texts that need no decoding point into the source
   never   makes a floating point number: a number keeps its text, and its value where it is whole and within 2^53 */
#ifndef BASE_JSON_READ_H
#define BASE_JSON_READ_H
#include "base/json.h"

typedef enum { JSON_NULL, JSON_FALSE, JSON_TRUE, JSON_NUMBER, JSON_STRING, JSON_ARRAY, JSON_OBJECT } JsonKind;
typedef struct JsonNode JsonNode;
struct JsonNode {
    JsonKind kind;
    bool whole;    /* NUMBER: whole, and smaller than 2^53 in size */
    int64_t value; /* NUMBER, if whole */
    Str text;      /* STRING: its text; NUMBER: as written */
    Str key;       /* as a member of an object */
    uint32_t n;    /* members, elements */
    JsonNode *first, *next;
};

/* NULL: not JSON, or too deep. */
const JsonNode *json_read(Arena *arena, Str text);
/* NULL: no such member, or not an object; of members with one key the last. */
const JsonNode *json_member(const JsonNode *object, const char *key);
/* Written again, keys in canonical order, without the member `but` of the outermost object (NULL: none is left out). */
void json_put(Json *json, Arena *arena, const JsonNode *node, const char *but);
#endif
