/* Where output goes. Whoever makes it decides whether that is a file, a buffer or a caller's function. */
#ifndef BASE_SINK_H
#define BASE_SINK_H
#include "base/str.h"

typedef struct {
    void *context;
    bool (*write)(void *context, const char *bytes, size_t n); /* false: could not; nothing more is written then */
} Sink;

bool sink_str(Sink sink, Str text);
Sink sink_to_buf(Buf *buf); /* the buffer must outlive the sink */
#endif
