/* JSON, written as it comes: canonical (RFC 8785) as far as this program uses it.
   takes   values in the order of the output; keys of one object in the order of their UTF-16 units (asserted)
   gives   bytes to a sink, no blank between tokens
   owns    a small buffer in the struct; keys must live until their object ends
   never   writes floating point: a quantity is a string with its unit. Bytes that are not UTF-8 become U+FFFD */
#ifndef BASE_JSON_H
#define BASE_JSON_H
#include "base/sink.h"

enum { JSON_DEPTH = 32, JSON_BUFFER = 4096 };

typedef struct {
    Sink sink;
    bool failed; /* the sink refused: nothing more is given to it */
    uint8_t depth;
    bool has_one[JSON_DEPTH]; /* the container has a member already */
    bool is_object[JSON_DEPTH];
    Str last_key[JSON_DEPTH];
    bool after_key;
    size_t used;
    char buffer[JSON_BUFFER];
} Json;

void json_open(Json *json, Sink sink);
bool json_close(Json *json); /* false: the sink refused. Everything opened must have been ended */

void json_object(Json *json);
void json_array(Json *json);
void json_end(Json *json); /* the innermost object or array */
void json_key(Json *json, const char *key);
void json_key_str(Json *json, Str key);
void json_str(Json *json, Str text);
void json_text(Json *json, const char *c_text);
void json_int(Json *json, int64_t n); /* within 2^53 (asserted): what every reader holds exactly */
void json_bool(Json *json, bool truth);
void json_null(Json *json);
/* < 0, 0, > 0: by UTF-16 units, as RFC 8785 sorts them. */
int json_key_order(Str a, Str b);
/* One value already in canonical JSON. */
void json_raw(Json *json, Str value);
#endif
